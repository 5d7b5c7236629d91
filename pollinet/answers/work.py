"""The work of the coming twelve months, dated from this garden's bloom."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar

from pollinet.advice.work import Task
from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.study import Study
from pollinet.summary.work import YearOfWork
from pollinet.wording.work import work_answer


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
    donors: Annotated[tuple[str, ...], About("Whose blossom would serve, the best first.")]
    needed: Annotated[bool, About("False: there is room for a graft, but no limb lacks one.")]
    undated: Annotated[
        tuple[str, ...],
        About("Limbs that go by the run of their fruit, as nobody has dated their bloom."),
    ]
    alarm_days: Annotated[
        int | None, About("Days before its first at which the calendar file reminds; null: none.")
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
    over: Annotated[
        tuple[DatedTask, ...], About("Work whose time ended within the last sixty days.")
    ]
    limbs_not_dated: Annotated[
        tuple[str, ...], About("Limbs of which neither bloom nor the weather here is known.")
    ]
    no_room: Annotated[
        tuple[str, ...],
        About("Fruits with a limb that lacks a donor, no tree of which has a limb to spare."),
    ]
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


def work_of(study: Study, year: YearOfWork) -> Work:
    """The answer on the work of a year."""
    return Work(
        answer=work_answer(year.tasks, year.today),
        tasks=tuple(map(_task, year.tasks)),
        over=tuple(map(_task, year.over)),
        limbs_not_dated=year.undated,
        no_room=year.no_room,
        grafting_not_dated=year.undated_grafts,
        harvest_gaps=tuple(HarvestGap(one, other, round(days)) for one, other, days in year.gaps),
        findings=study.findings,
    )


def _task(task: Task) -> DatedTask:
    return DatedTask(
        task=task.task,
        title=task.title,
        first=task.first,
        last=task.last,
        species=task.fruit,
        limbs=task.limbs,
        scions=task.scions,
        donors=task.donors,
        needed=task.needed,
        undated=task.undated,
        alarm_days=task.alarm_days,
        reason=task.reason,
        source=task.source,
        status=task.status,
    )
