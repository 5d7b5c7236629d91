"""Hourly temperature from daily extremes, and the length of the day.

References
----------
Linvill, D. E. 1990. Calculating chilling hours and chill units from daily maximum and minimum
temperature observations. HortScience 25:14-16.
Spencer, J. W. 1971. Fourier series representation of the position of the sun. Search 2:172.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from pollinet.domain import BoolArray, FloatArray
from pollinet.errors import ShapeError

SUN_UP_DEG = -0.833
"""Height of the sun's centre at sunrise and sunset, refraction and disc included. [degrees]

With it the day length agrees with an ephemeris within 0.07 h at 45° N; the geometric horizon
(0) is about 0.2 h short there.
"""

_HOURS = np.arange(24.0)


def solar_declination(day_of_year: FloatArray | float) -> FloatArray:
    """Declination of the sun by Spencer's series (1971). [radians]"""
    g = 2 * np.pi * (np.asarray(day_of_year, dtype=float) - 1) / 365
    return np.asarray(
        0.006918
        - 0.399912 * np.cos(g)
        + 0.070257 * np.sin(g)
        - 0.006758 * np.cos(2 * g)
        + 0.000907 * np.sin(2 * g)
        - 0.002697 * np.cos(3 * g)
        + 0.001480 * np.sin(3 * g)
    )


def day_length_h(
    latitude: float, day_of_year: FloatArray | float, horizon_deg: float = SUN_UP_DEG
) -> FloatArray:
    """Hours from sunrise to sunset: 24 in the polar day, 0 in the polar night.

    Parameters
    ----------
    latitude
        Degrees, south negative.
    day_of_year
        Any shape, 1 to 365.
    horizon_deg
        Height of the sun that counts as rising; 0 is the geometric horizon.
    """
    declination = solar_declination(day_of_year)
    phi = np.radians(np.clip(latitude, -89.9, 89.9))
    cosine = (np.sin(np.radians(horizon_deg)) - np.sin(phi) * np.sin(declination)) / (
        np.cos(phi) * np.cos(declination)
    )
    return np.asarray(24 / np.pi * np.arccos(np.clip(cosine, -1, 1)))


def day_curve(
    tmin_c: FloatArray, tmax_c: FloatArray, length_h: FloatArray, t: FloatArray
) -> FloatArray:
    """Temperature `t` hours after sunrise: a sine that peaks two hours after solar noon. [°C]"""
    return np.asarray(tmin_c + (tmax_c - tmin_c) * np.sin(np.pi * t / (length_h + 4)))


def night_curve(
    sunset_c: FloatArray, next_min_c: FloatArray, night_h: FloatArray, s: FloatArray
) -> FloatArray:
    """Temperature `s` hours after sunset: a logarithmic fall to the next minimum. [°C]

    In the first hour after sunset the sunset temperature is held: the logarithm is negative there.
    """
    fall = (sunset_c - next_min_c) / np.log(np.maximum(night_h, 1.5))
    return np.asarray(sunset_c - fall * np.log(np.maximum(s, 1.0)))


def hourly_temperature(
    tmin_c: FloatArray, tmax_c: FloatArray, latitude: float, days_of_year: FloatArray
) -> FloatArray:
    """Temperature on the whole hours of local solar time, by Linvill's curve. [°C]

    The minimum falls on sunrise. The night before the first day comes down from a day like the
    first one; the night after the last day goes down to that day's own minimum. Whole hours
    miss the exact minimum and maximum by up to half an hour.

    Parameters
    ----------
    tmin_c, tmax_c
        Shape (..., days). [°C]
    latitude
        Degrees, south negative.
    days_of_year
        Shape (days,) or (..., days).

    Returns
    -------
    Shape (..., 24 * days), from 00:00 of the first day. NaN where a value it rests on is NaN.
    """
    if tmin_c.shape != tmax_c.shape or tmin_c.shape[-1] != np.shape(days_of_year)[-1]:
        raise ShapeError(f"tmin {tmin_c.shape}, tmax {tmax_c.shape}, {np.shape(days_of_year)} days")
    # What hangs on the day alone is worked out once for all winters, and spread over them.
    length = day_length_h(latitude, days_of_year)[..., None]
    low, high = tmin_c[..., None], tmax_c[..., None]
    sunset_c = day_curve(low, high, length, length)
    rise, sunset_h = 12 - length / 2, 12 + length / 2
    before, after = _shift(sunset_c, 1), _shift(low, -1)
    since_sunset = 24 - _shift(sunset_h, 1)
    is_morning = rise > _HOURS
    is_evening = ~is_morning & (sunset_h < _HOURS)
    hourly = np.empty((*tmin_c.shape, 24))

    def put(where: BoolArray, curve: Callable[[FloatArray], FloatArray]) -> None:
        """Fill in a part of the day; hours that are never of that part are not worked out."""
        ever = np.flatnonzero(where.reshape(-1, 24).any(axis=0))
        if ever.size:
            part = slice(ever[0], ever[-1] + 1)
            np.copyto(hourly[..., part], curve(_HOURS[part]), where=where[..., part])

    put(is_morning, lambda hour: night_curve(
        before, low, since_sunset + rise, since_sunset + hour))  # fmt: skip
    put(is_evening, lambda hour: night_curve(
        sunset_c, after, 24 - sunset_h + _shift(rise, -1), hour - sunset_h))  # fmt: skip
    put(~(is_morning | is_evening), lambda hour: day_curve(low, high, length, hour - rise))
    return hourly.reshape(*tmin_c.shape[:-1], 24 * tmin_c.shape[-1])


def _shift(values: FloatArray, days: int) -> FloatArray:
    """Values of the day before (1) or after (-1); the edge day stands for its missing neighbour."""
    edge = values[..., :1, :] if days > 0 else values[..., -1:, :]
    inner = values[..., :-1, :] if days > 0 else values[..., 1:, :]
    return np.concatenate((edge, inner) if days > 0 else (inner, edge), axis=-2)
