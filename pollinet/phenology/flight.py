"""Whether honey bees fly while a variety blooms.

References
----------
Washington State University, Tree Fruit, "Honey bees": foraging in apple by temperature; full
force in wind below 16 km/h.
University of Illinois study (quoted at second hand): foraging stops at 40 km/h.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from pollinet.domain import Bloom, FloatArray, Winters
from pollinet.errors import ShapeError
from pollinet.weather.hourly import day_length_h
from pollinet.weather.winters import season_days_of_year

FLIGHT_TEMPERATURE_C = (10.6, 12.2, 17.2, 18.3)
FLIGHT_SHARE = (0.06, 0.21, 0.62, 1.0)
"""Share of full foraging at those temperatures (WSU); straight lines between, none below."""

CALM_KMH, STORM_KMH = 16.0, 40.0
"""Wind up to which bees forage in full force, and in which they stop; a straight line between."""

RAIN_DAY_MM = 1.0
RAIN_DAY_SHARE = 0.5
"""Bees stay in while it rains (NIAB). A daily sum does not tell the hours: half of the day's
flight is taken as lost from 1 mm on. Own assumption, no source."""

_KMH = 3.6


def flight_by_temperature(temperature_c: FloatArray) -> FloatArray:
    """Share of full foraging at a temperature, 0 to 1."""
    return np.interp(temperature_c, FLIGHT_TEMPERATURE_C, FLIGHT_SHARE, left=0.0)


def flight_share(bloom: Bloom, winters: Winters, latitude: float) -> FloatArray:
    """Share of the daylight hours of bloom in which honey bees fly, shape (V, K, W).

    Temperature always counts, rain and wind where they are known. 0 where there is no bloom.

    Raises
    ------
    ShapeError
        Bloom and winters are not of the same seasons.
    """
    if bloom.starts != winters.starts:
        raise ShapeError("bloom and winters are not of the same seasons")
    hours = flight_hours(winters, latitude)
    return share_flown(bloom.start_h, bloom.full_h, bloom.end_h, hours)


class FlightHours(NamedTuple):
    """Running sums from each season's start, shape (W, hours + 1): hours flown, hours of light."""

    flown: FloatArray
    light: FloatArray


def flight_hours(winters: Winters, latitude: float) -> FlightHours:
    """Hours in which bees fly, and hours of daylight, added up over each season."""
    daylight = _daylight(latitude)
    flight = flight_by_temperature(winters.temperature_c) * daylight
    flight *= np.repeat(_by_day(winters), 24, axis=-1)
    light = np.broadcast_to(_running(daylight[None]), (len(flight), flight.shape[1] + 1))
    return FlightHours(_running(flight), light)


def share_flown(
    start_h: FloatArray, full_h: FloatArray, end_h: FloatArray, hours: FlightHours
) -> FloatArray:
    """`flight_share` of bloom between these hours, all of shape (..., W). [h]"""
    flown, light = hours
    season = np.arange(len(light))
    first, last = (_whole_hours(bloom, light.shape[1]) for bloom in (start_h, end_h))
    passed = light[season, last] - light[season, first]
    share = (flown[season, last] - flown[season, first]) / np.maximum(passed, 1)
    return np.where(np.isfinite(full_h), share, 0.0)


def _daylight(latitude: float) -> FloatArray:
    """1 for the hours of a season between sunrise and sunset, else 0; shape (hours,)."""
    half = day_length_h(latitude, season_days_of_year(latitude))[:, None] / 2
    return (np.abs(np.arange(24) - 12) <= half).astype(float).ravel()


def _by_day(winters: Winters) -> FloatArray:
    """Share of flight that rain and wind leave, shape (W, days); what is missing takes nothing."""
    days = winters.temperature_c.shape[1] // 24
    left = np.ones((len(winters.starts), days))
    if winters.rain_mm is not None:
        left[winters.rain_mm >= RAIN_DAY_MM] *= RAIN_DAY_SHARE
    if winters.wind_m_s is not None:
        wind = np.interp(winters.wind_m_s * _KMH, (CALM_KMH, STORM_KMH), (1.0, 0.0))
        left *= np.where(np.isnan(winters.wind_m_s), 1.0, wind)
    return left


def _running(by_hour: FloatArray) -> FloatArray:
    return np.concatenate((np.zeros((len(by_hour), 1)), np.cumsum(by_hour, axis=-1)), axis=-1)


def _whole_hours(hours: FloatArray, count: int) -> np.ndarray:
    return np.clip(np.nan_to_num(hours), 0, count - 1).astype(int)
