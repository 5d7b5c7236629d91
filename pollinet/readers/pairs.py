"""A file of pairs to cross: one row a pair, as CSV."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

from pollinet import messages
from pollinet.files import read_whole
from pollinet.findings import Finding
from pollinet.messages import listing, say
from pollinet.readers.files import unreadable
from pollinet.readers.records import SAVE_AS_CSV


@dataclass(frozen=True)
class PairRow:
    """One pair as it was typed; female : receives the pollen. male : gives it."""

    line: int
    species: str
    female: str
    male: str


COLUMNS = ("species", "female", "male")
"""Columns that a file of pairs must have."""


def read_pairs(file: Path) -> tuple[tuple[PairRow, ...], tuple[Finding, ...]]:
    """The rows of a file of pairs; none, with error findings, where it cannot be used."""
    try:
        text = read_whole(file).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        return (), (unreadable(problem, str(file), cure=SAVE_AS_CSV),)
    reader = csv.DictReader(text.splitlines())
    missing = [column for column in COLUMNS if column not in (reader.fieldnames or ())]
    if missing:
        message = say("There is no column {columns}.", columns=messages.joined(missing))
        cure = say("The first line must name the columns {columns}.", columns=listing(COLUMNS))
        return (), (Finding("error", "missing-column", message, file.name, line=1, cure=cure),)
    rows = tuple(
        PairRow(reader.line_num, *((row[column] or "").strip() for column in COLUMNS))
        for row in reader
    )
    if not rows:
        return (), (Finding("error", "empty-file", say("The file has no pairs."), file.name),)
    return rows, ()
