"""`pollinet check`: the verdict for every limb."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import click

from pollinet.answers.check import check_of
from pollinet.cli.common import (
    csv_option,
    give,
    in_language,
    json_option,
    opened,
    plan_argument,
    print_limbs,
    print_lines,
    warmer_option,
    weather_option,
)
from pollinet.language import _, date_range, number
from pollinet.study import Study
from pollinet.summary.limbs import (
    LimbSummary,
    apart_fruits,
    limb_chill,
    limb_summaries,
    spring_sd_days,
    young_donors,
)
from pollinet.wording.check import (
    ATTENTION,
    LEGEND,
    MARKS,
    against_cell,
    donors_cell,
    garden_answer,
    hangs_notes,
    of_ten_note,
    spring_note,
    weak_notes,
    why_words,
    winters_cell,
)
from pollinet.wording.sentences import (
    donor_rule,
    memory_text,
    outlook_words,
    straggling_note,
    tenths,
    weather_words,
    young_note,
)


@click.command(
    epilog="Example: pollinet check plan.toml. Exit codes: 0 all limbs covered, 1 some limb is "
    "not covered, 2 bad input."
)
@plan_argument
@weather_option
@warmer_option
@json_option
@csv_option
@in_language
def check(plan: Path, weather: Path | None, warmer: float, as_json: bool, csv: Path | None) -> int:
    """Say which limb has a viable pollen donor, in how many winters, and why not.

    With --warmer, the exit code is 1 where some limb is uncovered now or then.
    """
    study = opened(plan, weather, as_json=as_json, warmer_c=warmer)
    outlook = study.warmer(warmer) if warmer and study.winters is not None else None
    return give(
        check_of(study, outlook), lambda: show_check(study, outlook), as_json=as_json, csv=csv
    )


def show_check(study: Study, outlook: Study | None = None) -> None:
    """Print the answer, the table and what it rests on; with a warmer outlook, that as well."""
    limbs = limb_summaries(study)
    answer = garden_answer(study, limbs)
    print_lines([answer])
    if outlook is not None:
        print_lines([outlook_words(outlook.warmer_c) + garden_answer(outlook)])
    print_lines([""])
    print_limbs(_headings(outlook), [_cells(limb, study, outlook) for limb in in_order(limbs)])
    print_lines(["", *_notes(limbs, study, answer)])


SHOWN_MEMORY = 3
"""Varieties named for each kind of value that rests on memory; all are in the JSON."""


def in_order(limbs: Sequence[LimbSummary]) -> list[LimbSummary]:
    """Limbs that need attention first, the others as in the plan."""
    return sorted(limbs, key=lambda x: 2 if x.coverage is None else ATTENTION[x.coverage.verdict])


def _headings(outlook: Study | None) -> tuple[str, ...]:
    warmer = () if outlook is None else (f"{number(outlook.warmer_c, '+g')} °C",)
    return ("", _("Limb"), _("Variety"), _("Usual bloom"), _("Others"), _("Of ten"), *warmer,
            _("Donors"), _("Why"))  # fmt: skip


def _cells(limb: LimbSummary, study: Study, outlook: Study | None) -> tuple[str, ...]:
    nodes, row = study.network.nodes, limb.coverage
    warmer: tuple[str, ...] = ()
    if outlook is not None:
        then = {other.node: other for other in outlook.coverage}
        later = then.get(row.node) if row is not None else None
        warmer = ("" if later is None else tenths(later.reliability),)
    dates = limb.bloom
    return (
        "" if row is None else MARKS[row.verdict],
        limb.node.id,
        # A limb that is called by its variety need not be named twice.
        "" if limb.node.id == limb.node.variety.name else limb.node.variety.name,
        _("not known") if dates is None else date_range(dates.start, dates.end),
        against_cell(limb),
        "" if row is None else winters_cell(row),
        *warmer,
        donors_cell(row, nodes),
        why_words(limb, nodes),
    )


def _notes(limbs: tuple[LimbSummary, ...], study: Study, answer: str) -> list[str]:
    rows = [limb.coverage for limb in limbs if limb.coverage is not None]
    notes = [_(LEGEND)] if rows else []
    notes += hangs_notes(limbs, answer)
    notes += [
        f"{donor_rule(study.plan.aim, apart_fruits(study))} {of_ten_note()}",
        *spring_note(spring_sd_days(study)),
        *weak_notes(limbs, study.network.nodes),
        *young_note(young_donors(study, date.today().year)),
        *straggling_note([limb.enough for limb in limb_chill(study)], study.plan.aim.level),
        weather_words(study.record, study.winters),
    ]
    memory = sorted({word for limb in limbs for word in limb.memory})
    return [*notes, memory_text(memory, SHOWN_MEMORY)] if memory else notes
