"""The coldest night of each winter, and the first hard frost after each summer."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import numpy as np

from pollinet.days import is_southern, season_start
from pollinet.domain import DailyWeather, FloatArray

WINTER_DAYS = 182
"""Days from the start of a season in which its coldest night lies: October to March. [days]"""

MOST_MISSING = 10
"""With more days missing a winter tells nothing of its coldest night. Own convention. [days]"""

HARD_FROST_C = -2.0
"""A night that ends the ripening: fruit freezes. Common practice, no source. [°C]"""

_SUMMER_LEFT = 61
"""Days before the season's start from which a frost is one of autumn: from August on. [days]"""


def winter_minima(record: DailyWeather, latitude: float) -> FloatArray:
    """The lowest temperature of each winter that the record holds. [°C]"""
    winters = (_days(record, start, WINTER_DAYS) for start in _starts(record, latitude))
    return np.array([
        np.nanmin(lows)
        for lows in winters
        if lows.size == WINTER_DAYS and np.isnan(lows).sum() <= MOST_MISSING
    ])  # fmt: skip


def autumn_frost_days(record: DailyWeather, latitude: float, warmer_c: float = 0.0) -> FloatArray:
    """Day of the first hard frost after each summer, counted from 1 January of the year of bloom;
    infinite where none comes before midwinter is past. In the south it runs over 365.

    warmer_c : what is added to every night. [°C]
    """
    found = []
    for start in _starts(record, latitude):
        first = np.datetime64(start) - _SUMMER_LEFT
        lows = _days(record, first.item(), _SUMMER_LEFT + WINTER_DAYS)
        if lows.size < _SUMMER_LEFT + WINTER_DAYS or np.isnan(lows).sum() > MOST_MISSING:
            continue
        new_year = date(start.year - is_southern(latitude), 1, 1)
        frosts = np.flatnonzero(lows + warmer_c <= HARD_FROST_C)
        found.append((first.item() - new_year).days + 1 + frosts[0] if frosts.size else np.inf)
    return np.array(found, dtype=float)


def _starts(record: DailyWeather, latitude: float) -> Iterator[date]:
    """Starts of the seasons that the record touches."""
    years = record.dates[[0, -1]].astype("datetime64[Y]").astype(int) + 1970
    for year in range(int(years[0]), int(years[1]) + 2):
        yield season_start(latitude, year)


def _days(record: DailyWeather, first: date, days: int) -> FloatArray:
    """Minima from a day on; fewer or none where the record does not hold them all. [°C]"""
    begin = int((np.datetime64(first) - record.dates[0]).astype(int))
    return record.tmin_c[begin : begin + days] if begin >= 0 else record.tmin_c[:0]
