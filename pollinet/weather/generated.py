"""Daily weather made up from twelve monthly means, for sites that have no daily record.

The annual course goes smoothly through the normals and keeps every monthly mean. On it ride three
anomalies, shared by minimum and maximum: of days, of months, and of the year; and a daily range
that varies on its own. How large they are hangs on the place: they are sized, month by month, from
the SD of monthly means between years and of days within a month, as stations near it report them.
Their memories and shapes are own estimates from the daily records of nine stations and eight grid
cells (20 to 60 winters each); `tests/validation/generated_winters.csv` says how near made winters
come to the real ones there.
"""

from __future__ import annotations

from functools import cache, lru_cache

import numpy as np

from pollinet.days import SEASON_DAYS, day_of_year, season_start
from pollinet.domain import DailyWeather, FloatArray, Normals, Spread
from pollinet.errors import ShapeError
from pollinet.linear import product, solved
from pollinet.messages import say

FAST_MEMORY, SLOW_MEMORY, YEAR_MEMORY = 0.70, 0.97, 0.995
"""Lag-1 correlations of the three anomalies: of days, of months, of the year."""

YEAR_SHARE = 0.15
"""Share of the year's anomaly in the variance of monthly means: with it neighbouring months go
together as they do (correlation 0.3 at one month, 0.2 at two and three, 0.1 at six)."""

COLD_SKEW, COLD_GROWTH = 0.20, 0.12
"""In mid-January (south: July): how far cold months stray farther than mild ones (real monthly
means have a skewness of -0.5), and by how much slow anomalies are larger than the SD between years
tells, as months so made up would spread chill by a tenth too little."""

RANGE_SD, RANGE_MEMORY = 0.31, 0.37
"""SD and lag-1 correlation of the logarithm of the daily range (own estimate: 0.28-0.35)."""

RANGE_TIE, RANGE_TIE_SWING = 0.15, -0.28
"""Correlation of that logarithm with the anomaly of days: warm summer days are clear, warm winter
days are not (own estimate: -0.1 in January, 0.45 in July)."""

USUAL_SPREAD = Spread(
    (2.3, 2.5, 2.0, 1.6, 1.5, 1.3, 1.3, 1.4, 1.4, 1.5, 1.4, 2.1),
    (3.6, 3.6, 3.4, 3.5, 3.4, 3.1, 2.8, 2.8, 2.8, 3.2, 3.5, 3.3),
)
"""What stands in where nobody tells how far the weather strays: medians of the 334 temperate
stations of the shipped table whose three coldest months average 0 to 4 °C; northern months."""

_LEAST_RANGE_C = 1.0
_COLDEST_DAY = 15
_MONTH_DAYS = 30
_LEAST_VARIANCE_C2 = 0.3


def generate_daily(
    normals: Normals,
    spread: Spread | None = None,
    *,
    first_harvest_year: int,
    winters: int,
    latitude: float,
    seed: int,
    level_c: tuple[FloatArray, FloatArray] | None = None,
) -> DailyWeather:
    """Make up daily weather that covers whole seasons of consecutive harvest years.

    The mean over many winters of each month's minimum and maximum is the normal given; the
    minimum is always below the maximum. Normals whose minimum is not below the maximum get a
    range of one degree.

    Parameters
    ----------
    spread
        How far months and days stray from the normals; None: as in `USUAL_SPREAD`.
    first_harvest_year, winters
        The seasons that the record must hold.
    seed
        The same seed gives the same record.
    level_c
        What each winter adds to the normals of minima and of maxima, each shape (winters, 12),
        where these are not known for certain. [°C]
    """
    years = range(first_harvest_year, first_harvest_year + winters)
    starts = np.array([season_start(latitude, year) for year in years], dtype="datetime64[D]")
    dates = np.arange(starts[0], starts[-1] + SEASON_DAYS)
    day = nominal_day(dates)
    low, high = annual_course(normals.tmin_c)[day - 1], annual_course(normals.tmax_c)[day - 1]
    if level_c is not None:
        winter_of = np.searchsorted(starts, dates, side="right") - 1
        low, high = (
            course + product(_course_of_means(), added.T)[day - 1, winter_of]
            for course, added in zip((low, high), level_c, strict=True)
        )
    winter = np.cos(2 * np.pi * (day - _COLDEST_DAY) / 365) * (-1 if latitude < 0 else 1)
    fast, slow, whole, own = _anomalies(seed, dates.size)
    tie = RANGE_TIE + RANGE_TIE_SWING * winter
    clear = RANGE_SD * (tie * fast + np.sqrt(1 - tie**2) * own)
    half = np.maximum(high - low, _LEAST_RANGE_C) / 2 * np.exp(clear - RANGE_SD**2 / 2)
    of_days, of_months, of_year = (
        np.maximum(annual_course(tuple(sd_c.tolist()))[day - 1], 0)
        for sd_c in anomaly_sizes(normals, spread or _usual_spread(latitude))
    )
    cold = np.maximum(winter, 0)
    slowly = of_months * _skewed(slow, cold) + of_year * _skewed(whole, cold)
    middle = (low + high) / 2 + of_days * fast + (1 + COLD_GROWTH * cold) * slowly
    source = (
        say("generated from monthly normals ({source})", source=normals.source)
        if normals.source
        else say("generated from monthly normals (of the plan)")
    )
    return DailyWeather(
        dates, middle - half, middle + half, generated=True, source=source, latitude=latitude
    )


def anomaly_sizes(normals: Normals, spread: Spread) -> FloatArray:
    """SD of the anomalies of days, months and the year, each month: shape (3, 12). [°C]

    They are such that monthly means and days within a month have the variances told, once the
    course of the normals inside a month is taken off. Where days alone give monthly means more
    variance than told, days within a month go before.
    """
    mean = (np.asarray(normals.tmin_c) + np.asarray(normals.tmax_c)) / 2
    drift = (np.roll(mean, -1) - np.roll(mean, 1)) / 2
    # The mean of variances is above the square of the mean SD that is reported.
    within = 1.04 * np.asarray(spread.daily_sd_c) ** 2 - drift**2 / 12
    within = _smoothed(np.maximum(within, _LEAST_VARIANCE_C2))
    between = _smoothed(np.asarray(spread.sd_c) ** 2)
    of_mean = [_share_of_mean(p) for p in (FAST_MEMORY, SLOW_MEMORY, YEAR_MEMORY)]
    inside = [(1 - share) * _MONTH_DAYS / (_MONTH_DAYS - 1) for share in of_mean]
    year = YEAR_SHARE * between / of_mean[2]
    between = between - of_mean[2] * year
    within = np.maximum(within - inside[2] * year, _LEAST_VARIANCE_C2)
    common = of_mean[0] * inside[1] - inside[0] * of_mean[1]
    days = (between * inside[1] - within * of_mean[1]) / common
    months = (of_mean[0] * within - inside[0] * between) / common
    days = np.where(months < 0, within / inside[0], days)
    return np.sqrt([np.maximum(days, within / 5), np.maximum(months, 0), year])


def _usual_spread(latitude: float) -> Spread:
    if latitude >= 0:
        return USUAL_SPREAD
    between, within = USUAL_SPREAD.sd_c, USUAL_SPREAD.daily_sd_c
    return Spread(between[6:] + between[:6], within[6:] + within[:6])


def _smoothed(monthly: FloatArray) -> FloatArray:
    """Each month with half of its neighbours': some 15 years tell a variance badly."""
    return (np.roll(monthly, 1) + 2 * monthly + np.roll(monthly, -1)) / 4


def _share_of_mean(memory: float) -> float:
    """Variance of a month's mean of a first-order autoregressive series of variance 1."""
    lag = np.arange(1, _MONTH_DAYS)
    return float((1 + 2 * ((1 - lag / _MONTH_DAYS) * memory**lag).sum()) / _MONTH_DAYS)


def _skewed(series: FloatArray, cold: FloatArray) -> FloatArray:
    """The same with a longer cold tail where it is cold, still of mean 0 and SD 1."""
    bend = COLD_SKEW * cold
    return np.asarray((series - bend * (series**2 - 1)) / np.sqrt(1 + 2 * bend**2))


def annual_course(monthly: tuple[float, ...]) -> FloatArray:
    """Smoothest yearly course through twelve monthly means that keeps each of them.

    Returns shape (365,), from 1 January. Smoothest: the sum of squared second differences round
    the year is least.
    """
    if len(monthly) != 12:
        raise ShapeError(f"{len(monthly)} monthly means instead of 12")
    return product(_course_of_means(), np.asarray(monthly, dtype=float))


@cache
def _course_of_means() -> FloatArray:
    """Map from twelve means to 365 days, shape (365, 12): least squares under equalities.

    With B for the squares of the second differences and M for the means, the course is
    B⁻¹ Mᵀ (M B⁻¹ Mᵀ)⁻¹ times the means. B is diagonal in the Fourier waves of the year. It forgets
    the mean of the year, which the twelve means fix, so that any weight may stand in for it.
    """
    starts = [day_of_year(month, 1) - 1 for month in range(1, 13)]
    means = np.zeros((12, 365))
    for row, (first, after) in enumerate(zip(starts, [*starts[1:], 365], strict=True)):
        means[row, first:after] = 1 / (after - first)
    bend = (2 - 2 * np.cos(2 * np.pi * np.arange(183) / 365)) ** 2
    bend[0] = bend[1]
    smooth = np.fft.irfft(np.fft.rfft(means, axis=1) / bend, n=365, axis=1)
    forces, _ = solved(product(means, smooth.T), np.eye(12))
    return product(smooth.T, forces)


def nominal_day(dates: np.ndarray) -> np.ndarray:
    """Day of a year without leap day for each date, from 1; 29 February counts as 1 March."""
    month = dates.astype("datetime64[M]")
    number = (dates - month).astype(int)
    before = np.array([day_of_year(m, 1) for m in range(1, 13)])
    return np.asarray(before[month.astype(int) % 12] + number)


@lru_cache(maxsize=4)
def _anomalies(seed: int, days: int) -> tuple[FloatArray, ...]:
    """Anomalies of days, months and the year, and of the range: the same at all places, (days,).

    Of a few seeds and spans they are kept, as many places in a row ask for the same ones.
    """
    rng = np.random.default_rng(seed)
    memories = (FAST_MEMORY, SLOW_MEMORY, YEAR_MEMORY, RANGE_MEMORY)
    found = tuple(_remembering(rng, days, memory) for memory in memories)
    for series in found:
        series.flags.writeable = False
    return found


def _remembering(rng: np.random.Generator, days: int, memory: float) -> FloatArray:
    """First-order autoregressive series of mean 0 and SD 1."""
    shocks = rng.standard_normal(days)
    shocks[1:] *= np.sqrt(1 - memory**2)
    series = np.empty(days)
    state = 0.0
    for index, shock in enumerate(shocks.tolist()):
        state = memory * state + shock
        series[index] = state
    return series
