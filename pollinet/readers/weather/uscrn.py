"""USCRN: blank-separated tables of the United States climate reference network, without heading.

Daily, hourly and five-minute files are told apart by their number of columns. Local standard time
is used; hours and five minutes are named by their end, so each is counted a minute earlier.
Missing values are -9999 (temperature, rain) and -99 (wind).

References
----------
NOAA USCRN product descriptions for CRND0103, CRNH0203 and CRNS0101; the column order of the
five-minute files was checked on a sample, that of the other two is from memory.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from pollinet.messages import say
from pollinet.readers.weather.cells import number_or_none
from pollinet.readers.weather.delimited import columns_of, table_samples
from pollinet.readers.weather.folding import folded
from pollinet.readers.weather.record import blank
from pollinet.readers.weather.samples import Outcome, from_samples
from pollinet.readers.weather.table import table_of

NAME = "USCRN"

_LINE = re.compile(r"\s*\d{5}\s+\d{8}(\s+\d{4}\s+\d{8}\s+\d{4})?\s+\S+\s+-?\d+\.\d+\s+-?\d+\.\d+\s")

_LAYOUTS: dict[int, dict[str, int]] = {
    28: {"longitude": 3, "latitude": 4, "date": 1, "tmax_c": 5, "tmin_c": 6, "rain_mm": 9},
    38: {
        "longitude": 6,
        "latitude": 7,
        "date": 3,
        "clock": 4,
        "tmax_c": 10,
        "tmin_c": 11,
        "rain_mm": 12,
    },
    23: {
        "longitude": 6,
        "latitude": 7,
        "date": 3,
        "clock": 4,
        "temperature_c": 8,
        "rain_mm": 9,
        "wind_m_s": 21,
    },
}
"""Number of columns → place of the columns that we use: daily, hourly, five minutes."""


def recognise(head: str) -> bool:
    """Whether the first line is a line of one of the three layouts."""
    first = head.lstrip("\n").split("\n", 1)[0]
    return _LINE.match(first) is not None and len(first.split()) in _LAYOUTS


def read(text: str, file: str) -> Outcome:
    """Read a daily record, or reduce one of hours or five minutes."""
    numbered = [(n, line.split()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    width = len(numbered[0][1])
    odd = [number for number, cells in numbered if len(cells) != width]
    message = say("A line has not {number} columns", number=width)
    cure = say("Get the file again, completely.")
    findings = folded("error", "short-row", message, file, odd, cure=cure)
    if odd:
        return None, findings
    layout = _LAYOUTS[width]
    columns = {name: [_cell(cells[i]) for _, cells in numbered] for name, i in layout.items()}
    table = replace(table_of(columns), lines=np.array([number for number, _ in numbered]))
    samples, findings = table_samples(table, file, columns_of(list(table.names)))
    if samples is None:
        return None, findings
    if "clock" in layout:
        samples = replace(samples, times=samples.times - np.timedelta64(1, "m"))
    about = blank(
        f"{file} (USCRN)",
        latitude=number_or_none(columns["latitude"][0]),
        longitude=number_or_none(columns["longitude"][0]),
    )
    return from_samples(samples, file, about, findings)


def _cell(cell: str) -> str:
    """A cell, empty where it is a mark of a missing value."""
    return "" if cell.startswith(("-9999", "-99.0")) else cell
