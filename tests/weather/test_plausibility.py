"""Plausibility against real series with known faults, and against faults put into clean ones.

The climates named below are recalled (`memory`); the real series are grid cells of NASA POWER at
sites of Wenden et al. 2016, Sci. Data 3:160108, with the sites' own coordinates and heights.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pollinet.domain import DailyWeather, FloatArray, Normals, Site
from pollinet.findings import Finding
from pollinet.weather.plausibility import (
    hottest_c,
    monthly_means_c,
    plausible,
    plausible_normals,
    seasonal_distance,
    zonal_mean_c,
)

HERE = Site("Here", 46.0, 5.0, 300.0)

SITES = {
    "Balandran": Site("Balandran", 43.76, 4.46, 52),
    "Etoile": Site("Etoile", 44.82, 4.89, 134),
    "Jork": Site("Jork", 53.51, 9.74, -1),
    "Cacak": Site("Čačak", 43.88, 20.35, 260),
    "Conthey": Site("Conthey", 46.22, 7.33, 504),
}


def weather_of(tmin_c: FloatArray, tmax_c: FloatArray, first: str = "1990-01-01") -> DailyWeather:
    dates = np.datetime64(first, "D") + np.arange(tmin_c.size)
    return DailyWeather(dates, tmin_c, tmax_c, source="made.csv")


def made(days: int = 3653, mean: float = 10.0, half_course: float = 9.5) -> DailyWeather:
    """A noisy course of a temperate place, coldest in mid-January. [°C]"""
    rng = np.random.default_rng(5)
    course = mean - half_course * np.cos(2 * np.pi * (np.arange(days) - 15) / 365.25)
    noise = np.convolve(rng.normal(0, 2.2, days + 4), np.ones(5) / np.sqrt(5), "valid")
    reach = 5.0 + rng.uniform(-1.5, 1.5, days)
    return weather_of(course + noise - reach, course + noise + reach)


def altered(weather: DailyWeather, start: int, low: FloatArray, high: FloatArray) -> DailyWeather:
    tmin_c, tmax_c = weather.tmin_c.copy(), weather.tmax_c.copy()
    tmin_c[start : start + low.size], tmax_c[start : start + high.size] = low, high
    return replace(weather, tmin_c=tmin_c, tmax_c=tmax_c)


def real(folder: Path, name: str) -> DailyWeather:
    with (folder / f"weather_{name}.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    low = np.array([float(row["tmin_c"]) for row in rows])
    high = np.array([float(row["tmax_c"]) for row in rows])
    return weather_of(low, high, rows[0]["date"])


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.code for finding in findings]


@pytest.mark.parametrize("name", ["Etoile", "Balandran", "Jork", "Cacak"])
def test_clean_series_pass(reference_weather: Path, name: str) -> None:
    assert plausible(real(reference_weather, name), SITES[name]) == ()


def test_the_mountain_grid_cell_is_noticed(reference_weather: Path) -> None:
    findings = plausible(real(reference_weather, "Conthey"), SITES["Conthey"])
    assert codes(findings) == ["wrong-elevation"]
    assert findings[0].severity == "warning"
    unknown_height = replace(SITES["Conthey"], elevation_m=None)
    assert codes(plausible(real(reference_weather, "Conthey"), unknown_height)) == codes(findings)


@pytest.mark.parametrize("name", ["Etoile", "Balandran", "Jork", "Cacak"])
@pytest.mark.parametrize("shift_c", [-10.0, 10.0])
def test_ten_degrees_off_is_noticed(reference_weather: Path, name: str, shift_c: float) -> None:
    clean = real(reference_weather, name)
    shifted = replace(clean, tmin_c=clean.tmin_c + shift_c, tmax_c=clean.tmax_c + shift_c)
    assert set(codes(plausible(shifted, SITES[name]))) <= {"wrong-elevation", "wrong-unit"}
    assert plausible(shifted, SITES[name])


def test_a_made_temperate_record_passes() -> None:
    assert plausible(made(), HERE) == ()


@pytest.mark.parametrize(
    ("latitude", "elevation_m", "mean_c", "course_c"),
    [  # means over the year and warmest less coldest month, recalled
        (60.4, 12, 7.9, 13.5),  # Bergen
        (47.6, 140, 5.0, 20.5),  # St John's
        (43.1, 180, 5.0, 32.0),  # Vladivostok
        (45.8, 150, 4.9, 42.0),  # Harbin
        (39.7, 1600, 10.3, 24.0),  # Denver
        (-33.9, 140, 17.0, 9.0),  # Stellenbosch
        (-41.2, 890, 8.3, 12.5),  # Bariloche
        (-12.0, 150, 19.2, 7.0),  # Lima
    ],
)
def test_places_that_grow_fruit_or_nearly_so_pass(
    latitude: float, elevation_m: float, mean_c: float, course_c: float
) -> None:
    weather = made(mean=mean_c, half_course=course_c / 2 * np.sign(latitude))
    assert plausible(weather, Site("there", latitude, None, elevation_m)) == ()


def test_31_degrees_on_2_january() -> None:
    clean = made()
    place = int(np.flatnonzero(clean.dates == np.datetime64("1997-01-02"))[0])
    wrong = altered(clean, place, clean.tmin_c[place : place + 1], np.array([31.0]))
    findings = plausible(wrong, HERE)
    assert codes(findings) == ["impossible-for-date"]
    assert "2 Jan 1997" in findings[0].message
    southern = replace(HERE, latitude=-46.0)
    assert hottest_c(southern.latitude, np.array([2.0]))[0] > 50


def test_records_that_are_recalled_stay_possible() -> None:
    recalled = [(34.0, 8, 35.0), (39.5, 29, 29.6), (57.6, 28, 19.9), (43.3, 24, 25.0)]
    for latitude, day, tmax_c in recalled:
        assert hottest_c(latitude, np.array([float(day)]))[0] > tmax_c


def test_winter_months_filled_with_summer() -> None:
    clean = made()
    place = int(np.flatnonzero(clean.dates == np.datetime64("1995-01-01"))[0])
    summer = slice(place + 180, place + 200)
    wrong = altered(clean, place, clean.tmin_c[summer] + 0.01, clean.tmax_c[summer] - 0.01)
    assert "impossible-for-date" in codes(plausible(wrong, HERE))


def test_exchanged_hemisphere_is_an_error() -> None:
    findings = plausible(made(), replace(HERE, latitude=-46.0))
    assert codes(findings) == ["wrong-hemisphere"]
    assert findings[0].severity == "error"


def test_fahrenheit_converted_twice_is_an_error() -> None:
    clean = made()
    twice = replace(clean, tmin_c=(clean.tmin_c - 32) / 1.8, tmax_c=(clean.tmax_c - 32) / 1.8)
    findings = plausible(twice, HERE)
    assert (codes(findings)[0], findings[0].severity) == ("wrong-unit", "error")


def test_a_year_in_another_unit_is_named() -> None:
    clean = made()
    year = clean.dates.astype("datetime64[Y]") == np.datetime64("1994")
    mixed = replace(
        clean,
        tmin_c=np.where(year, clean.tmin_c * 1.8 + 32, clean.tmin_c),
        tmax_c=np.where(year, clean.tmax_c * 1.8 + 32, clean.tmax_c),
    )
    changed = [f for f in plausible(mixed, HERE) if f.code == "changed-record"]
    assert len(changed) == 1
    assert "1994" in changed[0].message


@pytest.mark.parametrize("slope_c", [0.0, 0.4])
def test_straight_fillings_are_noticed(slope_c: float) -> None:
    line = 3.0 + slope_c * np.arange(12)
    findings = plausible(altered(made(), 1180, line, line + 8.0), HERE)
    assert codes(findings) == ["invented-values"]
    assert "26 Mar 1993 to 6 Apr 1993" in findings[0].message


def test_a_stuck_minimum_is_noticed() -> None:
    clean = made()
    stuck = altered(clean, 1000, np.full(9, 4.0), clean.tmax_c[1000:1009])
    assert "invented-values" in codes(plausible(stuck, HERE))


def test_a_copied_month_is_noticed_with_its_source() -> None:
    clean = made()
    copied = altered(clean, 1461 + 40, clean.tmin_c[40:70], clean.tmax_c[40:70])
    findings = plausible(copied, HERE)
    assert codes(findings) == ["repeated-values"]
    assert "10 Feb 1994 to 11 Mar 1994 as 10 Feb 1990" in findings[0].message


def test_short_copies_and_missing_days_are_no_doubt() -> None:
    clean = made()
    copied = altered(clean, 1501, clean.tmin_c[40:47], clean.tmax_c[40:47])
    gone = np.full(400, np.nan)
    assert plausible(altered(copied, 2000, gone, gone), HERE) == ()


def test_generated_weather_may_be_smooth() -> None:
    line = np.full(30, 5.0)
    generated = replace(altered(made(), 1180, line, line + 8.0), generated=True)
    assert plausible(generated, HERE) == ()


def test_the_files_own_place_is_compared() -> None:
    far = replace(made(), latitude=48.5, longitude=5.2, elevation_m=310.0)
    assert codes(plausible(far, HERE)) == ["other-place"]


def test_a_short_record_is_judged_by_the_calendar_alone() -> None:
    clean = made(days=120)
    assert plausible(clean, HERE) == ()
    hot = altered(clean, 1, np.array([10.0]), np.array([31.0]))
    assert codes(plausible(hot, HERE)) == ["impossible-for-date"]


def test_zonal_mean_against_the_globe() -> None:
    """Its mean over the sphere is the mean of the earth, 14.97 °C at sea level (North et al.)."""
    sines = np.linspace(-1, 1, 2001)  # equal steps in the sine are equal areas
    latitudes = np.degrees(np.arcsin(sines))
    means = [zonal_mean_c(float(latitude), 0.0) for latitude in latitudes]
    assert np.mean(means) == pytest.approx(14.97, abs=0.03)


def test_distance_is_in_standard_deviations() -> None:
    """Against numpy's own standard deviation of noise without seasons."""
    rng = np.random.default_rng(3)
    noise = rng.normal(7.0, 3.0, 20_000)
    distance = seasonal_distance(noise, np.arange(20_000) % 365.25)
    assert np.allclose(distance, (noise - noise.mean()) / noise.std(), atol=0.25)


def test_monthly_means_leave_out_missing_days() -> None:
    weather = made(days=365)
    tmin_c = weather.tmin_c.copy()
    tmin_c[:40] = np.nan
    means = monthly_means_c(replace(weather, tmin_c=tmin_c))
    assert np.isnan(means[0])
    assert means[1] == pytest.approx(((tmin_c + weather.tmax_c) / 2)[40:59].mean())


def test_a_mean_in_both_columns_is_noticed() -> None:
    clean = made()
    mean = (clean.tmin_c + clean.tmax_c) / 2
    assert "no-daily-range" in codes(plausible(replace(clean, tmin_c=mean, tmax_c=mean), HERE))
    # A dull day may have no range that a thermometer shows.
    some = altered(clean, 40, mean[40:60], mean[40:60])
    assert "no-daily-range" not in codes(plausible(some, HERE))


@pytest.mark.parametrize(("mean_c", "word"), [(18.0, "warmer"), (-2.0, "colder"), (10.0, "")])
def test_a_mean_of_another_height_is_noticed(mean_c: float, word: str) -> None:
    found = plausible(made(mean=mean_c), HERE)
    assert codes(found) == (["wrong-elevation"] if word else [])
    assert all(word in one.message for one in found)


@pytest.mark.parametrize(("low", "high"), [(-3.0, -2.0), (-20.0, 15.0)])
def test_normals_whose_days_are_too_even_or_too_wide_are_noticed(low: float, high: float) -> None:
    course = 9.5 * -np.cos(2 * np.pi * np.arange(12) / 12)
    tmin_c, tmax_c = 5.0 + course, 15.0 + course
    assert codes(plausible_normals(normals_of(tmin_c, tmax_c), made(), HERE)) == []
    middle = (low + high) / 2 - (tmin_c[2] + tmax_c[2]) / 2
    tmin_c[2], tmax_c[2] = low - middle, high - middle
    found = plausible_normals(normals_of(tmin_c, tmax_c), made(), HERE)
    assert "odd-daily-range" in codes(found)
    (told,) = [one for one in found if one.code == "odd-daily-range"]
    assert "Mar" in told.message and f"{high - low:.1f}" in told.message


def normals_of(tmin_c: FloatArray, tmax_c: FloatArray) -> Normals:
    return Normals(tuple(tmin_c.tolist()), tuple(tmax_c.tolist()))


def test_a_record_too_short_for_two_copies_has_none() -> None:
    assert codes(plausible(made(days=12), HERE)) == []
