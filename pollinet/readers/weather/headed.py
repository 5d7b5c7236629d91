"""Tables with a heading: the house format, and every other one whose columns we know by name.

The house format is `date,tmin_c,tmax_c[,rain_mm,wind_m_s]`, one line a day. Lines that begin
with `#` are comments: `# generated …` says that the values come out of a weather generator;
`# latitude 46.2`, `# longitude 7.3` and `# elevation_m 500` say where they hold. The same reader
takes daily and hourly tables of other services (see `names`), such as the German weather
service's daily KL, NASA POWER, and the GHCN-Daily extracts of NCEI with one column an element.
"""

from __future__ import annotations

import re

from pollinet.domain import DailyWeather
from pollinet.messages import listing, mark, say
from pollinet.readers.weather.cells import number_or_none
from pollinet.readers.weather.delimited import Columns, find_heading, headed_samples
from pollinet.readers.weather.names import Quantity
from pollinet.readers.weather.record import blank
from pollinet.readers.weather.samples import Outcome, from_samples
from pollinet.readers.weather.table import Table

LAYOUT = "date,tmin_c,tmax_c[,rain_mm,wind_m_s]"
NAME = f"table with a heading such as {LAYOUT}"

DEMO_SOURCE = mark("from twelve invented monthly means, seed {seed}: no station measured this")
"""How the record of the invented garden says where it comes from."""

_PLACE = re.compile(
    r"(latitude|longitude|elevation)(?:_m)?\s*(?:\([a-z ]*\)|from [^=\n]*(?==))?\s*[:=]?\s*"
    r"(-?\d+(?:\.\d+)?)",
    re.IGNORECASE,
)
"""Also as NASA POWER writes it: `Elevation from MERRA-2: Average for … region = 902.1 meters`."""


def recognise(head: str) -> bool:
    """Whether one of the first lines names a date and a temperature."""
    return find_heading(head) is not None


def read(text: str, file: str) -> Outcome:
    """Read a daily or hourly table; None with error findings where it cannot be used."""
    table, columns, samples, findings = headed_samples(text, file)
    if samples is None:
        return None, findings
    return from_samples(samples, file, _about(text, file, table, columns), findings)


def place_in(lines: list[str]) -> dict[str, float]:
    """Latitude, longitude and elevation as preambles write them: `Latitude (degrees): 45.0`."""
    return {m[1].lower(): float(m[2]) for line in lines for m in _PLACE.finditer(line)}


def _made_words(comment: str) -> str:
    """What a generated record was made from, as its comment tells it."""
    text = comment.removeprefix("generated, ")
    head, tail = DEMO_SOURCE.split("{seed}")
    if text.startswith(head) and text.endswith(tail):
        return say(DEMO_SOURCE, seed=text.removeprefix(head).removesuffix(tail))
    return text


def _about(text: str, file: str, table: Table, columns: Columns) -> DailyWeather:
    """Source, place and `generated`, from comments, preamble and columns."""
    comments = [line for line in text.splitlines() if line.startswith("#")]
    words = [line.lstrip("# ") for line in comments]
    made = [_made_words(line) for line in words if line.lower().startswith("generated")]
    before = text.splitlines()[: int(table.lines[0])] if table.lines.size else []
    places = place_in(before)

    def place(quantity: Quantity) -> float | None:
        if quantity in columns and table.lines.size:
            return number_or_none(table.columns[columns[quantity][0]][0])
        return places.get(quantity)

    return blank(
        listing([file, *made]),
        generated=bool(made),
        latitude=place("latitude"),
        longitude=place("longitude"),
        elevation_m=place("elevation"),
    )
