from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.errors import ShapeError
from pollinet.weather.hourly import day_curve, day_length_h, hourly_temperature, night_curve


def test_day_length_of_the_geometric_horizon() -> None:
    # xclim 0.62 day_lengths, run for 2021 (latitude 51) and its test suite (30, 45, 60 degrees).
    assert day_length_h(51, np.array([1.0, 105, 172, 355]), 0.0) == pytest.approx(
        [7.7715, 13.5868, 16.3190, 7.6884], abs=1e-3
    )
    summer = [float(day_length_h(latitude, 172.0, 0.0)) for latitude in (30, 45, 60)]
    assert summer == pytest.approx([13.93, 15.43, 18.49], abs=0.005)


def test_day_length_with_refraction_agrees_with_an_ephemeris() -> None:
    # astral 3.2: 13.498 h at 45° N on 15 April 2021.
    assert float(day_length_h(45, 105.0)) == pytest.approx(13.498, abs=0.1)


def test_polar_day_and_night() -> None:
    assert float(day_length_h(75, 172.0)) == 24.0
    assert float(day_length_h(75, 355.0)) == 0.0


def test_curve_of_linvill() -> None:
    # Linvill 1990 as in xclim's source; numbers worked out by hand for day lengths 10 and 9 h.
    t, s = np.array([0.0, 2, 5, 7, 10]), np.array([1.0, 2, 6, 10, 14])
    low, high, length = np.float64(2), np.float64(14), np.float64(10)
    assert day_curve(low, high, length, t) == pytest.approx(
        [2.0, 7.20660, 12.81163, 14.0, 11.38198], abs=1e-4
    )
    sunset = day_curve(low, high, length, length)
    assert night_curve(sunset, np.float64(4), np.float64(14), s) == pytest.approx(
        [11.38198, 9.44310, 6.37006, 4.94118, 4.0], abs=1e-4
    )
    frosty = day_curve(np.float64(-3), np.float64(8), np.float64(9), np.array([0, 2, 5, 6.5, 9]))
    assert frosty == pytest.approx([-3.0, 2.11195, 7.28518, 8.0, 6.05282], abs=1e-4)


def test_extremes_fall_where_they_must() -> None:
    days = np.full(5, 80.0)
    hourly = hourly_temperature(np.full(5, 2.0), np.full(5, 14.0), 45.0, days).reshape(5, 24)
    assert hourly.argmax(axis=1).tolist() == [14] * 5  # two hours after solar noon
    assert hourly.argmin(axis=1).tolist() == [6] * 5  # at sunrise, 05:57
    assert hourly.min() == pytest.approx(2.0, abs=0.5)
    assert hourly.max() == pytest.approx(14.0, abs=0.1)


@given(st.integers(0, 2**32 - 1), st.floats(-66, 66), st.integers(1, 365))
def test_curve_stays_between_neighbouring_extremes(seed: int, latitude: float, first: int) -> None:
    rng = np.random.default_rng(seed)
    low = rng.normal(3, 6, 8)
    high = low + rng.uniform(0.5, 15, 8)
    days = (first - 1 + np.arange(8.0)) % 365 + 1
    hourly = hourly_temperature(low, high, latitude, days)
    assert hourly.shape == (192,)
    assert (hourly >= low.min() - 1e-9).all()
    assert (hourly <= high.max() + 1e-9).all()


def test_night_runs_into_the_next_day_without_a_step() -> None:
    low, high = np.array([0.0, 5, -2]), np.array([12.0, 9, 10])
    hourly = hourly_temperature(low, high, 45.0, np.full(3, 60.0))
    across_midnight = np.abs(np.diff(hourly))[[23, 47]]
    assert across_midnight.max() < 1.0


def test_shapes_must_fit() -> None:
    with pytest.raises(ShapeError):
        hourly_temperature(np.zeros(3), np.zeros(4), 45.0, np.ones(3))
