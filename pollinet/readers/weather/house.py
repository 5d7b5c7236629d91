"""The house format: `date,tmin_c,tmax_c[,rain_mm,wind_m_s]`, one line a day.

Lines that begin with `#` are comments. `# generated …` says that the values come out of a
weather generator; `# latitude 46.2`, `# longitude 7.3` and `# elevation_m 500` say where they hold.
"""

from __future__ import annotations

import re

import numpy as np

from pollinet.domain import DailyWeather, FloatArray
from pollinet.findings import Finding, has_errors
from pollinet.readers.weather.cells import days, numbers
from pollinet.readers.weather.folding import folded
from pollinet.readers.weather.record import Rows, blank, daily_record
from pollinet.readers.weather.table import Table, delimiter_of, header_line, read_table, split

NAME = "house format"
LAYOUT = "date,tmin_c,tmax_c[,rain_mm,wind_m_s]"
_REQUIRED = ("date", "tmin_c", "tmax_c")
_OPTIONAL = ("rain_mm", "wind_m_s")
_PLACE = re.compile(r"#\s*(latitude|longitude|elevation_m)\s*[:=]?\s*(-?\d+(?:\.\d+)?)")


def recognise(head: str) -> bool:
    """Whether the first line that is no comment names date, tmin_c and tmax_c."""
    index = header_line(head)
    if index is None:
        return False
    line = head.splitlines()[index].lower()
    return set(_REQUIRED) <= set(split(line, delimiter_of(line)))


def read(text: str, file: str) -> tuple[DailyWeather | None, tuple[Finding, ...]]:
    """Read a daily record; None with error findings where it cannot be used."""
    index = header_line(text)
    if index is None:
        raise ValueError("read is for text that recognise accepts")
    table, findings = read_table(text, file, index)
    names = [name.lower() for name in table.names]
    dates = days(table.columns[names.index("date")])
    findings += folded(
        "error",
        "bad-date",
        "The date is not a day of the calendar",
        file,
        table.lines[np.isnat(dates)],
        place="date",
        cure="Write dates as 2001-12-31.",
    )
    values: dict[str, FloatArray] = {}
    for name in (*_REQUIRED[1:], *(name for name in _OPTIONAL if name in names)):
        values[name], bad = column(table, names.index(name), file)
        findings += bad
    rows = Rows(dates, table.lines, **values)
    record, more = daily_record(rows, file, _about(text, file))
    findings += more
    return (None if has_errors(findings) else record), findings


def column(table: Table, index: int, file: str) -> tuple[FloatArray, tuple[Finding, ...]]:
    """The numbers of a column, and an error finding for cells that are not numbers."""
    values, bad = numbers(table.columns[index], table.decimal_comma)
    wrong = [table.columns[index][row] for row in np.flatnonzero(bad)[:1]]
    return values, folded(
        "error",
        "bad-number",
        f"“{wrong[0] if wrong else ''}” is not a number",
        file,
        table.lines[bad],
        place=table.names[index],
        cure="Write numbers with a decimal point; leave a missing value empty.",
    )


def _about(text: str, file: str) -> DailyWeather:
    """Source, place and `generated` from the comment lines."""
    comments = [line for line in text.splitlines() if line.startswith("#")]
    made = [line.lstrip("# ") for line in comments if line.lstrip("# ").startswith("generated")]
    places = {m[1]: float(m[2]) for line in comments if (m := _PLACE.match(line))}
    source = ", ".join([file, *made])
    return blank(
        source,
        generated=bool(made),
        latitude=places.get("latitude"),
        longitude=places.get("longitude"),
        elevation_m=places.get("elevation_m"),
    )
