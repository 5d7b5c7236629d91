"""From rows as they stand in a file to a daily record: order, holes, impossible values.

Every format ends here, so that the same mistake gets the same finding in all of them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray, DailyWeather, FloatArray
from pollinet.findings import Finding, has_errors
from pollinet.messages import say, say_number
from pollinet.readers.weather.folding import folded

TemperatureUnit = Literal["C", "F", "K", "tenths of °C"]

HOTTEST_C = 60.0
COLDEST_C = -90.0
"""Bounds of what a thermometer in the shade can show. [°C] The records are 56.7 (Greenland Ranch,
1913) and -89.2 (Vostok, 1983). Source: World Meteorological Organization, world weather and
climate extremes archive (from memory)."""

HOTTEST_YEAR_C = 31.0
"""No place on earth has a warmer mean over a year: Dallol, 34.6 °C in 1960–66, is the known
exception and grows no fruit trees (from memory). Any place with a mean above freezing exceeds it
when written in °F. [°C]"""

MANY_SHARE = 0.01
"""Share of the days from which a repeated mistake is taken for a mistake in the whole file, not in
single values. Own convention."""

LONG_GAP_DAYS = 5
"""Longest gap that is only noted; longer ones are warned of, as they cost a winter. [days]"""


@dataclass(frozen=True, eq=False)
class Rows:
    """Daily values as they stand in a file: any order, days may be missing or repeated.

    dates : shape (rows,), `datetime64[D]`, NaT where the date could not be read.
    lines : shape (rows,), line of each row counted from 1.
    tmin_c, tmax_c, rain_mm, wind_m_s : shape (rows,). [°C, °C, mm, m/s]
    """

    dates: NDArray[np.datetime64]
    lines: NDArray[np.int64]
    tmin_c: FloatArray
    tmax_c: FloatArray
    rain_mm: FloatArray | None = None
    wind_m_s: FloatArray | None = None


def daily_record(
    rows: Rows, file: str, about: DailyWeather
) -> tuple[DailyWeather | None, tuple[Finding, ...]]:
    """Make the daily record out of the rows of a file.

    Parameters
    ----------
    about : carries source, place and `generated`; its arrays are not looked at.

    Returns
    -------
    The record with consecutive dates, missing values NaN; None where a finding is an error.
    """
    rows, findings = _in_order(rows, file)
    if not rows.dates.size:
        return None, findings or (_nothing(file),)
    unit = wrong_unit(rows, file)
    if not unit:
        rows, impossible = _without_impossible(rows, file)
        findings += impossible
    findings += unit
    if has_errors(findings):
        return None, findings
    record = _consecutive(rows, about)
    if record is None:
        return None, (*findings, _nothing(file))
    return record, findings + missing_days(record, file)


def blank(
    source: str,
    *,
    generated: bool = False,
    latitude: float | None = None,
    longitude: float | None = None,
    elevation_m: float | None = None,
) -> DailyWeather:
    """A record without days, to carry what is known about a file."""
    days, none = np.zeros(0, dtype="datetime64[D]"), np.zeros(0)
    return DailyWeather(
        days, none, none, None, None, generated, source, latitude, longitude, elevation_m
    )


def is_many(count: int, days: int) -> bool:
    """Whether so many bad days in a record point to a mistake in the whole file."""
    return count > max(2.0, MANY_SHARE * days)


def _nothing(file: str) -> Finding:
    return Finding(
        "error",
        "empty-weather",
        say("The file has no complete day: none has both a lowest and a highest temperature."),
        file,
        cure=say("Check that the right file was named and that it was saved completely."),
    )


def take(rows: Rows, chosen: NDArray[np.int64] | BoolArray) -> Rows:
    """The chosen rows, in the order of the choice."""
    rain, wind = rows.rain_mm, rows.wind_m_s
    return Rows(
        rows.dates[chosen],
        rows.lines[chosen],
        rows.tmin_c[chosen],
        rows.tmax_c[chosen],
        None if rain is None else rain[chosen],
        None if wind is None else wind[chosen],
    )


def _in_order(rows: Rows, file: str) -> tuple[Rows, tuple[Finding, ...]]:
    """Rows by date, each date once (its first row), with findings for what had to be moved."""
    rows = take(rows, ~np.isnat(rows.dates))
    steps = np.diff(rows.dates.astype(np.int64))
    findings = folded(
        "warning",
        "unordered-dates",
        say("A date is earlier than the one before it; the days were put in order"),
        file,
        rows.lines[1:][steps < 0],
    )
    rows = take(rows, np.argsort(rows.dates, kind="stable"))
    repeated = np.flatnonzero(np.diff(rows.dates.astype(np.int64)) == 0) + 1
    many = is_many(repeated.size, rows.dates.size)
    findings += folded(
        "error" if many else "warning",
        "duplicate-date",
        say("A date stands more than once")
        if many
        else say("A date stands more than once; its first line was taken"),
        file,
        rows.lines[repeated],
        cure=say("Keep one line for each day; a file of several stations must be split first."),
    )
    return take(rows, np.setdiff1d(np.arange(rows.dates.size), repeated)), findings


def likely_unit(
    dates: NDArray[np.datetime64], low: FloatArray, high: FloatArray
) -> TemperatureUnit:
    """The unit that temperatures of unknown unit most likely have: °C wherever that can be.

    More than a few days above `HOTTEST_C`, or a whole year with a mean above `HOTTEST_YEAR_C`,
    cannot be °C. What remains is told by its highest value: 140 °F is 60 °C, and a whole year in
    tenths of °C goes beyond 14.0 °C in every place with fruit trees.
    """
    known = ~np.isnat(dates)
    months = np.unique(dates[known].astype("datetime64[M]").astype(np.int64) % 12)
    mean = _mean(np.concatenate([low, high]))
    too_warm_year = months.size == 12 and mean > HOTTEST_YEAR_C
    if not (too_warm_year or is_many(int((high > HOTTEST_C).sum()), dates.size)):
        return "C"
    return "F" if np.nanmax(high) <= 140 else "K" if mean > 200 else "tenths of °C"


def wrong_unit(rows: Rows, file: str) -> tuple[Finding, ...]:
    """An error where the temperatures cannot be °C as a whole; nothing is converted."""
    unit = likely_unit(rows.dates, rows.tmin_c, rows.tmax_c)
    if unit == "C":
        return ()
    hot = rows.tmax_c > HOTTEST_C
    highest = float(np.nanmax(rows.tmax_c))
    mean = _mean(np.concatenate([rows.tmin_c, rows.tmax_c]))
    message = say(
        "The temperatures cannot be °C: their mean is {mean:.0f} and the highest is "
        "{highest:.0f}; they look like {unit}.",
        mean=mean,
        highest=highest,
        unit={"F": "°F", "tenths of °C": say("tenths of °C")}.get(unit, unit),
    )
    return (
        Finding(
            "error",
            "wrong-unit",
            message,
            file,
            "tmax_c",
            int((rows.lines[hot] if hot.any() else rows.lines).min()),
            say("Give the file in °C, or name the columns tmin_f and tmax_f if they are °F."),
        ),
    )


def _mean(values: FloatArray) -> float:
    """Mean of what is there; 0 where nothing is."""
    known = values[~np.isnan(values)]
    return float(known.mean()) if known.size else 0.0


def _without_impossible(rows: Rows, file: str) -> tuple[Rows, tuple[Finding, ...]]:
    """Single impossible values become NaN, with a finding; many of them are an error."""
    lowest, highest = rows.tmin_c, rows.tmax_c
    outside = (lowest < COLDEST_C) | (highest < COLDEST_C)
    outside |= (lowest > HOTTEST_C) | (highest > HOTTEST_C)
    crossed = (lowest > highest) & ~outside
    many = is_many(int(crossed.sum()), rows.dates.size)
    findings = folded(
        "warning",
        "impossible-value",
        say(
            "A temperature is outside {lowest:.0f} to {highest:.0f} °C; the day is left out",
            lowest=COLDEST_C,
            highest=HOTTEST_C,
        ),
        file,
        rows.lines[outside],
        cure=say("Correct the value or leave it empty."),
    )
    findings += folded(
        "error" if many else "warning",
        "tmin-above-tmax",
        say("The lowest temperature of a day is above the highest")
        if many
        else say("The lowest temperature of a day is above the highest; the day counts as missing"),
        file,
        rows.lines[crossed],
        cure=say("Check whether the two columns are exchanged.")
        if many
        else say("Correct the values."),
    )
    bad = outside | crossed
    rain, below_zero = _not_negative(rows.rain_mm, rows, file, "rain_mm")
    wind, calm = _not_negative(rows.wind_m_s, rows, file, "wind_m_s")
    clean = replace(
        rows,
        tmin_c=np.where(bad, np.nan, lowest),
        tmax_c=np.where(bad, np.nan, highest),
        rain_mm=rain,
        wind_m_s=wind,
    )
    return clean, findings + below_zero + calm


def _not_negative(
    values: FloatArray | None, rows: Rows, file: str, place: str
) -> tuple[FloatArray | None, tuple[Finding, ...]]:
    """Rain and wind below zero become NaN, with a finding."""
    if values is None:
        return None, ()
    message = say("A value is below zero and counts as missing")
    below = values < 0
    findings = folded("warning", "impossible-value", message, file, rows.lines[below], place=place)
    return np.where(below, np.nan, values), findings


def _consecutive(rows: Rows, about: DailyWeather) -> DailyWeather | None:
    """Fill the rows into an unbroken calendar, from the first to the last day with both values."""
    known = ~(np.isnan(rows.tmin_c) | np.isnan(rows.tmax_c))
    if not known.any():
        return None
    first, last = rows.dates[known][[0, -1]]
    rows = take(rows, (rows.dates >= first) & (rows.dates <= last))
    dates = np.arange(first, last + np.timedelta64(1, "D"))
    place = (rows.dates - first).astype(np.int64)

    def filled(values: FloatArray) -> FloatArray:
        whole = np.full(dates.size, np.nan)
        whole[place] = values
        return whole

    def optional(values: FloatArray | None) -> FloatArray | None:
        return None if values is None or np.isnan(values).all() else filled(values)

    return replace(
        about,
        dates=dates,
        tmin_c=filled(rows.tmin_c),
        tmax_c=filled(rows.tmax_c),
        rain_mm=optional(rows.rain_mm),
        wind_m_s=optional(rows.wind_m_s),
    )


def missing_days(record: DailyWeather, file: str) -> tuple[Finding, ...]:
    """One finding that counts the days without both temperatures and names the longest gap."""
    missing = np.isnan(record.tmin_c) | np.isnan(record.tmax_c)
    if not missing.any():
        return ()
    edges = np.flatnonzero(np.diff(np.concatenate([[False], missing, [False]]).astype(np.int8)))
    starts, ends = edges[::2], edges[1::2]
    longest = int(np.argmax(ends - starts))
    length = int(ends[longest] - starts[longest])
    return (
        Finding(
            "warning" if length > LONG_GAP_DAYS else "note",
            "missing-days",
            say_number(
                "{missing} of {all} days are missing; the longest gap is {number} day from {date}.",
                "{missing} of {all} days are missing; the longest gap is {number} days from "
                "{date}.",
                length,
                missing=int(missing.sum()),
                all=missing.size,
                date=record.dates[starts[longest]],
            ),
            file,
            cure=say("Missing days are not invented: winters with long gaps are left out."),
        ),
    )
