"""A file of pairs to cross: one row a pair, as CSV."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from pollinet import messages
from pollinet.files import read_whole
from pollinet.findings import Finding
from pollinet.letters import odd_line
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
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        told = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as problem:
        message = say("this is no CSV row: {reason}", reason=problem)
        cure = say("look for a quotation mark that is not closed, here or above")
        line = reader.line_num
        return (), (Finding("error", "broken-row", message, file.name, line=line, cure=cure),)
    header = [cell.strip().casefold() for cell in told[0][1]] if told else []
    missing = [column for column in COLUMNS if column not in header]
    if missing:
        message = say("There is no column {columns}.", columns=messages.joined(missing))
        cure = say("The first line must name the columns {columns}.", columns=listing(COLUMNS))
        return (), (Finding("error", "missing-column", message, file.name, line=1, cure=cure),)
    repeated = [column for column in COLUMNS if header.count(column) > 1]
    if repeated:
        message = say("The column {columns} stands there twice.", columns=listing(repeated))
        cure = say("Keep the one that is right.")
        return (), (Finding("error", "repeated-column", message, file.name, line=1, cure=cure),)
    if len(told) < 2:
        message, cure = say("The file has no pairs."), say("Write a pair on each line.")
        return (), (Finding("error", "empty-file", message, file.name, line=1, cure=cure),)
    rows, findings = [], []
    for line, cells in told[1:]:
        by_column = dict(zip(header, (cell.strip() for cell in cells), strict=False))
        texts = [by_column.get(column, "") for column in COLUMNS]
        odd = next(filter(None, map(odd_line, texts)), None)
        if len(cells) != len(header):
            message = say("The row has {found} cells; the header has {wanted}.",
                          found=len(cells), wanted=len(header))  # fmt: skip
            cure = say("Put a cell that holds a comma in double quotes.")
            findings.append(Finding("error", "wrong-length", message, file.name, "", line, cure))
        elif odd is not None:
            message = say("A cell of this row cannot be meant.")
            cure = say("Write {allowed}.", allowed=odd)
            findings.append(Finding("error", "odd-text", message, file.name, "", line, cure))
        else:
            rows.append(PairRow(line, *texts))
    return (() if findings else tuple(rows)), tuple(findings)
