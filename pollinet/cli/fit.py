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
from pollinet.study import Study
from pollinet.summary.fitting import FitRow, fit_rows, site_offsets, variety_fits
from pollinet.wording.fitting import fit_answer, fit_words, site_offset_text, variety_fit_text
from pollinet.wording.sentences import weather_words


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
    for row, told in zip(rows, fit_words(rows), strict=True):
        off = f"{row.after - row.noted:+.0f} d"
        learnt = f"{told.low} – {told.high}"
        table.add_row(told.variety, told.spring, row.record.stage, told.noted, told.before,
                      told.after, learnt, off)  # fmt: skip
    print_table(table)
    print_lines(["", *_notes(study, rows)])


def _notes(study: Study, rows: Sequence[FitRow]) -> list[str]:
    notes = [variety_fit_text(one) for one in variety_fits(rows)]
    notes += map(site_offset_text, site_offsets(study))
    notes.append("Off by: forecast minus note; + is too late.")
    if not all(row.from_weather for row in rows):
        notes.append("(usual date): that winter is not in the weather record.")
    return [*notes, weather_words(study.record, study.winters)]
