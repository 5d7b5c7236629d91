"""A daily record cut into whole seasons, each with its hourly temperature."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

import numpy as np

from pollinet.days import SEASON_DAYS, day_of_year, is_southern, season_start
from pollinet.domain import DailyWeather, FloatArray, Winters
from pollinet.findings import Finding, Severity
from pollinet.messages import NOTHING, listing, say, say_number
from pollinet.weather.gaps import bridge_gaps, longest_run
from pollinet.weather.hourly import hourly_temperature


class _Season(NamedTuple):
    harvest_year: int
    first: int  # index of its first day in the record; may lie outside
    missing: int
    reason: str  # why it is left out; empty: it is used
    is_cut: bool


def season_days_of_year(latitude: float) -> FloatArray:
    """Day of the year of each day of a season, shape (SEASON_DAYS,); no leap day is counted."""
    first = day_of_year(4, 1) if is_southern(latitude) else day_of_year(10, 1)
    return (first - 1 + np.arange(SEASON_DAYS, dtype=float)) % 365 + 1


def split_winters(
    weather: DailyWeather,
    latitude: float,
    *,
    max_gap_days: int = 5,
    max_missing_days: int = 10,
) -> tuple[Winters, tuple[Finding, ...]]:
    """Cut a record into whole seasons and give each its hourly temperature.

    Short holes are bridged by a straight line and counted. A season with a longer hole or too
    many missing days is left out and named: a missing winter is never made up. Seasons that the
    record begins or ends in the middle of are left out too.

    Parameters
    ----------
    weather
        Consecutive days, local dates.
    latitude
        Degrees; the sign decides when a season starts.
    max_gap_days, max_missing_days
        Longest hole that is bridged, and most missing days in a season. Own choice: five days
        are about the memory of the weather, ten are a thirtieth of a season.

    Returns
    -------
    winters, findings
        `no-complete-winter` is an error; `winter-left-out` a warning; `gaps-filled` and
        `season-cut-off` are notes.
    """
    seasons = _seasons(weather, latitude, max_gap_days, max_missing_days)
    used = [season for season in seasons if not season.reason]
    rows = [slice(season.first, season.first + SEASON_DAYS) for season in used]
    low = _stack([bridge_gaps(weather.tmin_c[row]) for row in rows])
    high = _stack([bridge_gaps(weather.tmax_c[row]) for row in rows])
    winters = Winters(
        harvest_years=tuple(season.harvest_year for season in used),
        starts=tuple(season_start(latitude, season.harvest_year) for season in used),
        temperature_c=hourly_temperature(low, high, latitude, season_days_of_year(latitude)),
        rain_mm=_cut(weather.rain_mm, rows),
        wind_m_s=_cut(weather.wind_m_s, rows),
        generated=weather.generated,
        dropped=tuple((s.harvest_year, s.reason) for s in seasons if s.reason),
    )
    return winters, _findings(seasons, weather)


def _seasons(
    weather: DailyWeather, latitude: float, max_gap_days: int, max_missing_days: int
) -> list[_Season]:
    if weather.dates.size == 0:
        return []
    first_day: date = weather.dates[0].astype(date)
    last_day: date = weather.dates[-1].astype(date)
    missing = ~(np.isfinite(weather.tmin_c) & np.isfinite(weather.tmax_c))
    found = []
    for year in range(first_day.year, last_day.year + 2):
        first = (season_start(latitude, year) - first_day).days
        if first + SEASON_DAYS <= 0 or first >= weather.dates.size:
            continue
        inside = missing[max(first, 0) : first + SEASON_DAYS]
        count, gap = int(inside.sum()), longest_run(inside)
        is_cut = inside.size < SEASON_DAYS
        reason = ""
        if is_cut:
            reason = say("the record covers only part of the season")
        elif gap > max_gap_days:
            reason = say("{number} days are missing in a row", number=gap)
        elif count > max_missing_days:
            reason = say("{number} days are missing", number=count)
        found.append(_Season(year, first, count, reason, is_cut))
    return found


def _left_out(
    seasons: Sequence[_Season],
) -> Iterator[tuple[Severity, str, str, list[_Season]]]:
    """Kinds of winters left out: severity, code, cure, and which."""
    cut = [season for season in seasons if season.reason and season.is_cut]
    holed = [season for season in seasons if season.reason and not season.is_cut]
    yield "note", "season-cut-off", NOTHING, cut
    cure = say("Fill the missing days from a neighbouring station.")
    yield "warning", "winter-left-out", cure, holed


def _findings(seasons: Sequence[_Season], weather: DailyWeather) -> tuple[Finding, ...]:
    findings = [
        Finding(
            severity,
            code,
            say_number(
                "A winter left out, by the year of bloom: {years}.",
                "Winters left out, by the year of bloom: {years}.",
                len(some),
                years=listing([listing([s.harvest_year, s.reason]) for s in some], "; "),
            ),
            cure=cure,
        )
        for severity, code, cure, some in _left_out(seasons)
        if some
    ]
    filled = {s.harvest_year: s.missing for s in seasons if s.missing and not s.reason}
    if filled:
        message = say(
            "{number} missing days were bridged by a straight line (days by season {seasons}).",
            number=sum(filled.values()),
            seasons=", ".join(f"{year}: {days}" for year, days in filled.items()),
        )
        findings.append(Finding("note", "gaps-filled", message))
    if all(season.reason for season in seasons):
        message = (
            say(
                "The weather record ({first} to {last}) holds no complete season of {number} days "
                "(from 1 October in the north, 1 April in the south).",
                first=weather.dates[0],
                last=weather.dates[-1],
                number=SEASON_DAYS,
            )
            if weather.dates.size
            else say("The weather record has no day.")
        )
        findings.append(
            Finding(
                "error",
                "no-complete-winter",
                message,
                cure=say("Give at least one whole season, or monthly normals of the site."),
            )
        )
    return tuple(findings)


def _stack(rows: Sequence[FloatArray]) -> FloatArray:
    return np.array(rows, dtype=float).reshape(len(rows), SEASON_DAYS)


def _cut(values: FloatArray | None, rows: Sequence[slice]) -> FloatArray | None:
    return None if values is None else _stack([values[row] for row in rows])
