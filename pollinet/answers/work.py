"""The work of the coming twelve months, dated from this garden's bloom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar

from pollinet.advice.work import Task
from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.study import Study
from pollinet.summary.suits import harvest_gaps, limb_dates, scions_to_graft, year_of_work
from pollinet.wording.suits import work_answer


@dataclass(frozen=True)
class DatedTask:
    """One piece of work."""

    task: Annotated[str, About("Stable word.")]
    title: str
    first: date
    last: date
    species: str | None
    limbs: tuple[str, ...]
    scions: Annotated[
        tuple[str, ...] | None,
        About("Varieties to graft, empty: any; null: no work of grafting."),
    ]
    reason: str
    source: str
    status: str


@dataclass(frozen=True)
class HarvestGap:
    """A time in which nothing ripens."""

    after: str
    before: str
    days: int


@dataclass(frozen=True, repr=False)
class Work(Answer):
    """The work of twelve months."""

    NAME: ClassVar[str] = "work"
    ROWS: ClassVar[str] = "tasks"
    ROW: ClassVar[type] = DatedTask

    answer: Told
    tasks: Annotated[tuple[DatedTask, ...], About("By date.")]
    grafting_not_dated: Annotated[
        tuple[str, ...],
        About("Fruits that bloom long before they leaf, of which no leafing is noted."),
    ]
    harvest_gaps: Annotated[
        tuple[HarvestGap, ...],
        About(
            "Days without ripe fruit between two first picks, that of a variety counted for 14 "
            "days. [days]"
        ),
    ]
    findings: Findings


@dataclass(frozen=True)
class YearOfWork:
    """The tasks of a year, the gaps between harvests, and fruits whose grafting has no date."""

    tasks: tuple[Task, ...]
    gaps: tuple[tuple[str, str, float], ...]
    undated: tuple[str, ...]


def work_from(study: Study, today: date) -> YearOfWork:
    """What there is to do in the twelve months from a day on."""
    from pollinet.advice.work import undated_grafts

    dates = limb_dates(study)
    found = year_of_work(dates, today, scions_to_graft(*study.cover()))
    return YearOfWork(tuple(found), tuple(harvest_gaps(dates)), tuple(undated_grafts(dates)))


def work_of(study: Study, year: YearOfWork) -> Work:
    """The answer on the work of a year."""
    return Work(
        answer=work_answer(year.tasks),
        tasks=tuple(map(_task, year.tasks)),
        grafting_not_dated=year.undated,
        harvest_gaps=tuple(HarvestGap(one, other, round(days)) for one, other, days in year.gaps),
        findings=study.findings,
    )


def _task(task: Task) -> DatedTask:
    return DatedTask(
        task.task,
        task.title,
        task.first,
        task.last,
        task.fruit,
        tuple(task.limbs),
        None if task.scions is None else tuple(task.scions),
        task.reason,
        task.source,
        task.status,
    )
