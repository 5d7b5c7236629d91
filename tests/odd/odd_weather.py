"""Odd weather: every format that the readers know, made odd in one way at a time.

The formats are those of the services' own pages (see `tests/readers/weather`); here each is made of
one invented year or two, small enough to be read hundreds of times.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cache

from odd_plans import case as plan_case
from odd_plans import changed
from oddities import Case, Expect, as_bytes, flipped

WEATHER = ("weather", "PLAN", "--weather", "WEATHER", "--json")
FIRST, LAST = date(2000, 9, 1), date(2002, 8, 31)


@dataclass(frozen=True)
class Day:
    """A made-up day."""

    day: date
    low: float
    high: float
    rain: float = 0.0


def year_course(day: date) -> float:
    """Mean of a day at a place such as the sound garden's. [°C]"""
    from math import cos, pi

    number = day.timetuple().tm_yday
    return 9.5 - 9.5 * cos(2 * pi * (number - 17) / 365.25) + (day.toordinal() * 7 % 11 - 5) / 4


def days(first: date = FIRST, last: date = LAST) -> list[Day]:
    """Two made-up years."""
    every = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return [
        Day(
            day,
            round(year_course(day) - 4.6, 1),
            round(year_course(day) + 4.9, 1),
            float(day.toordinal() % 5),
        )
        for day in every
    ]


def headed(made: Sequence[Day], head: str = "date,tmin_c,tmax_c,rain_mm") -> str:
    """The house format."""
    rows = (f"{one.day},{one.low},{one.high},{one.rain}" for one in made)
    return "\n".join([head, *rows]) + "\n"


def german_service(made: Sequence[Day]) -> str:
    """Daily KL of the German weather service."""
    head = "STATIONS_ID;MESS_DATUM;QN_3;  FX;  FM;QN_4; RSK; TMK; UPM; TXK; TNK; TGK;eor\n"
    return head + "".join(
        f"      44;{one.day:%Y%m%d};   10;  9.9;   3.1;    3;   {one.rain};   4.0;  90.0;"
        f"   {one.high};   {one.low}; 0;eor\n"
        for one in made
    )


def power(made: Sequence[Day]) -> str:
    """NASA POWER, dates in three columns, with its preamble."""
    head = (
        "-BEGIN HEADER-\nLocation: latitude 46.4 longitude 7.2\nElevation from MERRA-2: Average "
        "for 0.5 x 0.625 degree lat/lon region = 430.0 meters\n-END HEADER-\n"
        "YEAR,MO,DY,T2M_MAX,T2M_MIN\n"
    )
    rows = (f"{d.day.year},{d.day.month},{d.day.day},{d.high},{d.low}" for d in made)
    return head + "\n".join(rows) + "\n"


METEO_PLACE = {"latitude": 46.4, "longitude": 7.2, "elevation": 430.0, "utc_offset_seconds": 3600}


def meteo_csv(made: Sequence[Day]) -> str:
    """Open-Meteo as CSV."""
    head = "latitude,longitude,elevation,utc_offset_seconds\n46.4,7.2,430.0,3600\n\n"
    head += "time,temperature_2m_max (°C),temperature_2m_min (°C),precipitation_sum (mm)\n"
    return head + "".join(f"{d.day},{d.high},{d.low},{d.rain}\n" for d in made)


def meteo_json(made: Sequence[Day]) -> str:
    """Open-Meteo as JSON."""
    daily = {
        "time": [str(one.day) for one in made],
        "temperature_2m_max": [one.high for one in made],
        "temperature_2m_min": [one.low for one in made],
    }
    units = {"time": "iso8601", "temperature_2m_max": "°C", "temperature_2m_min": "°C"}
    return json.dumps({**METEO_PLACE, "daily_units": units, "daily": daily})


def dly(made: Sequence[Day]) -> str:
    """GHCN-Daily, a month of an element a line."""
    months: dict[tuple[int, int], dict[int, Day]] = {}
    for one in made:
        months.setdefault((one.day.year, one.day.month), {})[one.day.day] = one
    lines = []
    for (year, month), known in months.items():
        for element in ("TMAX", "TMIN"):
            cells = ""
            for number in range(1, 32):
                one = known.get(number)
                value = -9999 if one is None else one.high if element == "TMAX" else one.low
                cells += f"{value if value == -9999 else round(value * 10):5d}  X"
            lines.append(f"USW00014839{year}{month:02d}{element}{cells}\n")
    return "".join(lines)


def ghcn_long(made: Sequence[Day]) -> str:
    """GHCN-Daily, a value a line."""
    return "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n" + "".join(
        f"GM000010147,{d.day:%Y%m%d},{element},{round(value * 10)},,,E,\n"
        for d in made
        for element, value in (("TMAX", d.high), ("TMIN", d.low))
    )


def uscrn(made: Sequence[Day]) -> str:
    """USCRN, daily."""
    rest = " ".join(["-9999.0"] * 18)
    return "".join(
        f"53131 {d.day:%Y%m%d}  2.622    7.20   46.40 {d.high:7.1f} {d.low:7.1f}     5.0     5.2 "
        f"{d.rain:8.1f} {rest}\n"
        for d in made
    )


def hours(made: Sequence[Day]) -> Iterator[tuple[datetime, float]]:
    """Every sixth hour filled in to hourly values."""
    for one in made:
        for hour in range(24):
            share = 1 - abs(hour - 14) / 14 if hour <= 14 else 1 - (hour - 14) / 14
            yield (
                datetime(one.day.year, one.day.month, one.day.day, hour),
                round(one.low + (one.high - one.low) * share, 1),
            )


def year_of(made: Sequence[Day]) -> list[Day]:
    """One calendar year."""
    return [one for one in made if one.day.year == 2001]


def hourly(made: Sequence[Day]) -> str:
    """A table of hours."""
    return "time,temp_c\n" + "".join(f"{t:%Y-%m-%d %H:%M},{v}\n" for t, v in hours(made[:430]))


def epw(made: Sequence[Day]) -> str:
    """EPW: a typical year for buildings."""
    head = "LOCATION,Here,-,Land,made,000000,46.4,7.2,1.0,430.0\n"
    head += "".join(f"HEADING {number},0\n" for number in range(7))
    return head + "".join(
        f"2001,{t.month},{t.day},{t.hour + 1},0,?,{v}," + "0," * 14 + "1.5,0\n"
        for t, v in hours(year_of(made))
    )


def tmy3(made: Sequence[Day]) -> str:
    """TMY3: a typical year of the United States."""
    head = '723170,"SOMEWHERE",NC,1.0,46.4,7.2,430\n'
    head += "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C),Dry-bulb source,Wspd (m/s)\n"
    return head + "".join(
        f"{t:%m/%d}/1988,{t.hour + 1:02d}:00,0,{v},A,1.5\n" for t, v in hours(year_of(made))
    )


def pvgis_csv(made: Sequence[Day]) -> str:
    """PVGIS as CSV, two years of hours."""
    head = (
        "Latitude (decimal degrees): 46.400\nLongitude (decimal degrees): 7.200\n"
        "Elevation (m): 430.0\ntime(UTC),T2m,RH,WS10m\n"
    )
    rows = "".join(f"{t:%Y%m%d:%H%M},{v},90.0,1.5\n" for t, v in hours(made[:430]))
    return head + rows + "\nT2m: 2-m air temperature (degree Celsius)\n"


def pvgis_json(made: Sequence[Day]) -> str:
    """PVGIS as JSON."""
    place = {"latitude": 46.4, "longitude": 7.2, "elevation": 430.0}
    inputs = {"location": place, "meteo_data": {"meteo_db": "made"}}
    entries = [{"time(UTC)": f"{t:%Y%m%d:%H%M}", "T2m": v} for t, v in hours(made[:430])]
    return json.dumps({"inputs": inputs, "outputs": {"hourly": entries}})


Layout = Callable[[Sequence[Day]], str]
DAILY: tuple[Layout, ...] = (
    headed,
    german_service,
    power,
    meteo_csv,
    meteo_json,
    dly,
    ghcn_long,
    uscrn,
)
HOURLY: tuple[Layout, ...] = (hourly, epw, tmy3, pvgis_csv, pvgis_json)


@cache
def sound_file(layout: Layout) -> bytes:
    """Two sound years in a format."""
    return layout(days()).encode()


def weather(
    kind: str,
    name: str,
    expect: Expect,
    content: str | bytes,
    named: str = "",
    layout: Layout = headed,
) -> Case:
    """A case of a weather file; layout : the format that it is compared with where it is sound."""
    at = "weather.csv" if expect == "refused" else ""
    base = {"weather.csv": sound_file(layout)}
    files = {"weather.csv": as_bytes(content)}
    return Case(kind, name, expect, WEATHER, files, at, named, base=base)


def each(made: list[Day], how: Callable[[Day], Day]) -> list[Day]:
    """Every day made otherwise."""
    return [how(one) for one in made]


def values() -> Iterator[Case]:
    """Units, exchanged columns and values that cannot be, in every daily format."""
    sound = days()
    ways: dict[str, tuple[Expect, list[Day]]] = {
        "Fahrenheit": (
            "told",
            each(
                sound,
                lambda d: replace(
                    d, low=round(d.low * 1.8 + 32, 1), high=round(d.high * 1.8 + 32, 1)
                ),
            ),
        ),
        "Kelvin": (
            "told",
            each(sound, lambda d: replace(d, low=d.low + 273.15, high=d.high + 273.15)),
        ),
        "tenths": ("told", each(sound, lambda d: replace(d, low=d.low * 10, high=d.high * 10))),
        "exchanged": ("refused", each(sound, lambda d: replace(d, low=d.high, high=d.low))),
        "the same": ("told", each(sound, lambda d: replace(d, low=d.high))),
        "all zero": ("told", each(sound, lambda d: replace(d, low=0.0, high=0.0))),
        "one value": ("told", each(sound, lambda d: replace(d, low=5.0, high=15.0))),
        "other half of the earth": (
            "refused",
            each(sound, lambda d: replace(d, low=19 - d.low, high=28 - d.low)),
        ),
        "too cold": ("told", each(sound, lambda d: replace(d, low=d.low - 45, high=d.high - 45))),
        "hot": ("told", each(sound, lambda d: replace(d, low=d.low + 19, high=d.high + 19))),
        "one impossible day": (
            "told",
            [replace(sound[40], high=91.0) if n == 40 else one for n, one in enumerate(sound)],
        ),
        "one crossed day": (
            "told",
            [replace(sound[40], low=30.0) if n == 40 else one for n, one in enumerate(sound)],
        ),
        "hot Christmas": (
            "told",
            [replace(one, high=43.0) if one.day == date(2001, 12, 25) else one for one in sound],
        ),
        "a month the same": (
            "told",
            [
                replace(one, low=1.0, high=9.0)
                if (one.day.year, one.day.month) == (2001, 1)
                else one
                for one in sound
            ],
        ),
        "a year copied": (
            "told",
            [
                *sound[:365],
                *(replace(a, day=b.day) for a, b in zip(sound[:365], sound[365:], strict=True)),
            ],
        ),
        "filled by a line": (
            "told",
            [
                replace(one, low=0.1 * n, high=8 + 0.1 * n) if 90 < n < 140 else one
                for n, one in enumerate(sound)
            ],
        ),
        "unit changed": (
            "told",
            [
                replace(one, low=round(one.low * 1.8 + 32, 1), high=round(one.high * 1.8 + 32, 1))
                if n > 400
                else one
                for n, one in enumerate(sound)
            ],
        ),
        "days missing": ("told", [one for n, one in enumerate(sound) if n % 3]),
        "a winter missing": ("told", [one for one in sound if one.day.month not in (12, 1)]),
        "one day": ("refused", sound[:1]),
        "one month": ("told", sound[:30]),
        "one summer": ("told", [one for one in sound if one.day.month in (6, 7, 8)]),
        "no day": ("refused", []),
        "day twice": ("told", [*sound[:41], *sound[40:]]),
        "every day twice": ("told", [one for one in sound for _ in range(2)]),
        "backwards": ("told", sound[::-1]),
        "two years exchanged": ("told", [*sound[365:], *sound[:365]]),
    }
    lenient = {  # a format has one cell a day, or an order of its own
        ("dly", "day twice"),
        ("dly", "every day twice"),
        ("dly", "backwards"),
        ("dly", "two years exchanged"),
        ("ghcn_long", "backwards"),
        ("ghcn_long", "two years exchanged"),
        ("dly", "one impossible day"),
    }
    for layout in DAILY:
        for name, (expect, made) in ways.items():
            if not made and layout in (dly, uscrn):
                continue
            wanted = "any" if (layout.__name__, name) in lenient else expect
            yield weather("values", f"{layout.__name__} {name}", wanted, layout(made), "", layout)
    for layout in HOURLY:
        for name in ("Kelvin", "tenths", "too cold", "other half of the earth", "one day"):
            expect, made = ways[name]
            if layout in (epw, tmy3) and name == "one day":
                continue
            yield weather("values", f"{layout.__name__} {name}", "told", layout(made), "", layout)


def damage() -> Iterator[Case]:
    """Every format cut short, in another encoding, with NULs, with bytes turned over."""
    chance = random.Random(3)
    for layout in (*DAILY, *HOURLY):
        text = layout(days())
        name = layout.__name__
        data = text.encode()
        for share in (0.002, 0.02, 0.4, 0.97):
            yield weather(
                "cut", f"{name} {share}", "told", data[: int(len(data) * share)], "", layout
            )
        yield weather("encoding", f"{name} UTF-16", "any", text.encode("utf-16"))
        yield weather(
            "encoding", f"{name} UTF-16 big", "any", b"\xfe\xff" + text.encode("utf-16-be")
        )
        yield weather("encoding", f"{name} BOM", "any", b"\xef\xbb\xbf" + data)
        yield weather("encoding", f"{name} CRLF", "any", text.replace("\n", "\r\n"))
        yield weather("encoding", f"{name} CR", "any", text.replace("\n", "\r"))
        yield weather("encoding", f"{name} Latin-1", "any", text.encode("latin-1"))
        yield weather(
            "encoding", f"{name} UTF-16 without mark", "refused", text.encode("utf-16-le")
        )
        yield weather(
            "encoding", f"{name} NULs", "told", data[: len(data) // 2] + b"\0" * 4096, "", layout
        )
        for number in range(3):
            broken = flipped(data, 40, b' ",;\n\r\\0-aA\xff\t#.', chance)
            yield weather("flipped", f"{name} {number}", "any", broken)
        lines = text.splitlines(keepends=True)
        chance.shuffle(lines)
        yield weather("moved", name, "any", "".join(lines))
        if "\n" in text.strip():
            half = len(text.splitlines()) // 2
            rows = text.splitlines()
            yield weather(
                "row",
                f"{name} rubbish",
                "told",
                "\n".join([*rows[:half], "rubbish", *rows[half:]]) + "\n",
                "",
                layout,
            )
            short = rows[half][: len(rows[half]) // 2]
            yield weather(
                "row",
                f"{name} half a row",
                "told",
                "\n".join([*rows[:half], short, *rows[half + 1 :]]) + "\n",
                "",
                layout,
            )
            yield weather(
                "row",
                f"{name} a giant row",
                "told",
                "\n".join([*rows[:half], "9" * 300_000, *rows[half:]]) + "\n",
                "",
                layout,
            )


def headings() -> Iterator[Case]:
    """Headings with columns missing, twice, unknown, in other units or in another order."""
    made = days()
    rows = [f"{one.day},{one.low},{one.high}" for one in made]

    def under(head: str, lines: Sequence[str] = rows) -> str:
        return "\n".join([head, *lines]) + "\n"

    refused = (
        "day,low",
        "date,tmin_c",
        "date,tmax_c",
        "date,mean_c,x",
        "x,tmin_c,tmax_c",
        "a,b,c",
        "date,tmin_re,tmax_re",
        "1,2,3",
        "",
        ",,",
        "tmin_c,tmax_c,date",
        "date,tmin_k,tmax_k",
        "date,tmin (rankine),tmax (rankine)",
        "date,date,tmax_c",
        "date,tmin_c,tmin_c",
        "date,tmax_c,tmax_c",
        "date tmin_c tmax_c",
        "date;tmin_c;tmax_c",
    )
    for number, head in enumerate(refused):
        yield weather("heading", f"{number} {head}", "told", under(head))
    twice = [f"{row},{row.split(',')[2]}" for row in rows]
    yield weather(
        "heading", "tmax twice", "refused", under("date,tmin_c,tmax_c,tmax_c", twice), "tmax_c"
    )
    yield weather(
        "heading",
        "date twice",
        "refused",
        under("date,tmin_c,tmax_c,date", [f"{r},{r[:10]}" for r in rows]),
        "date",
    )
    yield weather(
        "heading",
        "low and min",
        "told",
        under("date,tmin_c,tmax_c,low_c", [f"{r},0" for r in rows]),
        "low_c",
    )
    yield weather("heading", "exchanged", "refused", under("date,tmax_c,tmin_c"))
    yield weather("heading", "in °F, values in °C", "told", under("date,tmin_f,tmax_f"))
    yield weather("heading", "one in °F", "told", under("date,tmin_f,tmax_c"))
    yield weather(
        "heading",
        "decimal commas",
        "any",
        under("date;tmin_c;tmax_c", [r.replace(",", ";").replace(".", ",") for r in rows]),
    )
    yield weather(
        "heading",
        "thousands",
        "refused",
        under("date,tmin_c,tmax_c", [r.replace(".", "1,000.") for r in rows]),
    )
    for name, cell in {
        "word": "warm",
        "inf": "inf",
        "-inf": "-inf",
        "1e400": "1e400",
        "digits": "9" * 5000,
        "hex": "0x10",
        "formula": "=1+1",
        "NUL": "\x00",
        "bidi": "\u202e5",
        "percent": "5%",
        "two": "5 6",
        "bell": "\x07",
    }.items():
        broken = [*rows[:50], f"2000-10-21,{cell},9.0", *rows[51:]]
        yield weather("cell", name, "refused", under("date,tmin_c,tmax_c", broken), "52")
    for name, cell in {
        "month 13": "2000-13-21",
        "30 Feb": "2001-02-30",
        "no leap year": "2001-02-29",
        "year 0": "0000-10-21",
        "year 9999": "9999-10-21",
        "1650": "1650-10-21",
        "word": "yesterday",
        "empty": "",
        "NUL": "2000-10-\x00",
        "digits": "9" * 5000,
        "negative": "-2000-10-21",
        "week": "2000-W43-6",
        "serial": "36820",
        "day alone": "21",
        "Arabic": "٢٠٠٠-١٠-٢١",
    }.items():
        broken = [*rows[:50], f"{cell},4.0,9.0", *rows[51:]]
        yield weather("date", name, "refused", under("date,tmin_c,tmax_c", broken), "52")
    orders = {
        "day first": "%d.%m.%Y",
        "month first": "%m/%d/%Y",
        "slashes": "%Y/%m/%d",
        "packed": "%Y%m%d",
        "with a clock": "%Y-%m-%dT00:00",
    }
    for name, pattern in orders.items():
        lines = [f"{one.day:{pattern}},{one.low},{one.high}" for one in made]
        yield weather("date", f"order {name}", "any", under("date,tmin_c,tmax_c", lines))
    for name, pattern in {
        "two digits": "%y-%m-%d",
        "month in words": "%d %b %Y",
        "no year": "%m-%d",
        "mixed": "",
    }.items():
        lines = [
            f"{one.day:{pattern or ('%d.%m.%Y' if n % 2 else '%m/%d/%Y')}},{one.low},{one.high}"
            for n, one in enumerate(made)
        ]
        yield weather("date", f"order {name}", "told", under("date,tmin_c,tmax_c", lines))
    to_come = [f"{row[:2]}{int(row[2:4]) + 90:02d}{row[4:]}" for row in rows]
    yield weather("date", "years to come", "told", under("date,tmin_c,tmax_c", to_come), "209")
    yield weather("row", "many", "any", under("date,tmin_c,tmax_c", rows * 40))
    yield weather("row", "wide", "any", under("date,tmin_c,tmax_c" + ",x" * 5000, rows[:3]))
    century = [f"{d.day},{d.low},{d.high}" for d in days(date(1900, 1, 1), date(2001, 12, 31))]
    yield weather("row", "a century", "any", under("date,tmin_c,tmax_c", century))
    gap = [*rows[:5], "2199-01-01,1,5"]
    yield weather("date", "one day centuries later", "told", under("date,tmin_c,tmax_c", gap))


def documents() -> Iterator[Case]:
    """JSON that is none, or of another shape, and files of other kinds."""
    good = json.loads(meteo_json(days()))
    daily = good["daily"]
    shapes = {
        "a list": [good],
        "null": None,
        "daily a list": {**good, "daily": []},
        "daily null": {**good, "daily": None},
        "daily a text": {**good, "daily": "x"},
        "no daily": {k: v for k, v in good.items() if k != "daily"},
        "no time": {**good, "daily": {k: v for k, v in daily.items() if k != "time"}},
        "short list": {**good, "daily": {**daily, "temperature_2m_max": [1]}},
        "long list": {**good, "daily": {**daily, "time": [*daily["time"], "2003-01-01"]}},
        "null values": {
            **good,
            "daily": {**daily, "temperature_2m_max": [None] * len(daily["time"])},
        },
        "texts": {**good, "daily": {**daily, "temperature_2m_max": ["x"] * len(daily["time"])}},
        "lists": {**good, "daily": {**daily, "temperature_2m_max": [[1]] * len(daily["time"])}},
        "tables": {**good, "daily": {**daily, "time": {"a": 1}}},
        "numbers for dates": {**good, "daily": {**daily, "time": list(range(len(daily["time"])))}},
        "units null": {**good, "daily_units": None},
        "units a list": {**good, "daily_units": ["°C"]},
        "unit unknown": {**good, "daily_units": {"temperature_2m_max": "°X"}},
        "unit a number": {**good, "daily_units": {"temperature_2m_max": 5}},
        "error": {**good, "error": True, "reason": "no\x1b[31m"},
        "error null": {**good, "error": True, "reason": None},
        "bools": {**good, "daily": {**daily, "temperature_2m_max": [True] * len(daily["time"])}},
    }
    for name, content in shapes.items():
        told = (
            "told"
            if name not in ("units null", "unit unknown", "unit a number", "units a list")
            else "any"
        )
        yield weather("JSON", name, told, json.dumps(content))  # type: ignore[arg-type]
    for name, place in {
        "latitude text": {"latitude": "north"},
        "latitude list": {"latitude": []},
        "latitude 999": {"latitude": 999},
        "longitude inf": {"longitude": float("inf")},
        "elevation null": {"elevation": None},
        "offset text": {"utc_offset_seconds": "x"},
        "offset huge": {"utc_offset_seconds": 10**30},
        "elsewhere": {"latitude": -33.0},
    }.items():
        yield weather("JSON", name, "any", json.dumps({**good, **place}))
    head = '{"utc_offset_seconds": 0, "daily": '
    sun = json.loads(pvgis_json(days()[:40]))
    for name, text in {
        "deep lists": head + "[" * 100_000,
        "deep closed": head + "[" * 3000 + "]" * 3000 + "}",
        "deep tables": head + '{"a":' * 100_000,
        "digits": head + "9" * 5000 + "}",
        "NaN": head + "NaN}",
        "keys twice": head + '{"time": [], "time": []}}',
        "not closed": head + "{",
        "surrogate": head + '"\\ud800"}',
        "NUL": head + "\x00}",
        "no location": json.dumps({**sun, "inputs": {"meteo_data": {}}}),
        "no hours": json.dumps({**sun, "outputs": {"hourly": []}}),
        "hours a table": json.dumps({**sun, "outputs": {"hourly": {}}}),
        "hours numbers": json.dumps({**sun, "outputs": {"hourly": [1, 2]}}),
        "hours uneven": json.dumps(
            {**sun, "outputs": {"hourly": [*sun["outputs"]["hourly"][:5], {}]}}
        ),
        "location a list": json.dumps({**sun, "inputs": {"meteo_data": {}, "location": [46, 7]}}),
        "location text": json.dumps(
            {**sun, "inputs": {"meteo_data": {}, "location": {"latitude": "x"}}}
        ),
        "T2m lists": json.dumps(
            {**sun, "outputs": {"hourly": [{"time(UTC)": "20010101:0000", "T2m": []}]}}
        ),
        "outputs null": json.dumps({**sun, "outputs": None}),
    }.items():
        yield weather("JSON", name, "refused", text)
    for name, content in {
        "empty": b"",
        "blank": b" \n\n\t",
        "remark": b"# nothing\n",
        "bytes": bytes(range(256)) * 30,
        "NULs": b"\0" * 9999,
        "gzip": b"\x1f\x8b\x08\x00" * 99,
        "zip": b"PK\x03\x04" * 99,
        "PDF": b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n",
        "HTML": b"<!doctype html><html>404</html>",
        "NetCDF": b"CDF\x01\x00\x00\x00",
        "plan": b"[site]\nname = 1\n",
        "one line": b"date" * 200_000,
        "heading alone": b"date,tmin_c,tmax_c\n",
        "LOCATION alone": b"LOCATION" + b"," * 9 + b"\n",
        "dly alone": b"USW00014839200102TMAX" + b"-9999   " * 31 + b"\n",
        "log": b"date,limb,kind,value,unit,note\n2024-04-09,low,stage,start,,\n",
    }.items():
        yield weather("document", name, "refused", content)


def paths() -> Iterator[Case]:
    """Where the weather is looked for."""
    for name in (
        "",
        " ",
        ".",
        "..",
        "/",
        "/dev/zero",
        "/dev/null",
        "nothing.csv",
        "a\x00b",
        "x" * 5000,
        "~/weather.csv",
        "https://example.org/w.csv",
        "\x1b[31m.csv",
        "plan.toml",
        "records.csv",
        "/proc/self/mem",
        "/proc/self/environ",
        "a/b/c.csv",
        "weather.csv/",
    ):
        plan = changed(("site", "weather"), name)
        yield replace(plan_case("path", name[:40], "refused", plan), at="")


def cases() -> list[Case]:
    """All odd weather."""
    return [one for make in (values, damage, headings, documents, paths) for one in make()]
