"""The climate of a place without a record of its own, from the weather stations around it.

Twelve stations, near in distance and height, are fitted by a weighted linear regression on height,
northing and easting, which is drawn to prior slopes where the stations tell little. All sizes are
own estimates from the shipped table, each station left out in turn: the error of one month is 1.5
(minima) and 1.4 °C (maxima) in the temperate zones, and 0.7 and 0.5 in the median.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray, Spread, Stations
from pollinet.globe import EARTH_RADIUS_M
from pollinet.linear import product, solved

USED, LOOKED_AT = 12, 36
"""Stations that are fitted, and nearest ones among which they are looked for. Own estimate."""

KM_PER_M, SOFTENING_KM = 0.5, 60.0
"""Kilometres of distance that a metre of height is worth, and what is added to every distance so
that the nearest station does not decide alone. Own estimates."""

LAPSE_C = {"tmin": 0.50, "tmax": 0.55}
"""Fall of the means with height, from pairs of stations less than 100 km apart (own estimate:
0.34-0.50 and 0.52-0.73 by season). [°C per 100 m]"""

LAPSE_SD_C, SLOPE_SD_C = 0.2, 0.8
"""How far the fall with height [°C per 100 m], and the slope to north and east [°C per 100 km], may
stray from their priors. Own convention; twice or half as much hardly changes the error."""

_FLOOR_C = {"tmin": 0.22, "tmax": 0.0}
_RESIDUAL = {"tmin": 1.05, "tmax": 1.04}
_PER_100_KM = {"tmin": 0.29, "tmax": 0.22}
_PER_100_M = {"tmin": 0.16, "tmax": 0.23}
_FAR_KM, _APART_M = 400.0, 800.0
# Terms of the error's SD, fitted on the stations left out: a floor, the spread of the fit's
# residuals, the distance to the nearest station, and the least height between the place and one of
# the five nearest. Beyond the last two figures no more was seen, so no more is added.

_LEVEL = {"tmin": (0.86, 0.61, 0.26), "tmax": (0.75, 0.81, 0.33)}
_SEASON_TIE = 0.76
# Parts of that error: the same all year, one wave a year, each month its own; and the correlation
# of the waves of minima and maxima. Their levels are independent. Fitted on the stations left out.

SPREAD_STATIONS, SPREAD_SOFTENING_KM = 5, 40.0
"""Stations that tell how far the weather strays, and what is added to their distances: 17 % error
at stations left out. Own estimates."""

DEVIATES = 28
"""Independent deviates that make one draw of the error: two levels, two waves, 24 months."""

ALIKE = 60
"""Stations of the like climate that tell it where the place is not known. Own convention."""


@dataclass(frozen=True)
class NearStation:
    """A weather station and how far it is. [km, m above the sea]"""

    id: str
    name: str
    country: str
    km: float
    elevation_m: float


@dataclass(frozen=True)
class StationClimate:
    """Climate of a place as the stations around it tell it; months from January. [°C]

    tmin_sd_c, tmax_sd_c : SD of the error of one month's mean.
    nearest : the five nearest stations, by distance.
    used : how many stations were fitted.
    elevation_m : height that it holds for.
    elevation_sd_m : SD of that height where nobody has told it, and the stations' own stands in.
    """

    tmin_c: tuple[float, ...]
    tmax_c: tuple[float, ...]
    tmin_sd_c: float
    tmax_sd_c: float
    spread: Spread
    nearest: tuple[NearStation, ...]
    used: int
    elevation_m: float
    elevation_sd_m: float = 0.0


def station_climate(
    stations: Stations,
    latitude: float,
    longitude: float,
    elevation_m: float | None,
    *,
    without: int | None = None,
) -> StationClimate:
    """Mean minima and maxima at a place, their error, and how far weather strays there.

    Parameters
    ----------
    latitude, longitude : degrees.
    elevation_m : None: not told; that of the stations near it stands in, and the error is wider.
    without : a station to leave out, by its place in the table, to see how well it is foretold.
    """
    km = _distances_km(stations, latitude, longitude)
    if without is not None:
        km[without] = np.inf
    near = np.argsort(km, kind="stable")[:LOOKED_AT]
    five = near[:5]
    height_sd_m = 0.0
    if elevation_m is None:
        elevation_m, height_sd_m = _usual_height(stations.elevation_m[five], km[five])
    apart = np.sqrt(
        km[near] ** 2
        + (KM_PER_M * (stations.elevation_m[near] - elevation_m)) ** 2
        + SOFTENING_KM**2
    )
    order = np.argsort(apart, kind="stable")[:USED]
    chosen = near[order]
    weights = (apart[order[0]] / apart[order]) ** 2
    up = (stations.elevation_m[chosen] - elevation_m) / 100
    north = (stations.latitude[chosen] - latitude) * 1.11
    turned = (stations.longitude[chosen] - longitude + 180) % 360 - 180
    east = turned * 1.11 * np.cos(np.radians(latitude))
    places = np.stack([np.ones(chosen.size), up, north, east])
    far = min(km[five[0]], _FAR_KM) / 100
    high = min(np.abs(stations.elevation_m[five] - elevation_m).min(), _APART_M) / 100
    means, errors = {}, {}
    for key, table in (("tmin", stations.tmin_c), ("tmax", stations.tmax_c)):
        told = table[chosen] + LAPSE_C[key] * up[:, None]
        means[key], residual = _fitted(places, weights, told)
        errors[key] = float(
            np.sqrt(
                _FLOOR_C[key] ** 2
                + (_RESIDUAL[key] * residual) ** 2
                + (_PER_100_KM[key] * far) ** 2
                + (_PER_100_M[key] * high) ** 2
                + (LAPSE_C[key] * height_sd_m / 100) ** 2
            )
        )
    return StationClimate(
        tuple(means["tmin"].tolist()),
        tuple(means["tmax"].tolist()),
        errors["tmin"],
        errors["tmax"],
        _spread_of(stations, km),
        tuple(_near(stations, km, index) for index in five.tolist()),
        chosen.size,
        float(elevation_m),
        height_sd_m,
    )


def level_errors(climate: StationClimate, deviates: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Errors of the monthly means of minima and maxima, each shape (N, 12). [°C]

    deviates : shape (N, DEVIATES), independent, of mean 0 and SD 1.
    """
    wave = np.cos(2 * np.pi * np.arange(12) / 12)
    low, high, low_wave, other = deviates[:, :4].T[:, :, None]
    high_wave = _SEASON_TIE * low_wave + np.sqrt(1 - _SEASON_TIE**2) * other
    errors = []
    for key, sd_c, level, season, own in (
        ("tmin", climate.tmin_sd_c, low, low_wave, deviates[:, 4:16]),
        ("tmax", climate.tmax_sd_c, high, high_wave, deviates[:, 16:28]),
    ):
        year, part, month = _LEVEL[key]
        errors.append(sd_c * (year * level + part * season * wave + month * own))
    return errors[0], errors[1]


def spread_near(stations: Stations, latitude: float, longitude: float) -> Spread:
    """How far the weather of a place strays from its monthly means, as at stations near it."""
    return _spread_of(stations, _distances_km(stations, latitude, longitude))


def spread_like(
    stations: Stations, tmin_c: Sequence[float], tmax_c: Sequence[float], latitude: float
) -> Spread:
    """The same where only monthly means and the hemisphere are told: as in climates like these.

    The median over the stations whose twelve means are nearest, those of the other hemisphere
    taken six months on.
    """
    told = _tell_spread(stations)
    turn = np.where((stations.latitude[told] < 0) != (latitude < 0), 6, 0)
    months = (np.arange(12) + turn[:, None]) % 12
    rows = told[:, None]
    misses = [
        ((table[rows, months] - np.asarray(means)) ** 2).sum(axis=1)
        for table, means in ((stations.tmin_c, tmin_c), (stations.tmax_c, tmax_c))
    ]
    alike = np.argsort(misses[0] + misses[1], kind="stable")[:ALIKE]
    between, within = (
        np.median(table[rows, months][alike], axis=0).tolist()
        for table in (stations.sd_c, stations.daily_sd_c)
    )
    return Spread(tuple(between), tuple(within))


def _distances_km(stations: Stations, latitude: float, longitude: float) -> FloatArray:
    """Distance of every station on the great circle, shape (S,). [km]"""
    here, there = np.radians(latitude), np.radians(stations.latitude)
    across = np.radians(stations.longitude - longitude)
    half = np.sin((there - here) / 2) ** 2 + np.cos(here) * np.cos(there) * np.sin(across / 2) ** 2
    return np.asarray(2 * EARTH_RADIUS_M / 1000 * np.arcsin(np.sqrt(np.minimum(half, 1))))


def _fitted(places: FloatArray, weights: FloatArray, told: FloatArray) -> tuple[FloatArray, float]:
    """Means at the place itself, shape (12,), and the RMS residual of the fit, mean of the months.

    places : shape (4, N): one, height [100 m], northing and easting [100 km] from the place.
    told : shape (N, 12), less the prior fall with height.
    """
    weighted = places * weights
    prior = np.diag([0, LAPSE_SD_C**-2, SLOPE_SD_C**-2, SLOPE_SD_C**-2])
    slopes, _ = solved(product(weighted, places.T) + prior, product(weighted, told))
    squares = product((told - product(places.T, slopes)).T ** 2, weights) / weights.sum()
    return slopes[0], float(np.sqrt(squares).mean())


def _usual_height(heights_m: FloatArray, km: FloatArray) -> tuple[float, float]:
    """Mean height of the nearest stations, the nearer the weightier, and its SD. [m]

    The SD is never below 100 m: people do not live just where stations stand. Own convention.
    """
    weights = 1 / (km**2 + SPREAD_SOFTENING_KM**2)
    mean = float(np.average(heights_m, weights=weights))
    spread = float(np.sqrt(np.average((heights_m - mean) ** 2, weights=weights)))
    return mean, max(spread, 100.0)


def _tell_spread(stations: Stations) -> NDArray[np.intp]:
    """The stations that tell both spreads of all months, by their places in the table."""
    told = np.isfinite(stations.sd_c) & np.isfinite(stations.daily_sd_c)
    return np.flatnonzero(told.all(axis=1))


def _spread_of(stations: Stations, km: FloatArray) -> Spread:
    told = _tell_spread(stations)
    nearest = told[np.argsort(km[told], kind="stable")[:SPREAD_STATIONS]]
    weights = 1 / (km[nearest] ** 2 + SPREAD_SOFTENING_KM**2)
    between, within = (
        product(table[nearest].T, weights / weights.sum()).tolist()
        for table in (stations.sd_c, stations.daily_sd_c)
    )
    return Spread(tuple(between), tuple(within))


def _near(stations: Stations, km: FloatArray, index: int) -> NearStation:
    return NearStation(
        stations.ids[index],
        stations.names[index],
        stations.countries[index],
        float(km[index]),
        float(stations.elevation_m[index]),
    )
