from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from seasons import FRUIT, TIMING, sums, variety, winters

from pollinet.domain import Bloom
from pollinet.errors import ShapeError
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.flight import flight_by_temperature, flight_share
from pollinet.weather.hourly import day_length_h
from pollinet.weather.winters import season_days_of_year


@pytest.fixture(scope="module")
def bloom() -> Bloom:
    return bloom_ensemble(
        [variety("A"), variety("B", None)],
        sums(),
        {"trial": sums(-1.0)},
        {FRUIT: TIMING},
        draws=4,
        latitude=47.0,
        seed=1,
    )


def test_share_by_temperature() -> None:
    # Washington State University, Tree Fruit, "Honey bees".
    nodes = flight_by_temperature(np.array([18.3, 17.2, 12.2, 10.6]))
    assert nodes.tolist() == [1.0, 0.62, 0.21, 0.06]
    assert flight_by_temperature(np.array([5.0, 30.0])).tolist() == [0.0, 1.0]


def test_share_against_a_plain_loop(bloom: Bloom) -> None:
    share = flight_share(bloom, winters(), 47.0)
    half = day_length_h(47.0, season_days_of_year(47.0)) / 2
    for k, w in ((0, 0), (3, 11)):
        first, last = int(bloom.start_h[0, k, w]), int(bloom.end_h[0, k, w])
        light = [h for h in range(first, last) if abs(h % 24 - 12) <= half[h // 24]]
        flown = flight_by_temperature(winters().temperature_c[w][light])
        assert share[0, k, w] == pytest.approx(flown.mean())
    assert (share[1] == 0).all()


def test_rain_and_wind_take_flight_and_missing_values_do_not(bloom: Bloom) -> None:
    dry = flight_share(bloom, winters(), 47.0)
    days = (20, winters().temperature_c.shape[1] // 24)
    wet = replace(winters(), rain_mm=np.full(days, 8.0))
    storm = replace(winters(), wind_m_s=np.full(days, 12.0))  # 43 km/h
    unknown = replace(winters(), rain_mm=np.full(days, np.nan), wind_m_s=np.full(days, np.nan))
    assert (flight_share(bloom, wet, 47.0)[0] < dry[0]).all()
    assert (flight_share(bloom, storm, 47.0) == 0).all()
    assert np.array_equal(flight_share(bloom, unknown, 47.0), dry)


def test_seasons_must_be_the_same(bloom: Bloom) -> None:
    with pytest.raises(ShapeError):
        flight_share(bloom, winters(0.0, 47.0, 5), 47.0)
