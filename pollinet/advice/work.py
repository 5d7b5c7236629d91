"""The work of the coming twelve months, dated from this garden's bloom.

What is done when, and why, is the table `work.csv`: days before or after a stage of bloom.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from pollinet.advice.rules import Rows, split

NORTHERN_MIDWINTER, SOUTHERN_MIDWINTER = 355.0, 172.0
"""Winter solstice. [day of year]"""


@dataclass(frozen=True)
class LimbDates:
    """One limb with its usual dates and what is the matter with it. [day of year]

    harvest : None: not known. marks : scopes of `work.csv` that it belongs to, such as
    `uncovered` or `alternates`.
    leafing : of a fruit that blooms months before it leafs, as noted; else None.
    before_leaf : whether it does: no graft is then dated from bloom.
    midwinter : day of the winter solstice where it stands.
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
    midwinter: float = NORTHERN_MIDWINTER


@dataclass(frozen=True)
class Task:
    """One thing to do, for one fruit or some of its limbs, first and last day counted.

    scions : what to graft, empty: any; None: no work of grafting. scope : of its row in `work.csv`.
    """

    task: str
    title: str
    fruit: str
    limbs: tuple[str, ...]
    first: date
    last: date
    reason: str
    caution: str
    source: str
    status: str
    scions: tuple[str, ...] | None = None
    scope: str = ""


def tasks(
    rows: Rows,
    limbs: Sequence[LimbDates],
    today: date,
    scions: Mapping[str, tuple[str, ...]] | None = None,
) -> tuple[Task, ...]:
    """Every task whose last day lies within the twelve months from today on, by date.

    Parameters
    ----------
    limbs : with known bloom; limbs without have no dated work.
    today : first day that still counts.
    scions : names of those to graft, by fruit.
    """
    found = [task for row in rows for task in _of_row(row, limbs, today, scions or {})]
    return tuple(sorted(found, key=lambda t: (t.first, t.last, t.task, t.fruit, t.limbs)))


def undated_grafts(limbs: Sequence[LimbDates]) -> tuple[str, ...]:
    """Fruits whose grafting cannot be dated: they bloom before they leaf, none is noted."""
    early = [limb for limb in limbs if limb.before_leaf and "graft" in limb.marks]
    noted = {limb.fruit for limb in early if limb.leafing is not None}
    return tuple(sorted({limb.fruit for limb in early} - noted))


def _of_row(
    row: Mapping[str, str],
    limbs: Sequence[LimbDates],
    today: date,
    scions: Mapping[str, tuple[str, ...]],
) -> Iterable[Task]:
    fruits = split(row["fruits"])
    for group in _groups(row["scope"], limbs):
        if fruits and group[0].fruit not in fruits:
            continue
        days = _one_season([d for d in (_anchors(row["anchor"], limb) for limb in group) if d])
        if not days:
            continue
        if row["anchor"] == "first-leaves":
            # A tree has one bark: it slips by its earliest variety.
            days = [min(days)]
        first = min(day for day, _ in days) + float(row["first_days"])
        last = max(end if row["scope"] in ("span", "fruit") and row["anchor"] == "bloom-start"
                   else day for day, end in days) + float(row["last_days"])  # fmt: skip
        begins, ends = dated(first, last, today)
        yield Task(
            row["task"], row["title"], group[0].fruit, tuple(limb.limb for limb in group),
            begins, ends, row["reason"], row["caution"], row["source"], row["status"],
            scions.get(group[0].fruit, ()) if row["scope"] == "graft" else None, row["scope"],
        )  # fmt: skip


def _groups(scope: str, limbs: Sequence[LimbDates]) -> list[list[LimbDates]]:
    """Limbs that share one task: those of a fruit together, the others each alone."""
    if scope in ("uncovered", "doubtful"):
        return [[limb] for limb in limbs if scope in limb.marks]
    if scope == "harvest":
        return [[limb] for limb in limbs if limb.harvest is not None]
    together: dict[str, list[LimbDates]] = {}
    for limb in limbs:
        if scope in ("fruit", "span") or scope in limb.marks:
            together.setdefault(limb.fruit, []).append(limb)
    return list(together.values())


def _anchors(anchor: str, limb: LimbDates) -> tuple[float, float] | None:
    """The day that a task counts from, and the end of bloom for tasks that last through it."""
    day = {
        "first-leaves": limb.leafing if limb.before_leaf else limb.start,
        "bloom-start": limb.start,
        "full-bloom": limb.full,
        "harvest": limb.harvest,
        "midwinter": limb.midwinter,
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
