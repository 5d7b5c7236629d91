"""`pollinet work`: the work of the coming twelve months."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import click

from pollinet.answers.work import YearOfWork, work_from, work_of
from pollinet.cli.common import (
    FIRST_YEAR,
    LAST_YEAR,
    BadInput,
    FilePath,
    csv_option,
    give,
    json_option,
    new_table,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    print_table,
    put,
    weather_option,
)
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.advice import advice_tables
from pollinet.report.calendar_file import MARK, calendar_bytes
from pollinet.study import Study
from pollinet.wording.sentences import count, weather_words
from pollinet.wording.suits import (
    caution_lines,
    gap_lines,
    task_dates,
    task_limbs,
    undated_lines,
    work_answer,
)


@click.command(
    epilog="Example: pollinet work plan.toml --out work.ics. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@click.option(
    "--out", type=FilePath(), metavar="FILE",
    help="Write the work as a calendar file (.ics) for a phone or computer.",
)  # fmt: skip
@click.option("--from", "first", metavar="YYYY-MM-DD", help="First day; without it: today.")
@weather_option
@json_option
@csv_option
def work(
    plan: Path,
    out: Path | None,
    first: str | None,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """List the work of the coming twelve months, dated from this garden's bloom."""
    today = _first_day(first, as_json)
    problem = None if out is None else out_problem(out, [".ics"], MARK)
    if problem is not None:
        raise BadInput([problem], as_json)
    study = opened(plan, weather, as_json=as_json)
    year = work_from(study, today)
    found = year.tasks
    cautions = {row["caution"]: row["text"] for row in advice_tables()["cautions"]}
    if out is not None:
        put(out, calendar_bytes(found, cautions, study, today), MARK, as_json=as_json)

    def show() -> None:
        show_work(year, cautions, study)
        if out is not None:
            print_lines(["", f"The calendar is in {out}."])

    return give(work_of(study, year), show, as_json=as_json, csv=csv)


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


SHOWN_TASKS, SHOWN_REASONS = 20, 5
"""Tasks and reasons shown; all of them are in the calendar file and the JSON."""


def show_work(year: YearOfWork, cautions: Mapping[str, str], study: Study) -> None:
    """Print what comes next, the table, why, and every caution."""
    found = year.tasks
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
            *undated_lines(year.undated),
            *gap_lines(year.gaps),
            "Dates are those of usual bloom here, not a forecast: go by the tree.",
            weather_words(study.record, study.winters),
            *caution_lines(found, cautions),
        ]
    )
