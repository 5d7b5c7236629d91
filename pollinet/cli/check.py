"""`pollinet check`: the verdict for every limb."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pollinet.answers.check import check_of
from pollinet.cli.common import (
    csv_option,
    give,
    in_language,
    json_option,
    new_table,
    opened,
    plan_argument,
    print_lines,
    print_table,
    warmer_option,
    weather_option,
)
from pollinet.language import _, number
from pollinet.study import Study
from pollinet.summary.limbs import (
    LimbSummary,
    apart_fruits,
    limb_chill,
    limb_summaries,
    young_donors,
)
from pollinet.wording.sentences import (
    WEAK,
    best_donor,
    bloom_text,
    check_answer,
    donor_rule,
    memory_text,
    of_ten,
    outlook_words,
    straggling_note,
    weak_text,
    weather_words,
    why_text,
    young_note,
)

if TYPE_CHECKING:
    from rich.table import Table


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
    limbs, aim = limb_summaries(study), study.plan.aim
    level, donors = aim.level, aim.donors
    print_lines([check_answer(study.coverage, level, donors)])
    if outlook is not None:
        then = check_answer(outlook.coverage, level, donors)
        print_lines([outlook_words(outlook.warmer_c) + then])
    print_lines([""])
    print_table(_table(limbs, study, outlook))
    print_lines(["", *_notes(limbs, study)])


def _table(limbs: tuple[LimbSummary, ...], study: Study, outlook: Study | None) -> Table:
    then = {} if outlook is None else {limb.node: limb for limb in outlook.coverage}
    warmer: list[tuple[str, dict[str, Any]]] = []
    if outlook is not None:
        warmer = [(f"{number(outlook.warmer_c, '+g')} °C", {"no_wrap": True})]
    table = new_table(
        (_("Limb"), {}),
        (_("Variety"), {}),
        (_("Usual bloom ± days"), {"no_wrap": True}),
        (_("Winters"), {"no_wrap": True}),
        *warmer,
        (_("Best donor"), {"ratio": 1}),
        (_("If not covered, why"), {"ratio": 1}),
    )
    for limb in limbs:
        cells = _cells(limb, study)
        if outlook is not None:
            later = then.get(limb.coverage.node) if limb.coverage is not None else None
            cells = (*cells[:4], "" if later is None else of_ten(later.reliability), *cells[4:])
        table.add_row(*cells)
    return table


def _cells(limb: LimbSummary, study: Study) -> tuple[str, ...]:
    nodes, coverage = study.network.nodes, limb.coverage
    name, dates = limb.node.variety.name, bloom_text(limb.bloom)
    if coverage is None:
        return (limb.node.id, name, dates, "", _("need not crop"), "")
    donor = best_donor(coverage, nodes)
    weak = "\n" + weak_text(coverage) if coverage.weak_by else ""
    why = "" if coverage.covered else why_text(coverage, study.network.nodes)
    return (limb.node.id, name, dates, of_ten(coverage.reliability) + weak, donor, why)


def _notes(limbs: tuple[LimbSummary, ...], study: Study) -> list[str]:
    notes = [
        weather_words(study.record, study.winters),
        _("±: standard deviation of full bloom, over winters and over what is not known."),
        donor_rule(study.plan.aim, apart_fruits(study)),
    ]
    donors = [limb.coverage.donors[0] for limb in limbs if limb.coverage and limb.coverage.donors]
    if any(donor.verdict.answer == "half" for donor in donors):
        notes.append(_("Half: the style accepts half of that donor's pollen, the other half not."))
    if any(limb.coverage is not None and limb.coverage.strength == "weak" for limb in limbs):
        notes.append(_(WEAK))
    notes += young_note(young_donors(study, date.today().year))
    notes += straggling_note([limb.enough for limb in limb_chill(study)], study.plan.aim.level)
    memory = sorted({word for limb in limbs for word in limb.memory})
    if memory:
        notes.append(memory_text(memory))
    return notes
