"""`pollinet scions`: which wood to cut or to order."""

from __future__ import annotations

from pathlib import Path

import click

from pollinet.answers.scions import Scions, scions_of
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
    weather_option,
)
from pollinet.cli.donors import source_option
from pollinet.language import _
from pollinet.study import Study
from pollinet.wording.scions import CUTTING, wood_text
from pollinet.wording.sentences import joined, weather_words


@click.command(
    epilog="Example: pollinet scions plan.toml --from catalogue. Exit codes: 0 a list or nothing "
    "needed, 1 some limb cannot be covered, 2 bad input."
)
@plan_argument
@source_option
@weather_option
@json_option
@csv_option
@in_language
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
        print_lines(answer.to_do)
        return
    table = new_table(
        (_("Variety"), {}), (_("Fruit"), {}), (_("Wood"), {}), (_("Sticks"), {"justify": "right"}),
        (_("Carries"), {"ratio": 1}),
    )  # fmt: skip
    for scion in answer.scions:
        wood = scion.how.wood
        table.add_row(
            scion.variety,
            _(scion.species),
            wood_text(scion.at_hand),
            "?" if wood is None else str(wood.sticks),
            joined(scion.carries),
        )
    print_table(table)
    text = _("Not considered: {variety} ({reason}).")
    blocked = [
        text.format(variety=scion.variety.name, reason=scion.blocked)
        for scion in study.plan.scions
        if scion.blocked is not None
    ]
    print_lines([
        "",
        *(f"- {scion.place}" for scion in answer.scions),
        *(f"- {line}" for line in answer.to_do),
        *(f"- {line}" for line in blocked),
        "",
        _(CUTTING),
        *(f"- {caution}" for caution in answer.cautions),
        "",
        weather_words(study.record, study.outlook),
    ])  # fmt: skip
