"""Notes made under the tree as text that can be sent, read by anyone, and mended by hand.

    Pollinet notes 1: The garden on the hill
    k7f3q2w9hd | 2026-04-12 | C-mid | stage | full | the south side first
    2026-04-13 | all | frost | -1.5

A head line with the version of this format and the garden's name, then a note a line: its id, the
day (or year), the limb, what was seen, its value with its unit where that is not the usual one, and
own words, if any. The id makes that a note comes in once, however often it is sent; a line that was
written by hand needs none. In the name of a limb `%7C` stands for `|`, `%25` for `%`. What stands
before the first head line, empty lines, and signs of quotation (`>`) are skipped.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from pollinet.domain import Observation, Plan
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.names import fold
from pollinet.readers.observations import date_to_come, kinds, observation, odd_note

VERSION = 1
HEAD = "Pollinet notes"

_BARE_HEAD = f"{HEAD} {VERSION}"
_HEAD = re.compile(rf"{HEAD}\s+(\d{{1,9}})\b\s*:?\s*(.*)", re.IGNORECASE)
_DATE = re.compile(r"\d{4}(-\d{2}-\d{2})?|\d{1,4}([./])\d{1,2}\2\d{1,4}|\d{1,2}-\d{1,2}-\d{4}")
"""What stands for a date, and for no id: also in other signs than ours, to be told how to write."""

_BETWEEN = " | "
_ESCAPES = {"%": "%25", "|": "%7C", "\n": "%0A", "\r": "%0D"}
_ID = re.compile(r"[!-~]+")
LONGEST_ID = 40
"""Ids stand in a row in the log, with blanks between them. Own convention."""

_EXAMPLE = "2026-04-12 | C-mid | stage | full"


@dataclass(frozen=True)
class TextNote:
    """A note of a text. id : as written, else by what it says. cells : by the columns of the log.

    says : a digest of what it says, whatever its id.
    """

    id: str
    cells: Mapping[str, str]
    says: str
    line: int


def is_note_text(text: str) -> bool:
    """Whether a text has the head line of notes."""
    return any(_HEAD.fullmatch(_bare(line)) for line in text.splitlines())


def read_note_text(
    text: str, plan: Plan, file: str, today: date
) -> tuple[tuple[TextNote, ...], tuple[Finding, ...]]:
    """The good notes of a text in its order, and an error for each line that is none.

    A head line of another garden or a later version makes every line unusable.
    """
    notes: dict[str, TextNote] = {}
    findings: list[Finding] = []
    headed = False
    for number, line in enumerate(text.splitlines(), 1):
        bare = _bare(line)
        head = _HEAD.fullmatch(bare)
        if head:
            headed = True
            problem = _head_problem(head, plan, file, number)
            if problem is not None:
                return (), (problem,)
        elif headed and bare:
            note, problem = _note(bare, plan, file, number, today)
            if note is not None and note.says != notes.setdefault(note.id, note).says:
                problem = _same_id(note, notes[note.id].line, file)
            findings += [problem] if problem else []
    if not headed:
        message = say('the line "{head}" is missing', head=_BARE_HEAD)
        cure = say("write it above the notes")
        findings.append(Finding("error", "no-head", message, file, cure=cure))
    return tuple(notes.values()), tuple(findings)


def _bare(line: str) -> str:
    """A line without what a mail or an editor put round it."""
    return line.lstrip("\ufeff> \t\xa0").rstrip()


def _head_problem(head: re.Match[str], plan: Plan, file: str, line: int) -> Finding | None:
    version, name = int(head[1]), head[2].strip()
    if version != VERSION:
        message = say("these notes are of version {version}", version=version)
        cure = (
            say("a newer Pollinet can read them")
            if version > VERSION
            else say("write the line as: {head}", head=_BARE_HEAD)
        )
        return Finding("error", "newer-notes", message, file, line=line, cure=cure)
    if name and fold(name) != fold(one_line(plan.site.name)):
        message = say(
            'these are notes of the garden "{name}", and the plan is of "{own}"',
            name=name,
            own=plan.site.name,
        )
        cure = say("give the other plan; or, if they are of this one, write its name in that line")
        return Finding("error", "other-garden", message, file, line=line, cure=cure)
    return None


def _note(
    text: str, plan: Plan, file: str, line: int, today: date
) -> tuple[TextNote | None, Finding | None]:
    id_, _, rest = text.partition("|")
    if _DATE.fullmatch(id_.strip()):
        id_, rest = "", text
    parts = [part.strip() for part in rest.split("|", 4)]
    id_ = id_.strip()
    if len(parts) < 4 or len(id_) > LONGEST_ID or (id_ and not _ID.fullmatch(id_)):
        message = say("this line is no note")
        cure = say("write it as: {example}", example=_EXAMPLE)
        return None, Finding("error", "no-note", message, file, line=line, cure=cure)
    day, limb, kind, value = parts[:4]
    value, unit = _parted(value, kind)
    cells = {"date": day, "limb": _plain(limb), "kind": kind, "value": value, "unit": unit,
             "note": "".join(parts[4:])}  # fmt: skip
    seen, problem = observation(cells, plan, file, line)
    problem = problem or date_to_come(day, today, file, line)
    problem = problem or next(odd_note(cells, file, line), None)
    if seen is None or problem is not None:
        return None, problem
    says = said_by(seen)
    return TextNote(id_ or says, cells, says, line), None


def _parted(value: str, kind: str) -> tuple[str, str]:
    """A value and its unit."""
    if kind not in kinds() or kinds()[kind].form != "number":
        return value, ""
    number, _, unit = value.partition(" ")
    return number, unit.strip()


def _plain(text: str) -> str:
    for sign, escape in reversed(_ESCAPES.items()):
        text = re.sub(escape, sign, text, flags=re.IGNORECASE)
    return text


def _same_id(note: TextNote, earlier: int, file: str) -> Finding:
    message = say(
        'this line has the id "{id}" of line {line} and says something else',
        id=note.id,
        line=earlier,
    )
    cure = say("take its id away: then it is a note of its own")
    return Finding("error", "same-id", message, file, line=note.line, cure=cure)


def said_by(seen: Observation) -> str:
    """A digest of what an observation says, wherever it stands."""
    bare = repr(replace(seen, line=0))
    return hashlib.sha256(bare.encode()).hexdigest()[:12]


# --- writing -----------------------------------------------------------------------------------


def note_text(garden: str, notes: Iterable[tuple[str, Mapping[str, str]]]) -> str:
    """Notes as text, each an id and its cells by the columns of the log."""
    lines = [head_line(garden), *(_line(id_, cells) for id_, cells in notes)]
    return "\n".join(lines) + "\n"


def head_line(garden: str) -> str:
    """The head line of a garden's notes."""
    return f"{_BARE_HEAD}: {one_line(garden)}"


def _line(id_: str, cells: Mapping[str, str]) -> str:
    limb = "".join(_ESCAPES.get(sign, sign) for sign in cells["limb"])
    value = " ".join(filter(None, (cells["value"], _unit(cells))))
    words = [one_line(cells["note"])] if cells.get("note") else []
    return _BETWEEN.join([id_, cells["date"], limb, cells["kind"], value, *words])


def _unit(cells: Mapping[str, str]) -> str:
    """The unit that must be told: any but the usual one of a number."""
    kind = kinds().get(cells["kind"])
    usual = kind is None or kind.form != "number" or cells.get("unit", "") == kind.unit
    return "" if usual else cells.get("unit", "")


def one_line(text: str) -> str:
    """A text without line ends and doubled blanks."""
    return " ".join(text.split())
