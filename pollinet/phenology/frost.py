"""Frost nights during bloom, against the temperatures at which flowers are killed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from pollinet.domain import Bloom, FloatArray, Stage, Winters
from pollinet.errors import ShapeError


class FrostNights(NamedTuple):
    """Nights in bloom cold enough to kill 10 % and 90 % of the flowers; NaN: not known, no bloom.

    kill_10, kill_90 : shape (V, K, W).
    """

    kill_10: FloatArray
    kill_90: FloatArray

    def shares(self, row: int) -> tuple[float, float] | None:
        """Shares of seasons with bloom that have such a night; None: not known of the variety."""
        known = np.isfinite(self.kill_10[row])
        if not known.any():
            return None
        some, most = (float((nights[row][known] >= 1).mean()) for nights in self)
        return some, most


def frost_nights(
    bloom: Bloom,
    winters: Winters,
    limits: Mapping[str, Mapping[Stage, tuple[float, float]]],
) -> FrostNights:
    """Count the nights that can kill flowers, from the start of bloom to petal fall.

    Before full bloom the limits of the start hold, from then on those of full bloom. A night
    runs from noon to noon. Temperatures are those of the record, not those in a frost hollow or
    at the height of the flowers, which may be some degrees lower.

    Parameters
    ----------
    limits
        Temperatures that kill 10 % and 90 % of the flowers within half an hour, by fruit and
        stage (`start` and `full`); fruits without limits give NaN. [°C]
    """
    if bloom.starts != winters.starts:
        raise ShapeError("bloom and winters are not of the same seasons")
    coldest = _night_minima(winters)
    counts = np.full((2, *bloom.full_h.shape), np.nan)
    for row, variety in enumerate(bloom.varieties):
        own = limits.get(variety.species)
        if own is None:
            continue
        start, full, end = (hours[row] for hours in (bloom.start_h, bloom.full_h, bloom.end_h))
        for level in range(2):
            counts[level, row] = _count(coldest <= own["start"][level], start, full)
            counts[level, row] += _count(coldest <= own["full"][level], full, end)
    counts[:, ~np.isfinite(bloom.full_h)] = np.nan
    return FrostNights(counts[0], counts[1])


def _night_minima(winters: Winters) -> FloatArray:
    """Coldest hour of the night before each day's noon, shape (W, days)."""
    hourly = winters.temperature_c
    evening_before = np.pad(hourly, ((0, 0), (12, 0)), mode="edge")[:, : hourly.shape[1]]
    return np.asarray(evening_before.reshape(len(hourly), -1, 24).min(axis=-1))


def _count(is_frost: np.ndarray, first_h: FloatArray, last_h: FloatArray) -> FloatArray:
    """Nights with frost whose morning lies between two times, shape (K, W)."""
    so_far = np.concatenate((np.zeros((len(is_frost), 1)), np.cumsum(is_frost, axis=1)), axis=1)
    season = np.arange(len(is_frost))
    days = [
        np.clip(np.nan_to_num(hours) // 24, 0, is_frost.shape[1]).astype(int)
        for hours in (first_h, last_h)
    ]
    return np.asarray(so_far[season, days[1]] - so_far[season, days[0]])
