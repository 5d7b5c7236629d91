"""A plan's weather file beside normals, with a height of its own, against stations: end to end."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from gardens import HILL, studied

from pollinet.answers.weather import weather_of
from pollinet.domain import DailyWeather, Normals
from pollinet.readers.stations import load_stations
from pollinet.saving import house_csv
from pollinet.study import Study, open_study
from pollinet.weather.generated import generate_daily
from pollinet.weather.station_climate import station_climate

LATITUDE, LONGITUDE, HEIGHT = 46.4, 7.2, 420
CLIMATE = station_climate(load_stations(), LATITUDE, LONGITUDE, HEIGHT)
FILE = f'weather = "weather.csv"\nlongitude = {LONGITUDE}\nelevation_m = {HEIGHT}\n'
YEARS = "years = [1991, 2020]\n"


def record(colder_c: float, elevation_m: float | None = None) -> DailyWeather:
    """A measured record of the place, but for so many degrees."""
    normals = Normals(CLIMATE.tmin_c, CLIMATE.tmax_c)
    made = generate_daily(normals, first_harvest_year=2003, winters=18, latitude=46.4, seed=4)
    low, high = made.tmin_c - colder_c, made.tmax_c - colder_c
    return replace(
        made, tmin_c=low, tmax_c=high, generated=False, source="", elevation_m=elevation_m
    )


def study_of(folder: Path, weather: DailyWeather, *, normals: bool) -> Study:
    head, means, tail = HILL.partition("[site.normals]\n")
    months = means + YEARS if normals else ""
    tree = tail if normals else tail[tail.index("[[tree]]") :]
    (folder / "plan.toml").write_text(head + FILE + months + tree, encoding="utf-8")
    (folder / "weather.csv").write_text(house_csv(weather), encoding="utf-8")
    return studied(folder / "plan.toml")


def codes(study: Study) -> set[str]:
    return {finding.code for finding in study.findings} - {"season-cut-off"}


def test_a_record_as_warm_as_the_stations_is_left_alone(tmp_path: Path) -> None:
    study = study_of(tmp_path, record(0.0), normals=False)
    assert codes(study) == set()
    assert weather_of(study).moved is None


def test_a_cold_record_is_told_and_normals_mend_it(tmp_path: Path) -> None:
    cold = record(4.0)
    told = study_of(tmp_path, cold, normals=False)
    assert codes(told) == {"off-level"}
    mended = study_of(tmp_path, cold, normals=True)
    assert codes(mended) == {"moved-to-normals"}
    before, after = weather_of(told), weather_of(mended)
    assert before.months is not None and after.months is not None
    # The hill's own normals, in January and July.
    assert after.months[0].mean_tmin_c == pytest.approx(-1.8, abs=0.05)
    assert after.months[6].mean_tmax_c == pytest.approx(26.5, abs=0.05)
    assert "Moved to the normals of the plan" in after.answer and after.moved is not None
    first = after.moved.tmin_c[0]
    assert first == pytest.approx(-1.8 - (before.months[0].mean_tmin_c or 0), abs=0.05)
    assert np.median(mended.bloom.full_h) < np.median(told.bloom.full_h)
    # What may be four degrees off is told the more widely; a note then moves all the further.
    assert told.bloom.sd_days[0] > mended.bloom.sd_days[0] + 2


def test_a_record_of_another_height_is_carried(tmp_path: Path) -> None:
    study = study_of(tmp_path, record(2.5, HEIGHT + 500.0), normals=False)
    assert codes(study) == {"carried-to-height"}
    told = weather_of(study)
    assert told.moved is not None and told.moved.to == "height"
    assert told.moved.tmin_c[0] == pytest.approx(2.5) and told.moved.tmax_c[0] > 2.5


def test_a_wrong_unit_is_found_before_anything_is_moved(tmp_path: Path) -> None:
    hot = record(0.0)
    hot = replace(hot, tmin_c=1.8 * hot.tmin_c + 32, tmax_c=1.8 * hot.tmax_c + 32)
    (tmp_path / "weather.csv").write_text(
        house_csv(hot).replace("tmin_c", "tmin").replace("tmax_c", "tmax"), encoding="utf-8"
    )
    plan = HILL.replace("[site.normals]", f"{FILE}[site.normals]")
    (tmp_path / "plan.toml").write_text(plan, encoding="utf-8")
    opened = open_study(tmp_path / "plan.toml")
    assert opened.study is None or "far-from-normals" not in codes(opened.study)
