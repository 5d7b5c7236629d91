"""A delimited text table: rows to columns, with line numbers for the findings."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.weather.folding import folded

DELIMITERS = (";", "\t", ",", "|")
"""In this order: a file with semicolons may carry decimal commas."""

HEAD_LINES = 60
"""Lines that are searched for a header; comment lines count. Own convention."""


@dataclass(frozen=True, eq=False)
class Table:
    """Columns of text cells.

    names : names of the columns as in the file, stripped.
    columns : one tuple of cells for each name.
    lines : shape (rows,), line number of each row counted from 1.
    decimal_comma : whether numbers may carry a decimal comma (columns parted by other signs).
    """

    names: tuple[str, ...]
    columns: tuple[tuple[str, ...], ...]
    lines: NDArray[np.int64]
    decimal_comma: bool


def split(line: str, delimiter: str) -> list[str]:
    """The cells of one line, stripped."""
    return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]


def delimiter_of(line: str) -> str:
    """The sign that parts the cells of a header line; a comma where there is none."""
    return next((sign for sign in DELIMITERS if sign in line), ",")


def read_table(text: str, file: str, header: int) -> tuple[Table, tuple[Finding, ...]]:
    """Read the table whose header is the line of index `header`.

    Empty lines and `#` comments are left out wherever they stand. Rows with fewer cells than
    the header make one error finding; cells beyond the header are ignored.
    """
    lines = text.splitlines()
    delimiter = delimiter_of(lines[header])
    names = tuple(split(lines[header], delimiter))
    numbered = [
        (number, line)
        for number, line in enumerate(lines[header + 1 :], start=header + 2)
        if line and not line.startswith("#") and not line.isspace()
    ]
    rows = list(csv.reader((line for _, line in numbered), delimiter=delimiter))
    if len(rows) != len(numbered):  # a quoted cell ran over the end of its line
        quoted = next((number for number, line in numbered if line.count('"') % 2), header + 1)
        message = say("A quotation mark is opened and not closed on its line")
        return _empty(names), folded(
            "error", "unreadable-row", message, file, [quoted], cure=say("Correct the line.")
        )
    full = [len(row) >= len(names) for row in rows]
    findings = folded(
        "error",
        "short-row",
        say("A line has fewer cells than the {number} of the header", number=len(names)),
        file,
        (number for (number, _), whole in zip(numbered, full, strict=True) if not whole),
        cure=say(
            "Complete or remove the line; leave a missing value empty between its separators."
        ),
    )
    kept = [row for row, whole in zip(rows, full, strict=True) if whole]
    columns = tuple(zip(*(row[: len(names)] for row in kept), strict=True)) or tuple(
        () for _ in names
    )
    numbers = [number for (number, _), whole in zip(numbered, full, strict=True) if whole]
    return Table(names, columns, np.array(numbers, dtype=np.int64), delimiter != ","), findings


def table_of(columns: Mapping[str, Sequence[object]]) -> Table:
    """A table of values that stand in lists (JSON); None is a missing value.

    The line numbers count the entries of the lists from 1.
    """
    cells = tuple(tuple("" if v is None else str(v) for v in values) for values in columns.values())
    shortest = min((len(column) for column in cells), default=0)
    return Table(
        tuple(columns),
        tuple(column[:shortest] for column in cells),
        np.arange(1, shortest + 1),
        decimal_comma=False,
    )


def even(columns: Mapping[str, Sequence[object]]) -> Mapping[str, Sequence[object]]:
    """Lists (JSON) of one length; raises ValueError where one is shorter or is no list."""
    if not all(isinstance(values, list) for values in columns.values()):
        raise ValueError("no list")
    if len({len(values) for values in columns.values()}) > 1:
        raise ValueError("lists of different lengths")
    return columns


def _empty(names: Sequence[str]) -> Table:
    return Table(tuple(names), tuple(() for _ in names), np.zeros(0, dtype=np.int64), False)
