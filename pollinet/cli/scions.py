"""`pollinet scions`: which wood to cut or to order."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.answers.scions import Scions, scions_of
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
from pollinet.cli.donors import source_option
from pollinet.study import Study
from pollinet.wording.scions import CUTTING, wood_text
from pollinet.wording.sentences import joined


@click.command(
    epilog="Example: pollinet scions plan.toml --from catalogue. Exit codes: 0 a list or nothing "
    "needed, 1 some limb cannot be covered, 2 bad input."
)
@plan_argument
@source_option
@weather_option
@json_option
@csv_option
def scions(plan: Path, source: str, weather: Path | None, as_json: bool, csv: Path | None) -> int:
    """List the wood to cut or to order for the smallest set, with what to mind."""
    study = opened(plan, weather, as_json=as_json)
    network, cover = study.cover(from_catalogue=source == "catalogue")
    answer = scions_of(study, network, cover)
    return give(answer, lambda: show_scions(study, answer), as_json=as_json, csv=csv)


def show_scions(study: Study, answer: Scions) -> None:
    """Print the list, why, and what to mind."""
    print_lines([answer.answer, answer.why, ""])
    if not answer.scions:
        return
    table = new_table(
        ("Variety", {}), ("Fruit", {}), ("Wood", {}), ("Graft on", {}), ("Carries", {"ratio": 1})
    )
    for scion in answer.scions:
        table.add_row(
            scion.variety,
            scion.species,
            wood_text(scion.at_hand),
            joined(scion.graft_on, "or"),
            joined(scion.carries),
        )
    print_table(table)
    blocked = [scion for scion in study.plan.scions if scion.blocked is not None]
    print_lines(["", *(f"Not considered: {s.variety.name} ({s.blocked})." for s in blocked)])
    print_lines([CUTTING, *(f"- {caution}" for caution in answer.cautions)])
