"""The work of the coming twelve months, dated from this garden's bloom.

What is done when, and why, is in the tables `work.csv` and `grafting_windows.csv`: days before or
after a stage of bloom, the first leaves, the harvest or midwinter.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from pollinet.advice.rules import Rows, split
from pollinet.days import day_of_year, season_start

MIDWINTER = {False: 355.0, True: 172.0}
"""Winter solstice in the north, and in the south (`True`). [day of year]"""

RestsOn = Literal["own", "run", "others"]
"""What dates come from: of the variety's own bloom, of the run of its fruit, of the other limbs of
its fruit in the garden."""


@dataclass(frozen=True)
class LimbDates:
    """One limb with its usual dates and what is the matter with it. [day of year]

    harvest : None: not known. marks : scopes of `work.csv` that it belongs to, such as
    `uncovered` or `alternates`.
    leafing : of a fruit that blooms months before it leafs, as noted; else None.
    before_leaf : whether it does: no graft is then dated from bloom.
    southern : whether it stands south of the equator.
    grafted : year; None: not told. flowers_from, crops_from : first spring in which it can flower,
    and in which it surely does; None: any.
    donors : whose blossom would serve it in a jar.
    """

    limb: str
    variety: str
    fruit: str
    start: float
    full: float
    end: float
    harvest: float | None = None
    marks: frozenset[str] = frozenset()
    leafing: float | None = None
    before_leaf: bool = False
    southern: bool = False
    rests_on: RestsOn = "own"
    grafted: int | None = None
    flowers_from: int | None = None
    crops_from: int | None = None
    donors: tuple[str, ...] = ()


@dataclass(frozen=True)
class Wood:
    """The varieties of one fruit that are to be grafted, and those of them that must be ordered."""

    wanted: tuple[str, ...]
    to_order: tuple[str, ...] = ()


@dataclass(frozen=True)
class Task:
    """One thing to do, for one fruit or some of its limbs, first and last day counted.

    scions : what to graft, empty: any; None: no work of grafting. scope : of its row in `work.csv`.
    needed : False: a tree has room for a graft, but no limb lacks one.
    cautions : words of `cautions.csv`. donors : whose blossom goes into the jar.
    season : year of the spring that it belongs to. alarm_days : how long before its first day to be
    reminded; None: not at all. undated : limbs whose own bloom nobody has dated.
    """

    task: str
    title: str
    fruit: str
    limbs: tuple[str, ...]
    first: date
    last: date
    reason: str
    cautions: tuple[str, ...]
    source: str
    status: str
    scions: tuple[str, ...] | None = None
    scope: str = ""
    needed: bool = True
    donors: tuple[str, ...] = ()
    season: int = 0
    alarm_days: int | None = None
    undated: tuple[str, ...] = ()

    @property
    def grafting(self) -> bool:
        """Whether it is work of grafting, whose last day is the latest that makes sense."""
        return self.scope == "graft"

    @property
    def days_of_year(self) -> tuple[int, int]:
        """Its first and last day. [day of year]"""
        first, last = (day_of_year(day.month, day.day) for day in (self.first, self.last))
        return first, last


def tasks(
    rows: Rows, limbs: Sequence[LimbDates], today: date, wood: Mapping[str, Wood] | None = None
) -> tuple[Task, ...]:
    """Every task whose last day lies within the twelve months from today on, by date.

    Parameters
    ----------
    limbs : with bloom dates of any kind; limbs without have no dated work.
    today : first day that still counts.
    wood : to graft, by fruit.
    """
    bare = {limb.fruit for limb in limbs if "lacking" in limb.marks}
    found = [task for row in rows for task in _of_row(row, limbs, today, wood or {}, bare)]
    return tuple(sorted(found, key=lambda t: (t.first, t.last, t.task, t.fruit, t.limbs)))


OVER_DAYS = 60
"""What ended within so many days is told as over. Own convention. [days]"""


def just_over(
    rows: Rows, limbs: Sequence[LimbDates], today: date, wood: Mapping[str, Wood] | None = None
) -> tuple[Task, ...]:
    """Tasks that ended within the last `OVER_DAYS`, the latest last."""
    earlier = tasks(rows, limbs, today - timedelta(days=OVER_DAYS), wood)
    return tuple(sorted((t for t in earlier if t.last < today), key=lambda t: t.last))


def undated_grafts(limbs: Sequence[LimbDates]) -> tuple[str, ...]:
    """Fruits whose grafting cannot be dated: they bloom before they leaf, none is noted."""
    early = [limb for limb in limbs if limb.before_leaf and "graft" in limb.marks]
    noted = {limb.fruit for limb in early if limb.leafing is not None}
    return tuple(sorted({limb.fruit for limb in early} - noted))


def _of_row(
    row: Mapping[str, str],
    limbs: Sequence[LimbDates],
    today: date,
    wood: Mapping[str, Wood],
    bare: Collection[str],
) -> Iterable[Task]:
    """The tasks of one row; bare : fruits of which some limb lacks a donor."""
    fruits = split(row["fruits"])
    for limbs_together in _groups(row["scope"], limbs):
        if fruits and limbs_together[0].fruit not in fruits:
            continue
        found = _window(row, limbs_together, today)
        if found is None:
            continue
        group = [limb for limb in limbs_together if _takes_part(row, limb, found[2])]
        if group != limbs_together:
            found = _window(row, group, today) if group else None
        if found is None:
            continue
        begins, ends, season = found
        fruit = group[0].fruit
        wanted = wood.get(fruit, Wood(()))
        grafting = row["scope"] == "graft"
        if row["task"] == "order-scions" and wanted.wanted and not wanted.to_order:
            continue
        names = wanted.to_order if row["task"] == "order-scions" else wanted.wanted
        yield Task(
            task=row["task"],
            title=row["title"],
            fruit=fruit,
            limbs=tuple(limb.limb for limb in group),
            first=begins,
            last=ends,
            reason=row["reason"],
            cautions=split(row["caution"]),
            source=row["source"],
            status=row["status"],
            scions=names if grafting else None,
            scope=row["scope"],
            needed=not grafting or bool(wanted.wanted) or fruit in bare,
            donors=group[0].donors if row["task"] == "jar" else (),
            season=season,
            alarm_days=int(row["alarm_days"]) if row["alarm_days"] else None,
            undated=()
            if row["anchor"] == "midwinter"
            else tuple(limb.limb for limb in group if limb.rests_on != "own"),
        )


def _window(
    row: Mapping[str, str], group: Sequence[LimbDates], today: date
) -> tuple[date, date, int] | None:
    """First and last day of a task, and its season; None: nothing to count from."""
    days = _one_season([d for d in (_anchors(row["anchor"], limb) for limb in group) if d])
    if not days:
        return None
    if row["anchor"] == "first-leaves":
        # A tree has one bark: it slips by its earliest variety.
        days = [min(days)]
    begin = min(day for day, _ in days)
    last = max(end if row["scope"] in ("span", "fruit") and row["anchor"] == "bloom-start"
               else day for day, end in days) + float(row["last_days"])  # fmt: skip
    first = begin + float(row["first_days"])
    begins, ends = dated(first, last, today)
    anchor = begins + timedelta(days=round(begin) - round(first))
    return begins, ends, season_of(anchor, row["anchor"], southern=group[0].southern)


HARVEST_LATER_DAYS = 150
"""So long before it is picked a fruit was in bloom, about. Own convention. [days]"""


def season_of(anchor: date, kind: str, *, southern: bool) -> int:
    """Year of the spring that a task belongs to, by the day that it counts from.

    kind : what that day is; a harvest belongs to the spring before it.
    """
    day = anchor - timedelta(days=HARVEST_LATER_DAYS) if kind == "harvest" else anchor
    latitude = -1.0 if southern else 1.0
    return next(
        year for year in (day.year + 1, day.year, day.year - 1)
        if season_start(latitude, year) <= day
    )  # fmt: skip


OF_THE_CROP = ("thin", "thin-biennial", "count-set", "harvest")
"""Work at limbs that bear for certain."""


def _takes_part(row: Mapping[str, str], limb: LimbDates, season: int) -> bool:
    """Whether a limb is of the age for this work in that season."""
    scope = row["scope"]
    if scope == "new":
        return limb.grafted is not None and season - 1 <= limb.grafted <= season
    if scope in ("graft", "strong"):
        return True
    first = limb.crops_from if row["task"] in OF_THE_CROP else limb.flowers_from
    return first is None or season >= first


def first_bloomers(limbs: Sequence[LimbDates], season: int) -> tuple[str, ...]:
    """Limbs that may flower for the first time in a season, and may not."""
    return tuple(
        limb.limb
        for limb in limbs
        if limb.flowers_from is not None
        and limb.crops_from is not None
        and limb.flowers_from <= season < limb.crops_from
    )


def _groups(scope: str, limbs: Sequence[LimbDates]) -> list[list[LimbDates]]:
    """Limbs that share one task: those of a fruit together, the others each alone."""
    if scope in ("uncovered", "doubtful"):
        return [[limb] for limb in limbs if scope in limb.marks]
    if scope == "harvest":
        return [[limb] for limb in limbs if limb.harvest is not None]
    together: dict[str, list[LimbDates]] = {}
    for limb in limbs:
        if scope in ("fruit", "span", "new") or scope in limb.marks:
            together.setdefault(limb.fruit, []).append(limb)
    return list(together.values())


def _anchors(anchor: str, limb: LimbDates) -> tuple[float, float] | None:
    """The day that a task counts from, and the end of bloom for tasks that last through it."""
    day = {
        "first-leaves": limb.leafing if limb.before_leaf else limb.start,
        "bloom-start": limb.start,
        "full-bloom": limb.full,
        "harvest": limb.harvest,
        "midwinter": MIDWINTER[limb.southern],
    }[anchor]
    return None if day is None else (day, limb.end)


def _one_season(days: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The same days, each within half a year of the first: bloom may lie round the new year."""
    shifts = [365 * round((day - days[0][0]) / 365) for day, _ in days]
    return [(day - shift, end - shift) for (day, end), shift in zip(days, shifts, strict=True)]


def dated(first: float, last: float, today: date) -> tuple[date, date]:
    """First and last date of a span of days of the year: the next one not yet over.

    Days may run below 1 and above 365: those lie in the year before or after.
    """
    for year in (today.year - 1, today.year, today.year + 1, today.year + 2):
        start = date(year, 1, 1) + timedelta(days=round(first) - 1)
        end = date(year, 1, 1) + timedelta(days=round(last) - 1)
        if end >= today:
            break
    return start, end
