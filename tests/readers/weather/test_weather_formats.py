"""Every weather format on small made files, and on samples of the services where these are present.

Outside checks: pandas cuts the days of hourly files a second time; the three forms of one PVGIS
typical year must agree; the layouts are those of the services' own format pages.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pollinet.domain import DailyWeather
from pollinet.findings import Finding
from pollinet.readers.weather import FORMATS, read_weather

HOURS = pd.date_range("2001-01-01", "2002-01-01", freq="h", inclusive="left")


def hourly() -> pd.Series:
    """Temperatures of one year, with a course through day and year. [°C]"""
    day, hour = HOURS.day_of_year.to_numpy(), HOURS.hour.to_numpy()
    year = 10.0 - 9.0 * np.cos(2 * np.pi * (day - 15) / 365.25)
    return pd.Series(
        np.round(year - 5.0 * np.cos(2 * np.pi * (hour - 3) / 24) + (day * 7 % 11) / 5.0, 2),
        index=HOURS,
    )


def write(folder: Path, text: str, name: str = "weather.txt") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def read(path: Path) -> tuple[DailyWeather, tuple[Finding, ...]]:
    record, findings = read_weather(path)
    assert record is not None, findings
    return record, findings


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.code for finding in findings]


def test_only_one_format_claims_each_sample(reference_weather: Path) -> None:
    expected = {
        "pvgis_tmy_45.000_8.000.csv": "PVGIS",
        "pvgis_tmy_45.000_8.000.json": "PVGIS",
        "pvgis_hourly_2016_short.csv": "PVGIS",
        "pvgis_tmy_45.000_8.000.epw": "EPW",
        "tmy3_723170TYA_greensboro.csv": "TMY3",
        "uscrn_5min_CRNS0101-05-2019-AZ_Tucson.txt": "USCRN",
        "uscrn_with_problems.txt": "USCRN",
    }
    for name, format_name in expected.items():
        head = (reference_weather / "formats" / name).read_text()[:16000]
        assert next(one.name for one in FORMATS if one.recognise(head)) == format_name


# --- tables with other names -----------------------------------------------------------------


@pytest.mark.parametrize(
    "heading",
    [
        "DATE,TMIN (°C),TMAX (°C)",
        "Date;Min Temp (C);Max Temp (C)",
        "time\ttasmin_c\ttasmax_c",
        "date,Tn [degC],Tx [degC]",
        "day_date,lowest °C,highest °C",
        "Date, temperature_2m_min ,temperature_2m_max",
    ],
)
def test_names_of_other_tables(tmp_path: Path, heading: str) -> None:
    delimiter = next(sign for sign in ";\t," if sign in heading)
    rows = [delimiter.join(row) for row in (("2001-12-31", "-2", "4"), ("2002-01-01", "0", "7"))]
    record, findings = read(write(tmp_path, "\n".join([heading, *rows])))
    assert record.tmin_c.tolist() == [-2, 0]
    assert record.tmax_c.tolist() == [4, 7]
    assert findings == ()


def test_fahrenheit_and_inches_in_the_heading_are_converted_with_a_note(tmp_path: Path) -> None:
    text = "date,tmin_f,tmax_f,rain_in,wind_mph\n2001-01-01,14,50,1,10\n2001-01-02,32,212,,\n"
    record, findings = read(write(tmp_path, text.replace("212", "68")))
    assert record.tmin_c == pytest.approx([-10, 0])
    assert record.tmax_c == pytest.approx([10, 20])
    assert record.rain_mm is not None
    assert record.wind_m_s is not None
    assert record.rain_mm[0] == pytest.approx(25.4)
    assert record.wind_m_s[0] == pytest.approx(4.4704)  # international mile, 1609.344 m
    assert codes(findings) == ["converted-unit"]
    assert "tmin_f from °F" in findings[0].message


def year_of_days(scale: float, shift: float) -> list[str]:
    daily = hourly().resample("D")
    low, high = daily.min() * scale + shift, daily.max() * scale + shift
    return [f"{d:%Y-%m-%d},{a:.3f},{b:.3f}" for d, a, b in zip(low.index, low, high, strict=True)]


@pytest.mark.parametrize(
    ("scale", "shift", "unit"), [(1.8, 32, "°F"), (10, 0, "tenths of °C"), (1, 273.15, "K")]
)
def test_unit_is_told_from_a_year_of_values(
    tmp_path: Path, scale: float, shift: float, unit: str
) -> None:
    text = "\n".join(["date,tmin,tmax", *year_of_days(scale, shift)])
    record, findings = read(write(tmp_path, text))
    assert codes(findings) == ["guessed-unit"]
    assert findings[0].severity == "warning"
    assert unit in findings[0].message
    assert record.tmax_c == pytest.approx(hourly().resample("D").max().to_numpy(), abs=1e-3)


def test_unit_of_a_summer_alone_is_not_guessed(tmp_path: Path) -> None:
    text = "\n".join(["date,tmin,tmax", *year_of_days(1.8, 32)[150:250]])
    record, findings = read_weather(write(tmp_path, text))
    assert record is None
    assert codes(findings) == ["guessed-unit"]
    assert findings[0].severity == "error"


def test_no_unit_and_celsius_is_said(tmp_path: Path) -> None:
    _, findings = read(write(tmp_path, "\n".join(["date,tmin,tmax", *year_of_days(1, 0)])))
    assert codes(findings) == ["assumed-unit"]


def test_unknown_units(tmp_path: Path) -> None:
    rain = "date,tmin_c,tmax_c,rain (gallons)\n2001-01-01,1,2,3\n"
    record, findings = read(write(tmp_path, rain))
    assert record.rain_mm is None
    assert codes(findings) == ["unknown-unit"]
    refused, findings = read_weather(write(tmp_path, "date,tmin (Re),tmax (Re)\n2001-01-01,1,2\n"))
    assert refused is None
    assert {finding.severity for finding in findings} == {"error"}


@pytest.mark.parametrize(
    ("heading", "word"),
    [("date,tmin_c", "highest"), ("date,tmax_c", "lowest"), ("date,temp_c", "lowest and highest")],
)
def test_missing_columns(tmp_path: Path, heading: str, word: str) -> None:
    record, findings = read_weather(write(tmp_path, f"{heading}\n2001-01-01,4\n2001-01-02,5\n"))
    assert record is None
    assert codes(findings) == ["missing-column"]
    assert f"the {word} temperature" in findings[0].message


def test_dates_in_columns_and_days_of_the_year(tmp_path: Path) -> None:
    # As the service writes it; the region's size is no height.
    preamble = (
        "-BEGIN HEADER-\nLocation: latitude 45.5 longitude 8.25\nElevation from MERRA-2: Average "
        "for 0.5 x 0.625 degree lat/lon region = 902.1 meters\n-END HEADER-\n"
    )
    by_month = preamble + "YEAR,MO,DY,T2M_MAX,T2M_MIN\n2000,2,29,9,1\n2000,3,1,8,-999\n2000,3,2,7,2"
    by_day = preamble + "YEAR,DOY,T2M_MAX,T2M_MIN\n2000,60,9,1\n2000,61,8,-999\n2000,62,7,2\n"
    for text in (by_month, by_day):
        record, findings = read(write(tmp_path, text))
        assert record.dates.astype(str).tolist() == ["2000-02-29", "2000-03-01", "2000-03-02"]
        assert np.array_equal(record.tmin_c, [1, np.nan, 2], equal_nan=True)
        assert (record.latitude, record.longitude) == (45.5, 8.25)
        assert record.elevation_m == 902.1
        assert codes(findings) == ["missing-days"]


@pytest.mark.parametrize(
    ("cells", "first"),
    [
        (["12/31/2001", "01/01/2002"], "2001-12-31"),
        (["31/12/2001", "01/01/2002"], "2001-12-31"),
        (["31.12.2001", "1.1.2002"], "2001-12-31"),
        (["20011231", "20020101"], "2001-12-31"),
        (["2001/12/31", "2002/1/1"], "2001-12-31"),
        (["01/02/2002", "01/03/2002"], "2002-01-02"),
        (["2001-12-31T00:00", "2002-01-01T00:00"], "2001-12-31"),
    ],
)
def test_ways_to_write_a_date(tmp_path: Path, cells: list[str], first: str) -> None:
    text = "date,tmin_c,tmax_c\n" + "".join(f"{cell},1,2\n" for cell in cells)
    record, findings = read(write(tmp_path, text))
    assert str(record.dates[0]) == first
    assert record.dates.size == 2
    assert findings == ()


# --- hours -----------------------------------------------------------------------------------


def test_hourly_table_agrees_with_pandas(tmp_path: Path) -> None:
    series = hourly()
    text = "date,hour,temp_c\n" + "".join(
        f"{t:%Y-%m-%d},{t:%H:%M},{v}\n" for t, v in series.items()
    )
    record, findings = read(write(tmp_path, text))
    assert record.tmin_c.tolist() == series.resample("D").min().tolist()
    assert record.tmax_c.tolist() == series.resample("D").max().tolist()
    assert codes(findings) == ["days-from-hours"]


def test_hours_named_by_their_end_belong_to_their_day(tmp_path: Path) -> None:
    series = hourly()
    text = "date,hour,temp_c\n" + "".join(
        f"{t:%Y-%m-%d},{t.hour + 1},{v}\n" for t, v in series.items()
    )
    record, _ = read(write(tmp_path, text))
    assert record.dates.size == 365
    assert record.tmin_c.tolist() == series.resample("D").min().tolist()


def test_a_day_without_its_night_is_missing_and_clock_changes_are_not(tmp_path: Path) -> None:
    series = hourly()
    kept = series.drop(series.index[(HOURS.day_of_year == 50) & (HOURS.hour < 6)])
    kept = kept.drop(pd.Timestamp("2001-03-25 02:00"))
    lines = [f"{t:%Y-%m-%d %H:%M},{v}" for t, v in kept.items()]
    again = next(i for i, line in enumerate(lines) if line.startswith("2001-10-28 02:00"))
    lines.insert(again + 1, "2001-10-28 02:00,99.0")
    record, findings = read(write(tmp_path, "\n".join(["time,temp_c", *lines])))
    assert np.flatnonzero(np.isnan(record.tmin_c)).tolist() == [49]
    assert sorted(codes(findings)) == ["days-from-hours", "duplicate-time", "missing-days"]


@pytest.mark.parametrize("clock", ["{:%I:%M %p}", "{:%H:%M:%S}", "{:%H%M}", "{:%H}"])
def test_ways_to_write_a_clock_time(tmp_path: Path, clock: str) -> None:
    series = hourly()[:72]
    text = "date,time,temp_c\n" + "".join(
        f"{t:%Y-%m-%d},{clock.format(t)},{v}\n" for t, v in series.items()
    )
    record, _ = read(write(tmp_path, text))
    assert record.tmax_c.tolist() == series.resample("D").max().tolist()


# --- services --------------------------------------------------------------------------------


def test_dwd_daily_kl(tmp_path: Path) -> None:
    text = (
        "STATIONS_ID;MESS_DATUM;QN_3;  FX;  FM;QN_4; RSK; TMK; UPM; TXK; TNK; TGK;eor\n"
        "      44;20010101;   10;  9.9;   3.1;    3;   2.2;   4.0;  90.0;   6.5;   1.2; 0;eor\n"
        "      44;20010102;   10;  9.9;-999;    3;   0.0;   3.0;  90.0;-999;-999; 0;eor\n"
        "      44;20010103;   10;  9.9;   4.0;    3;   0.0;   3.0;  90.0;   5.5;  -1.0; 0;eor\n"
    )
    record, findings = read(write(tmp_path, text))
    assert np.array_equal(record.tmax_c, [6.5, np.nan, 5.5], equal_nan=True)
    assert np.array_equal(record.tmin_c, [1.2, np.nan, -1.0], equal_nan=True)
    assert np.array_equal(record.wind_m_s, [3.1, np.nan, 4.0], equal_nan=True)  # type: ignore[arg-type]
    assert codes(findings) == ["missing-days"]


def dly(element: str, values: dict[int, tuple[int, str]], month: str = "200102") -> str:
    cells = ""
    for day in range(1, 32):
        value, quality = values.get(day, (-9999, " "))
        cells += f"{value:5d} {quality}X"
    return f"USW00014839{month}{element}{cells}\n"


def test_ghcn_fixed_width(tmp_path: Path) -> None:
    low = {day: (10 * day - 200, " ") for day in range(1, 29)}
    high = {day: (10 * day, " ") for day in range(1, 29)}
    high[5] = (999, "X")  # failed a quality check
    text = dly("TMAX", high) + dly("TMIN", low) + dly("PRCP", {3: (127, " ")}) + dly("SNOW", low)
    record, findings = read(write(tmp_path, text, "USW00014839.dly"))
    assert record.dates[[0, -1]].astype(str).tolist() == ["2001-02-01", "2001-02-28"]
    assert record.tmin_c[[0, 27]].tolist() == [-19.0, 8.0]
    assert np.flatnonzero(np.isnan(record.tmax_c)).tolist() == [4]
    assert record.rain_mm is not None
    assert record.rain_mm[2] == 12.7
    assert "USW00014839" in record.source
    assert codes(findings) == ["missing-days"]


def test_ghcn_one_value_a_line(tmp_path: Path) -> None:
    heading = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"
    rows = [
        "GM000010147,20010101,TMAX,56,,,E,",
        "GM000010147,20010101,TMIN,-11,,,E,",
        "GM000010147,20010102,TMAX,400,,I,E,",
        "GM000010147,20010102,TMIN,5,,,E,",
        "GM000010147,20010103,TMIN,15,,,E,",
        "GM000010147,20010103,TMAX,70,,,E,",
    ]
    for text in (heading + "\n".join(rows), "\n".join(rows)):
        record, findings = read(write(tmp_path, text))
        assert np.array_equal(record.tmax_c, [5.6, np.nan, 7.0], equal_nan=True)
        assert record.tmin_c.tolist() == [-1.1, 0.5, 1.5]
    _, findings = read_weather(write(tmp_path, "\n".join([*rows, rows[0].replace("GM", "US")])))
    assert codes(findings) == ["several-stations"]


def test_ghcn_one_column_an_element(tmp_path: Path) -> None:
    heading = '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","TMAX","TMIN"'
    rows = [
        f'"X","{row.split(",")[0]}","42.95","-87.9","204.5","A, B","127",'
        f'"{float(row.split(",")[2]):5.0f}","{float(row.split(",")[1]):5.0f}"'
        for row in year_of_days(10, 0)
    ]
    record, findings = read(write(tmp_path, "\n".join([heading, *rows])))
    assert (record.latitude, record.longitude, record.elevation_m) == (42.95, -87.9, 204.5)
    assert record.tmin_c == pytest.approx(hourly().resample("D").min().to_numpy(), abs=0.051)
    assert record.rain_mm is not None
    assert record.rain_mm[0] == pytest.approx(12.7)
    assert codes(findings) == ["guessed-unit"]


def test_fahrenheit_trap_agrees_with_pandas(reference_weather: Path) -> None:
    path = reference_weather / "formats" / "ghcn_daily_milwaukee_fahrenheit.csv"
    record, findings = read(path)
    assert "guessed-unit" in codes(findings)
    assert "°F" in next(f.message for f in findings if f.code == "guessed-unit")
    table = pd.read_csv(path, parse_dates=["date"]).drop_duplicates("date").set_index("date")
    table = table.asfreq("D")
    assert record.dates.size == len(table)
    assert record.tmax_c == pytest.approx((table.TMAX.to_numpy() - 32) * 5 / 9, nan_ok=True)
    assert record.tmin_c == pytest.approx((table.TMIN.to_numpy() - 32) * 5 / 9, nan_ok=True)
    assert record.rain_mm == pytest.approx(table.PRCP.to_numpy() * 25.4, nan_ok=True)


OPEN_METEO_PLACE = (
    "latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation\n"
    "46.1,7.4,500.0,{offset},{zone},{zone}\n\n"
)


def test_open_meteo_daily_csv_and_json_agree(tmp_path: Path) -> None:
    table = (
        OPEN_METEO_PLACE.format(offset=3600, zone="CET")
        + "time,temperature_2m_max (°C),temperature_2m_min (°C),precipitation_sum (mm)\n"
        "2001-01-01,4.5,-2.0,0.0\n2001-01-02,,,\n2001-01-03,6.0,1.5,3.2\n"
    )
    answer = {
        "latitude": 46.1,
        "longitude": 7.4,
        "elevation": 500.0,
        "utc_offset_seconds": 3600,
        "daily_units": {
            "time": "iso8601",
            "temperature_2m_max": "°C",
            "temperature_2m_min": "°C",
            "precipitation_sum": "mm",
        },
        "daily": {
            "time": ["2001-01-01", "2001-01-02", "2001-01-03"],
            "temperature_2m_max": [4.5, None, 6.0],
            "temperature_2m_min": [-2.0, None, 1.5],
            "precipitation_sum": [0.0, None, 3.2],
        },
    }
    for text in (table, json.dumps(answer)):
        record, findings = read(write(tmp_path, text))
        assert np.array_equal(record.tmax_c, [4.5, np.nan, 6.0], equal_nan=True)
        assert np.array_equal(record.rain_mm, [0.0, np.nan, 3.2], equal_nan=True)  # type: ignore[arg-type]
        assert (record.latitude, record.longitude, record.elevation_m) == (46.1, 7.4, 500.0)
        assert codes(findings) == ["missing-days"]


def test_open_meteo_hours_are_cut_in_solar_time(tmp_path: Path) -> None:
    """Times at UTC+9 are 15 h ahead of the solar time at 90° W; pandas shifts a second time."""
    series = hourly()[:240]
    text = OPEN_METEO_PLACE.format(offset=32400, zone="JST").replace("7.4", "-90.0")
    text += "time,temperature_2m (°C)\n" + "".join(
        f"{t:%Y-%m-%dT%H:%M},{v}\n" for t, v in series.items()
    )
    record, findings = read(write(tmp_path, text))
    solar = series.copy()
    solar.index = solar.index - pd.Timedelta(hours=15)
    days = solar.resample("D")
    whole = days.min()[days.count() == 24]
    assert record.dates[0] == whole.index[0]
    assert record.tmin_c.tolist() == whole.tolist()
    assert "UTC-6" in findings[0].message


def test_open_meteo_bad_entries_have_places_but_no_lines(tmp_path: Path) -> None:
    answer = {
        "utc_offset_seconds": 0,
        "daily": {
            "time": ["2001-01-01", "2001-01-32"],
            "temperature_2m_max": [4, "warm"],
            "temperature_2m_min": [1, 2],
        },
    }
    _, findings = read_weather(write(tmp_path, json.dumps(answer)))
    assert {(f.code, f.place, f.line) for f in findings} == {
        ("bad-date", "time entry 2", None),
        ("bad-number", "temperature_2m_max entry 2", None),
    }
    refusal = json.dumps({"error": True, "reason": "Latitude must be in range"})
    _, findings = read_weather(write(tmp_path, refusal))
    assert codes(findings) == ["service-refused"]


# --- typical years ---------------------------------------------------------------------------


def northern_season(series: pd.Series) -> pd.DataFrame:
    """October to July out of a calendar year, as pandas cuts it."""
    days = series.resample("D").agg(["min", "max"])
    return pd.concat([days["2001-10-01":], days[:"2001-07-31"]])  # type: ignore[misc]


PIECED = {1: 2018, 2: 2004, 3: 2009, 4: 2013, 5: 2008, 6: 2006}
"""Years of the first months; February out of a leap year, without its 29th."""


def epw(series: pd.Series) -> str:
    head = "LOCATION,Here,-,Land,made,000000,45.0,8.0,1.0,250.0\n" + "".join(
        f"HEADING {i},0\n" for i in range(7)
    )
    rows = []
    for t, v in series.items():
        year = PIECED.get(t.month, 2011)
        rows.append(f"{year},{t.month},{t.day},{t.hour + 1},0,?," + f"{v}," + "0," * 14 + "1.5,0\n")
    return head + "".join(rows)


def tmy3(series: pd.Series) -> str:
    head = '723170,"SOMEWHERE",NC,-5.0,45.0,-79.95,250\n'
    head += "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),Dry-bulb (C),Dry-bulb source,Wspd (m/s)\n"
    return head + "".join(
        f"{t:%m/%d}/{PIECED.get(t.month, 1988)},{t.hour + 1:02d}:00,0,{v},A,1.5\n"
        for t, v in series.items()
    )


def pvgis_csv(series: pd.Series) -> str:
    """The same hours in UTC: the first hour of the year at 8° E is the last one of the UTC year."""
    utc = pd.Series(np.roll(series.to_numpy(), -1), index=series.index)
    head = (
        "Latitude (decimal degrees): 45.000\nLongitude (decimal degrees): 8.000\n"
        "Elevation (m): 250.0\nmonth,year\n1,2018\ntime(UTC),T2m,RH,WS10m\n"
    )
    rows = [f"{PIECED.get(t.month, 2011)}{t:%m%d:%H%M},{v},90.0,1.5\n" for t, v in utc.items()]
    return head + "".join(rows) + "\nT2m: 2-m air temperature (degree Celsius)\n"


def pvgis_json(series: pd.Series) -> str:
    lines = pvgis_csv(series).splitlines()[6:-2]
    hours = [dict(zip(("time(UTC)", "T2m"), line.split(",")[:2], strict=True)) for line in lines]
    place = {"latitude": 45.0, "longitude": 8.0, "elevation": 250.0}
    inputs = {"location": place, "meteo_data": {"meteo_db": "made"}}
    entries = [{**hour, "T2m": float(hour["T2m"])} for hour in hours]
    return json.dumps({"inputs": inputs, "outputs": {"tmy_hourly": entries}})


@pytest.mark.parametrize("layout", [epw, tmy3, pvgis_csv, pvgis_json])
def test_typical_years_make_one_season_and_say_so(
    tmp_path: Path, layout: Callable[[pd.Series], str]
) -> None:
    record, findings = read(write(tmp_path, layout(hourly())))
    season = northern_season(hourly())
    assert record.dates[[0, -1]].astype(str).tolist() == ["2000-10-01", "2001-07-31"]
    assert record.tmin_c.tolist() == season["min"].tolist()
    assert record.tmax_c.tolist() == season["max"].tolist()
    assert (record.latitude, record.elevation_m) == (45.0, 250.0)
    assert codes(findings) == ["typical-year"]
    assert findings[0].severity == "warning"
    assert not record.generated


def test_southern_typical_year_begins_in_april(tmp_path: Path) -> None:
    record, _ = read(write(tmp_path, epw(hourly()).replace("45.0,8.0", "-45.0,8.0")))
    assert str(record.dates[0]) == "2001-04-01"
    assert record.dates.size == 304


def test_forms_of_one_typical_year_agree(reference_weather: Path) -> None:
    folder = reference_weather / "formats"
    table, _ = read(folder / "pvgis_tmy_45.000_8.000.csv")
    entries, _ = read(folder / "pvgis_tmy_45.000_8.000.json")
    building, _ = read(folder / "pvgis_tmy_45.000_8.000.epw")
    assert table.tmin_c.tolist() == entries.tmin_c.tolist()
    assert table.tmax_c.tolist() == entries.tmax_c.tolist()
    # the EPW form keeps UTC hours: days are cut one hour apart, extremes mostly agree
    assert np.median(np.abs(table.tmin_c - building.tmin_c)) < 0.05
    assert np.median(np.abs(table.tmax_c - building.tmax_c)) < 0.05


def test_tmy3_sample_agrees_with_pandas(reference_weather: Path) -> None:
    path = reference_weather / "formats" / "tmy3_723170TYA_greensboro.csv"
    record, _ = read(path)
    table = pd.read_csv(path, skiprows=1)
    march = table[table["Date (MM/DD/YYYY)"].str.startswith("03/")]
    daily = march.groupby("Date (MM/DD/YYYY)")["Dry-bulb (C)"].agg(["min", "max"])
    chosen = record.dates.astype("datetime64[M]") == np.datetime64("2001-03")
    assert record.tmin_c[chosen].tolist() == daily["min"].tolist()
    assert record.tmax_c[chosen].tolist() == daily["max"].tolist()


# --- United States climate reference network -------------------------------------------------


def uscrn_5min(times: pd.DatetimeIndex, values: np.ndarray) -> str:
    utc = times + pd.Timedelta(hours=7)
    return "".join(
        f"53131 {u:%Y%m%d %H%M} {t:%Y%m%d %H%M}      3 -111.17   32.24 {v:7.1f}     0.1    296 0 "
        "    4.4 C 0    90 0 -99.000 -9999.0    24 0   0.78 0\n"
        for u, t, v in zip(utc, times, values, strict=True)
    )


def test_uscrn_five_minutes(tmp_path: Path) -> None:
    times = pd.date_range("2019-01-01 00:05", "2019-01-03 00:00", freq="5min")
    values = np.round(5 + 8 * np.sin(np.arange(times.size) / 45.0), 1)
    values[100] = -9999.0
    record, findings = read(write(tmp_path, uscrn_5min(times, values)))
    series = pd.Series(values, times - pd.Timedelta(minutes=5)).replace(-9999.0, np.nan)
    assert record.dates.astype(str).tolist() == ["2019-01-01", "2019-01-02"]
    assert record.tmin_c.tolist() == series.resample("D").min().tolist()
    assert record.wind_m_s == pytest.approx([0.78, 0.78])
    assert record.rain_mm == pytest.approx([28.8, 28.8])
    assert (record.latitude, record.longitude) == (32.24, -111.17)
    assert codes(findings) == ["days-from-hours"]


def test_uscrn_daily(tmp_path: Path) -> None:
    rest = " ".join(["-9999.0"] * 18)
    text = "".join(
        f"53131 201901{day:02d}  2.622 -111.17   32.24 {10 + day:7.1f} {day:7.1f}     5.0     5.2 "
        f"    1.5 {rest}\n"
        for day in (1, 2, 3)
    )
    record, findings = read(write(tmp_path, text))
    assert record.tmax_c.tolist() == [11, 12, 13]
    assert record.tmin_c.tolist() == [1, 2, 3]
    assert record.rain_mm == pytest.approx([1.5, 1.5, 1.5])
    assert findings == ()


def test_samples_too_short_for_a_day_are_one_error(reference_weather: Path) -> None:
    for name in (
        "uscrn_5min_CRNS0101-05-2019-AZ_Tucson.txt",
        "uscrn_with_problems.txt",
        "pvgis_hourly_2016_short.csv",
    ):
        record, findings = read_weather(reference_weather / "formats" / name)
        assert record is None
        assert [f.code for f in findings if f.severity == "error"] == ["empty-weather"]


# --- damage ----------------------------------------------------------------------------------


@pytest.mark.parametrize("layout", [epw, tmy3, pvgis_csv, pvgis_json])
@pytest.mark.parametrize("share", [0.001, 0.1, 0.5, 0.93])
def test_files_cut_short_never_raise(
    tmp_path: Path, layout: Callable[[pd.Series], str], share: float
) -> None:
    text = layout(hourly())
    record, findings = read_weather(write(tmp_path, text[: int(len(text) * share)]))
    assert record is None or any(f.severity != "note" for f in findings)
    assert findings


FEW_HOURS = hourly()[:240]
INTACT = (
    epw(FEW_HOURS),
    tmy3(FEW_HOURS),
    pvgis_csv(FEW_HOURS),
    pvgis_json(FEW_HOURS),
    OPEN_METEO_PLACE.format(offset=3600, zone="CET")
    + "time,temperature_2m (°C)\n"
    + "".join(f"{t:%Y-%m-%dT%H:%M},{v}\n" for t, v in FEW_HOURS.items()),
    dly("TMAX", {d: (10 * d, " ") for d in range(1, 29)}) + dly("TMIN", {1: (5, " ")}),
    uscrn_5min(pd.date_range("2019-01-01 00:05", periods=300, freq="5min"), np.arange(300) / 9.0),
    "\n".join(
        ["date,tmin_c,tmax_c,rain_mm", *(f"2001-01-{d:02d},{d},{d + 5},0" for d in range(1, 31))]
    ),
)
JUNK = (
    "",
    "x",
    '"',
    ",",
    ";",
    "\n",
    "\0",
    "-",
    "9" * 12,
    "1e400",
    "T",
    "{",
    "null",
    "-9999",
    "24:00",
)


@settings(max_examples=300, deadline=None)
@given(
    text=st.sampled_from(INTACT),
    near_the_head=st.booleans(),
    share=st.floats(0, 1),
    length=st.sampled_from([0, 1, 3, 10, 40, 1000]),
    junk=st.sampled_from(JUNK),
)
def test_damaged_files_never_raise(
    tmp_path_factory: pytest.TempPathFactory,
    text: str,
    near_the_head: bool,
    share: float,
    length: int,
    junk: str,
) -> None:
    start = int(share * (min(400, len(text)) if near_the_head else len(text)))
    path = tmp_path_factory.getbasetemp() / "damaged"
    path.write_text(text[:start] + junk + text[start + length :], encoding="utf-8")
    record, findings = read_weather(path)
    assert (record is None) == any(f.severity == "error" for f in findings)


@pytest.mark.parametrize(
    "text",
    [
        "latitude,longitude,elevation,utc_offset_seconds",
        "latitude,longitude,elevation,utc_offset_seconds\n46,7,500,0\n\n",
        "LOCATION,Here,-,Land,made,000000,45.0,8.0,1.0,250.0",
        "date,tmin_c,tmax_c,\n",
        '{"utc_offset_seconds": 0, "daily": []}',
        '{"inputs": {"meteo_data": {}}, "outputs": {"hourly": ["T2m"]}}',
    ],
)
def test_beginnings_without_an_end_are_one_error(tmp_path: Path, text: str) -> None:
    record, findings = read_weather(write(tmp_path, text))
    assert record is None
    assert [f.severity for f in findings].count("error") == 1


def test_bytes_that_are_no_text(tmp_path: Path) -> None:
    path = tmp_path / "table.xlsx"
    path.write_bytes(b"PK\x03\x04\x00\x00\x00\xff\xfe\x00\x01" * 50)
    record, findings = read_weather(path)
    assert record is None
    assert codes(findings) == ["unknown-weather-format"]
    assert "not a text file" in findings[0].message


def test_wide_characters_and_byte_order_marks(tmp_path: Path) -> None:
    text = "date,tmin_c,tmax_c\n2001-01-01,1,2\n"
    for encoding in ("utf-8-sig", "utf-16", "latin-1"):
        path = tmp_path / encoding
        path.write_bytes(text.encode(encoding))
        record, findings = read(path)
        assert findings == ()
        assert record.tmax_c.tolist() == [2]


def test_a_folder_is_not_a_file(tmp_path: Path) -> None:
    record, findings = read_weather(tmp_path)
    assert record is None
    assert codes(findings) == ["unreadable-file"]
