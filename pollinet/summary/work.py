"""A study → the dates of the work of the year, whose blossom goes into jars, what is grafted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median
from typing import Any

from pollinet.advice.harvest import gaps
from pollinet.advice.pollinizer import jars
from pollinet.advice.season import bears
from pollinet.advice.work import (
    LimbDates,
    Task,
    Wood,
    first_bloomers,
    just_over,
    tasks,
    undated_grafts,
)
from pollinet.days import coming_spring, day_of_year, is_southern
from pollinet.domain import Limb, NetworkInput, Scion, VarietyId
from pollinet.network.cover import Cover
from pollinet.network.coverage import DonorShare
from pollinet.network.shortage import pollen_helps
from pollinet.network.years import graft_method
from pollinet.readers.advice import Rows, advice_tables
from pollinet.readers.bearing import load_bearing
from pollinet.shares import reaches
from pollinet.study import Study
from pollinet.summary.advice import garden_balance
from pollinet.summary.limbs import bloom_dates
from pollinet.summary.scions import NearHelp, near_help
from pollinet.summary.suits import garden_harvests


@dataclass(frozen=True)
class GardenDates:
    """Usual dates of the limbs, and the limbs of which nothing at all is known."""

    limbs: tuple[LimbDates, ...]
    undated: tuple[str, ...]


def work_rows() -> Rows:
    """All that can be to do: the work of bloom and fruit, and that of grafting."""
    return (*advice_tables()["work"], *graft_rows())


def graft_rows() -> Rows:
    """The work of grafting."""
    return tuple({**row, "scope": "graft"} for row in advice_tables()["grafting_windows"])


def year_of_work(
    dates: Sequence[LimbDates], today: date, wood: Mapping[str, Wood]
) -> tuple[Task, ...]:
    """The tasks of the coming twelve months, dated from usual bloom at this site."""
    return tasks(work_rows(), dates, today, wood)


def lately_over(
    dates: Sequence[LimbDates], today: date, wood: Mapping[str, Wood]
) -> tuple[Task, ...]:
    """The tasks that a garden needs and whose time has just ended, the latest last."""
    return tuple(task for task in just_over(work_rows(), dates, today, wood) if task.needed)


def wood_to_graft(network: NetworkInput, cover: Cover) -> dict[str, Wood]:
    """The wood that a cover takes, by fruit."""
    found: dict[str, Wood] = {}
    for place in sorted(cover.added or cover.partial):
        node = network.nodes[place]
        before = found.get(node.variety.species, Wood(()))
        order = () if node.at_hand else (node.variety.name,)
        found[node.variety.species] = Wood(
            (*before.wanted, node.variety.name), (*before.to_order, *order)
        )
    return found


def harvest_gaps(dates: Sequence[LimbDates]) -> list[tuple[str, str, float]]:
    """Varieties whose harvests follow each other with weeks between in which nothing ripens."""
    return gaps(
        {
            limb.variety: limb.harvest
            for limb in dates
            if limb.harvest is not None and "bears" in limb.marks
        }
    )


def bearing_limbs(study: Study) -> set[str]:
    """Limbs that are to crop and have their donors in enough winters to count for the season."""
    nodes = study.network.nodes
    return {nodes[row.node].id for row in study.coverage if bears(row.reliability)}


def garden_dates(study: Study, today: date | None = None) -> GardenDates:
    """Usual dates of every limb, with the scopes of work it belongs to.

    A limb that nobody has dated goes by the run of its fruit, else by the other limbs of its fruit.

    today : for the age of grafts; None: no limb is too young for any work.
    """
    ripe = garden_harvests(study, study.varieties(), study.bloom)
    leafing = _leafing_days(study)
    marks = _marks(study, today)
    jar = jar_donors(study)
    ages = _first_springs(study) if today is not None else {}

    def dated(limb: Limb, **dates: Any) -> LimbDates:
        flowers_from, crops_from = ages.get(limb.id, (None, None))
        return LimbDates(
            limb=limb.id, variety=limb.variety.name, fruit=limb.variety.species,
            marks=marks[limb.id], grafted=None if today is None else limb.grafted,
            flowers_from=flowers_from, crops_from=crops_from, donors=jar.get(limb.id, ()), **dates,
        )  # fmt: skip

    found: dict[str, LimbDates] = {}
    for limb in study.plan.limbs:
        dates = bloom_dates(study.bloom, limb.variety)
        if dates is None:
            continue
        harvest = ripe.get(limb.variety)
        is_own = bool(study.bloom.dated[study.bloom.varieties.index(limb.variety)])
        found[limb.id] = dated(
            limb,
            start=dates.start,
            full=dates.full + (365 if dates.full < dates.start else 0),
            end=dates.end + (365 if dates.end < dates.start else 0),
            harvest=None if harvest is None else harvest.day,
            leafing=leafing.get(limb.id),
            before_leaf=study.fruit_of(study.known[limb.variety]).shed_apart,
            southern=is_southern(study.plan.site.latitude),
            rests_on="own" if is_own else "run",
        )
    for limb in study.plan.limbs:
        beside = [other for other in found.values() if other.fruit == limb.variety.species]
        if beside and limb.id not in found:
            found[limb.id] = dated(
                limb,
                start=median(other.start for other in beside),
                full=median(other.full for other in beside),
                end=median(other.end for other in beside),
                before_leaf=beside[0].before_leaf,
                southern=beside[0].southern,
                rests_on="others",
            )
    limbs = study.plan.limbs
    return GardenDates(
        tuple(found[limb.id] for limb in limbs if limb.id in found),
        tuple(limb.id for limb in limbs if limb.id not in found),
    )


def _marks(study: Study, today: date | None) -> dict[str, frozenset[str]]:
    """The scopes of `work.csv` that each limb belongs to."""
    nodes = study.network.nodes
    verdicts = {nodes[limb.node].id: limb.verdict for limb in study.coverage}
    wanting = {nodes[limb.node].id for limb in study.coverage
               if not limb.covered and pollen_helps(study.network, limb)}  # fmt: skip
    bearing = bearing_limbs(study)
    year = None if today is None else coming_spring(study.plan.site.latitude, today)
    balance = {b.limb: b for limbs in garden_balance(study, year).values() for b in limbs}
    spare = {tree.id for tree in study.open_trees if tree.spare_limbs > 0}
    found = {}
    for limb in study.plan.limbs:
        flags = balance[limb.id].flags
        marks = {
            "uncovered": limb.id in wanting,
            "lacking": verdicts.get(limb.id) == "lacking",
            "strong": "summer-prune" in flags or "shades" in flags,
            "alternates": "alternates" in flags,
            "graft": limb.tree in spare,
            "bears": limb.id in bearing,
            "doubtful": _short_of_chill(study, limb.variety),
        }
        found[limb.id] = frozenset(name for name, holds in marks.items() if holds)
    return found


def _first_springs(study: Study) -> dict[str, tuple[int, int]]:
    """First spring in which each limb of known age can flower, and in which it surely does."""
    found = {}
    for tree in study.plan.trees:
        for limb in tree.limbs:
            if limb.grafted is not None:
                fruit = limb.variety.species
                age = load_bearing([fruit], graft_method(limb, tree))[fruit]
                found[limb.id] = limb.grafted + age.first, limb.grafted + age.late
    return found


def _leafing_days(study: Study) -> dict[str, float]:
    """Usual day of leafing of the limbs of which it is noted. [day of year]"""
    noted: dict[str, list[int]] = {}
    for seen in study.records.sound:
        if seen.kind == "leafing" and seen.day is not None:
            noted.setdefault(seen.limb, []).append(day_of_year(seen.day.month, seen.day.day))
    return {limb: float(median(found)) for limb, found in noted.items()}


def _short_of_chill(study: Study, variety: VarietyId) -> bool:
    """Whether its flowers lack chill in more winters than the plan allows."""
    node = next(i for i, n in enumerate(study.network.nodes) if n.variety == variety)
    served = study.network.chill_quality[node] >= study.network.min_chill_quality
    return not reaches(float(served.mean()), study.plan.aim.level)


@dataclass(frozen=True)
class YearOfWork:
    """The tasks of the twelve months from `today` on, and what else there is to say of them.

    over : tasks that have just ended. undated : limbs without any date. no_room : fruits that need
    a graft and have no room. undated_grafts : fruits whose grafting has no date. may_flower : limbs
    that may flower for the first time in the coming `spring`. gaps : between harvests of that
    year. unripe : limbs that would ripen then, were they old enough. near : what helps most where
    no scion is enough.
    """

    today: date
    tasks: tuple[Task, ...]
    over: tuple[Task, ...]
    undated: tuple[str, ...]
    no_room: tuple[str, ...]
    undated_grafts: tuple[str, ...]
    may_flower: tuple[str, ...]
    spring: int
    gaps: tuple[tuple[str, str, float], ...]
    unripe: tuple[str, ...] = ()
    near: NearHelp | None = None


def work_from(study: Study, today: date) -> YearOfWork:
    """What there is to do in the twelve months from a day on."""
    dates = garden_dates(study, today)
    network, cover = study.cover()
    wood = wood_to_graft(network, cover)
    bare = [limb.fruit for limb in dates.limbs if "lacking" in limb.marks]
    spring = coming_spring(study.plan.site.latitude, today)
    old = [one for one in dates.limbs if one.crops_from is None or one.crops_from <= spring]
    roomy = {tree.species for tree in study.open_trees if tree.spare_limbs > 0}
    return YearOfWork(
        today=today,
        tasks=year_of_work(dates.limbs, today, wood),
        over=lately_over(dates.limbs, today, wood),
        undated=dates.undated,
        no_room=tuple(fruit for fruit in dict.fromkeys(bare) if fruit not in roomy),
        undated_grafts=undated_grafts(dates.limbs),
        may_flower=first_bloomers(dates.limbs, spring),
        spring=spring,
        gaps=tuple(harvest_gaps(old)),
        unripe=tuple(
            one.limb
            for one in dates.limbs
            if one not in old and one.harvest is not None and "bears" in one.marks
        ),
        near=near_help(study, network, cover),
    )


# --- jars of blossom -----------------------------------------------------------------------------

JAR_NAMES = 3
"""Varieties named for one jar."""

WELL_KNOWN = 60
"""So many varieties of a fruit of which most is told are looked at for a jar: those that somebody
near is likely to have. Own convention."""

LEAST_JAR = 0.5
"""A variety is named for a jar where it would serve in half of the winters. Own convention."""


def jar_donors(study: Study) -> dict[str, tuple[str, ...]]:
    """Whose blossom would serve each limb that has no sure donor, the best first.

    Trees next door and the mother trees of scions at hand go before; where none of these would
    do, well-known varieties of the catalogue.
    """
    nodes = study.network.nodes
    bare = [row.node for row in study.coverage if not row.covered]
    if not bare:
        return {}
    found = _jars_from(study, bare, study.free_scions())
    named = {limb: [name.name for name, _ in sources] for limb, sources in found.items()}
    missing = [node for node in bare if not named.get(nodes[node].id)]
    fruits = {nodes[node].variety.species for node in missing}
    known = [scion for fruit in sorted(fruits) for scion in _well_known(study, fruit)]
    if known:
        told = study.known
        for limb, sources in _jars_from(study, missing, known).items():
            ranked = sorted(
                sources,
                key=lambda one: (
                    one[1].verdict.answer == "unknown",
                    -round(one[1].reliability, 1),
                    -len(told[one[0]].facts),
                    one[0],
                ),
            )
            named[limb] = [name.name for name, _ in ranked]
    return {limb: tuple(dict.fromkeys(names))[:JAR_NAMES] for limb, names in named.items() if names}


def _well_known(study: Study, fruit: str) -> list[Scion]:
    """The varieties of a fruit of which most is told."""
    told = study.known
    names = (one.variety for one in study.catalogue_scions() if one.variety.species == fruit)
    ranked = sorted(dict.fromkeys(names), key=lambda name: (-len(told[name].facts), name))
    return [Scion(name) for name in ranked[:WELL_KNOWN]]


def _jars_from(
    study: Study, limbs: Sequence[int], scions: Sequence[Scion]
) -> dict[str, list[tuple[VarietyId, DonorShare]]]:
    """Varieties and how well they serve, for each of some limbs, by its id."""
    single = tuple({scion.variety: scion for scion in scions}.values())
    network = study.network_of(single)
    nodes = network.nodes
    candidates = [i for i, node in enumerate(nodes) if node.kind == "candidate"]
    return {
        nodes[jar.node].id: [
            (nodes[one.node].variety, one) for one in jar.sources if one.reliability >= LEAST_JAR
        ]
        for jar in jars(network, limbs, candidates, study.suspected_ids)
    }
