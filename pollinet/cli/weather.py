"""`pollinet weather`: the weather record at a glance."""

from __future__ import annotations

from pathlib import Path

import click
import numpy as np

from pollinet.answers.weather import monthly_c, weather_of
from pollinet.cli.common import (
    csv_option,
    give,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_lines,
    print_table,
    weather_option,
)
from pollinet.days import MONTHS
from pollinet.study import Study
from pollinet.wording.sentences import count, weather_words


@click.command(epilog="Example: pollinet weather plan.toml. Exit codes: 0 an answer, 2 bad input.")
@plan_argument
@weather_option
@json_option
@csv_option
def weather(plan: Path, weather: Path | None, as_json: bool, csv: Path | None) -> int:
    """Show the weather record of a plan: years, winters used and left out, monthly means."""
    study = opened(plan, weather, as_json=as_json)
    return give(weather_of(study), lambda: show_weather(study), as_json=as_json, csv=csv)


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
    for month, row in zip(MONTHS, monthly_c(study.record), strict=True):
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
