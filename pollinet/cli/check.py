"""`pollinet check`: the verdict for every limb."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import click

from pollinet.answers.check import Check, check_of
from pollinet.cli.common import (
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_limbs,
    print_lines,
    print_table,
    warmer_option,
    weather_option,
)
from pollinet.language import _, number
from pollinet.network.coverage import LimbCoverage
from pollinet.study import Study
from pollinet.summary.alone import alone_of
from pollinet.summary.limbs import (
    LimbSummary,
    apart_fruits,
    limb_chill,
    limb_summaries,
    spring_shifts,
    young_donors,
)
from pollinet.summary.uncertain_donors import fellings, with_off_years
from pollinet.wording.alone import alone_words, seedless_note
from pollinet.wording.check import (
    LEGEND,
    attention_first,
    hangs_notes,
    limb_cells,
    limb_headings,
    of_ten_note,
    spring_note,
    weak_notes,
)
from pollinet.wording.sentences import (
    donor_rule,
    memory_text,
    names_note,
    straggling_note,
    tenths,
    weather_words,
    young_note,
)
from pollinet.wording.uncertain_donors import felling_notes, off_year_note


@click.command(
    epilog="Example: pollinet check plan.toml. Exit codes: 0 all limbs covered, 1 some limb is "
    "not covered, 2 bad input."
)
@plan_argument
@weather_option
@warmer_option
@click.option(
    "--details", is_flag=True,
    help="Tell also what each variety does without others: which is self-fertile, which gives no "
    "pollen, which may set fruit without seed.",
)  # fmt: skip
@json_option
@csv_option
@in_language
def check(
    plan: Path,
    weather: Path | None,
    warmer: float,
    details: bool,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Say which limb has a viable pollen donor, in how many winters, and why not.

    With --warmer, the exit code is 1 where some limb is uncovered now or then.
    """
    study = opened(plan, weather, as_json=as_json, warmer_c=warmer, tells_names=True)
    outlook = study.warmer(warmer) if warmer and study.winters is not None else None
    limbs = limb_summaries(study)
    told = check_of(study, outlook, limbs=limbs)
    return give(
        told,
        lambda: show_check(study, limbs, told, outlook, details=details),
        as_json=as_json,
        csv=csv,
    )


def show_check(
    study: Study,
    limbs: tuple[LimbSummary, ...],
    told: Check,
    outlook: Study | None = None,
    *,
    details: bool = False,
) -> None:
    """Print the answer, the table and what it rests on; with a warmer outlook, that as well."""
    print_lines([told.answer])
    if told.warmer is not None:
        print_lines([told.warmer.answer])
    print_lines([""])
    later = None if outlook is None else {row.node: row for row in outlook.coverage}
    print_limbs(_headings(outlook), [_cells(limb, study, later) for limb in attention_first(limbs)])
    if details:
        _show_alone(study)
    print_lines(["", *_notes(limbs, study, told.answer)])


def _show_alone(study: Study) -> None:
    """Print what each variety of the limbs does without others, each variety once."""
    varieties = dict.fromkeys(limb.variety for limb in study.plan.limbs)
    found = {variety: alone_of(study, variety) for variety in varieties}
    table = new_table((_("Variety"), {}), (_("Fruit"), {}), (_("Without others"), {"ratio": 1}))
    for variety, alone in found.items():
        table.add_row(variety.name, _(variety.species), alone_words(alone))
    print_lines([""])
    print_table(table)
    print_lines(["", *note] if (note := seedless_note(found.values())) else [])


SHOWN_MEMORY = 3
"""Varieties named for each kind of value that rests on memory; all are in the JSON."""


def _headings(outlook: Study | None) -> tuple[str, ...]:
    warmer = () if outlook is None else (f"{number(outlook.warmer_c, '+g')} °C",)
    *told, donors, why = limb_headings()
    return (*told, *warmer, donors, why)


def _cells(
    limb: LimbSummary, study: Study, later: Mapping[int, LimbCoverage] | None
) -> tuple[str, ...]:
    warmer: tuple[str, ...] = ()
    if later is not None:
        then = None if limb.coverage is None else later.get(limb.coverage.node)
        warmer = ("" if then is None else tenths(then.reliability),)
    *told, donors, why = limb_cells(limb, study.network.nodes)
    return (*told, *warmer, donors, why)


def _notes(limbs: tuple[LimbSummary, ...], study: Study, answer: str) -> list[str]:
    rows = [limb.coverage for limb in limbs if limb.coverage is not None]
    notes = [_(LEGEND)] if rows else []
    notes += hangs_notes(limbs, answer)
    notes += [
        f"{donor_rule(study.plan.aim, apart_fruits(study))} {of_ten_note()}",
        *spring_note(spring_shifts(study)),
        *weak_notes(limbs, study.network.nodes),
        *young_note(young_donors(study, date.today().year)),
        *felling_notes(fellings(study)),
        *off_year_note(with_off_years(study)),
        *straggling_note(limb.short for limb in limb_chill(study)),
        weather_words(study.record, study.winters),
        *names_note(study.findings),
    ]
    memory = sorted({word for limb in limbs for word in limb.memory})
    return [*notes, memory_text(memory, SHOWN_MEMORY)] if memory else notes
