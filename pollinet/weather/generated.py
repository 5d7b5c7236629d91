"""Daily weather made up from twelve monthly means, for sites that have no daily record.

The annual course goes smoothly through the normals and keeps every monthly mean. On it ride a
day-to-day anomaly and a slow one, both shared by minimum and maximum, and a daily range that
varies on its own. Their sizes are our own estimates from daily grid-cell series of three cherry
trial sites (Etoile and Balandran in France, Jork in Germany; NASA POWER, 1981-2015; means of the
three, which differ by about a quarter). Sites far from these climates have other figures: the
winters are plausible ones, not those of the site.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from pollinet.days import SEASON_DAYS, day_of_year, season_start
from pollinet.domain import DailyWeather, FloatArray, Normals
from pollinet.errors import ShapeError
from pollinet.linear import product, solved
from pollinet.messages import say

FAST_SD_C, FAST_SWING_C, FAST_MEMORY = 2.9, 0.45, 0.80
"""Day-to-day anomaly: SD over the year, how much more in mid-January [°C], lag-1 correlation.
Own estimate: SD 2.8-3.6 in January, 1.9-2.9 in summer; lags 1, 2, 5, 10: 0.81, 0.62, 0.33, 0.15."""

SLOW_SD_C, SLOW_SWING_C, SLOW_MEMORY = 0.8, 0.3, 0.98
"""Anomaly of whole months and seasons, in the same terms. With the fast one it gives yearly means
an SD of 0.6 °C and January means one of 2 °C (own estimate: 0.6-0.7 and 1.7-2.8)."""

RANGE_SD, RANGE_MEMORY = 0.31, 0.37
"""SD and lag-1 correlation of the logarithm of the daily range (own estimate: 0.28-0.35)."""

RANGE_TIE, RANGE_TIE_SWING = 0.15, -0.28
"""Correlation of that logarithm with the anomaly: warm summer days are clear, warm winter days
are not (own estimate: -0.1 in January, 0.45 in July)."""

_LEAST_RANGE_C = 1.0
_COLDEST_DAY = 15


def generate_daily(
    normals: Normals,
    *,
    first_harvest_year: int,
    winters: int,
    latitude: float,
    seed: int,
) -> DailyWeather:
    """Make up daily weather that covers whole seasons of consecutive harvest years.

    The mean over many winters of each month's minimum and maximum is the normal given; the
    minimum is always below the maximum. Normals whose minimum is not below the maximum get a
    range of one degree.

    Parameters
    ----------
    first_harvest_year, winters
        The seasons that the record must hold.
    seed
        The same seed gives the same record.
    """
    rng = np.random.default_rng(seed)
    start = np.datetime64(season_start(latitude, first_harvest_year))
    last = np.datetime64(season_start(latitude, first_harvest_year + winters - 1))
    dates = np.arange(start, last + SEASON_DAYS)
    day = nominal_day(dates)
    low, high = annual_course(normals.tmin_c)[day - 1], annual_course(normals.tmax_c)[day - 1]
    winter = np.cos(2 * np.pi * (day - _COLDEST_DAY) / 365) * (-1 if latitude < 0 else 1)
    fast = _remembering(rng, dates.size, FAST_MEMORY)
    slow = _remembering(rng, dates.size, SLOW_MEMORY)
    own = _remembering(rng, dates.size, RANGE_MEMORY)
    tie = RANGE_TIE + RANGE_TIE_SWING * winter
    clear = RANGE_SD * (tie * fast + np.sqrt(1 - tie**2) * own)
    half = np.maximum(high - low, _LEAST_RANGE_C) / 2 * np.exp(clear - RANGE_SD**2 / 2)
    anomaly = (FAST_SD_C + FAST_SWING_C * winter) * fast + (
        SLOW_SD_C + SLOW_SWING_C * winter
    ) * slow
    middle = (low + high) / 2 + anomaly
    source = (
        say("generated from monthly normals ({source})", source=normals.source)
        if normals.source
        else say("generated from monthly normals (of the plan)")
    )
    return DailyWeather(
        dates, middle - half, middle + half, generated=True, source=source, latitude=latitude
    )


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
