"""`pollinet fit`: what the grower's own bloom dates changed."""

from __future__ import annotations

from collections.abc import Sequence
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
from pollinet.days import calendar_day_of_year, short_date
from pollinet.study import Study
from pollinet.summary.fitting import FitRow, fit_rows, rmse
from pollinet.wording.sentences import count, fit_answer, weather_words


@click.command(
    epilog="Example: pollinet fit plan.toml, after some `pollinet record plan.toml LIMB --stage "
    "full --date 2026-04-12`. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@weather_option
@json_option
def fit(plan: Path, weather: Path | None, as_json: bool) -> int:
    """Compare own bloom dates with the forecast, without them and with those of other years.

    Each year is forecast from the notes of all other years only, so the errors are those of
    forecasts, not of a fit.
    """
    study = opened(plan, weather, as_json=as_json)
    rows = fit_rows(study)
    if as_json:
        print_json(fit_data(study, rows), schema="fit")
    else:
        show_fit(study, rows)
    return 0


def show_fit(study: Study, rows: Sequence[FitRow]) -> None:
    """Print the answer, a row a note, and the errors by variety."""
    print_lines([fit_answer(rows)])
    if not rows:
        return
    print_lines([""])
    table = new_table(
        ("Variety", {}),
        ("Spring", {}),
        ("Stage", {}),
        ("Noted", {"no_wrap": True}),
        ("Without notes", {"no_wrap": True}),
        ("With other years", {"no_wrap": True}),
        ("8 draws in 10", {"no_wrap": True}),
        ("Off by", {"justify": "right"}),
    )
    for row in rows:
        table.add_row(*_cells(row))
    print_table(table)
    print_lines(["", *_notes(study, rows)])


def _cells(row: FitRow) -> tuple[str, ...]:
    # The end is exclusive: the last day in bloom is the one that holds the moment before.
    back = 1e-3 if row.record.stage == "end" else 0.0
    noted, before, after, low, high = (
        short_date(calendar_day_of_year(row.start, 24 * (day - back)))
        for day in (row.noted, row.before, row.after, row.low, row.high)
    )
    spring = f"{row.record.harvest_year}{'' if row.from_weather else ' (usual date)'}"
    off = f"{row.after - row.noted:+.0f} d"
    name = row.record.variety.name
    return (name, spring, row.record.stage, noted, before, after, f"{low} – {high}", off)


def _notes(study: Study, rows: Sequence[FitRow]) -> list[str]:
    notes = [
        f"{name}: {count(len(mine), 'note')}, root mean square error "
        f"{rmse(_misses(mine, 'before')):.1f} days without notes, "
        f"{rmse(_misses(mine, 'after')):.1f} days with those of other years."
        for name, mine in _by_variety(rows).items()
    ]
    notes.append("Off by: forecast minus note; + is too late.")
    if not all(row.from_weather for row in rows):
        notes.append("(usual date): that winter is not in the weather record.")
    return [*notes, weather_words(study.record, study.winters)]


def _by_variety(rows: Sequence[FitRow]) -> dict[str, list[FitRow]]:
    groups: dict[str, list[FitRow]] = {}
    for row in rows:
        groups.setdefault(row.record.variety.name, []).append(row)
    return dict(sorted(groups.items()))


def _misses(rows: Sequence[FitRow], forecast: str) -> np.ndarray:
    return np.array([getattr(row, forecast) - row.noted for row in rows])


def fit_data(study: Study, rows: Sequence[FitRow]) -> dict[str, Any]:
    """The comparison as data; errors in days, forecast minus note."""
    return {
        "answer": fit_answer(rows),
        "notes": [
            {
                "variety": row.record.variety.name,
                "species": row.record.variety.species,
                "year": row.record.harvest_year,
                "stage": row.record.stage,
                "error_without_notes": round(row.before - row.noted, 2),
                "error_with_other_years": round(row.after - row.noted, 2),
                "inside_8_in_10": bool(row.low <= row.noted <= row.high),
                "winter_in_record": row.from_weather,
            }
            for row in rows
        ],
        "varieties": {
            name: {
                "notes": len(mine),
                "rmse_without_notes": round(rmse(_misses(mine, "before")), 2),
                "rmse_with_other_years": round(rmse(_misses(mine, "after")), 2),
            }
            for name, mine in _by_variety(rows).items()
        },
        "findings": findings_data(study.findings),
    }
