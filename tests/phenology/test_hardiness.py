"""Coldest nights, first frosts of autumn, and hardiness zones."""

from __future__ import annotations

import numpy as np
import pytest

from pollinet.domain import DailyWeather
from pollinet.phenology.hardiness import winter_cold, zone_limit_c
from pollinet.readers.hardiness import load_hardiness
from pollinet.readers.shared_tables import fruits
from pollinet.weather.extremes import autumn_frost_days, winter_minima


def record(first: str, last: str, **nights: float) -> DailyWeather:
    """Ten degrees every night but for those named: `_2021_01_15=-35`."""
    dates = np.arange(first, last, dtype="datetime64[D]")
    low = np.full(dates.size, 10.0)
    for night, celsius in nights.items():
        low[dates == np.datetime64(night[1:].replace("_", "-"))] = celsius
    return DailyWeather(dates, low, low + 8)


@pytest.mark.parametrize(("zone", "limit"), [(3, -40.0), (5, -28.9), (6, -23.3), (7, -17.8)])
def test_limits_are_those_of_the_zones(zone: int, limit: float) -> None:
    """USDA Plant Hardiness Zone Map, 2023, planthardiness.ars.usda.gov."""
    assert zone_limit_c(zone) == pytest.approx(limit, abs=0.05)


def test_each_fruit_has_a_usual_zone() -> None:
    assert load_hardiness().keys() == fruits().keys()


def test_the_coldest_night_of_each_winter_that_is_whole() -> None:
    north = record("2020-09-01", "2022-12-31", _2021_01_15=-35, _2022_02_01=-12, _2022_12_20=-20)
    assert winter_minima(north, 47).tolist() == [-35, -12]
    south = record("2020-03-01", "2021-11-30", _2020_07_15=-9, _2021_07_01=-4)
    assert winter_minima(south, -35).tolist() == [-9, -4]


def test_missing_nights_make_a_winter_unknown() -> None:
    north = record("2020-09-01", "2022-06-30")
    north.tmin_c[100:120] = np.nan
    assert winter_minima(north, 47).tolist() == [10]


def test_the_first_frost_of_autumn() -> None:
    """1 November is day 305 and 20 April, the year after bloom, day 365 + 110."""
    north = record("2020-01-01", "2022-04-30", _2020_05_02=-3, _2020_11_01=-2, _2020_11_20=-5)
    assert autumn_frost_days(north, 47).tolist() == [306, np.inf]  # 2020 is a leap year
    assert autumn_frost_days(north, 47, 1.0).tolist() == [325, np.inf]
    south = record("2020-12-01", "2021-12-31", _2021_04_20=-2.5, _2021_01_10=-3)
    assert autumn_frost_days(south, -35).tolist() == [366 + 110]


@pytest.mark.parametrize(
    ("minima", "own", "verdict"),
    [
        ([-26, -24], True, "lives"),
        ([-30, -24], True, "lives"),  # a mean of -27: the zone is its own
        ([-35, -20], True, "doubtful"),  # one winter a whole zone colder
        ([-31, -30], True, "killed"),
        ([-31, -30], False, "doubtful"),  # the zone is only usual for its fruit
        ([-36, -35], False, "killed"),
    ],
)
def test_cold_is_judged_by_the_mean_and_the_worst(
    minima: list[float], own: bool, verdict: str
) -> None:
    found = winter_cold(5, np.array(minima), own=own)
    assert found.verdict == verdict
    assert found.coldest_c == min(minima)
