"""Values at moments, from any format, and how they become days.

Days run from midnight to midnight of local solar time, rounded to whole hours from Greenwich
by the longitude, where the file's times are UTC; local clock time is taken as it stands.
Lowest and highest of a day are those of its samples: hourly values miss the true extremes by a
few tenths of a degree. A day needs nine tenths of its samples, so that a missing night cannot
pass for a mild one (23 of 24 hours are enough: the day on which clocks go forward).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray, DailyWeather, FloatArray
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.weather.folding import folded
from pollinet.readers.weather.record import Rows, daily_record

Outcome = tuple[DailyWeather | None, tuple[Finding, ...]]

WHOLE_DAY_SHARE = 0.9
"""Share of a day's samples below which the day counts as missing. Own convention, see above."""


@dataclass(frozen=True, eq=False)
class Samples:
    """Values in the order of the file.

    times : shape (rows,), `datetime64[m]`, NaT where the time could not be read; the start of the
        interval that a value belongs to.
    lines : shape (rows,), line of each row counted from 1.
    low_c, high_c : shape (rows,). [°C] The same array where there is one temperature only.
    utc : whether the times are UTC.
    """

    times: NDArray[np.datetime64]
    lines: NDArray[np.int64]
    low_c: FloatArray
    high_c: FloatArray
    rain_mm: FloatArray | None = None
    wind_m_s: FloatArray | None = None
    utc: bool = False


def within_days(times: NDArray[np.datetime64]) -> bool:
    """Whether there are several moments a day."""
    known = times[~np.isnat(times)]
    return bool(np.unique(known - known.astype("datetime64[D]")).size > 1)


def from_samples(
    samples: Samples, file: str, about: DailyWeather, earlier: tuple[Finding, ...] = ()
) -> Outcome:
    """Reduce samples to days where needed and make the daily record.

    Parameters
    ----------
    about : see `daily_record`; its longitude turns UTC into local time.
    earlier : findings made so far; an error among them means that there is no record.
    """
    if within_days(samples.times):
        rows, findings = daily_rows(local(samples, about.longitude), file)
        findings = _how_reduced(samples, file, about.longitude) + findings
    else:
        days = samples.times.astype("datetime64[D]")
        rows = Rows(
            days, samples.lines, samples.low_c, samples.high_c, samples.rain_mm, samples.wind_m_s
        )
        findings = ()
    findings = earlier + findings
    if has_errors(findings):
        return None, findings
    record, more = daily_record(rows, file, about)
    return record, findings + more


def offset_hours(longitude: float | None) -> int:
    """Whole hours from Greenwich of the local solar time; 0 where the place is not known."""
    return 0 if longitude is None else round(longitude / 15.0)


def local(samples: Samples, longitude: float | None) -> Samples:
    """The same samples in local time."""
    if not samples.utc:
        return samples
    shift = np.timedelta64(60 * offset_hours(longitude), "m")
    return replace(samples, times=samples.times + shift, utc=False)


def _how_reduced(samples: Samples, file: str, longitude: float | None) -> tuple[Finding, ...]:
    """A note that says how the days were cut."""
    clock = say("the file's own clock time")
    if samples.utc:
        clock = say("local solar time (UTC{offset:+d} h)", offset=offset_hours(longitude))
    if samples.utc and longitude is None:
        clock = say("UTC, as the file names no longitude")
    message = say(
        "Lowest and highest temperature were taken from values within the day, in {clock}.",
        clock=clock,
    )
    return (Finding("note", "days-from-hours", message, file),)


def daily_rows(samples: Samples, file: str) -> tuple[Rows, tuple[Finding, ...]]:
    """Lowest, highest, sum of rain and mean wind of each day; a day with holes is NaN."""
    order = np.argsort(samples.times, kind="stable")
    order = order[: order.size - int(np.isnat(samples.times).sum())]  # NaT sorts last
    times = samples.times[order]
    again = np.concatenate([[False], np.diff(times) == np.timedelta64(0, "m")])
    findings = folded(
        "note",
        "duplicate-time",
        say("A time stands more than once (clocks put back?); its first line was taken"),
        file,
        samples.lines[order][again],
    )
    order, times = order[~again], times[~again]
    dates, starts = np.unique(times.astype("datetime64[D]"), return_index=True)
    step = np.median(np.diff(times).astype(np.int64)) if times.size > 1 else 1440
    needed = WHOLE_DAY_SHARE * 1440 / max(float(step), 1.0)

    def reduced(values: FloatArray, how: np.ufunc, neutral: float) -> FloatArray:
        here = values[order]
        known = ~np.isnan(here)
        counts = np.add.reduceat(known.astype(np.int64), starts)
        result = how.reduceat(np.where(known, here, neutral), starts)
        return np.where(counts >= needed, result, np.nan)

    def mean(values: FloatArray) -> FloatArray:
        known = np.where(np.isnan(values), np.nan, 1.0)
        return reduced(values, np.add, 0.0) / reduced(known, np.add, 0.0)

    rain, wind = samples.rain_mm, samples.wind_m_s
    return Rows(
        dates,
        samples.lines[order][starts],
        reduced(samples.low_c, np.minimum, np.inf),
        reduced(samples.high_c, np.maximum, -np.inf),
        None if rain is None else reduced(rain, np.add, 0.0),
        None if wind is None else mean(wind),
    ), findings


def readable(
    times: NDArray[np.datetime64], lines: NDArray[np.int64], file: str, place: str
) -> tuple[Finding, ...]:
    """An error finding for the rows whose date could not be read."""
    unread: BoolArray = np.isnat(times)
    return folded(
        "error",
        "bad-date",
        say("The date is not a day of the calendar"),
        file,
        lines[unread],
        place=place,
        cure=say("Write dates as 2001-12-31."),
    )
