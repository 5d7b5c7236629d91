"""The house format and what is wrong with files in it.

Checks against something outside: numpy's own calendar, and the long real series, read a second
time with the csv module alone.
"""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from pollinet.domain import DailyWeather
from pollinet.findings import Finding
from pollinet.readers.weather import read_weather

FIRST = date(1999, 10, 1)


def write(folder: Path, lines: list[str], name: str = "station.csv") -> Path:
    path = folder / name
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def course(days: int) -> list[tuple[date, float, float]]:
    """A made-up daily course between winter and summer of a temperate place. [°C]"""
    made = []
    for i in range(days):
        mean = 10.0 - 9.0 * np.cos(2 * np.pi * (i + 75) / 365.25) + (i * 7 % 11) / 4.0
        made.append((FIRST + timedelta(days=i), round(mean - 4.5, 1), round(mean + 5.0, 1)))
    return made


def lines_of(days: int = 400) -> list[str]:
    return ["date,tmin_c,tmax_c", *(f"{day},{low},{high}" for day, low, high in course(days))]


def only(findings: tuple[Finding, ...]) -> Finding:
    """The one finding: a single mistake must not be reported twice."""
    assert len(findings) == 1, findings
    return findings[0]


def record_of(path: Path) -> DailyWeather:
    record, findings = read_weather(path)
    assert record is not None, findings
    return record


def test_clean_file_is_read_without_findings(tmp_path: Path) -> None:
    record, findings = read_weather(write(tmp_path, lines_of()), latitude=46.0)
    assert findings == ()
    assert record is not None
    assert record.dates[0] == np.datetime64("1999-10-01")
    assert record.tmin_c.tolist() == [low for _, low, _ in course(400)]
    assert record.tmax_c.tolist() == [high for _, _, high in course(400)]
    assert record.rain_mm is None
    assert record.latitude == 46.0
    assert not record.generated


def test_suffix_does_not_matter_and_columns_may_be_exchanged(tmp_path: Path) -> None:
    lines = ["# my garden", "wind_m_s,tmax_c,date,tmin_c", "1.5,9,2001-01-01,2", ",8,2001-01-02,1"]
    record = record_of(write(tmp_path, lines, "garden.weather"))
    assert record.tmax_c.tolist() == [9, 8]
    assert record.wind_m_s is not None
    assert np.array_equal(record.wind_m_s, [1.5, np.nan], equal_nan=True)


def test_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    lines = ["date;tmin_c;tmax_c", "31.01.2001;-1,5;4,25", "01.02.2001;0;5"]
    record = record_of(write(tmp_path, lines))
    assert record.tmin_c.tolist() == [-1.5, 0]
    assert record.dates.astype(str).tolist() == ["2001-01-31", "2001-02-01"]


def test_generated_comment_is_kept(tmp_path: Path) -> None:
    lines = ["# generated from monthly means, seed 4", "# latitude 46.2", *lines_of(30)]
    record = record_of(write(tmp_path, lines))
    assert record.generated
    assert "generated from monthly means, seed 4" in record.source
    assert record.latitude == 46.2


def test_missing_file(tmp_path: Path) -> None:
    record, findings = read_weather(tmp_path / "nowhere.csv")
    assert record is None
    assert (only(findings).code, only(findings).severity) == ("missing-file", "error")


def test_empty_file(tmp_path: Path) -> None:
    record, findings = read_weather(write(tmp_path, [""]))
    assert record is None
    assert only(findings).code == "empty-weather"


@pytest.mark.parametrize("lines", [["date,tmin_c,tmax_c"], ["date,tmin_c,tmax_c", "2001-01-01,,"]])
def test_file_without_values(tmp_path: Path, lines: list[str]) -> None:
    record, findings = read_weather(write(tmp_path, lines))
    assert record is None
    assert only(findings).code == "empty-weather"


def test_unknown_format_names_the_house_format_as_cure(tmp_path: Path) -> None:
    record, findings = read_weather(write(tmp_path, ["dear diary", "today it was warm"]))
    assert record is None
    assert only(findings).code == "unknown-weather-format"
    assert "date,tmin_c,tmax_c" in only(findings).cure


def test_fahrenheit_under_a_celsius_heading_is_refused(tmp_path: Path) -> None:
    rows = [f"{d},{low * 1.8 + 32:.1f},{high * 1.8 + 32:.1f}" for d, low, high in course(730)]
    record, findings = read_weather(write(tmp_path, ["date,tmin_c,tmax_c", *rows]))
    assert record is None
    assert (only(findings).code, only(findings).severity) == ("wrong-unit", "error")
    assert "°F" in only(findings).message
    assert "tmin_f" in only(findings).cure


@pytest.mark.parametrize(("scale", "shift", "word"), [(10, 0, "tenths"), (1, 273.15, "K")])
def test_tenths_and_kelvin_are_refused(
    tmp_path: Path, scale: float, shift: float, word: str
) -> None:
    rows = [f"{d},{low * scale + shift},{high * scale + shift}" for d, low, high in course(730)]
    _, findings = read_weather(write(tmp_path, ["date,tmin_c,tmax_c", *rows]))
    assert only(findings).code == "wrong-unit"
    assert word in only(findings).message


def test_one_crossed_day_is_a_warning_and_becomes_missing(tmp_path: Path) -> None:
    lines = lines_of()
    day = lines[100].split(",")[0]
    lines[100] = f"{day},12.0,3.0"
    record, findings = read_weather(write(tmp_path, lines))
    assert record is not None
    crossed = next(f for f in findings if f.code == "tmin-above-tmax")
    assert (crossed.severity, crossed.line) == ("warning", 101)
    assert np.flatnonzero(np.isnan(record.tmin_c)).tolist() == [99]
    assert np.flatnonzero(np.isnan(record.tmax_c)).tolist() == [99]


def test_exchanged_columns_are_one_error(tmp_path: Path) -> None:
    rows = [f"{d},{high},{low}" for d, low, high in course(400)]
    record, findings = read_weather(write(tmp_path, ["date,tmin_c,tmax_c", *rows]))
    assert record is None
    assert (only(findings).code, only(findings).severity) == ("tmin-above-tmax", "error")
    assert "exchanged" in only(findings).cure
    assert "400 lines: 2, 3, 4 and 397 more" in only(findings).message


def test_missing_days_become_nan(tmp_path: Path) -> None:
    lines = lines_of()
    record, findings = read_weather(write(tmp_path, lines[:50] + lines[53:]))
    assert record is not None
    assert record.dates.size == 400
    assert (np.diff(record.dates) == np.timedelta64(1, "D")).all()
    assert np.flatnonzero(np.isnan(record.tmax_c)).tolist() == [49, 50, 51]
    assert (only(findings).code, only(findings).severity) == ("missing-days", "note")
    assert "3 of 400" in only(findings).message
    assert "1999-11-19" in only(findings).message


def test_a_long_gap_is_a_warning(tmp_path: Path) -> None:
    lines = lines_of()
    _, findings = read_weather(write(tmp_path, lines[:50] + lines[90:]))
    assert (only(findings).code, only(findings).severity) == ("missing-days", "warning")


def test_missing_marks_are_missing(tmp_path: Path) -> None:
    lines = lines_of(100)
    for row, mark in enumerate(("", "NA", "-9999", "-999.0", "nan", "null"), start=10):
        lines[row] = f"{lines[row].split(',')[0]},{mark},{mark}"
    record, findings = read_weather(write(tmp_path, lines))
    assert record is not None
    assert np.isnan(record.tmin_c).sum() == 6
    assert only(findings).code == "missing-days"


def test_repeated_and_unordered_dates(tmp_path: Path) -> None:
    lines = lines_of(100)
    day = lines[60].split(",")[0]
    shuffled = [*lines[:20], lines[21], lines[20], *lines[22:61], f"{day},-30,-20", *lines[61:]]
    record, findings = read_weather(write(tmp_path, shuffled))
    assert record is not None
    assert {(f.code, f.line) for f in findings} == {("unordered-dates", 22), ("duplicate-date", 62)}
    assert record.tmin_c.tolist() == [low for _, low, _ in course(100)]


def test_two_stations_in_one_file_are_an_error(tmp_path: Path) -> None:
    lines = lines_of(100)
    record, findings = read_weather(write(tmp_path, lines + lines[1:]))
    assert record is None
    assert "duplicate-date" in {f.code for f in findings if f.severity == "error"}


def test_bad_cells_name_line_and_column(tmp_path: Path) -> None:
    lines = lines_of(100)
    lines[10] = lines[10].replace("1999-10-10", "1999-10-32")
    lines[20] = "1999-10-20,cold,8"
    lines[30] = "1999-10-30,4"
    record, findings = read_weather(write(tmp_path, lines))
    assert record is None
    found = {(f.code, f.place, f.line) for f in findings if f.severity == "error"}
    assert found == {("bad-date", "date", 11), ("bad-number", "tmin_c", 21), ("short-row", "", 31)}


def test_one_impossible_value_is_a_warning(tmp_path: Path) -> None:
    lines = lines_of()
    lines[7] = "1999-10-07,8.0,171"
    record, findings = read_weather(write(tmp_path, lines))
    assert record is not None
    assert {(f.code, f.severity) for f in findings} == {
        ("impossible-value", "warning"),
        ("missing-days", "note"),
    }


def test_real_series_as_the_csv_module_reads_them(reference_weather: Path) -> None:
    for path in sorted(reference_weather.glob("weather_*.csv")):
        record, findings = read_weather(path)
        assert record is not None
        assert findings == ()
        with path.open(newline="") as stream:
            rows = list(csv.DictReader(stream))
        assert record.dates.astype(str).tolist() == [row["date"] for row in rows]
        assert record.tmin_c.tolist() == [float(row["tmin_c"]) for row in rows]
        assert record.tmax_c.tolist() == [float(row["tmax_c"]) for row in rows]
