"""`pollinet weather`: the weather record at a glance."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click
import numpy as np

from pollinet.cli.common import (
    findings_data,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_json,
    print_lines,
    print_table,
    weather_option,
)
from pollinet.days import MONTHS
from pollinet.domain import DailyWeather, FloatArray
from pollinet.study import Study
from pollinet.wording.sentences import count, weather_words


@click.command(epilog="Example: pollinet weather plan.toml. Exit codes: 0 an answer, 2 bad input.")
@plan_argument
@weather_option
@json_option
def weather(plan: Path, weather: Path | None, as_json: bool) -> int:
    """Show the weather record of a plan: years, winters used and left out, monthly means."""
    study = opened(plan, weather, as_json=as_json)
    if as_json:
        print_json(weather_data(study), schema="weather")
    else:
        show_weather(study)
    return 0


def show_weather(study: Study) -> None:
    """Print what the record is, its months, and what was left out."""
    print_lines([weather_words(study.record, study.winters)])
    if study.record is None or study.winters is None:
        print_lines(["To use weather: pollinet weather PLAN --weather FILE, or name it in [site]."])
        return
    print_lines([""])
    table = new_table(
        ("Month", {}),
        *((name, {"justify": "right"}) for name in ("Mean min", "Mean max", "Lowest", "Highest")),
    )
    for month, row in zip(MONTHS, monthly(study.record), strict=True):
        table.add_row(month, *(f"{value:.1f}" if np.isfinite(value) else "–" for value in row))
    print_table(table)
    print_lines(["", "All in °C.", *_notes(study)])


def _notes(study: Study) -> list[str]:
    record, winters = study.record, study.winters
    assert record is not None
    assert winters is not None
    days = record.dates.size
    missing = int((~np.isfinite(record.tmin_c) | ~np.isfinite(record.tmax_c)).sum())
    extras = [
        name
        for name, values in (("rain", record.rain_mm), ("wind", record.wind_m_s))
        if values is not None
    ]
    also = f"; also {' and '.join(extras)}" if extras else ""
    notes = [
        f"{record.dates[0]} to {record.dates[-1]}: {count(days, 'day')}, {missing} missing{also}.",
        f"Winters used, by the year of bloom: {_years(winters.harvest_years)}.",
    ]
    if winters.dropped:
        left_out = ", ".join(f"{year} ({why})" for year, why in winters.dropped)
        notes.append(f"Winters left out: {left_out}.")
    return notes


def _years(years: tuple[int, ...]) -> str:
    """Years in a row as spans: `1985–1990, 1992`."""
    spans: list[list[int]] = []
    for year in years:
        if spans and year == spans[-1][-1] + 1:
            spans[-1].append(year)
        else:
            spans.append([year])
    return ", ".join(f"{s[0]}–{s[-1]}" if len(s) > 1 else f"{s[0]}" for s in spans)


def monthly(record: DailyWeather) -> FloatArray:
    """Mean minimum, mean maximum, lowest and highest of each month, shape (12, 4). [°C]

    NaN for a month that the record does not hold.
    """
    months = record.dates.astype("datetime64[M]").astype(int) % 12
    rows = np.full((12, 4), np.nan)
    for month in np.unique(months):
        low, high = record.tmin_c[months == month], record.tmax_c[months == month]
        if np.isfinite(low).any() and np.isfinite(high).any():
            rows[month] = np.nanmean(low), np.nanmean(high), np.nanmin(low), np.nanmax(high)
    return rows


def weather_data(study: Study) -> dict[str, Any]:
    """The record at a glance as data; months January first."""
    data: dict[str, Any] = {
        "answer": weather_words(study.record, study.winters),
        "findings": findings_data(study.findings),
    }
    if study.record is None or study.winters is None:
        return data
    rows = [[round(v, 2) if np.isfinite(v) else None for v in row] for row in monthly(study.record)]
    names = ("mean_tmin_c", "mean_tmax_c", "lowest_c", "highest_c")
    return {
        **data,
        "source": study.record.source,
        "generated": study.record.generated,
        "first": str(study.record.dates[0]),
        "last": str(study.record.dates[-1]),
        "months": [dict(zip(names, map(_plain, row), strict=True)) for row in rows],
        "winters": list(study.winters.harvest_years),
        "left_out": [{"year": year, "why": why} for year, why in study.winters.dropped],
    }


def _plain(value: Any) -> float | None:
    return None if value is None else float(value)
