from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from pollinet.days import SEASON_DAYS
from pollinet.domain import DailyWeather
from pollinet.findings import has_errors
from pollinet.weather.gaps import bridge_gaps, longest_run
from pollinet.weather.winters import season_days_of_year, split_winters


def record(first: date, days: int) -> DailyWeather:
    """A record whose minimum counts the days."""
    dates = np.datetime64(first) + np.arange(days)
    low = np.arange(days, dtype=float) / 100
    return DailyWeather(dates, low, low + 8, rain_mm=np.arange(days, dtype=float))


def test_seasons_begin_on_their_day_with_and_without_leap_days() -> None:
    winters, findings = split_winters(record(date(2018, 10, 1), 4 * 365 + 1), 45.0)
    assert winters.harvest_years == (2019, 2020, 2021, 2022)
    assert winters.starts[1] == date(2019, 10, 1)
    assert winters.temperature_c.shape == (4, 24 * SEASON_DAYS)
    assert winters.rain_mm is not None
    for start, rain in zip(winters.starts, winters.rain_mm, strict=True):
        assert rain[0] == (start - date(2018, 10, 1)).days
        assert rain[-1] == (start + timedelta(SEASON_DAYS - 1) - date(2018, 10, 1)).days
    assert [f.code for f in findings] == []


def test_southern_seasons_begin_in_april() -> None:
    winters, _ = split_winters(record(date(2018, 1, 1), 3 * 365), -33.0)
    assert winters.starts == (date(2018, 4, 1), date(2019, 4, 1))
    assert winters.harvest_years == (2018, 2019)
    assert season_days_of_year(-33.0)[0] == 91


def test_short_gap_is_bridged_and_counted() -> None:
    weather = record(date(2018, 10, 1), 400)
    weather.tmin_c[100:104] = np.nan
    weather.tmax_c[101] = np.nan
    winters, findings = split_winters(weather, 45.0)
    whole, _ = split_winters(record(date(2018, 10, 1), 400), 45.0)
    assert np.allclose(winters.temperature_c, whole.temperature_c)  # the record is a straight line
    note = next(f for f in findings if f.code == "gaps-filled")
    assert note.severity == "note"
    assert "2019: 4" in note.message


def test_long_gap_drops_the_winter_and_names_it() -> None:
    weather = record(date(2018, 10, 1), 3 * 365 + 1)
    weather.tmin_c[400:406] = np.nan
    winters, findings = split_winters(weather, 45.0)
    assert winters.harvest_years == (2019, 2021)
    assert winters.dropped == ((2020, "6 days are missing in a row"),)
    (warning,) = [f for f in findings if f.code == "winter-left-out"]
    assert warning.severity == "warning"
    assert "2020" in warning.message


def test_many_short_gaps_drop_the_winter() -> None:
    weather = record(date(2018, 10, 1), 304)
    weather.tmax_c[::25] = np.nan
    winters, findings = split_winters(weather, 45.0)
    assert winters.starts == ()
    assert winters.temperature_c.shape == (0, 24 * SEASON_DAYS)
    assert {f.code for f in findings} == {"winter-left-out", "no-complete-winter"}
    assert has_errors(findings)


def test_cut_seasons_are_left_out_with_a_note() -> None:
    winters, findings = split_winters(record(date(2018, 12, 1), 800), 45.0)
    assert winters.harvest_years == (2020,)
    (note,) = findings
    assert note.severity == "note"
    assert "2019" in note.message and "2021" in note.message


def test_empty_record_is_an_error_not_a_crash() -> None:
    _, findings = split_winters(record(date(2018, 12, 1), 0), 45.0)
    assert has_errors(findings)


def test_longest_run_and_bridges() -> None:
    assert longest_run(np.array([False, True, True, False, True])) == 2
    assert longest_run(np.zeros(3, dtype=bool)) == 0
    assert bridge_gaps(np.array([np.nan, 1, np.nan, 3, np.nan])).tolist() == [1, 1, 2, 3, 3]
