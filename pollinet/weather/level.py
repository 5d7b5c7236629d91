"""Is the record as warm as the place? Moved to monthly normals, carried to a height, compared.

A grid cell or a station elsewhere may be degrees off, by night more than by day and in winter more
than in summer, and a degree is some four days of bloom. A grower's normals are trusted before the
record, the height that a record holds for is brought to that of the site, and without normals the
record is only compared with the stations around: these tell a place to a degree or so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pollinet.days import MONTHS
from pollinet.domain import BoolArray, DailyWeather, FloatArray, Moved, Normals, Site
from pollinet.findings import Finding, Severity
from pollinet.messages import Message, listing, mark, say
from pollinet.weather.generated import annual_course, nominal_day
from pollinet.weather.station_climate import LAPSE_C, StationClimate

WARMING_C = {"tmin": 0.026, "tmax": 0.028}
"""How much warmer a year is than the one before it. [°C] Own estimate: stations whose national
normals are of 1961-1990 are 0.95 and 1.04 °C warmer in 2003-2021 (monthly CLIMAT reports)."""

TABLE_YEAR = 2012.0
"""Middle of the years that the shipped table of stations stands for, 2003-2021."""

SHARED_YEARS = 10.0
"""Years that a record must share with those of the normals to be compared over these alone. Own
convention: over fewer, single years weigh more than the trend that is put in their place."""

LEAST_HEIGHT_M = 50.0
"""Difference in height below which a record is left as it is: 0.3 °C are within the noise. Own
convention. [m]"""

FAR_M = 300.0
"""Difference in height from which the carrying itself is worth a warning: its error, 0.2 °C per
100 m, then is a day or two of bloom. Own convention. [m]"""

FAR_C = 5.0
"""A move by normals that is hardly one of the same place. Grid cells stand 0.5 to 3 °C from a
station, 5 in hills (own estimate: cells and stations at some forty fruit trials). [°C]"""

RECORD_SD_C, UNCOMPARED_SD_C = 1.5, 0.5
"""How far the records that people have are off their place, as known before any comparison: cells
of a grid stand 1.6 ± 1.0, stations 0.0 ± 0.5 °C from the stations around (own estimate: 23 series
at fruit trials); and what is taken where there is nothing to compare with, own convention. [°C]"""

OFF_SDS = 2.0
"""SDs of interpolation from which a record is called off its level. Own convention."""

REACH_KM = 400.0
"""Distance to the nearest station beyond which nothing is compared. Own convention. [km]"""

LEAST_RANGE_C = 1.0
"""Range of a day that a move does not go below, unless the day had less. Own convention. [°C]"""

LEAST_DAYS = 20
"""Days of a month that its mean needs. Own convention."""

Extremes = tuple[FloatArray, FloatArray]
"""Something of the lowest and of the highest temperatures, each shape (12,)."""


def at_normals(weather: DailyWeather, normals: Normals) -> tuple[DailyWeather, Finding]:
    """Move a record month by month to normals, lowest and highest temperatures apart.

    Compared are the years that the normals stand for. Where these are not told, or the record holds
    too few of them, all its years are, in the second case with the warming in between. The move
    runs smoothly from month to month; a month that the record does not hold is moved as the others
    are in the mean. No day's lowest temperature comes out above its highest.

    Returns
    -------
    record, finding
        A note of what was moved; a warning where that is more than a place can differ from itself.
    """
    years, trend = _compared(weather, normals)
    means = _monthly_means(weather, years)
    targets = (normals.tmin_c, normals.tmax_c)
    shifts = [
        _filled(np.asarray(target) + warming * trend - mean)
        for target, warming, mean in zip(targets, WARMING_C.values(), means, strict=True)
    ]
    day = nominal_day(weather.dates) - 1
    low, high = (annual_course(tuple(shift))[day] for shift in shifts)
    moved = _moved(weather, low, high)
    told = Moved("normals", *(tuple(shift.tolist()) for shift in shifts))
    return replace(moved, moved=told), _moved_finding(told, weather, years, trend)


def at_height(weather: DailyWeather, site: Site) -> tuple[DailyWeather, tuple[Finding, ...]]:
    """Carry a record from the height that it holds for to that of the site, where both are told.

    Lowest temperatures fall by 0.50, highest by 0.55 °C per 100 m (`station_climate.LAPSE_C`).
    """
    if weather.elevation_m is None or site.elevation_m is None:
        return weather, ()
    lower = weather.elevation_m - site.elevation_m
    if abs(lower) < LEAST_HEIGHT_M:
        return weather, ()
    low, high = (lapse * lower / 100 for lapse in LAPSE_C.values())
    carried = replace(
        weather,
        tmin_c=weather.tmin_c + low,
        tmax_c=weather.tmax_c + high,
        elevation_m=site.elevation_m,
        moved=Moved("height", (low,) * 12, (high,) * 12),
    )
    pattern = (
        mark(
            "The record holds for {there:.0f} m, the site lies at {here:.0f} m: it was made warmer "
            "by {low:.1f} °C (lowest) and {high:.1f} °C (highest temperatures)."
        )
        if lower > 0
        else mark(
            "The record holds for {there:.0f} m, the site lies at {here:.0f} m: it was made colder "
            "by {low:.1f} °C (lowest) and {high:.1f} °C (highest temperatures)."
        )
    )
    message = say(
        pattern,
        there=weather.elevation_m,
        here=site.elevation_m,
        low=abs(low),
        high=abs(high),
    )
    severity: Severity = "warning" if abs(lower) > FAR_M else "note"
    cure = say(
        "Nights in valleys do not follow this rule: better are a station at the site's height, or "
        "the means of one near you as [site.normals]."
    )
    return carried, (Finding(severity, "carried-to-height", message, weather.source, cure=cure),)


def from_stations(weather: DailyWeather, climate: StationClimate) -> FloatArray:
    """How much warmer each month is than the stations around have it, lowest and highest. [°C]

    Shape (2, 12); NaN for a month that the record does not hold. The warming between the record's
    years and those of the stations is taken out.
    """
    every = np.ones(weather.dates.size, dtype=bool)
    later = _mean_year(weather, every) - TABLE_YEAR
    told = np.array([climate.tmin_c, climate.tmax_c])
    warming = np.array(list(WARMING_C.values()))
    return np.asarray(_monthly_means(weather, every) - told - warming[:, None] * later)


def level_sd_c(weather: DailyWeather, climate: StationClimate | None, latitude: float) -> float:
    """How far a measured record may be off its place for all months alike. [°C]

    What it is apart from the stations around, from winter to bloom, is shared between the record's
    own error and theirs by their variances. The more it is apart, the less its level is known.

    climate : of the stations around; None: not known.
    """
    if climate is None or climate.nearest[0].km > REACH_KM:
        return UNCOMPARED_SD_C
    apart = float(from_stations(weather, climate)[:, _towards_bloom(latitude)].mean())
    if np.isnan(apart):
        return UNCOMPARED_SD_C
    stations_sd = np.hypot(climate.tmin_sd_c, climate.tmax_sd_c) / 2
    return abs(apart) / float(1 + (stations_sd / RECORD_SD_C) ** 2)


def off_level(
    weather: DailyWeather, climate: StationClimate, latitude: float
) -> tuple[Finding, ...]:
    """A warning where a record is colder or warmer than the stations around tell the place.

    Looked at are the year and the months from winter to bloom, against `OFF_SDS` SDs of the
    stations' own error and of the years that the record happens to hold. Nothing is said of a
    record that lacks one of these months, or far from any station.
    """
    spring = _towards_bloom(latitude)
    apart = from_stations(weather, climate)
    if np.isnan(apart[:, spring]).any() or climate.nearest[0].km > REACH_KM:
        return ()
    number = max(weather.dates.size / 365.25, 1.0)
    between = np.asarray(climate.spread.sd_c) / np.sqrt(number)
    allowed = [
        OFF_SDS * float(np.hypot(sd_c, between.mean()))
        for sd_c in (climate.tmin_sd_c, climate.tmax_sd_c)
    ]
    # The mean of a year that lacks a month is NaN, which is never above a limit.
    if not any(
        abs(float(part.mean())) > limit
        for miss, limit in zip(apart, allowed, strict=True)
        for part in (miss, miss[spring])
    ):
        return ()
    return (_off_finding((apart[0], apart[1]), spring, max(allowed), weather, climate),)


# --- arithmetic --------------------------------------------------------------------------------


def _compared(weather: DailyWeather, normals: Normals) -> tuple[BoolArray, float]:
    """Which days are set against the normals, and how many years they lie after them."""
    every = np.ones(weather.dates.size, dtype=bool)
    if normals.years is None:
        return every, 0.0
    first, last = normals.years
    year = _years(weather)
    shared = (year >= first) & (year <= last)
    enough = min(SHARED_YEARS, last - first + 1.0)
    if shared.sum() >= 365 * enough:
        return shared, 0.0
    return every, _mean_year(weather, every) - (first + last + 1) / 2


def _years(weather: DailyWeather) -> FloatArray:
    return np.asarray(weather.dates.astype("datetime64[Y]").astype(int) + 1970, dtype=float)


def _mean_year(weather: DailyWeather, days: BoolArray) -> float:
    """Middle of the days on the calendar, in years: 1 July 2012 is 2012.5."""
    return float(weather.dates[days].astype(float).mean()) / 365.2425 + 1970


def _monthly_means(weather: DailyWeather, days: BoolArray) -> FloatArray:
    """Mean lowest and highest temperature of each month over these days, shape (2, 12).

    NaN: fewer than `LEAST_DAYS`.
    """
    month = weather.dates.astype("datetime64[M]").astype(int) % 12
    known = days & np.isfinite(weather.tmin_c) & np.isfinite(weather.tmax_c)
    counts = np.bincount(month[known], minlength=12)
    sums = [
        np.bincount(month[known], weights=values[known], minlength=12)
        for values in (weather.tmin_c, weather.tmax_c)
    ]
    means = np.array(sums) / np.maximum(counts, 1)
    return np.asarray(np.where(counts >= LEAST_DAYS, means, np.nan))


def _filled(shift: FloatArray) -> FloatArray:
    """The shifts, with their mean where a month is not known; 0 where none is."""
    known = shift[np.isfinite(shift)]
    return np.where(np.isfinite(shift), shift, known.mean() if known.size else 0.0)


def _moved(weather: DailyWeather, low: FloatArray, high: FloatArray) -> DailyWeather:
    """Add a shift to each day's extremes, and keep them apart. low, high : shape (days,)."""
    tmin_c, tmax_c = weather.tmin_c + low, weather.tmax_c + high
    least = np.minimum(LEAST_RANGE_C, weather.tmax_c - weather.tmin_c)
    wider = np.maximum(least - (tmax_c - tmin_c), 0.0) / 2
    return replace(weather, tmin_c=tmin_c - wider, tmax_c=tmax_c + wider)


def _towards_bloom(latitude: float) -> list[int]:
    """Months from the first of winter to bloom: December to April, in the south June to October."""
    return [(month + (6 if latitude < 0 else 0)) % 12 for month in (11, 0, 1, 2, 3)]


# --- words -------------------------------------------------------------------------------------


def _moved_finding(told: Moved, weather: DailyWeather, years: BoolArray, trend: float) -> Finding:
    far = max(abs(float(np.mean(shift))) for shift in (told.tmin_c, told.tmax_c)) > FAR_C
    used = _years(weather)[years]
    message = say(
        "The record was moved month by month to the normals of the plan, over the years {first} to "
        "{last}: lowest temperatures by {low}, highest by {high}.",
        first=int(used.min()),
        last=int(used.max()),
        low=_range(told.tmin_c),
        high=_range(told.tmax_c),
    )
    if trend:
        message = say(
            "{moved} The normals are of other years: {years:.0f} years of warming lie between.",
            moved=message,
            years=abs(trend),
        )
    if not far:
        return Finding("note", "moved-to-normals", message, weather.source)
    cure = say("Look whether both are of this place and in °C, and the normals January first.")
    return Finding("warning", "far-from-normals", message, weather.source, cure=cure)


def _range(shift: Sequence[float]) -> Message:
    """Least and greatest shift with their months: `+0.4 °C (July) to +2.1 °C (January)`."""
    least, most = int(np.argmin(shift)), int(np.argmax(shift))
    return say(
        "{least:+.1f} °C ({one}) to {most:+.1f} °C ({other})",
        least=shift[least],
        one=say(MONTHS[least]),
        most=shift[most],
        other=say(MONTHS[most]),
    )


def _off_finding(
    apart: Extremes,
    spring: Sequence[int],
    allowed: float,
    weather: DailyWeather,
    climate: StationClimate,
) -> Finding:
    message = say(
        "The record is not as warm as the weather stations around tell the place: from {first} to "
        "{last} its lowest temperatures differ by {low:+.1f} °C and its highest by {high:+.1f} °C "
        "(by month {low_range} and {high_range}), where up to {allowed:.1f} °C are to be expected. "
        "The nearest: {stations}.",
        first=say(MONTHS[spring[0]]),
        last=say(MONTHS[spring[-1]]),
        low=float(apart[0][spring].mean()),
        high=float(apart[1][spring].mean()),
        low_range=_range(apart[0].tolist()),
        high_range=_range(apart[1].tolist()),
        allowed=allowed,
        stations=listing(
            [
                say("{name} ({km:.0f} km, {height:.0f} m)", name=near.name, km=near.km,
                    height=near.elevation_m)
                for near in climate.nearest[:3]
            ],
            "; ",
        ),
    )  # fmt: skip
    cure = say(
        "Check the height and the unit of the record; or type the monthly means of a station that "
        "you trust as [site.normals] beside the weather file, and the record is moved to them."
    )
    return Finding("warning", "off-level", message, weather.source, cure=cure)
