from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.days import day_of_year
from pollinet.domain import DailyWeather, FloatArray, Normals
from pollinet.errors import ShapeError
from pollinet.phenology.sums import season_sums
from pollinet.weather.generated import annual_course, generate_daily
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


@pytest.mark.parametrize(
    ("site", "latitude"), [("Etoile", 44.82), ("Balandran", 43.76), ("Jork", 53.51)]
)
def test_generated_winters_have_the_chill_and_heat_of_real_ones(
    reference_weather: Path, site: str, latitude: float
) -> None:
    # Real series: NASA POWER daily values of the site's grid cell.
    table = np.loadtxt(
        reference_weather / f"weather_{site}.csv", delimiter=",", skiprows=1, dtype=str
    )
    dates, low, high = table[:, 0].astype("datetime64[D]"), *table[:, 1:].astype(float).T
    normals = Normals(tuple(monthly(dates, low)), tuple(monthly(dates, high)))
    made = generate_daily(normals, first_harvest_year=1990, winters=100, latitude=latitude, seed=1)
    real, generated = (
        season_sums(split_winters(weather, latitude)[0])
        for weather in (DailyWeather(dates, low, high), made)
    )
    first_of_april = 182
    chill = [sums.portions[:, first_of_april] for sums in (real, generated)]
    heat = [sums.heat_gdh[:, 212] - sums.heat_gdh[:, 92] for sums in (real, generated)]
    assert np.mean(chill[1]) == pytest.approx(np.mean(chill[0]), abs=4)
    assert np.mean(heat[1]) == pytest.approx(np.mean(heat[0]), rel=0.06)
    for pair in (chill, heat):
        assert 0.5 < np.std(pair[1]) / np.std(pair[0]) < 1.6
