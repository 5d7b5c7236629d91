"""Step three of a plan: what is wrong in tables that each keep to their keys and bounds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import chain
from unicodedata import normalize

from pollinet.domain import Fruit, Plan
from pollinet.findings import Finding
from pollinet.messages import joined, listing, say
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
        _repeated_scions,
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
    yield from _like_ids([*(limb.id for limb in limbs), *table.neighbour_ids], file)


def _like_ids(names: Sequence[str], file: str) -> Iterator[Finding]:
    """Warnings for ids that differ in small and capital letters alone, or in accents' coding."""
    alike: dict[str, list[str]] = {}
    for name in dict.fromkeys(names):
        alike.setdefault(normalize("NFC", name).casefold(), []).append(name)
    for several in alike.values():
        if len(several) > 1:
            message = say("the ids {names} are easily mistaken for each other",
                          names=joined([f'"{name}"' for name in several]))  # fmt: skip
            cure = say("give one of them another id; the log tells them apart by their letters")
            yield Finding("warning", "like-ids", message, file, "limb", cure=cure)


def _reserved_ids(table: PlanTable, file: str) -> Iterator[Finding]:
    names = [limb.id for tree in table.tree for limb in tree.limb] + list(table.neighbour_ids)
    for name in names:
        if name.casefold() != WHOLE_GARDEN:
            continue
        message = say('the id "{name}" stands for the whole garden in the log', name=name)
        cure = say("give the limb or the neighbour's tree another id")
        yield Finding("error", "reserved-id", message, file, "id", cure=cure)


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
        cure = say("look whether the two rows are exchanged, and at these months")
        yield Finding("error", "tmin-above-tmax", message, file, place, cure=cure)
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
        cure = say("near_m: pollen comes as within a tree up to here; far_m: none from here on")
        yield Finding("error", "wrong-value", message, file, "aim, far_m", cure=cure)


def _repeated_varieties(table: PlanTable, file: str) -> Iterator[Finding]:
    for (_, name), n in Counter((entry.species, entry.name) for entry in table.variety).items():
        if n > 1:
            message = say('"{name}" is described {number} times', name=name, number=n)
            cure = say("keep one [[variety]] for it")
            yield Finding("error", "repeated-variety", message, file, "variety", cure=cure)


def _repeated_scions(table: PlanTable, file: str) -> Iterator[Finding]:
    for (_, name), n in Counter((entry.species, entry.variety) for entry in table.scion).items():
        if n > 1:
            message = say('"{name}" stands {number} times among the scions', name=name, number=n)
            cure = say("keep one [[scion]] for it; it can be grafted more than once")
            yield Finding("warning", "repeated-scion", message, file, "scion", cure=cure)


def late_years(plan: Plan, this_year: int) -> tuple[Finding, ...]:
    """A warning for each year of the plan that lies ahead: of grafting beyond the next spring, or
    of normals."""
    years = plan.site.normals.years if plan.site.normals is not None else None
    ahead: tuple[Finding, ...] = ()
    if years is not None and years[1] > this_year:
        message = say("these normals stand for years to come, up to {year}", year=str(years[1]))
        cure = say("give the first and the last year that were measured: years = [1991, 2020]")
        place = "site, normals, years"
        ahead = (Finding("warning", "years-to-come", message, plan.file, place, cure=cure),)
    message = say("this year lies more than a year ahead")
    return ahead + tuple(
        Finding("warning", "graft-to-come", message, plan.file, f"{limb.id}, grafted",
                cure=say("write the year in which it was grafted, or will be next spring"))
        for limb in plan.limbs
        if limb.grafted is not None and limb.grafted > this_year + 1
    )  # fmt: skip
