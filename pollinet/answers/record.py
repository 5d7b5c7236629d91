"""What was seen on the limbs: notes added to the log, and the log."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings
from pollinet.domain import Observation
from pollinet.findings import Finding, has_errors
from pollinet.readers.records import COLUMNS

LogFile = Annotated[str, About("The log.")]


@dataclass(frozen=True)
class Note:
    """One line of the log."""

    date: Annotated[str, About("Day, or year alone.")]
    limb: Annotated[str, About("Id of the limb or neighbour's tree; all: the garden.")]
    kind: Annotated[str, About("What was seen.")]
    value: str
    unit: Annotated[str, About("Empty: the usual one of the kind.")]
    note: str


@dataclass(frozen=True, repr=False)
class Record(Answer):
    """Notes added to the log."""

    NAME: ClassVar[str] = "record"
    ROWS: ClassVar[str] = "written"
    ROW: ClassVar[type] = Note

    written: tuple[Note, ...]
    known: Annotated[int, About("Notes of a text that came in before.", 0)]
    wrong: Annotated[int, About("Lines of a text that cannot be used.", 0)]
    file: LogFile
    findings: Findings

    @property
    def exit_code(self) -> int:
        """2 where a line of a text cannot be used; the good ones were taken in all the same."""
        return 2 if has_errors(self.findings) else 0


@dataclass(frozen=True, repr=False)
class RecordLog(Answer):
    """The log."""

    NAME: ClassVar[str] = "record-log"
    ROWS: ClassVar[str] = "notes"
    ROW: ClassVar[type] = Note

    notes: Annotated[tuple[Note, ...], About("What counts: later notes in place of earlier ones.")]
    file: LogFile
    findings: Findings


def record_of(
    written: Iterable[Mapping[str, str]],
    file: str,
    findings: Iterable[Finding],
    *,
    known: int = 0,
    wrong: int = 0,
) -> Record:
    """The answer on lines that were added to the log, each by the columns of the log."""
    notes = tuple(Note(*(line[column] for column in COLUMNS)) for line in written)
    return Record(notes, known, wrong, file, tuple(findings))


def record_log_of(seen: Iterable[Observation], file: str, findings: Iterable[Finding]) -> RecordLog:
    """The answer on what counts of the log."""
    return RecordLog(tuple(map(_note, seen)), file, tuple(findings))


def _note(seen: Observation) -> Note:
    number = "" if seen.number is None else f"{seen.number:g}"
    value = seen.word or (f"{number}/{seen.of}" if seen.of is not None else number)
    day = seen.day.isoformat() if seen.day else str(seen.year)
    return Note(day, seen.limb, seen.kind, value, seen.unit, seen.note)
