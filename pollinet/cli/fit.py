"""`pollinet fit`: what the grower's own bloom dates changed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from pollinet.answers.fit import fit_of
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
from pollinet.days import calendar_day_of_year, short_date
from pollinet.study import Study
from pollinet.summary.fitting import (
    FitRow,
    fit_rows,
    site_offsets,
    variety_fits,
    variety_labels,
)
from pollinet.wording.sentences import count, fit_answer, site_offset_text, weather_words


@click.command(
    epilog="Example: pollinet fit plan.toml, after some `pollinet record plan.toml LIMB --stage "
    "full --date 2026-04-12`. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@weather_option
@json_option
@csv_option
def fit(plan: Path, weather: Path | None, as_json: bool, csv: Path | None) -> int:
    """Compare own bloom dates with the forecast, without them and with those of other years.

    Each year is forecast from the notes of all other years only, so the errors are those of
    forecasts, not of a fit.
    """
    study = opened(plan, weather, as_json=as_json)
    rows = fit_rows(study)
    answer = fit_of(study, rows)
    return give(answer, lambda: show_fit(study, rows), as_json=as_json, csv=csv)


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
    labels = variety_labels(rows)
    for row in rows:
        table.add_row(labels[row.record.variety], *_cells(row))
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
    return (spring, row.record.stage, noted, before, after, f"{low} – {high}", off)


def _notes(study: Study, rows: Sequence[FitRow]) -> list[str]:
    notes = [
        f"{one.label}: {count(one.notes, 'note')}, root mean square error "
        f"{one.before:.1f} days without notes, {one.after:.1f} days with those of other years."
        for one in variety_fits(rows)
    ]
    notes += map(site_offset_text, site_offsets(study))
    notes.append("Off by: forecast minus note; + is too late.")
    if not all(row.from_weather for row in rows):
        notes.append("(usual date): that winter is not in the weather record.")
    return [*notes, weather_words(study.record, study.winters)]
