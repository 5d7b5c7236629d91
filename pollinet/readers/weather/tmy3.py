"""TMY3: typical year of a United States station; a station line, a heading, hours 01:00 to 24:00.

Rain is left out: its depths stand for accumulation periods of changing length.

References
----------
Wilcox S., Marion W. 2008. Users Manual for TMY3 Data Sets. NREL/TP-581-43156.
"""

from __future__ import annotations

from pollinet.messages import say
from pollinet.readers.weather.cells import number_or_none
from pollinet.readers.weather.delimited import find_heading, headed_samples
from pollinet.readers.weather.record import blank
from pollinet.readers.weather.samples import Outcome
from pollinet.readers.weather.table import split
from pollinet.readers.weather.typical import typical_season

NAME = "TMY3"


def recognise(head: str) -> bool:
    """Whether a station line of seven fields stands before the heading of the format."""
    lines = head.splitlines()
    return (
        len(lines) > 1
        and len(split(lines[0], ",")) == 7
        and lines[1].startswith("Date (MM/DD/YYYY),Time (HH:MM)")
        and find_heading(head) is not None
    )


def read(text: str, file: str) -> Outcome:
    """Read the one season that a typical year holds."""
    _table, _columns, samples, findings = headed_samples(text, file)
    if samples is None:
        return None, findings
    latitude, longitude, elevation = map(number_or_none, split(text.split("\n", 1)[0], ",")[4:7])
    about = blank(
        say("{file} (typical year)", file=file),
        latitude=latitude,
        longitude=longitude,
        elevation_m=elevation,
    )
    return typical_season(samples, file, about, findings)
