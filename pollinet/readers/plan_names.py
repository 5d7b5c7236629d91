"""Checked tables of a plan file → the domain's `Plan`: fruits and varieties by their names.

The plan's own varieties go before the catalogue's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from pollinet.domain import (
    Aim,
    Catalogue,
    Fruit,
    Limb,
    Neighbour,
    Normals,
    Plan,
    Scion,
    Site,
    Tree,
)
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.names import resolve_fruit
from pollinet.readers.plan import neighbour_ids
from pollinet.readers.plan_schema import PlanTable
from pollinet.readers.plan_varieties import Names, identity_of, own_varieties

DEFAULT_LATITUDE = 45.0
"""Used only to lay typed northern dates into a season when the plan gives no latitude."""

_T = TypeVar("_T")


def fruits_of(
    table: PlanTable, fruits: Mapping[str, Fruit], file: str
) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """The fruits named in a plan, sorted, and findings for those that do not exist."""
    named = [
        (entry.species, f'{kind} "{_entry_name(entry)}", species')
        for kind in ("tree", "neighbour", "scion", "variety")
        for entry in getattr(table, kind)
    ]
    found: set[str] = set()
    findings: dict[str, tuple[Finding, ...]] = {}
    for text, place in named:
        fruit, problems = resolve_fruit(text, fruits, file=file, place=place)
        if fruit is not None:
            found.add(fruit)
        findings.setdefault(text, problems)
    return tuple(sorted(found)), tuple(f for some in findings.values() for f in some)


def _entry_name(entry: Any) -> str:
    for key in ("id", "name", "variety"):
        if getattr(entry, key, None):
            return str(getattr(entry, key))
    return ""


def resolve_plan(
    table: PlanTable, catalogue: Catalogue, fruits: Mapping[str, Fruit], file: str
) -> tuple[Plan | None, tuple[Finding, ...]]:
    """Resolve the names of a plan; None where an error stands in the way.

    The plan's own varieties go before the catalogue's: what is typed replaces the catalogue's
    value, what is not typed is taken from a catalogue variety of the same name, if there is one.
    """
    latitude = DEFAULT_LATITUDE if table.site.latitude is None else table.site.latitude
    own_names: dict[str, set[str]] = {}
    names = Names(catalogue, fruits, own_names, file)
    for entry in table.variety:
        fruit = names.fruit(entry.species)
        if fruit is not None:
            own_names.setdefault(fruit, set()).add(identity_of(entry, names).name)
    own = own_varieties(table.variety, names, latitude)
    trees = tuple(_tree(entry, names) for entry in table.tree)
    neighbours = tuple(
        Neighbour(name, variety, entry.distance_m, tuple(entry.former_ids))
        for name, entry in zip(neighbour_ids(table), table.neighbour, strict=True)
        if (variety := names.variety(entry.species, entry.variety, f'neighbour "{name}", variety'))
        is not None
    )
    scions = tuple(
        Scion(variety, entry.blocked, entry.crops, entry.cost)
        for number, entry in enumerate(table.scion, start=1)
        if (variety := names.variety(
            entry.species, entry.variety, f'scion {number}, variety')) is not None
    )  # fmt: skip
    findings = tuple(names.findings)
    if has_errors(findings):
        return None, findings
    plan = Plan(
        site=_site(table, latitude),
        aim=Aim(**table.aim.model_dump()),
        trees=_without_none(trees),
        neighbours=neighbours,
        scions=scions,
        own_varieties=own,
        weather_file=table.site.weather,
        file=file,
        lost_neighbours=tuple(table.site.lost_neighbours),
    )
    return plan, findings


def _without_none(entries: Iterable[_T | None]) -> tuple[_T, ...]:
    return tuple(entry for entry in entries if entry is not None)


def _site(table: PlanTable, latitude: float) -> Site:
    site, normals = table.site, table.site.normals
    return Site(
        site.name,
        latitude,
        site.longitude,
        site.elevation_m,
        None
        if normals is None
        else Normals(
            tuple(normals.tmin_c), tuple(normals.tmax_c), say("typed in the plan"), "plan"
        ),
        latitude_known=site.latitude is not None,
    )


def _tree(entry: Any, names: Names) -> Tree | None:
    fruit = names.fruit(entry.species)
    limbs = []
    for limb in entry.limb:
        place = f'tree "{entry.id}", limb "{limb.id}", variety'
        variety = names.variety(entry.species, limb.variety, place)
        if variety is not None:
            former = tuple(limb.former_ids)
            limbs.append(Limb(limb.id, entry.id, variety, limb.grafted, limb.crops, former))
    if fruit is None:
        return None
    return Tree(entry.id, fruit, tuple(limbs), entry.spare_limbs, tuple(entry.lost_limbs))
