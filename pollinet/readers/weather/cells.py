"""Text cells to numbers and times, whole columns at once.

The usual column converts in one numpy call; only a column with a bad cell is walked cell by
cell, to name the lines.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray, FloatArray

Times = NDArray[np.datetime64]

MISSING_WORDS = frozenset({"", "na", "n/a", "nan", "nat", "null", "none", "-", "--", "m", "*"})
"""Cells, in lower case, that say that a value is missing."""

MISSING_NUMBERS = (
    -99999.0,
    -9999.9,
    -9999.0,
    -9900.0,
    -999.9,
    -999.0,
    999.9,
    9999.0,
    9999.9,
    99999.0,
)
"""Numbers that weather services write for a missing value: -9999 (GHCN-Daily, USCRN), -999 (DWD),
-9900 (TMY3), 999.9 and the like in older formats. None of them is a temperature in a known unit."""

_ISO_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_ISO_MINUTE = re.compile(_ISO_DAY.pattern + "[T ][0-9]{2}:[0-9]{2}")
_DAY_FIRST = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})")
_CLOCK = re.compile(
    r"[T:\s]*(?:(\d{1,2})(?::?(\d{2}))?(?::\d{2}(?:\.\d+)?)?)?"
    r"\s*(?:([AaPp])\.?[Mm]\.?)?\s*(?:Z|UTC|GMT|[+-]\d{2}:?\d{2})?"
)
_UTC = re.compile(r"(?:Z|UTC|GMT|[+-]00:?00)$")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.]?(\d{1,2})[-/.]?(\d{1,2})")


def numbers(cells: Sequence[str], decimal_comma: bool = False) -> tuple[FloatArray, BoolArray]:
    """Numbers of a column, NaN where missing, and which cells are not numbers at all.

    Returns
    -------
    (values, bad) : both of shape (cells,).
    """
    words = [cell.strip() for cell in cells]
    if decimal_comma:
        words = [word.replace(",", ".") for word in words]
    try:
        values = np.array(words, dtype=float)
    except ValueError:
        values = np.array([_number(word) for word in words], dtype=float)
    bad = np.isinf(values)
    values[bad | np.isin(values, MISSING_NUMBERS)] = np.nan
    return values, bad


def _number(word: str) -> float:
    """A number, NaN for a missing one, infinity for what is not a number."""
    if word.lower() in MISSING_WORDS:
        return np.nan
    try:
        return float(word)
    except ValueError:
        return np.inf


def number_or_none(cell: object) -> float | None:
    """A finite number of a preamble; None where there is none."""
    values, bad = numbers([str(cell)])
    return None if bad[0] or np.isnan(values[0]) else float(values[0])


def days(cells: Sequence[str]) -> Times:
    """Calendar days of a column, `datetime64[D]`; NaT where a cell is not a date of 1700 to 2200.

    Year first (`2001-12-31`, `20011231`), or day and month first; which of the two comes first
    is settled by the first value above 12 in the whole column, else by the sign: `/` month
    first (United States), `.` and `-` day first.
    """
    found = _plain(cells, _ISO_DAY, "datetime64[D]")
    if found is None:
        iso = _iso_writer(cells)
        known = {cell: _day(iso(cell.strip())) for cell in dict.fromkeys(cells)}
        found = np.array([known[cell] for cell in cells], dtype="datetime64[D]")
    return _possible(found)


def _plain(cells: Sequence[str], pattern: re.Pattern[str], kind: str) -> Times | None:
    """The usual case in one call: ISO dates of one shape; None where a cell is anything else."""
    if not all(map(pattern.fullmatch, cells)):
        return None
    try:
        return np.array(cells, dtype=kind)
    except ValueError:
        return None


def _possible(times: Times) -> Times:
    """The same times, NaT outside 1700 to 2200, where no weather record is."""
    outside = (times < np.datetime64("1700-01-01")) | (times > np.datetime64("2200-12-31T23:59"))
    times[outside] = np.datetime64("NaT")
    return times


def moments(cells: Sequence[str]) -> tuple[Times, bool]:
    """Moments of a column with date and clock in one cell, and whether they are marked as UTC.

    Returns
    -------
    (times, utc) : `datetime64[m]` of shape (cells,), NaT where a cell is not a time.
    """
    if (plain := _plain(cells, _ISO_MINUTE, "datetime64[m]")) is not None:
        return _possible(plain), False
    if _plain(cells, _ISO_DAY, "datetime64[D]") is not None:
        return days(cells).astype("datetime64[m]"), False
    parts = [_parted(cell.strip()) for cell in cells]
    utc = bool(parts) and _UTC.search(parts[0][1]) is not None
    return join(days([part[0] for part in parts]), [part[1] for part in parts]), utc


def join(dates: Times, clocks: Sequence[str]) -> Times:
    """Days and clock times (`13:05`, `1305`, `13`, `1:05 pm`) to `datetime64[m]`.

    A column that counts 1 to 24 names the ends of the hours; it is moved to their starts.
    """
    known = {clock: _minutes(clock) for clock in dict.fromkeys(clocks)}
    minutes = np.array([known[clock] for clock in clocks], dtype=float)
    if minutes.size and np.nanmax(minutes, initial=0.0) >= 1440:
        minutes -= 60
    offsets = np.where(np.isnan(minutes), 0, minutes).astype("timedelta64[m]")
    offsets[np.isnan(minutes)] = np.timedelta64("NaT")
    times: Times = dates.astype("datetime64[m]") + offsets
    return times


def _parted(cell: str) -> tuple[str, str]:
    """Date and clock of a cell that has both."""
    match = _YEAR_FIRST.match(cell) or _DAY_FIRST.match(cell)
    return (match.group(), cell[match.end() :]) if match else ("", "")


def _minutes(clock: str) -> float:
    """Minutes after midnight, up to 24:00; NaN for what is not a clock time."""
    match = _CLOCK.fullmatch(clock)
    if match is None:
        return np.nan
    hour, minute = int(match[1] or 0), int(match[2] or 0)
    if match[3]:
        hour = hour % 12 + (12 if match[3] in "pP" else 0)
    return 60.0 * hour + minute if hour * 60 + minute <= 1440 and minute < 60 else np.nan


def _iso_writer(cells: Sequence[str]) -> Callable[[str], str]:
    """How to bring the dates of this column into the order year, month, day."""
    matches = [m for cell in cells if (m := _DAY_FIRST.match(cell.strip()))]
    month_first = bool(matches) and matches[0][0][len(matches[0][1])] == "/"
    for match in matches:
        if int(match[1]) > 12 or int(match[2]) > 12:
            month_first = int(match[1]) <= 12
            break

    def to_iso(cell: str) -> str:
        if match := _YEAR_FIRST.match(cell):
            year, month, day = match.groups()
        elif match := _DAY_FIRST.match(cell):
            day, month, year = match.groups()
            if month_first:
                day, month = month, day
        else:
            return ""
        return f"{year}-{int(month):02d}-{int(day):02d}"

    return to_iso


def _day(iso: str) -> np.datetime64:
    """A day; NaT where there is no such day."""
    try:
        return np.datetime64(iso or "NaT", "D")
    except ValueError:
        return np.datetime64("NaT", "D")
