"""`pollinet work`: the work of the coming twelve months."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import click

from pollinet.advice.work import Task, undated_grafts
from pollinet.cli.common import (
    FIRST_YEAR,
    LAST_YEAR,
    BadInput,
    findings_data,
    json_option,
    new_table,
    opened,
    out_problem,
    plan_argument,
    print_json,
    print_lines,
    print_table,
    weather_option,
    would_overwrite,
)
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.advice import advice_tables
from pollinet.readers.files import write_whole
from pollinet.study import Study
from pollinet.summary.suits import harvest_gaps, limb_dates, scions_to_graft, year_of_work
from pollinet.wording.sentences import count, weather_words
from pollinet.wording.suits import (
    caution_lines,
    gap_lines,
    task_dates,
    task_limbs,
    undated_lines,
    work_answer,
)

Gaps = Sequence[tuple[str, str, float]]


@click.command(
    epilog="Example: pollinet work plan.toml --out work.ics. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="FILE",
    help="Write the work as a calendar file (.ics) for a phone or computer.",
)  # fmt: skip
@click.option("--from", "first", metavar="YYYY-MM-DD", help="First day; without it: today.")
@weather_option
@json_option
def work(
    plan: Path, out: Path | None, first: str | None, weather: Path | None, as_json: bool
) -> int:
    """List the work of the coming twelve months, dated from this garden's bloom."""
    today = _first_day(first, as_json)
    problem = None if out is None else _out_problem(out)
    if problem is not None:
        raise BadInput([problem], as_json)
    study = opened(plan, weather, as_json=as_json)
    dates = limb_dates(study)
    found = year_of_work(dates, today, scions_to_graft(*study.cover()))
    without, undated = harvest_gaps(dates), undated_grafts(dates)
    cautions = {row["caution"]: row["text"] for row in advice_tables()["cautions"]}
    if out is not None:
        write_whole(out, calendar_bytes(found, cautions, study, today))
    if as_json:
        print_json(work_data(found, without, undated, study), schema="work")
    else:
        show_work(found, without, undated, cautions, study)
        if out is not None:
            print_lines(["", f"The calendar is in {out}."])
    return 0


def _first_day(text: str | None, as_json: bool) -> date:
    if text is None:
        return date.today()
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is not None and FIRST_YEAR <= day.year <= LAST_YEAR:
        return day
    message = say('"{text}" is no date from {first} to {last}', text=text, first=FIRST_YEAR,
                  last=LAST_YEAR)  # fmt: skip
    cure = say("write it as 2026-12-01")
    raise BadInput([Finding("error", "wrong-date", message, place="--from", cure=cure)], as_json)


def _out_problem(out: Path) -> Finding | None:
    if problem := out_problem(out, [".ics"]):
        return problem
    if out.exists() and b"PRODID:-//Pollinet//" not in out.read_bytes():
        message = say("this file is not a calendar of Pollinet and is not written over")
        return replace(would_overwrite(out), message=message)
    return None


SHOWN_TASKS, SHOWN_REASONS = 20, 5
"""Tasks and reasons shown; all of them are in the calendar file and the JSON."""


def show_work(
    found: Sequence[Task],
    without: Gaps,
    undated: Sequence[str],
    cautions: Mapping[str, str],
    study: Study,
) -> None:
    """Print what comes next, the table, why, and every caution."""
    print_lines([work_answer(found), ""])
    table = new_table(("When", {"no_wrap": True}), ("What", {}), ("Where", {"ratio": 1}))
    for task in found[:SHOWN_TASKS]:
        table.add_row(task_dates(task), task.title, task_limbs(task))
    print_table(table)
    more = len(found) - SHOWN_TASKS
    left = [f"and {count(more, 'task')} more: --out work.ics or --json gives all."]
    coming = list({task.task: task for task in found}.values())[:SHOWN_REASONS]
    print_lines(
        [
            *(left if more > 0 else []),
            "",
            *(f"- {task.title}: {task.reason}." for task in coming),
            "",
            *undated_lines(undated),
            *gap_lines(without),
            "Dates are those of usual bloom here, not a forecast: go by the tree.",
            weather_words(study.record, study.winters),
            *caution_lines(found, cautions),
        ]
    )


def work_data(
    found: Sequence[Task], without: Gaps, undated: Sequence[str], study: Study
) -> dict[str, Any]:
    """The work as data."""
    return {
        "answer": work_answer(found),
        "tasks": [
            {
                "task": task.task,
                "title": task.title,
                "first": task.first.isoformat(),
                "last": task.last.isoformat(),
                "species": task.fruit,
                "limbs": list(task.limbs),
                "scions": None if task.scions is None else list(task.scions),
                "reason": task.reason,
                "source": task.source,
                "status": task.status,
            }
            for task in found
        ],
        "grafting_not_dated": list(undated),
        "harvest_gaps": [
            {"after": one, "before": other, "days": round(days)} for one, other, days in without
        ],
        "findings": findings_data(study.findings),
    }


def calendar_bytes(
    found: Sequence[Task], cautions: Mapping[str, str], study: Study, today: date
) -> bytes:
    """The work as an iCalendar file (RFC 5545); the same plan and first day give the same bytes."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//Pollinet//work of the year//EN")
    calendar.add("version", "2.0")
    for task in found:
        words = f"{task.reason}. {cautions.get(task.caution, '')}".strip()
        event = Event()
        event.add("uid", _uid(task, study))
        event.add("dtstamp", datetime(today.year, today.month, today.day, tzinfo=UTC))
        event.add("dtstart", task.first)
        # The end of an event of whole days is the day after its last one.
        event.add("dtend", task.last + timedelta(days=1))
        event.add("summary", f"{task.title}: {task_limbs(task)}")
        event.add("description", words)
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _uid(task: Task, study: Study) -> str:
    """The same for the same work of the same year, so that a new calendar replaces the old one."""
    words = (study.plan.site.name, task.task, task.fruit, *task.limbs, str(task.last.year))
    return hashlib.sha256("|".join(words).encode()).hexdigest()[:24] + "@pollinet"
