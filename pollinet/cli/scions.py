"""`pollinet scions`: which wood to cut or to order."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

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
from pollinet.cli.donors import source_option
from pollinet.domain import Node
from pollinet.network.cover import Cover
from pollinet.report.scions import CUTTING, ScionWanted, cautions, scions_answer, scions_wanted
from pollinet.study import Study
from pollinet.wording.sentences import cover_answer, joined


@click.command(
    epilog="Example: pollinet scions plan.toml --from catalogue. Exit codes: 0 a list or nothing "
    "needed, 1 some limb cannot be covered, 2 bad input."
)
@plan_argument
@source_option
@weather_option
@json_option
def scions(plan: Path, source: str, weather: Path | None, as_json: bool) -> int:
    """List the wood to cut or to order for the smallest set, with what to mind."""
    study = opened(plan, weather, as_json=as_json)
    network, cover = study.cover(from_catalogue=source == "catalogue")
    wanted = scions_wanted(study, network, cover)
    if as_json:
        print_json(_data(study, network.nodes, cover, wanted), schema="scions")
    else:
        _show(study, network.nodes, cover, wanted)
    return 1 if cover.uncovered else 0


def _show(
    study: Study, nodes: tuple[Node, ...], cover: Cover, wanted: tuple[ScionWanted, ...]
) -> None:
    answer = cover_answer(cover, nodes, study.plan.aim.level)
    print_lines([scions_answer(wanted, cover), answer, ""])
    if not wanted:
        return
    table = new_table(
        ("Variety", {}), ("Fruit", {}), ("Wood", {}), ("Graft on", {}), ("Carries", {"ratio": 1})
    )
    for scion in wanted:
        table.add_row(
            scion.variety.name,
            scion.variety.species,
            scion.source,
            joined(scion.trees, "or"),
            joined(scion.serves),
        )
    print_table(table)
    blocked = [scion for scion in study.plan.scions if scion.blocked is not None]
    print_lines(["", *(f"Not considered: {s.variety.name} ({s.blocked})." for s in blocked)])
    print_lines([CUTTING, *(f"- {caution}" for caution in cautions())])


def _data(
    study: Study, nodes: tuple[Node, ...], cover: Cover, wanted: tuple[ScionWanted, ...]
) -> dict[str, Any]:
    return {
        "answer": scions_answer(wanted, cover),
        "why": cover_answer(cover, nodes, study.plan.aim.level),
        "scions": [
            {
                "variety": scion.variety.name,
                "species": scion.variety.species,
                "at_hand": scion.at_hand,
                "graft_on": list(scion.trees),
                "carries": list(scion.serves),
            }
            for scion in wanted
        ],
        "cautions": list(cautions()),
        "findings": findings_data(study.findings),
    }
