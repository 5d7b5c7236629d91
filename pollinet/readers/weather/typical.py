"""Typical years: twelve months of different years in a row, made for buildings and solar plants.

They are no series of winters. The months are put end to end and cut to one season, which can show
what the place is like and nothing about how often a winter differs from it; a warning says so.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np

from pollinet.days import NOMINAL_YEAR, SEASON_DAYS, season_start
from pollinet.domain import DailyWeather
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.weather.record import Rows, daily_record, take
from pollinet.readers.weather.samples import Outcome, Samples, daily_rows, local

_YEAR = np.timedelta64(365 * 1440, "m")


def typical_season(
    samples: Samples, file: str, about: DailyWeather, earlier: tuple[Finding, ...] = ()
) -> Outcome:
    """One season, northern or southern by the latitude of `about`, out of a typical year.

    Parameters
    ----------
    earlier : findings made so far; an error among them means that there is no record.
    """
    nominal = _looped(local(_in_nominal_year(samples), about.longitude))
    rows, findings = daily_rows(nominal, file)
    findings = (*earlier, _warning(file), *findings)
    if has_errors(findings):
        return None, findings
    record, more = daily_record(_season_of(rows, about.latitude or 0.0), file, about)
    return record, findings + more


def _warning(file: str) -> Finding:
    return Finding(
        "warning",
        "typical-year",
        say(
            "This is a typical year, pieced together from months of different years. It was cut to "
            "one season: nothing can be said about how winters differ."
        ),
        file,
        cure=say("Use a daily record of ten winters or more."),
    )


def _in_nominal_year(samples: Samples) -> Samples:
    """The same month, day and clock time in one year without leap day; 29 February is left out."""
    times = samples.times
    days, months = times.astype("datetime64[D]"), times.astype("datetime64[M]")
    month = months.astype(np.int64) % 12
    day = (days - months.astype("datetime64[D]")).astype(np.int64)
    kept = ~np.isnat(times) & ~((month == 1) & (day == 28))
    first = (np.datetime64(f"{NOMINAL_YEAR}-01", "M") + month[kept]).astype("datetime64[D]")
    moved = (first + day[kept]).astype("datetime64[m]") + (times - days)[kept]
    rain, wind = samples.rain_mm, samples.wind_m_s
    return replace(
        samples,
        times=moved,
        lines=samples.lines[kept],
        low_c=samples.low_c[kept],
        high_c=samples.high_c[kept],
        rain_mm=None if rain is None else rain[kept],
        wind_m_s=None if wind is None else wind[kept],
    )


def _looped(samples: Samples) -> Samples:
    """Hours that the change to local time moved out of the year come in at its other end."""
    first = np.datetime64(f"{NOMINAL_YEAR}-01-01T00:00", "m")
    return replace(samples, times=first + (samples.times - first) % _YEAR)


def _season_of(rows: Rows, latitude: float) -> Rows:
    """The days of a nominal year in the order of one season."""
    start = season_start(latitude, NOMINAL_YEAR)
    place = {str(day)[5:]: index for index, day in enumerate(rows.dates)}
    season = [start + timedelta(days=day) for day in range(SEASON_DAYS)]
    known = [day for day in season if f"{day:%m-%d}" in place]
    chosen = np.array([place[f"{day:%m-%d}"] for day in known], dtype=np.int64)
    return replace(take(rows, chosen), dates=np.array(known, dtype="datetime64[D]"))
