"""The climate of a place from the stations around it, each station foretold by the others.

The figures to reach are those of the notes that came with the table of stations, computed there by
other code.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pollinet.domain import FloatArray, Stations
from pollinet.readers.stations import load_stations
from pollinet.weather.station_climate import (
    StationClimate,
    level_errors,
    spread_like,
    spread_near,
    station_climate,
)

STATIONS = load_stations()


def temperate(stations: Stations) -> np.ndarray:
    """Places in the table of the series from 25 to 65 degrees, and of the tropical highlands."""
    high = (np.abs(stations.latitude) >= 25) | (stations.elevation_m >= 1000)
    series = np.isfinite(stations.sd_c).all(axis=1)
    return np.flatnonzero(high & (np.abs(stations.latitude) <= 65) & series)


def foretold(index: int) -> StationClimate:
    return station_climate(
        STATIONS,
        STATIONS.latitude[index],
        STATIONS.longitude[index],
        STATIONS.elevation_m[index],
        without=index,
    )


@pytest.fixture(scope="module")
def left_out() -> tuple[np.ndarray, list[StationClimate]]:
    rows = temperate(STATIONS)
    return rows, [foretold(index) for index in rows.tolist()]


def rms(values: FloatArray) -> float:
    return float(np.sqrt((values**2).mean()))


def test_a_station_left_out_is_foretold_as_well_as_measured(
    left_out: tuple[np.ndarray, list[StationClimate]],
) -> None:
    rows, told = left_out
    assert len(rows) == 1739
    low = np.array([one.tmin_c for one in told]) - STATIONS.tmin_c[rows]
    high = np.array([one.tmax_c for one in told]) - STATIONS.tmax_c[rows]
    assert rms(low) == pytest.approx(1.48, abs=0.02)
    assert rms(high) == pytest.approx(1.36, abs=0.02)
    low_land = STATIONS.elevation_m[rows] < 200
    assert (rms(low[low_land]), rms(high[low_land])) == pytest.approx((1.38, 1.33), abs=0.02)
    hills = STATIONS.elevation_m[rows] >= 1500
    assert (rms(low[hills]), rms(high[hills])) == pytest.approx((2.27, 2.15), abs=0.03)
    # Regions as boxes of degrees that hold as many stations as the notes count there.
    latitude, longitude = STATIONS.latitude[rows], STATIONS.longitude[rows]
    america = (longitude < -50) & (latitude > 12.5)
    assert america.sum() == 386
    assert (rms(low[america]), rms(high[america])) == pytest.approx((1.49, 1.32), abs=0.03)
    oceania = ((longitude > 110) & (latitude < -9)) | ((longitude < -140) & (latitude < 23))
    assert oceania.sum() == 86
    assert (rms(low[oceania]), rms(high[oceania])) == pytest.approx((1.71, 1.54), abs=0.03)
    nearest = np.array([one.nearest[0].km for one in told])
    near = (nearest >= 30) & (nearest < 60)
    assert (rms(low[near]), rms(high[near])) == pytest.approx((1.17, 0.89), abs=0.04)


def test_the_error_is_told_as_it_is(
    left_out: tuple[np.ndarray, list[StationClimate]],
) -> None:
    rows, told = left_out
    for means, errors, shares in (
        (np.array([one.tmin_c for one in told]) - STATIONS.tmin_c[rows], "tmin_sd_c", 0.66),
        (np.array([one.tmax_c for one in told]) - STATIONS.tmax_c[rows], "tmax_sd_c", 0.69),
    ):
        sd_c = np.array([getattr(one, errors) for one in told])[:, None]
        assert (np.abs(means) < sd_c).mean() == pytest.approx(shares, abs=0.01)
        assert 0.91 <= (np.abs(means) < 2 * sd_c).mean() <= 0.94


def test_errors_are_drawn_as_large_and_as_joined_as_told() -> None:
    climate = foretold(1000)
    deviates = np.random.default_rng(1).standard_normal((20_000, 28))
    low, high = level_errors(climate, deviates)
    winter = low[:, 0].std(), high[:, 0].std()
    spring = low[:, 3].std(), high[:, 3].std()
    # In January the yearly wave counts whole, in April not at all: sums of the parts squared.
    assert winter == pytest.approx((climate.tmin_sd_c * 1.086, climate.tmax_sd_c * 1.152), rel=0.03)
    assert spring == pytest.approx((climate.tmin_sd_c * 0.898, climate.tmax_sd_c * 0.819), rel=0.03)
    # Levels are independent, waves are not.
    assert np.corrcoef(low[:, 3], high[:, 3])[0, 1] == pytest.approx(0, abs=0.03)
    waves = low[:, 0] - low[:, 6], high[:, 0] - high[:, 6]
    assert np.corrcoef(*waves)[0, 1] > 0.55


def test_a_height_that_nobody_told_is_that_of_the_stations_and_widens_the_error() -> None:
    told, untold = (station_climate(STATIONS, 46.4, 7.2, height) for height in (900.0, None))
    assert told.elevation_sd_m == 0
    heights = [near.elevation_m for near in untold.nearest]
    assert min(heights) < untold.elevation_m < max(heights)
    same = station_climate(STATIONS, 46.4, 7.2, untold.elevation_m)
    assert untold.tmin_c == pytest.approx(same.tmin_c)
    assert untold.tmin_sd_c**2 == pytest.approx(
        same.tmin_sd_c**2 + (0.5 * untold.elevation_sd_m / 100) ** 2
    )


def test_higher_is_colder_and_stations_are_told_by_their_distance() -> None:
    low, high = (station_climate(STATIONS, 46.4, 7.2, height) for height in (400.0, 1000.0))
    fall = np.array(low.tmax_c).mean() - np.array(high.tmax_c).mean()
    assert 1.5 < fall < 6
    distances = [near.km for near in low.nearest]
    assert distances == sorted(distances)
    assert low.used == 12


def test_a_station_is_no_kilometre_from_itself_and_the_date_line_parts_nobody() -> None:
    climate = station_climate(STATIONS, STATIONS.latitude[0], STATIONS.longitude[0], 15)
    assert climate.nearest[0].name == STATIONS.names[0]
    assert climate.nearest[0].km == pytest.approx(0, abs=1e-6)
    west, east = (station_climate(STATIONS, -17.0, side, 5) for side in (-179.99, 179.99))
    assert [near.id for near in west.nearest] == [near.id for near in east.nearest]
    assert west.tmin_c == pytest.approx(east.tmin_c, abs=0.05)


def test_weather_strays_more_inland_than_at_a_mild_coast() -> None:
    # The medians of the notes: 5.7 and 2.5 to 2.8 °C within a winter month.
    inland, coast = spread_near(STATIONS, 52.0, 76.0), spread_near(STATIONS, 50.2, -5.3)
    assert 4.5 < inland.daily_sd_c[0] < 7.5
    assert 2.0 < coast.daily_sd_c[0] < 3.2
    assert inland.sd_c[0] > 2 * coast.sd_c[0]


@pytest.mark.parametrize("latitude", [46.0, -46.0])
def test_an_unknown_place_strays_like_places_of_its_climate(latitude: float) -> None:
    low = np.array([-9.0, -8, -3, 3, 8, 12, 14, 13, 9, 4, -1, -6])
    high = low + np.array([6.0, 7, 9, 11, 12, 12, 12, 12, 11, 9, 6, 5])
    turn = 6 if latitude < 0 else 0
    spread = spread_like(STATIONS, np.roll(low, turn), np.roll(high, turn), latitude)
    winter = np.roll(spread.sd_c, -turn)[[11, 0, 1]].mean()
    # The notes' class of -5 to 0 °C: 2.8 (2.0 to 3.3) between years.
    assert 2.0 < winter < 3.4
    assert winter > np.roll(spread.sd_c, -turn)[5:8].mean()


def test_the_two_hemispheres_are_told_alike() -> None:
    mirrored = replace(
        STATIONS,
        latitude=-STATIONS.latitude,
        **{
            name: np.roll(getattr(STATIONS, name), 6, axis=1)
            for name in ("tmin_c", "tmax_c", "sd_c", "daily_sd_c")
        },
    )
    here = station_climate(STATIONS, 47.0, 8.0, 500)
    there = station_climate(mirrored, -47.0, 8.0, 500)
    assert np.roll(here.tmin_c, 6) == pytest.approx(there.tmin_c)
    assert (here.tmin_sd_c, here.tmax_sd_c) == pytest.approx((there.tmin_sd_c, there.tmax_sd_c))
