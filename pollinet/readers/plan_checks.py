"""Step three of a plan: what is wrong in tables that each keep to their keys and bounds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import chain

from pollinet.domain import Fruit, Plan
from pollinet.findings import Finding
from pollinet.messages import listing, say
from pollinet.readers.observations import WHOLE_GARDEN
from pollinet.readers.plan_bounds import MONTHLY_MEAN_C
from pollinet.readers.plan_positions import position_problems
from pollinet.readers.plan_table import NormalsTable, PlanTable


def plan_problems(table: PlanTable, file: str) -> tuple[Finding, ...]:
    """All that is wrong in a plan and can be told without a catalogue."""
    found = (
        _repeated_ids,
        _reserved_ids,
        _empty_places,
        _site_problems,
        _aim_problems,
        _repeated_varieties,
        position_problems,
    )
    return tuple(chain.from_iterable(problems(table, file) for problems in found))


def _repeated_ids(table: PlanTable, file: str) -> Iterator[Finding]:
    limbs = [limb for tree in table.tree for limb in tree.limb]
    # The log knows former and lost ids too: none of them may come to mean something else.
    former = [name for limb in limbs for name in limb.former_ids]
    former += [name for tree in table.neighbour for name in tree.former_ids]
    lost = [name for tree in table.tree for name in tree.lost_limbs] + table.site.lost_neighbours
    kinds = {
        "limb": [*(limb.id for limb in limbs), *table.neighbour_ids, *former, *lost],
        "tree": [tree.id for tree in table.tree],
    }
    for kind, names in kinds.items():
        for name, count in Counter(names).items():
            if count > 1:
                yield repeated_id(name, count, kind, file)


def _reserved_ids(table: PlanTable, file: str) -> Iterator[Finding]:
    names = [limb.id for tree in table.tree for limb in tree.limb] + list(table.neighbour_ids)
    if WHOLE_GARDEN in names:
        message = say('the id "{name}" stands for the whole garden in the log', name=WHOLE_GARDEN)
        cure = say("give the limb or the neighbour's tree another id")
        yield Finding("error", "reserved-id", message, file, WHOLE_GARDEN, cure=cure)


def repeated_id(name: str, count: int, kind: str, file: str) -> Finding:
    """That an id stands for several entries."""
    message = say('the id "{name}" stands {number} times', name=name, number=count)
    cure = say("give every tree, limb and neighbour an id of its own; former and lost ones count")
    return Finding("error", "repeated-id", message, file, kind, cure=cure)


def _empty_places(table: PlanTable, file: str) -> Iterator[Finding]:
    yield from (empty_tree(tree.id, file) for tree in table.tree if not tree.limb)
    if not table.tree:
        cure = say("add a [[tree]] with id and species, and its limbs as [[tree.limb]]")
        yield Finding("error", "no-tree", say("the plan has no tree"), file, cure=cure)


def empty_tree(name: str, file: str) -> Finding:
    """That a tree stands without a limb."""
    message, place = say("this tree has no limb"), f'tree "{name}"'
    cure = say("add a [[tree.limb]] with id and variety; the tree's own variety is a limb too")
    return Finding("error", "empty-tree", message, file, place, cure=cure)


def _site_problems(table: PlanTable, file: str) -> Iterator[Finding]:
    if table.site.normals is not None:
        yield from _normals_problems(table.site.normals, file)


def _normals_problems(normals: NormalsTable, file: str) -> Iterator[Finding]:
    place = "site, normals"
    pairs = list(zip(normals.tmin_c, normals.tmax_c, strict=True))
    crossed = [month + 1 for month, (low, high) in enumerate(pairs) if low >= high]
    if crossed:
        message = say("tmin_c is not below tmax_c in month {months}", months=listing(crossed))
        yield Finding("error", "tmin-above-tmax", message, file, place)
    if normals.years and normals.years[0] > normals.years[1]:
        message = say("years is {first} to {last}", first=normals.years[0], last=normals.years[1])
        cure = say("give the first and the last year: years = [1991, 2020]")
        yield Finding("error", "wrong-value", message, file, f"{place}, years", cure=cure)
    low, high = MONTHLY_MEAN_C
    hot = [value for pair in pairs for value in pair if not low <= value <= high]
    if hot:
        message = say("{value:g} cannot be a monthly mean in °C", value=hot[0])
        cure = say("give degrees Celsius: (°F − 32) / 1.8")
        yield Finding("error", "wrong-unit", message, file, place, cure=cure)


def _aim_problems(table: PlanTable, file: str) -> Iterator[Finding]:
    near = Fruit.near_m if table.aim.near_m is None else table.aim.near_m
    far = Fruit.far_m if table.aim.far_m is None else table.aim.far_m
    if far <= near:
        message = say("far_m is {far:g} and must be more than near_m, {near:g}", far=far, near=near)
        yield Finding("error", "wrong-value", message, file, "aim, far_m")


def _repeated_varieties(table: PlanTable, file: str) -> Iterator[Finding]:
    for (_, name), n in Counter((entry.species, entry.name) for entry in table.variety).items():
        if n > 1:
            message = say('"{name}" is described {number} times', name=name, number=n)
            cure = say("keep one [[variety]] for it")
            yield Finding("error", "repeated-variety", message, file, "variety", cure=cure)


def late_grafts(plan: Plan, this_year: int) -> tuple[Finding, ...]:
    """A warning for every limb whose year of grafting lies beyond the next spring."""
    message = say("this year lies more than a year ahead")
    return tuple(
        Finding("warning", "graft-to-come", message, plan.file, f"{limb.id}, grafted",
                cure=say("write the year in which it was grafted, or will be next spring"))
        for limb in plan.limbs
        if limb.grafted is not None and limb.grafted > this_year + 1
    )  # fmt: skip
