"""Notes into the log of a garden and out of it again: from a text, from a form, taken back.

Whoever asks for it holds the garden (`files.garden_locked`) meanwhile. The log only grows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from pollinet.domain import Observation, Plan
from pollinet.files import reason_of
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.note_text import TextNote, note_text, read_note_text, said_by
from pollinet.readers.observations import WITHDRAWN, date_to_come, observation
from pollinet.readers.records import (
    append_records,
    counted,
    good_rows,
    observed,
    taken_ids,
    taking_nothing,
)

Cells = Mapping[str, str]


@dataclass(frozen=True)
class TakenIn:
    """What became of the notes of a text.

    written : rows added to the log. known : how many came in before. wrong : how many lines cannot
    be used; `findings` has each with its line and its cure.
    """

    written: tuple[Cells, ...]
    known: int
    wrong: int
    findings: tuple[Finding, ...]


def take_in(log: Path, text: str, plan: Plan, file: str, today: date) -> TakenIn:
    """Add the notes of a text to the log, each once, in the order of the text.

    A line that cannot be used stands in no other's way: mended, the text can be given again.
    """
    notes, problems = read_note_text(text, plan, file, today)
    said = {said_by(seen) for _, seen in observed(log, plan)}
    ids = taken_ids(log)
    new = [note for note in notes if note.id not in ids | said]
    new, vain = _with_effect(new, log, plan, file)
    problems += vain
    wrong = len(problems)
    other = [
        _reads_otherwise(note.id, file, note.line)
        for note in notes
        if note.id in ids and note.says not in said
    ]
    found: tuple[Finding, ...] = ()
    if new:
        found = _append(log, [note.cells for note in new], plan, [note.id for note in new])
    written = () if has_errors(found) else tuple(note.cells for note in new)
    return TakenIn(written, len(notes) - len(new) - len(vain), wrong, (*problems, *other, *found))


def _with_effect(
    notes: Sequence[TextNote], log: Path, plan: Plan, file: str
) -> tuple[list[TextNote], tuple[Finding, ...]]:
    """Notes without those that take back what nobody noted, and an error for each of these."""
    cells = [(note.line, note.cells) for note in notes]
    seen, _ = good_rows(cells, plan, file)
    known = counted(one for _, one in observed(log, plan))
    vain = taking_nothing(seen, file, known, severity="error")
    lines = {problem.line for problem in vain}
    return [note for note in notes if note.line not in lines], vain


def _reads_otherwise(id_: str, file: str, line: int) -> Finding:
    message = say('the note "{id}" came in before and read otherwise; it stays so', id=id_)
    cure = say("to note this as well take its id away")
    return Finding("warning", "known-id", message, file, line=line, cure=cure)


def note_down(log: Path, rows: Sequence[Cells], plan: Plan, today: date) -> tuple[Finding, ...]:
    """Add rows to the log, all or none; errors, or what is doubtful in what was written."""
    early = [date_to_come(row["date"], today) for row in rows]
    problems = tuple(problem for problem in early if problem is not None)
    return problems or _append(log, rows, plan)


def take_back(log: Path, note: Cells, plan: Plan) -> tuple[Finding, ...]:
    """Take back a note of the log as if it had never been made; errors where it is not there.

    What it stood in the place of, and what else was noted of its kind on its day, counts again.
    """
    rows = observed(log, plan)
    meant, problem = observation(note, plan)
    if problem is not None or meant is None:
        return (problem,) if problem is not None else ()
    if _bare(meant) not in map(_bare, counted([seen for _, seen in rows])):
        message = say("this note is not in the log")
        cure = say("load the page again: it may have been taken back before")
        return (Finding("error", "no-such-note", message, log.name, cure=cure),)
    rest = [seen for _, seen in rows if _bare(seen) != _bare(meant)]
    gone = {**note, "value": WITHDRAWN, "unit": "", "note": ""}
    withdrawn, problem = observation(gone, plan)
    assert withdrawn is not None, problem
    left = {_bare(seen) for seen in counted([seen for _, seen in [*rows, ({}, withdrawn)]])}
    again = {_bare(seen) for seen in counted(rest)} - left
    back = {_bare(seen): cells for cells, seen in rows if _bare(seen) in again}
    # The order of stages was told when they were noted.
    found = _append(log, [gone, *back.values()], plan)
    return tuple(one for one in found if one.severity == "error")


def _bare(seen: Observation) -> Observation:
    """An observation wherever it stands in the log."""
    return replace(seen, line=0)


def _append(
    log: Path, rows: Sequence[Cells], plan: Plan, ids: Sequence[str] = ()
) -> tuple[Finding, ...]:
    """As `append_records`; that the log cannot be written is told as well."""
    try:
        return append_records(log, rows, plan, ids)
    except OSError as problem:
        message = say("cannot be written: {reason}", reason=reason_of(problem))
        cure = say("give another place, or make room and leave to write there")
        return (Finding("error", "cannot-write", message, log.name, cure=cure),)


def log_text(log: Path, plan: Plan) -> str:
    """The whole log as a text of notes, for another place where the same garden is kept."""
    return note_text(
        plan.site.name, [(said_by(seen), cells) for cells, seen in observed(log, plan)]
    )
