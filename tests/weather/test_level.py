"""The temperature level of a record: moved to normals, carried to a height, compared.

Real series are grid cells of NASA POWER and stations, beside them the normals of stations near by.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path
from typing import Literal

import numpy as np
import pytest
from gardens import NORMALS

from pollinet.domain import DailyWeather, FloatArray, Normals, Site
from pollinet.phenology.level import at_level
from pollinet.readers.stations import load_stations
from pollinet.readers.timing import load_timing
from pollinet.weather.generated import generate_daily
from pollinet.weather.level import at_height, at_normals, level_sd_c, off_level
from pollinet.weather.station_climate import station_climate

HERE = Site("Here", 46.0, 5.0, 300.0)
RECORD = generate_daily(NORMALS, first_harvest_year=1985, winters=30, latitude=46.0, seed=1)
WARMER = Normals(
    tuple(low + 2 + np.cos(month / 2) for month, low in enumerate(NORMALS.tmin_c)),
    tuple(high + 0.5 for high in NORMALS.tmax_c),
)


def months_of(weather: DailyWeather, first: int = 0, last: int = 9999) -> FloatArray:
    """Mean lowest and highest temperature of each month over whole years, plainly counted."""
    month = weather.dates.astype("datetime64[M]").astype(int) % 12
    year = weather.dates.astype("datetime64[Y]").astype(int) + 1970
    use = (year >= first) & (year <= last)
    return np.array(
        [
            [np.nanmean(values[use & (month == m)]) for m in range(12)]
            for values in (weather.tmin_c, weather.tmax_c)
        ]
    )


def real(folder: Path, name: str) -> DailyWeather:
    with (folder / f"{name}.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    low, high = (
        np.array([float(row[key]) if row[key] else np.nan for row in rows])
        for key in ("tmin_c", "tmax_c")
    )
    return DailyWeather(np.array([r["date"] for r in rows], dtype="datetime64[D]"), low, high)


def test_a_record_takes_the_level_of_the_normals_month_by_month() -> None:
    moved, told = at_normals(RECORD, WARMER)
    np.testing.assert_allclose(months_of(moved), [WARMER.tmin_c, WARMER.tmax_c], atol=0.03)
    assert told.code == "moved-to-normals" and told.severity == "note"
    assert (moved.tmin_c < moved.tmax_c).all()
    # Smooth: a shift that goes from 1 to 3 °C and back in a year makes no steps, but for days whose
    # extremes would cross.
    wide = moved.tmax_c - moved.tmin_c > 1.001
    steps = np.abs(np.diff(moved.tmin_c - RECORD.tmin_c))[wide[1:] & wide[:-1]]
    assert steps.size > 0.95 * RECORD.dates.size and steps.max() < 0.1
    assert moved.moved is not None and moved.moved.to == "normals"
    assert np.ptp(moved.moved.tmin_c) > np.ptp(moved.moved.tmax_c) + 0.5


def test_only_the_years_of_the_normals_are_compared() -> None:
    late = RECORD.dates >= np.datetime64("2005-01-01")
    record = replace(RECORD, tmin_c=RECORD.tmin_c + 2.0 * late, tmax_c=RECORD.tmax_c + 2.0 * late)
    moved, _ = at_normals(record, replace(NORMALS, years=(1986, 2004)))
    np.testing.assert_allclose(
        months_of(moved, 1986, 2004), [NORMALS.tmin_c, NORMALS.tmax_c], atol=0.03
    )
    whole, _ = at_normals(record, NORMALS)
    later = (months_of(record) - months_of(record, 1986, 2004)).mean()
    assert later > 0.3
    assert (months_of(moved) - months_of(whole)).mean() == pytest.approx(later, abs=0.01)


def test_normals_of_other_years_leave_the_warming_in_between() -> None:
    moved, told = at_normals(RECORD, replace(NORMALS, years=(1951, 1980)))
    # 2000.0 less 1966.0 are 34 years at 0.026 and 0.028 °C; national normals of 1961-1990 are 0.95
    # and 1.04 °C colder than 2003-2021, 36.5 years later (notes to the reports of the stations).
    apart = months_of(moved) - [NORMALS.tmin_c, NORMALS.tmax_c]
    np.testing.assert_allclose(apart.mean(axis=1), [34 * 0.95 / 36.5, 34 * 1.04 / 36.5], atol=0.05)
    assert "34 years of warming" in told.message


def test_normals_of_another_place_or_unit_are_doubted() -> None:
    fahrenheit = [tuple(1.8 * c + 32 for c in means) for means in (NORMALS.tmin_c, NORMALS.tmax_c)]
    _, told = at_normals(RECORD, Normals(*fahrenheit))
    assert (told.severity, told.code) == ("warning", "far-from-normals")


def test_months_and_days_that_are_missing_stay_so() -> None:
    part = RECORD.dates < np.datetime64("1985-04-01")
    short = replace(
        RECORD,
        dates=RECORD.dates[part],
        tmin_c=RECORD.tmin_c[part].copy(),
        tmax_c=RECORD.tmax_c[part],
    )
    short.tmin_c[40] = np.nan
    moved, _ = at_normals(short, WARMER)
    assert np.isnan(moved.tmin_c[40]) and np.isfinite(np.delete(moved.tmin_c, 40)).all()
    none, _ = at_normals(replace(short, tmin_c=np.full(part.sum(), np.nan)), WARMER)
    assert np.isnan(none.tmin_c).all()


@pytest.mark.parametrize(("there", "warmer"), [(902.1, True), (120.0, False)])
def test_a_record_is_carried_to_the_height_of_the_site(there: float, warmer: bool) -> None:
    carried, (told,) = at_height(replace(RECORD, elevation_m=there), HERE)
    hundreds = (there - 300.0) / 100
    np.testing.assert_allclose(carried.tmin_c - RECORD.tmin_c, 0.50 * hundreds)
    np.testing.assert_allclose(carried.tmax_c - RECORD.tmax_c, 0.55 * hundreds)
    assert told.code == "carried-to-height"
    assert told.severity == ("warning" if abs(hundreds) > 3 else "note")
    assert ("made warmer" in told.message) == warmer
    assert carried.elevation_m == 300.0


@pytest.mark.parametrize("there", [None, 330.0])
def test_nothing_is_carried_over_no_height(there: float | None) -> None:
    record = replace(RECORD, elevation_m=there)
    assert at_height(record, HERE) == (record, ())


PLACES = {
    # NASA POWER cells whose station stands 2 to 3.5 °C above them by night (station_normals_notes)
    "weather_Etoile": (44.82, 4.89, 134, True),
    "weather_Balandran": (43.76, 4.46, 52, True),
    "more_weather_Vienna": (48.2, 16.37, 162, True),
    "more_weather_Bonn": (50.62, 6.98, 180, True),
    # stations, or series that behave like them
    "more_weather_Busan": (35.1, 129.03, 69, False),
    "more_weather_Seoul": (37.57, 126.97, 86, False),
    "more_weather_Zaragoza": (41.66, -1.0, 258, False),
    "more_weather_Klein-Altendorf": (50.61, 6.99, 180, False),
    "more_weather_Santomera": (38.06, -1.05, 40, False),
}


@pytest.mark.parametrize("name", sorted(PLACES))
def test_cold_grid_cells_are_told_from_stations(reference_weather: Path, name: str) -> None:
    latitude, longitude, height, off = PLACES[name]
    climate = station_climate(load_stations(), latitude, longitude, height)
    record = real(reference_weather, name)
    found = off_level(record, climate, latitude)
    assert [finding.code for finding in found] == ["off-level"] * off
    if off:
        assert climate.nearest[0].name in found[0].message and "[site.normals]" in found[0].cure


@pytest.mark.parametrize(
    ("name", "place", "station", "period"),
    [
        ("weather_Etoile", "Etoile-sur-Rhone", "Montelimar (WMO 07577)", (2003, 2020)),
        ("weather_Jork", "Jork", "Hamburg Airp. (WMO 10147)", (2003, 2020)),
    ],
)
def test_a_cell_moved_to_a_station_is_off_no_more(
    reference_weather: Path, name: str, place: str, station: str, period: tuple[int, int]
) -> None:
    with (reference_weather / "station_normals.csv").open(encoding="utf-8", newline="") as stream:
        rows = [
            row
            for row in csv.DictReader(stream)
            if (row["place"], row["station"]) == (place, station)
            and row["period"] == f"{period[0]}-{period[1]}"
        ]
    low, high = (tuple(float(row[key]) for row in rows) for key in ("tmin_c", "tmax_c"))
    moved, _ = at_normals(real(reference_weather, name), Normals(low, high, years=period))
    site = rows[0]
    latitude = float(site["latitude"])
    where: tuple[float, float] = (float(site["longitude"]), float(site["elevation_m"]))
    assert off_level(moved, station_climate(load_stations(), latitude, *where), latitude) == ()


@pytest.mark.parametrize(
    ("latitude", "longitude", "warmer_c", "part"),
    [(48.2, 16.37, 6.0, "tmin"), (-33.3, 149.1, -6.0, "tmax"), (48.2, 16.37, 0.0, "tmax")],
)
def test_a_level_is_told_at_both_hemispheres(
    latitude: float, longitude: float, warmer_c: float, part: Literal["tmin", "tmax"]
) -> None:
    climate = station_climate(load_stations(), latitude, longitude, 300.0)
    record = generate_daily(
        Normals(climate.tmin_c, climate.tmax_c),
        first_harvest_year=1998, winters=28, latitude=latitude, seed=3,
    )  # fmt: skip
    record = replace(record, **{f"{part}_c": getattr(record, f"{part}_c") + warmer_c})
    found = off_level(record, climate, latitude)
    assert bool(found) == bool(warmer_c)
    if found:
        assert ("from Jun to Oct" if latitude < 0 else "from Dec to Apr") in found[0].message


def test_a_record_far_from_the_stations_is_the_less_known() -> None:
    climate = station_climate(load_stations(), 48.2, 16.37, 300.0)
    normals = Normals(climate.tmin_c, climate.tmax_c)
    made = generate_daily(normals, first_harvest_year=1998, winters=28, latitude=48.2, seed=3)
    colder = replace(made, tmin_c=made.tmin_c - 3.0, tmax_c=made.tmax_c - 3.0)
    near, far = (level_sd_c(record, climate, 48.2) for record in (made, colder))
    # Of three degrees the stations' own error, some 0.6 °C here, explains but little.
    assert near < 0.5 and 2.0 < far < 3.5
    assert level_sd_c(made, None, 48.2) == 0.5
    assert level_sd_c(made, station_climate(load_stations(), -48.0, -120.0, 0.0), -48.0) == 0.5


def test_a_level_that_is_not_known_is_an_error_of_the_site() -> None:
    timing = load_timing(["apple"])["apple"]
    assert at_level(timing, 0.0) == timing
    # A degree is some four and a half days for all varieties alike.
    wide = at_level(timing, 1.0)
    assert wide.site_sd_days == pytest.approx((timing.site_sd_days**2 + 4.5**2) ** 0.5)
    assert replace(wide, site_sd_days=timing.site_sd_days) == timing


def test_nothing_is_said_far_from_all_stations_or_of_half_a_year() -> None:
    lost = station_climate(load_stations(), -48.0, -120.0, 0.0)
    assert lost.nearest[0].km > 400
    assert off_level(RECORD, lost, -48.0) == ()
    near = station_climate(load_stations(), 48.2, 16.37, 200.0)
    part = RECORD.dates < np.datetime64("1985-03-01")
    cold = replace(
        RECORD,
        dates=RECORD.dates[part],
        tmin_c=RECORD.tmin_c[part] - 30,
        tmax_c=RECORD.tmax_c[part] - 30,
    )
    assert off_level(cold, near, 48.2) == ()
