from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.days import day_of_year
from pollinet.domain import FloatArray, Normals, Spread
from pollinet.errors import ShapeError
from pollinet.phenology.sums import season_sums
from pollinet.readers.stations import load_stations
from pollinet.weather.generated import USUAL_SPREAD, annual_course, generate_daily
from pollinet.weather.winters import split_winters

NORMALS = Normals(
    (-1.0, 0, 2, 5, 9, 12, 14, 14, 10, 7, 3, 0), (5.0, 7, 12, 16, 20, 24, 26, 26, 21, 15, 9, 6)
)


def monthly(dates: np.ndarray, values: FloatArray) -> FloatArray:
    """Mean of each month, January first."""
    month = dates.astype("datetime64[M]").astype(int) % 12
    return np.array([values[month == m].mean() for m in range(12)])


@given(st.lists(st.floats(-30, 40), min_size=12, max_size=12))
def test_annual_course_keeps_every_monthly_mean(means: list[float]) -> None:
    course = annual_course(tuple(means))
    starts = [day_of_year(month, 1) - 1 for month in range(1, 13)]
    found = [part.mean() for part in np.split(course, starts[1:])]
    assert found == pytest.approx(means, abs=1e-6)


def test_course_needs_twelve_means() -> None:
    with pytest.raises(ShapeError):
        annual_course((1.0, 2.0))


def test_generated_weather_keeps_the_normals_and_its_order() -> None:
    weather = generate_daily(NORMALS, first_harvest_year=2001, winters=300, latitude=47.0, seed=4)
    assert weather.generated
    assert (weather.tmin_c < weather.tmax_c).all()
    # Standard error of a month over 300 years: about 2 / sqrt(300) = 0.12 °C.
    assert monthly(weather.dates, weather.tmin_c) == pytest.approx(NORMALS.tmin_c, abs=0.5)
    assert monthly(weather.dates, weather.tmax_c) == pytest.approx(NORMALS.tmax_c, abs=0.5)


def test_same_seed_same_bytes_and_whole_seasons() -> None:
    first, second = (
        generate_daily(NORMALS, first_harvest_year=2001, winters=5, latitude=-33.0, seed=9)
        for _ in range(2)
    )
    assert first.tmin_c.tobytes() == second.tmin_c.tobytes()
    winters, findings = split_winters(first, -33.0)
    assert winters.harvest_years == (2001, 2002, 2003, 2004, 2005)
    assert winters.generated
    assert findings == ()


def test_months_and_days_stray_as_told() -> None:
    spread = Spread(
        (2.3, 2.5, 2.0, 1.6, 1.5, 1.3, 1.3, 1.4, 1.4, 1.5, 1.4, 2.1),
        (3.6, 3.6, 3.4, 3.5, 3.4, 3.1, 2.8, 2.8, 2.8, 3.2, 3.5, 3.3),
    )
    made = generate_daily(
        NORMALS, spread, first_harvest_year=2001, winters=400, latitude=47.0, seed=2
    )
    months = made.dates.astype("datetime64[M]").astype(int)
    middle = (made.tmin_c + made.tmax_c) / 2
    number = np.bincount(months - months[0])
    mean = np.bincount(months - months[0], middle) / number
    within = np.bincount(months - months[0], middle**2) / number - mean**2
    for month in range(12):
        of_month = np.arange(number.size) % 12 == (month - months[0]) % 12
        # Slow anomalies are up to 12 % larger in midwinter, on purpose.
        assert mean[of_month].std() == pytest.approx(spread.sd_c[month], rel=0.25)
        inside = np.sqrt(within[of_month]).mean()
        assert inside == pytest.approx(spread.daily_sd_c[month], rel=0.12)


def test_neighbouring_months_hang_together_as_real_ones() -> None:
    # Real monthly means at 17 places with daily records: 0.30, 0.19, 0.18 and 0.08 at one, two,
    # three and four months.
    made = generate_daily(NORMALS, first_harvest_year=2001, winters=400, latitude=47.0, seed=3)
    months = made.dates.astype("datetime64[M]").astype(int)
    middle = (made.tmin_c + made.tmax_c) / 2
    number = np.bincount(months - months[0])
    mean = np.bincount(months - months[0], middle) / number
    of_month = (np.arange(number.size) + months[0]) % 12
    usual = np.array([mean[of_month == m].mean() for m in range(12)])
    sizes = np.array([mean[of_month == m].std() for m in range(12)])
    z = (mean - usual[of_month]) / sizes[of_month]
    found = [float((z[lag:] * z[:-lag]).mean()) for lag in (1, 2, 3, 4)]
    assert found == pytest.approx([0.30, 0.19, 0.18, 0.08], abs=0.08)


def test_winters_hold_their_own_level() -> None:
    low = np.zeros((3, 12))
    low[1], low[2] = -3.0, 3.0
    words = {"first_harvest_year": 2001, "winters": 3, "latitude": 47.0, "seed": 5}
    plain = generate_daily(NORMALS, **words)
    moved = generate_daily(NORMALS, level_c=(low, low), **words)
    changed = moved.tmax_c - plain.tmax_c
    season = np.searchsorted(
        np.array(["2000-10-01", "2001-10-01", "2002-10-01"], dtype="datetime64[D]"),
        plain.dates,
        side="right",
    )
    assert changed[season == 1] == pytest.approx(0.0, abs=1e-9)
    assert changed[season == 2] == pytest.approx(-3.0)
    assert changed[season == 3] == pytest.approx(3.0)


def test_the_usual_spread_is_that_of_the_shipped_stations() -> None:
    stations = load_stations()
    months = (np.arange(12) + np.where(stations.latitude < 0, 6, 0)[:, None]) % 12
    between, within, low, high = (
        np.take_along_axis(table, months, axis=1)
        for table in (stations.sd_c, stations.daily_sd_c, stations.tmin_c, stations.tmax_c)
    )
    cold = np.sort((low + high) / 2, axis=1)[:, :3].mean(axis=1)
    told = np.isfinite(between).all(axis=1) & np.isfinite(within).all(axis=1)
    alike = told & (cold >= 0) & (cold < 4) & (np.abs(stations.latitude) >= 25)
    assert alike.sum() == 334
    assert np.median(between[alike], axis=0) == pytest.approx(USUAL_SPREAD.sd_c, abs=0.051)
    assert np.median(within[alike], axis=0) == pytest.approx(USUAL_SPREAD.daily_sd_c, abs=0.051)


def test_the_two_hemispheres_have_the_same_weather() -> None:
    turned = Normals(
        NORMALS.tmin_c[6:] + NORMALS.tmin_c[:6], NORMALS.tmax_c[6:] + NORMALS.tmax_c[:6]
    )
    north, south = (
        generate_daily(normals, first_harvest_year=2001, winters=60, latitude=latitude, seed=6)
        for normals, latitude in ((NORMALS, 47.0), (turned, -47.0))
    )
    spreads = [
        season_sums(split_winters(made, latitude)[0]).portions[:, 151]
        for made, latitude in ((north, 47.0), (south, -47.0))
    ]
    assert spreads[0].mean() == pytest.approx(spreads[1].mean(), abs=4)
    assert spreads[0].std() == pytest.approx(spreads[1].std(), rel=0.4)
