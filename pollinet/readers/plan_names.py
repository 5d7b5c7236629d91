"""Step two of a plan: checked tables → the domain's `Plan`, fruits and varieties by their names.

The plan's own varieties go before the catalogue's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

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
    VarietyId,
)
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.names import resolve_fruit
from pollinet.readers.plan_positions import neighbour_distance_m, position_of
from pollinet.readers.plan_table import PlanTable, TreeTable
from pollinet.readers.plan_varieties import Names, own_varieties

DEFAULT_LATITUDE = 45.0
"""Used only to lay typed northern dates into a season when the plan gives no latitude."""


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
    names = Names(catalogue, fruits, file, table.variety)
    own = own_varieties(table.variety, names, latitude)
    trees = tuple(_trees(table.tree, names))
    neighbours = []
    for name, near in zip(table.neighbour_ids, table.neighbour, strict=True):
        variety, known = names.neighbour(near.species, near.variety, name)
        distance_m = neighbour_distance_m(table, near)
        if variety is not None and distance_m is not None:
            neighbours.append(
                Neighbour(
                    name,
                    variety,
                    distance_m,
                    tuple(near.former_ids),
                    as_typed(near.variety, variety) if known else "",
                    known,
                    position_of(near.position_m),
                    near.may_be_felled,
                    near.biennial,
                )
            )
    scions = []
    for number, wood in enumerate(table.scion, start=1):
        variety = names.variety(wood.species, wood.variety, f"scion {number}, variety")
        if variety is not None:
            told = wood.model_dump(exclude={"species", "variety"})
            scions.append(Scion(variety, **told))
    findings = tuple(names.findings)
    if has_errors(findings):
        return None, findings
    plan = Plan(
        site=_site(table, latitude),
        aim=Aim(**table.aim.model_dump()),
        trees=trees,
        neighbours=tuple(neighbours),
        scions=tuple(scions),
        own_varieties=own,
        weather_file=table.site.weather,
        file=file,
        lost_neighbours=tuple(table.site.lost_neighbours),
    )
    return plan, findings


def as_typed(name: str, variety: VarietyId) -> str:
    """A name in a plan where it is not that of the variety; else nothing."""
    return "" if name == variety.name else name


def _site(table: PlanTable, latitude: float) -> Site:
    site, typed = table.site, table.site.normals
    normals = None
    if typed is not None:
        months = tuple(typed.tmin_c), tuple(typed.tmax_c)
        years = (typed.years[0], typed.years[1]) if typed.years else None
        normals = Normals(*months, say("typed in the plan"), "plan", years)
    known = site.latitude is not None
    return Site(site.name, latitude, site.longitude, site.elevation_m, normals, known)


def _trees(entries: Iterable[TreeTable], names: Names) -> Iterator[Tree]:
    for entry in entries:
        limbs = []
        for limb in entry.limb:
            place = f'tree "{entry.id}", limb "{limb.id}", variety'
            variety, known = names.limb(entry.species, limb.variety, limb.id, place)
            if variety is not None:
                limbs.append(
                    Limb(
                        limb.id,
                        entry.id,
                        variety,
                        limb.grafted,
                        limb.crops,
                        tuple(limb.former_ids),
                        as_typed(limb.variety, variety) if known else "",
                        limb.biennial,
                        known,
                    )
                )
        fruit = names.fruit(entry.species)
        if fruit is not None:
            yield Tree(
                entry.id,
                fruit,
                tuple(limbs),
                spare_limbs=entry.spare_limbs,
                lost_limbs=tuple(entry.lost_limbs),
                position_m=position_of(entry.position_m),
                rootstock=entry.rootstock or "",
            )
