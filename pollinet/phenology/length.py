"""How long bloom lasts: longer in the cold, in every season anew.

No published equation of bloom length against temperature was found for these fruits. In the
records of three cherry trial sites (Wenden et al. 2016, Scientific Data 3:160108; weather NASA
POWER) the logarithms of both parts of bloom fall with the logarithm of the warmth with slopes of
-0.5 (-0.4 to -0.6 at each site): so the parts are taken inverse to the square root of the warmth.
"""

from __future__ import annotations

import numpy as np

from pollinet.domain import FloatArray
from pollinet.phenology.sums import SeasonSums

REFERENCE_WARMTH = 150.0
"""Warmth in which the lengths of a species are stated: the median at bloom in those records.
[GDH per day]"""

LEAD_WINDOW_DAYS, TAIL_WINDOW_DAYS = 7, 10
"""Days before and after full bloom over which warmth is taken."""

_LEAST_WARMTH = 20.0  # below it, length would run away in a cold spell


def lead_stretch(sums: SeasonSums) -> FloatArray:
    """Length of the part before full bloom against that in reference warmth, shape (W, D + 1)."""
    return _stretch(_warmth(sums, -LEAD_WINDOW_DAYS, 0))


def tail_stretch(sums: SeasonSums) -> FloatArray:
    """The same for the part after full bloom."""
    return _stretch(_warmth(sums, 0, TAIL_WINDOW_DAYS))


def at_days(by_midnight: FloatArray, days: FloatArray) -> FloatArray:
    """Values at fractional days of each season.

    by_midnight : shape (W, D + 1).
    days : shape (..., W); NaN gives NaN.
    """
    seasons, midnights = by_midnight.shape
    whole = np.fmin(np.fmax(days, 0), midnights - 2).astype(int)  # NaN: 0 here, and NaN below
    # One flat index is gathered twice as fast as a pair of them.
    place = whole + midnights * np.arange(seasons)
    below, above = by_midnight.take(place), by_midnight.take(place + 1)
    return np.asarray(below + (above - below) * (days - whole))


def _warmth(sums: SeasonSums, first: int, last: int) -> FloatArray:
    midnights = np.arange(sums.heat_gdh.shape[1])
    begin = np.clip(midnights + first, 0, midnights[-1])
    end = np.clip(midnights + last, 0, midnights[-1])
    heat = sums.heat_gdh[:, end] - sums.heat_gdh[:, begin]
    return np.asarray(heat / np.maximum(end - begin, 1))


def _stretch(warmth: FloatArray) -> FloatArray:
    return np.asarray(np.sqrt(REFERENCE_WARMTH / np.maximum(warmth, _LEAST_WARMTH)))
