"""`pollinet donors`: all donors of one limb, present and possible."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from pollinet.cli.common import (
    findings_data,
    json_option,
    new_table,
    opened,
    plan_argument,
    plan_ids,
    print_json,
    print_lines,
    print_table,
    weather_option,
)
from pollinet.cli.places import limb_named
from pollinet.domain import NetworkInput, Node
from pollinet.network.coverage import DonorShare, LimbCoverage, Refusal, limb_coverage
from pollinet.network.nearest_miss import nearness
from pollinet.study import Study
from pollinet.wording.network import donors_answer, overlap_text, place_text
from pollinet.wording.sentences import of_ten, refusal_words, weather_words
from pollinet.wording.verdicts import share_words, verdict_sentence

SHOWN = 15
"""Donors and refused varieties shown in the text, beside all that stand or are at hand; all of
them are in the JSON."""

source_option = click.option(
    "--from",
    "source",
    type=click.Choice(["scions", "catalogue"]),
    default="scions",
    show_default=True,
    help="Look among the plan's scions, or among all catalogue varieties as well.",
)


@click.command(
    epilog="Example: pollinet donors plan.toml C-mid --from catalogue. Exit codes: 0 the limb is "
    "covered or need not crop, 1 it is not covered, 2 bad input."
)
@plan_argument
@click.argument("limb", shell_complete=plan_ids)
@source_option
@weather_option
@json_option
def donors(plan: Path, limb: str, source: str, weather: Path | None, as_json: bool) -> int:
    """List all donors of LIMB, in the garden and to be grafted, and why the others are none."""
    study = opened(plan, weather, as_json=as_json)
    receiver = limb_named(study, limb, as_json=as_json)
    scions = study.free_scions(from_catalogue=source == "catalogue")
    network = asked(study.network_of(scions), receiver)
    here = [i for i, node in enumerate(network.nodes) if node.kind != "candidate"]
    (now,) = limb_coverage(network, here, only=(receiver,))
    (row,) = limb_coverage(network, range(len(network.nodes)), only=(receiver,))
    if as_json:
        print_json(donors_data(study, network, now, row), schema="donors")
    else:
        show_donors(study, network, now, row)
    return 0 if now.covered or not study.nodes()[receiver].must_crop else 1


def asked(network: NetworkInput, receiver: int) -> NetworkInput:
    """The network with one limb as the only receiver, also where it need not crop."""
    nodes = list(network.nodes)
    nodes[receiver] = replace(nodes[receiver], must_crop=True)
    found = {donor: network.verdicts.get((donor, receiver)) for donor in range(len(nodes))}
    verdicts = {(donor, receiver): v for donor, v in found.items() if v is not None}
    return replace(network, nodes=tuple(nodes), verdicts=verdicts)


def show_donors(study: Study, network: NetworkInput, now: LimbCoverage, row: LimbCoverage) -> None:
    """Print the answer, the donors and the refused."""
    nodes, level = network.nodes, network.aim.level
    print_lines([donors_answer(nodes[row.node], row, nodes, level), ""])
    if row.donors:
        table = new_table(
            ("Donor", {}),
            ("Where", {}),
            ("Winters", {"no_wrap": True}),
            ("Days together", {"no_wrap": True}),
            ("Effective", {"no_wrap": True, "justify": "right"}),
            ("Pollen", {"no_wrap": True}),
            ("Why", {"ratio": 1}),
        )
        for donor in _shown(study, row, nodes):
            table.add_row(*_cells(donor, study, nodes, row.node))
        print_table(table)
        print_lines([""])
    print_lines([*_refused_lines(study, row, nodes), *_notes(study, row, nodes)])


def _shown(study: Study, row: LimbCoverage, nodes: Sequence[Node]) -> list[DonorShare]:
    return [
        donor
        for rank, donor in enumerate(row.donors)
        if rank < SHOWN or place_text(nodes[donor.node], study.plan) != "catalogue"
    ]


def _cells(
    donor: DonorShare, study: Study, nodes: Sequence[Node], receiver: int
) -> tuple[str, ...]:
    node = nodes[donor.node]
    return (
        "itself" if donor.node == receiver else node.variety.name,
        place_text(node, study.plan),
        of_ten(donor.reliability),
        overlap_text(donor),
        f"{donor.effective_days:.1f}",
        share_words(donor.compatible_fraction),
        verdict_sentence(donor.verdict),
    )


def _refused(row: LimbCoverage, nodes: Sequence[Node]) -> list[Refusal]:
    """Refused nodes of the same or a crossing fruit, what stands first, the nearest first."""
    others = [
        r
        for r in row.refusals
        if r.node != row.node
        and r.verdict is not None
        and (r.code == "same-variety" or r.verdict.code != "other-fruit")
    ]
    return sorted(others, key=lambda r: (nodes[r.node].kind == "candidate", *nearness(r)))


def _refused_lines(study: Study, row: LimbCoverage, nodes: Sequence[Node]) -> list[str]:
    refused = _refused(row, nodes)
    if not refused:
        return []
    lines = ["No donors:"]
    lines += [
        f"- {nodes[r.node].variety.name} ({place_text(nodes[r.node], study.plan)}): "
        f"{refusal_words(r, nodes)}"
        for r in refused[:SHOWN]
    ]
    more = len(refused) - SHOWN
    return [*lines, f"- and {more} more (all with --json)"] if more > 0 else lines


def _notes(study: Study, row: LimbCoverage, nodes: Sequence[Node]) -> list[str]:
    notes = [""] if _refused(row, nodes) else []
    hidden = len(row.donors) - len(_shown(study, row, nodes))
    if hidden:
        notes.append(f"{hidden} more donors from the catalogue are in the JSON (--json).")
    return [
        *notes,
        "Days together: mean over winters (least–most). Effective: these days times accepted "
        "pollen, distance, bee weather and chill.",
        weather_words(study.record, study.outlook),
    ]


def donors_data(
    study: Study, network: NetworkInput, now: LimbCoverage, row: LimbCoverage
) -> dict[str, Any]:
    """The answer as data, donors best first."""
    nodes = network.nodes
    return {
        "answer": donors_answer(nodes[row.node], row, nodes, network.aim.level),
        "limb": nodes[row.node].id,
        "variety": nodes[row.node].variety.name,
        "covered": now.covered,
        "reliability": now.reliability,
        "donors": [donor_data(donor, nodes) for donor in row.donors],
        "refused": [
            {
                **node_data(nodes[r.node]),
                "code": r.code,
                "reason": refusal_words(r, nodes),
                "shift_days": None if r.days is None else round(r.days, 3),
                "overlap_days": round(r.overlap_days, 3),
                "reliability_if_unknown_pollen_works": r.possible,
            }
            for r in _refused(row, nodes)
        ],
        "findings": findings_data(study.findings),
    }


def node_data(node: Node) -> dict[str, Any]:
    """Which node it is."""
    return {
        "id": node.id,
        "kind": node.kind,
        "variety": node.variety.name,
        "species": node.variety.species,
    }


def donor_data(donor: DonorShare, nodes: Sequence[Node]) -> dict[str, Any]:
    """One donor with its figures."""
    return {
        **node_data(nodes[donor.node]),
        "reliability": donor.reliability,
        "overlap_days": round(donor.overlap_days, 3),
        "overlap_least_days": round(donor.overlap_least_days, 3),
        "overlap_most_days": round(donor.overlap_most_days, 3),
        "effective_days": round(donor.effective_days, 3),
        "compatible_fraction": donor.compatible_fraction,
        "why": verdict_sentence(donor.verdict),
    }
