"""GHCN-Daily as NOAA keeps it: `.dly` (a month of an element a line) and CSV (one value a line).

Tenths of °C, of mm and of m/s; -9999 is missing; a value with a quality flag failed a check and
counts as missing.

References
----------
Menne M.J. et al. 2012. An overview of the Global Historical Climatology Network-Daily database.
J. Atmos. Oceanic Technol. 29:897-910, doi 10.1175/JTECH-D-11-00103.1; its public format page.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from pollinet.domain import FloatArray
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.weather.cells import days, numbers
from pollinet.readers.weather.folding import folded
from pollinet.readers.weather.record import Rows, blank, daily_record
from pollinet.readers.weather.samples import Outcome, readable

NAME = "GHCN-Daily"

_DLY = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}\d{6}[A-Z0-9]{4}[ \d-]{5}")
_LONG = re.compile(r'"?[A-Z]{2}[A-Z0-9_-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,-?\d+,')
_ELEMENTS = ("TMIN", "TMAX", "PRCP", "AWND")


class _Value(NamedTuple):
    station: str
    day: str
    element: str
    cell: str
    line: int


def recognise(head: str) -> bool:
    """Whether one of the first two lines is of either layout (the CSV may have a heading)."""
    return any(_DLY.match(line) or _LONG.match(line) for line in head.splitlines()[:2])


def read(text: str, file: str) -> Outcome:
    """Read the daily record of one station."""
    lines = text.splitlines()
    is_dly = any(_DLY.match(line) for line in lines[:2])
    if broken := _broken_lines(lines, is_dly=is_dly):
        message = say("A line is not one of this format, or breaks off")
        cure = say("Get the file again, completely.")
        return None, folded("error", "short-row", message, file, broken, cure=cure)
    values = list(_dly_values(lines) if is_dly else _long_values(lines))
    stations = sorted({value.station for value in values})
    if len(stations) > 1:
        return None, (_several(stations, file),)
    rows, findings = _rows(values, file)
    if has_errors(findings):
        return None, findings
    record, more = daily_record(rows, file, blank(f"{file} (GHCN-Daily {''.join(stations)})"))
    return record, findings + more


_DLY_LETTERS = 266
"""Letters of a line up to its last value; flags that are blank may be cut off."""

_LONG_CELLS = 7
"""Cells of a line up to its last flag; the time of observation may be left out."""


def _broken_lines(lines: list[str], *, is_dly: bool) -> list[int]:
    """Lines that are not of the layout, but for empty ones and the heading of the CSV."""

    def whole(line: str) -> bool:
        if is_dly:
            return _DLY.match(line) is not None and len(line) >= _DLY_LETTERS
        return _LONG.match(line) is not None and line.count(",") >= _LONG_CELLS - 1

    first = 1 if is_dly or _LONG.match(lines[0]) else 2
    return [n for n, line in enumerate(lines, 1) if n >= first and line.strip() and not whole(line)]


def _dly_values(lines: list[str]) -> Iterator[_Value]:
    """Values of the fixed-width layout: id, year, month, element, 31 × (value, three flags)."""
    for number, line in enumerate(lines, start=1):
        element = line[17:21]
        if not _DLY.match(line) or element not in _ELEMENTS:
            continue
        for day in range(31):
            cell, quality = line[21 + 8 * day : 26 + 8 * day], line[27 + 8 * day : 28 + 8 * day]
            if cell.strip() not in ("", "-9999") and not quality.strip():
                date = f"{line[11:15]}-{line[15:17]}-{day + 1:02d}"
                yield _Value(line[:11], date, element, cell, number)


def _long_values(lines: list[str]) -> Iterator[_Value]:
    """Values of the CSV: id, date, element, value, measurement, quality and source flag, time."""
    for number, line in enumerate(lines, start=1):
        cells = line.replace('"', "").split(",")
        if not _LONG.match(line) or cells[2] not in _ELEMENTS or cells[3] == "-9999":
            continue
        if not (len(cells) > 5 and cells[5].strip()):
            date = f"{cells[1][:4]}-{cells[1][4:6]}-{cells[1][6:]}"
            yield _Value(cells[0], date, cells[2], cells[3], number)


def _rows(values: list[_Value], file: str) -> tuple[Rows, tuple[Finding, ...]]:
    """One row a day; the first value counts where an element stands twice."""
    dates, lines = days([v.day for v in values]), np.array([v.line for v in values], dtype=np.int64)
    tenths, bad = numbers([value.cell for value in values])
    findings = readable(dates, lines, file, "date")
    cure = say("Get the file again, completely.")
    message = say("A value is not a number")
    findings += folded("error", "bad-number", message, file, lines[bad], cure=cure)
    axis, first, place = np.unique(dates, return_index=True, return_inverse=True)
    again: list[int] = []

    def column(element: str) -> FloatArray:
        mine = np.flatnonzero([value.element == element for value in values])
        known, index = np.unique(place[mine], return_index=True)
        again.extend(np.delete(lines[mine], index))
        filled = np.full(axis.size, np.nan)
        filled[known] = tenths[mine][index] / 10
        return filled

    rows = Rows(axis, lines[first], *(column(element) for element in _ELEMENTS))
    message = say("A date stands more than once; its first value was taken")
    return rows, findings + folded("warning", "duplicate-date", message, file, again)


def _several(stations: list[str], file: str) -> Finding:
    return Finding(
        "error",
        "several-stations",
        say(
            "The file holds {number} stations ({stations} …).",
            number=len(stations),
            stations=", ".join(stations[:3]),
        ),
        file,
        cure=say("Keep the lines of the station nearest to the garden and of its height."),
    )
