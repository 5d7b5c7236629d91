"""EPW: the weather file of building simulation, hourly, almost always a typical year.

Eight heading lines, then 35 values an hour without names. Hours are numbered 1 to 24 by their end.
Rain is left out: the field is filled in too many ways to be trusted.

References
----------
EnergyPlus documentation, Auxiliary Programs, weather data format (field order, missing marks).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from pollinet.messages import say
from pollinet.readers.weather.cells import number_or_none
from pollinet.readers.weather.delimited import columns_of, table_samples
from pollinet.readers.weather.folding import folded
from pollinet.readers.weather.record import blank
from pollinet.readers.weather.samples import Outcome
from pollinet.readers.weather.table import table_of
from pollinet.readers.weather.typical import typical_season

NAME = "EPW"

_FIELDS = {
    "year": 0,
    "month": 1,
    "day": 2,
    "hour": 3,
    "temperature_c": 6,
    "wind_speed_m_s": 21,
}
_MISSING = {"temperature_c": 99.9, "wind_speed_m_s": 999.0}
_CELLS = 22


def recognise(head: str) -> bool:
    """Whether the file begins with a LOCATION line of ten fields."""
    first = head.split("\n", 1)[0]
    return first.startswith("LOCATION,") and first.count(",") == 9


def read(text: str, file: str) -> Outcome:
    """Read the one season that a typical year holds."""
    lines = text.splitlines()
    place = lines[0].split(",")
    numbered = [(n, line) for n, line in enumerate(lines[8:], start=9) if line.strip()]
    rows = [line.split(",") for _, line in numbered]
    short = [n for (n, _), row in zip(numbered, rows, strict=True) if len(row) < _CELLS]
    message = say("A line has fewer than {number} values", number=_CELLS)
    cure = say("Get the file again, completely.")
    findings = folded("error", "short-row", message, file, short, cure=cure)
    if short:
        return None, findings
    table = table_of({name: [_cell(name, row) for row in rows] for name in _FIELDS})
    table = replace(table, lines=np.array([number for number, _ in numbered], dtype=np.int64))
    samples, findings = table_samples(table, file, columns_of(list(table.names)))
    if samples is None:
        return None, findings
    latitude, longitude, elevation = map(number_or_none, (place[6], place[7], place[9]))
    about = blank(
        say("{file} (typical year)", file=file),
        latitude=latitude,
        longitude=longitude,
        elevation_m=elevation,
    )
    return typical_season(samples, file, about, findings)


def _cell(name: str, row: list[str]) -> str:
    """A value of a row, empty where it is the format's mark of a missing one."""
    cell = row[_FIELDS[name]]
    value = number_or_none(cell)
    return "" if value is not None and value >= _MISSING.get(name, np.inf) else cell
