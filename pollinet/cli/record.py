"""`pollinet record`: write down what was seen on a limb."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path

import click

from pollinet.answers.record import Note, Record, RecordLog, record_log_of, record_of
from pollinet.cli.common import (
    FilePath,
    give,
    hold_garden,
    in_language,
    json_option,
    out_problem,
    plan_argument,
    plan_ids,
    print_lines,
    show_findings,
    stop,
)
from pollinet.days import out_of_spring
from pollinet.domain import Plan
from pollinet.files import read_whole, would_overwrite, write_new
from pollinet.findings import Finding, has_errors
from pollinet.language import _, ngettext
from pollinet.messages import say
from pollinet.noting import take_in
from pollinet.readers.day_words import dates_meant
from pollinet.readers.files import unreadable
from pollinet.readers.note_text import is_note_text
from pollinet.readers.observations import (
    SPRING_KINDS,
    WITHDRAWN,
    Kind,
    as_date,
    date_to_come,
    kinds,
    notes_to_come,
    observation,
    odd_note,
    places,
)
from pollinet.readers.records import (
    COLUMNS,
    FILE_NAME,
    SAVE_AS_CSV,
    append_records,
    good_rows,
    log_rows,
    read_records,
    row_text,
    taking_nothing,
)
from pollinet.wording.notes import taken_in_words

Command = Callable[..., int]

_DAY = re.compile(r"(\d{4}-)?\d{2}-\d{2}")


def _kind_options(command: Command) -> Command:
    for kind in reversed(tuple(kinds().values())):
        hint = {"share": "N/OF", "number": kind.unit.upper()}.get(kind.form, "|".join(kind.allowed))
        command = click.option(f"--{kind.name}", metavar=hint, help=kind.description + ".")(command)
    return command


@click.command(
    epilog="Examples: pollinet record plan.toml A-top --stage full --date 2026-04-12; "
    "pollinet record plan.toml A-top --leafing 2026-04-02; "
    "pollinet record plan.toml A-top --fruits 214 --year 2025; "
    "pollinet record plan.toml --sheet spring.csv, and when it is filled in "
    "pollinet record plan.toml --from spring.csv; pollinet record plan.toml --from notes.txt. Exit "
    "codes: 0 written, 2 bad input (the good lines of notes.txt are written all the same)."
)
@plan_argument
@click.argument("limb", required=False, shell_complete=plan_ids)
@click.option("--date", "day", metavar="YYYY-MM-DD", help="When it was seen; without it: today.")
@click.option("--year", metavar="YYYY", help="The year alone, for counts of a whole season.")
@click.option("--unit", default="", help="Unit of the value where it is not the usual one.")
@click.option("--note", default="", help="Anything else, in your own words.")
@_kind_options
@click.option("--take-back", metavar="KIND", help="Take back what was noted of a kind on a date.")
@click.option("--sheet", type=FilePath(), metavar="FILE", help="Write a CSV to fill in.")
@click.option(
    "--from",
    "filled",
    type=FilePath(),
    metavar="FILE",
    help="Add the filled-in rows of a CSV, or the notes of a telephone, each once.",
)
@json_option
@in_language
def record(
    plan: Path,
    limb: str | None,
    day: str | None,
    year: str | None,
    unit: str,
    note: str,
    take_back: str | None,
    sheet: Path | None,
    filled: Path | None,
    as_json: bool,
    **values: str | None,
) -> int:
    """Write down what was seen on LIMB in records.csv, beside the plan.

    The log only grows. A later note of the same kind, limb and date counts in place of the
    earlier one. Without LIMB the log is shown. "all" is the whole garden (frost, bees).
    """
    hold_garden(plan)
    garden = _plan(plan, as_json)
    log = plan.parent / FILE_NAME
    if sheet is not None:
        return _write_sheet(sheet, garden, as_json)
    if filled is not None:
        text = _text(filled, as_json)
        if is_note_text(text):
            return _take_in(log, text, garden, filled.name, as_json)
        rows, doubts = _filled_rows(text, garden, log, filled.name, as_json)
        return _add(log, rows, garden, as_json, doubts)
    given = {name.replace("_", "-"): value for name, value in values.items() if value is not None}
    if limb is None and not given and take_back is None:
        return _show(log, garden, as_json)
    if take_back is not None:
        given[take_back] = WITHDRAWN
    when = _when(day, year, as_json)
    if day is None and year is None:
        _ask_for_the_day(given.items(), garden.site.latitude, as_json)
    if not given:
        cure = say(
            "add for example --stage full, --clusters 0 or --fruits 214; see `pollinet record "
            "--help`"
        )
        stop(
            [Finding("error", "nothing-seen", say("what was seen is missing"), cure=cure)], as_json
        )
    rows = []
    for kind, value in given.items():
        written, word = _day_for_word(kind, value, when, as_json)
        cells = (written, limb or "", kind, word, unit, note)
        rows.append(dict(zip(COLUMNS, cells, strict=True)))
    problems = [(row["kind"], observation(row, garden)[1]) for row in rows]
    wrong = [_by_option(problem, kind, year) for kind, problem in problems if problem is not None]
    if wrong:
        stop(wrong, as_json)
    return _add(log, rows, garden, as_json)


def _by_option(problem: Finding, kind: str, year: str | None) -> Finding:
    """A finding on a column of the log, as one on what was typed on the line."""
    options = {
        "limb": "LIMB",
        "kind": "--take-back",
        "date": "--date" if year is None else "--year",
        "value": f"--{kind}",
        "note": "--note",
    }
    return replace(problem, place=options.get(problem.place, problem.place))


def _ask_for_the_day(given: Iterable[tuple[str, str]], latitude: float, as_json: bool) -> None:
    """End the command where today can hardly be the day on which something of spring was seen."""
    typed = [
        kind
        for kind, value in given
        if kind in SPRING_KINDS and not (_DAY.fullmatch(value) or dates_meant(value))
    ]
    today = date.today()
    if not typed or not out_of_spring(today.month, latitude):
        return
    message = say("today, {date}, is not in spring: the date is missing", date=today.isoformat())
    cure = say("add the day on which it was seen, as --date 2026-04-12")
    stop([Finding("error", "missing-date", message, place=f"--{typed[0]}", cure=cure)], as_json)


def _plan(path: Path, as_json: bool) -> Plan:
    """The plan alone: no weather is read for a note."""
    from pollinet.study import open_plan

    plan, _catalogue, findings = open_plan(path)
    if plan is None:
        stop(findings, as_json)
    return plan


def _when(day: str | None, year: str | None, as_json: bool) -> str:
    if day is not None and year is not None:
        both, cure = say("both --date and --year are given"), say("keep the one that you know")
        stop([Finding("error", "two-dates", both, cure=cure)], as_json)
    for option, typed in (("--date", day), ("--year", year)):
        if typed is not None and not typed.strip():
            empty = say("{option} is empty", option=option)
            cure = say("give the day on which it was seen, or leave the option out for today")
            stop([Finding("error", "wrong-date", empty, place=option, cure=cure)], as_json)
    written = day or year or date.today().isoformat()
    if problem := date_to_come(written, date.today()):
        stop([_by_option(problem, "", year)], as_json)
    return written


def _day_for_word(kind: str, value: str, when: str, as_json: bool) -> tuple[str, str]:
    """Date and value of a row: where a kind has one word alone, its day may be typed for it.

    `--leafing 04-12` is the last such day up to the date of the note.
    """
    allowed = kinds()[kind].allowed if kind in kinds() else ()
    if len(allowed) != 1 or value.casefold() in (*allowed, WITHDRAWN):
        return when, value
    if not _DAY.fullmatch(value):
        message = say('"{date}" is no date for {kind}', date=value, kind=kind)
        cure = as_date(value, say("write it as 04-12, or with its year as 2026-04-12"))
        stop([Finding("error", "wrong-date", message, place=f"--{kind}", cure=cure)], as_json)
    day = value if len(value) == len("2026-04-12") else f"{when[:4]}-{value}"
    if len(value) < len(day) and len(when) == len(day) and day > when:
        day = f"{int(when[:4]) - 1:04}-{value}"
    return _when(day, None, as_json), allowed[0]


def _add(
    log: Path,
    rows: list[dict[str, str]],
    plan: Plan,
    as_json: bool,
    earlier: tuple[Finding, ...] = (),
) -> int:
    findings = append_records(log, rows, plan)
    if has_errors(findings):
        stop([_by_option(one, "", None) for one in findings], as_json)
    answer = record_of(rows, str(log), (*earlier, *findings))
    return give(answer, lambda: show_record(answer), as_json=as_json)


def show_record(answer: Record) -> None:
    """Print what was added to the log, and what is odd about it."""
    show_findings(answer.findings)
    added = ngettext(
        "{number} note added to {file}.", "{number} notes added to {file}.", len(answer.written)
    )
    head = added.format(number=len(answer.written), file=answer.file)
    print_lines([head, *(f"- {_note_words(note)}" for note in answer.written)])
    if answer.known or answer.wrong:
        counted = len(answer.written), answer.known, answer.wrong
        print_lines([taken_in_words(*counted)])


def _note_words(note: Note) -> str:
    if note.value == WITHDRAWN:
        taken = _("{date}, {limb}: {kind} taken back")
        return taken.format(date=note.date, limb=note.limb, kind=note.kind)
    unit = note.unit or kinds()[note.kind].unit
    # What is counted is its kind: `clusters 60`.
    unit = "" if unit == note.kind else unit
    return f"{note.date}, {note.limb}: {note.kind} {note.value} {unit}".rstrip()


def _show(log: Path, plan: Plan, as_json: bool) -> int:
    records, findings = read_records(log, plan)
    if has_errors(findings):
        stop(findings, as_json)
    late = notes_to_come(records.observations, date.today(), log.name)
    answer = record_log_of(records.observations, str(log), (*findings, *late))
    return give(answer, lambda: show_log(answer, places(plan)), as_json=as_json)


def show_log(answer: RecordLog, known: Iterable[str]) -> None:
    """Print the notes, what is doubtful in them, and of which known places there are none."""
    show_findings(answer.findings)
    seen = {note.limb for note in answer.notes}
    without = [name for name in known if name not in seen]
    held = ngettext("{number} note in {file}.", "{number} notes in {file}.", len(answer.notes))
    head = held.format(number=len(answer.notes), file=answer.file)
    lines = [head, *(f"- {_note_words(note)}" for note in answer.notes)]
    if without:
        lines += ["", _("Nothing noted yet of: {limbs}.").format(limbs=", ".join(without))]
    print_lines(lines)


SHEET_KINDS = ("leafing", "stage", "stage", "stage", "cluster-score", "set", "fruits", "seeds",
               "shoots")  # fmt: skip
"""What is worth noting of every limb every year: leafing, the three stages of bloom, the crop."""


def sheet_rows(plan: Plan, known: dict[str, Kind]) -> list[tuple[str, ...]]:
    """Rows of a CSV to fill in: every limb with what is worth noting; the value is left open."""
    stages = iter(("start", "full", "end") * len(plan.limbs))
    rows: list[tuple[str, ...]] = [COLUMNS]
    for limb in plan.limbs:
        for kind in SHEET_KINDS:
            words, unit = known[kind].allowed, known[kind].unit
            value = next(stages) if kind == "stage" else words[0] if len(words) == 1 else ""
            rows.append(("", limb.id, kind, value, unit, ""))
    return rows


def _write_sheet(sheet: Path, plan: Plan, as_json: bool) -> int:
    if problem := out_problem(sheet, [".csv"]):
        stop([problem], as_json)
    if sheet.exists():
        stop([would_overwrite(sheet)], as_json)
    write_new(sheet, row_text(sheet_rows(plan, dict(kinds()))).encode())
    print_lines(
        [
            _("A sheet to fill in is in {file}: one line for each limb and thing to note.").format(
                file=sheet
            ),
            _(
                "Write dates as 2026-04-12, leave out what you did not see, then run "
                "`pollinet record PLAN --from FILE`."
            ),
        ]
    )
    return 0


def _text(filled: Path, as_json: bool) -> str:
    try:
        return read_whole(filled).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        stop([unreadable(problem, str(filled), cure=SAVE_AS_CSV)], as_json)


def _take_in(log: Path, text: str, plan: Plan, file: str, as_json: bool) -> int:
    """The notes of a text, each once; those that are good, whatever is wrong with others."""
    taken = take_in(log, text, plan, file, date.today())
    if has_errors(taken.findings) and not taken.written and not taken.known:
        stop(taken.findings, as_json)
    answer = record_of(
        taken.written, str(log), taken.findings, known=taken.known, wrong=taken.wrong
    )
    return give(answer, lambda: show_record(answer), as_json=as_json)


def _filled_rows(
    text: str, plan: Plan, log: Path, file: str, as_json: bool
) -> tuple[list[dict[str, str]], tuple[Finding, ...]]:
    """The rows of a sheet that have both a date and a value; the others were left open."""
    every, findings = log_rows(text, file)
    rows = [(line, cells) for line, cells in every if cells["date"] and cells["value"]]
    findings += [
        problem
        for line, cells in every
        for problem in [_half_filled(cells, file, line)]
        if problem is not None
    ]
    seen, problems = good_rows(rows, plan, file)
    findings += problems
    for line, cells in rows:
        late = date_to_come(cells["date"], date.today(), file, line)
        findings += [*([late] if late else []), *odd_note(cells, file, line)]
    known, _ = read_records(log, plan)
    findings += taking_nothing(seen, file, known.observations, severity="error")
    if not rows and not has_errors(findings):
        message = say("no row has both a date and a value")
        cure = say("fill in date and value of what you saw, and save the file")
        findings.append(Finding("error", "nothing-seen", message, file, cure=cure))
    if has_errors(findings):
        stop(findings, as_json)
    return [cells for _, cells in rows], tuple(findings)


def _half_filled(cells: dict[str, str], file: str, line: int) -> Finding | None:
    """That a row has a date or a number alone: it is not read. Words stand in a sheet already."""
    kind = kinds().get(cells["kind"])
    open_word = kind is not None and cells["value"] in kind.allowed
    if bool(cells["date"]) == bool(cells["value"]) or (open_word and not cells["date"]):
        return None
    message = say("the row has no value, and is not read")
    if not cells["date"]:
        message = say("the row has no date, and is not read")
    cure = say("fill in both, or neither")
    return Finding("warning", "half-filled", message, file, line=line, cure=cure)
