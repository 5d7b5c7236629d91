"""`pollinet work`: the work of the coming twelve months."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from pollinet.answers.work import work_of
from pollinet.cli.common import (
    FIRST_YEAR,
    LAST_YEAR,
    BadInput,
    FilePath,
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    out_problem,
    plan_argument,
    print_lines,
    print_table,
    put,
    show_findings,
    weather_option,
)
from pollinet.files import made_by
from pollinet.findings import Finding
from pollinet.language import _, ngettext
from pollinet.messages import say
from pollinet.report.calendar_file import MARK, calendar_bytes
from pollinet.study import Study
from pollinet.summary.work import YearOfWork, work_from
from pollinet.wording.sentences import weather_words
from pollinet.wording.work import (
    MIND,
    reason_lines,
    work_answer,
    work_notes,
    work_rows,
)

SHEET_MARK = made_by("work sheet").encode()
"""What tells a sheet of ours: only such a file is written over."""


@click.command(
    epilog="Example: pollinet work plan.toml --out work.ics --print shed.pdf. Exit codes: 0 an "
    "answer, 2 bad input."
)
@plan_argument
@click.option(
    "--out", type=FilePath(), metavar="FILE",
    help="Write the work as a calendar file (.ics) for a phone or computer, with reminders.",
)  # fmt: skip
@click.option(
    "--print", "sheet", type=FilePath(), metavar="FILE",
    help="Write the work on one sheet of A4 for the shed door (.pdf).",
)  # fmt: skip
@click.option("--from", "first", metavar="YYYY-MM-DD", help="First day; without it: today.")
@weather_option
@json_option
@csv_option
@in_language
def work(
    plan: Path,
    out: Path | None,
    sheet: Path | None,
    first: str | None,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """List the work of the coming twelve months, dated from this garden's bloom."""
    today = _first_day(first, as_json)
    problems = [
        *([] if out is None else [out_problem(out, [".ics"], MARK)]),
        *([] if sheet is None else [out_problem(sheet, [".pdf"], SHEET_MARK)]),
    ]
    if any(problems):
        raise BadInput([problem for problem in problems if problem is not None], as_json)
    study = opened(plan, weather, as_json=as_json)
    # So that the same is asked on another day.
    click.get_current_context().params["first"] = today.isoformat()
    year = work_from(study, today)
    if out is not None:
        put(out, calendar_bytes(year.tasks, study, today), MARK, as_json=as_json)
    if sheet is not None:
        _put_sheet(sheet, study, year, as_json=as_json)

    def show() -> None:
        show_work(year, study)
        if out is not None:
            print_lines([_("The calendar is in {file}.").format(file=out)])
        if sheet is not None:
            print_lines([_("The sheet for the shed door is in {file}.").format(file=sheet)])

    return give(work_of(study, year), show, as_json=as_json, csv=csv)


def _put_sheet(sheet: Path, study: Study, year: YearOfWork, *, as_json: bool) -> None:
    from pollinet.charts.fonts import missing_letters
    from pollinet.report.work_sheet import sheet_of, sheet_pdf, sheet_words

    made = sheet_of(study, year)
    if not as_json:
        show_findings(missing_letters(sheet_words(made), sheet.name, ".ics"))
    put(sheet, lambda: sheet_pdf(made), SHEET_MARK, as_json=as_json)


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


SHOWN_TASKS, SHOWN_REASONS = 10, 3
"""Rows and reasons shown; all of them are in the calendar file and on the sheet."""


def show_work(year: YearOfWork, study: Study) -> None:
    """Print what comes next, the table, why, what is over or not known, and what to mind."""
    print_lines([work_answer(year.tasks, year.today), ""])
    rows = work_rows(year.tasks, year.today)
    table = new_table((_("When"), {"no_wrap": True}), (_("What"), {}), (_("Where"), {"ratio": 1}))
    for row in rows[:SHOWN_TASKS]:
        table.add_row(row.when, row.what, row.where)
    print_table(table)
    shown = [row.task for row in rows[:SHOWN_TASKS]]
    more = len(rows) - SHOWN_TASKS
    left = ngettext(
        "and {number} task more: --out work.ics, --print work.pdf or --json gives all.",
        "and {number} tasks more: --out work.ics, --print work.pdf or --json gives all.",
        more,
    )
    print_lines(
        [
            *([left.format(number=more)] if more > 0 else []),
            "",
            *(f"- {line}" for line in reason_lines(shown, SHOWN_REASONS)),
            "",
            *work_notes(year),
            weather_words(study.record, study.winters),
            " ".join([_(MIND), _("More stands on the sheet (--print).")]),
        ]
    )
