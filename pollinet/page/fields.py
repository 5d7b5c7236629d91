"""What the forms of a place and of an entry need to be shown, beside what was typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pollinet.language import _, number
from pollinet.page import towns
from pollinet.page.entries import Filled, Known, Place, climate_at, names_of, place_of
from pollinet.readers.catalogue import fruits
from pollinet.readers.names import resolve_fruit


def texts_of(values: Mapping[str, Any]) -> dict[str, str]:
    """Values as they stand in the fields of a form."""
    return {
        key: number(value, ".7g") if isinstance(value, float) else str(value)
        for key, value in values.items()
        if value is not None
    }


def place_helped(values: dict[str, str]) -> dict[str, Any]:
    """What is shown to one who asked for help with the place; empty where nobody did.

    values : of the form; what was chosen is filled in.
    """
    typed = values.get("town", "").strip()
    if chosen := values.get("town_id"):
        town = next((one for one in towns.towns_named(typed) if one.id == chosen), None)
        if town is not None:
            values |= texts_of({"latitude": town.latitude, "longitude": town.longitude})
            values |= {"town": "", "elevation_m": "", "name": values.get("name") or town.name}
        return {"chosen": town}
    if values.get("act") == "find" and typed:
        return {"towns": towns.towns_named(typed), "searched": typed}
    if values.get("act") == "height" and (climate := climate_at(place_of(values))):
        values["elevation_m"] = number(climate.nearest[0].elevation_m, ".0f")
        return {"chosen": None}
    return {}


def place_context(values: Mapping[str, str]) -> dict[str, Any]:
    """What the fields of a place need, with what the stations near it tell of its height."""
    found = place_of(values)
    bare = Place(None, found.latitude, found.longitude, None)
    return {
        "values": values,
        "has_towns": towns.available(),
        "nearby": None if found.elevation_m is not None else climate_at(bare),
    }


def choice_of(values: Mapping[str, str]) -> dict[str, Any]:
    """The fruit or the tree that a form of a new entry is for, as its address tells it."""
    return {key: values[key] for key in ("fruit", "tree") if values.get(key)}


def add_context(
    kind: str, values: Mapping[str, str], known: Known, made: Filled | None
) -> dict[str, Any]:
    """What the form of a new entry needs: its fruit, or fruits to choose from, and names."""
    asked = known.trees.get(values.get("tree", "")) if kind == "limb" else values.get("fruit", "")
    fruit = resolve_fruit(asked, fruits())[0] if asked else None
    # What grows in the garden already comes first.
    here = [resolve_fruit(one, fruits())[0] for one in known.trees.values()]
    ordered = dict.fromkeys([*(one for one in here if one), *fruits()])
    return {
        "kind": kind,
        "fruit": fruit,
        "fruits": [(one, _(one)) for one in ordered],
        "trees": known.trees,
        "names": names_of(fruit, known) if fruit else (),
        "values": values,
        "made": made,
    }
