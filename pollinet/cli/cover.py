"""`pollinet cover`: the smallest set of varieties to graft."""

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
from pollinet.domain import NetworkInput
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.viability import present_of
from pollinet.study import Study
from pollinet.wording import (
    cover_answer,
    donor_text,
    joined,
    miss_text,
    of_ten,
    proof_text,
    weather_words,
)

SHOWN_SETS = 10
"""Alternative sets shown in the text; all that were listed are in the JSON."""


@click.command(
    epilog="Example: pollinet cover plan.toml --from catalogue. Exit codes: 0 a smallest set or "
    "nothing to add, 1 some limb cannot be covered, 2 bad input."
)
@plan_argument
@click.option(
    "--from",
    "source",
    type=click.Choice(["scions", "catalogue"]),
    default="scions",
    show_default=True,
    help="Choose among the plan's scions, or among all catalogue varieties as well.",
)
@weather_option
@json_option
def cover(plan: Path, source: str, weather: Path | None, as_json: bool) -> int:
    """Find the smallest set of varieties to graft so that every limb has a viable donor.

    The set is closed: a variety that is added has a donor too. The search is exact.
    """
    study = opened(plan, weather, as_json=as_json)
    network, answer = study.cover(from_catalogue=source == "catalogue")
    if as_json:
        print_json(cover_data(study, network, answer))
    else:
        show_cover(study, network, answer)
    return 1 if answer.uncovered else 0


def show_cover(study: Study, network: NetworkInput, answer: Cover) -> None:
    """Print the answer, what it changes limb by limb, the other sets and the proof."""
    nodes, before = network.nodes, {limb.node: limb for limb in study.coverage}
    print_lines([cover_answer(answer, nodes, study.plan.aim.level), ""])
    if answer.status != "nothing to add":
        table = new_table(
            ("Limb", {}),
            ("Variety", {}),
            ("Now", {"no_wrap": True}),
            ("Then", {"no_wrap": True}),
            ("Best donor then", {"ratio": 1}),
        )
        for limb in _after(network, answer):
            table.add_row(*_cells(limb, network, before.get(limb.node)))
        print_table(table)
        print_lines([""])
    print_lines(_notes(study, network, answer))


def _after(network: NetworkInput, answer: Cover) -> tuple[LimbCoverage, ...]:
    chosen = answer.added or answer.partial
    return limb_coverage(network, (*present_of(network), *chosen))


def _cells(
    limb: LimbCoverage, network: NetworkInput, before: LimbCoverage | None
) -> tuple[str, ...]:
    node = network.nodes[limb.node]
    name = "new" if node.kind == "candidate" else node.id
    now = "" if before is None else of_ten(before.reliability)
    donor = donor_text(limb.donors[0], network.nodes, limb.node) if limb.donors else "none"
    return (name, node.variety.name, now, of_ten(limb.reliability), donor)


def _notes(study: Study, network: NetworkInput, answer: Cover) -> list[str]:
    nodes = network.nodes
    notes = [f"- {miss_text(miss, nodes)}" for miss in answer.uncovered]
    others = answer.alternatives[1 : SHOWN_SETS + 1]
    if others:
        listed = "; ".join(joined([nodes[i].variety.name for i in chosen]) for chosen in others)
        more = len(answer.alternatives) - 1 - len(others)
        further = f"; and {more} more" if more else "" if answer.all_listed else "; and others"
        notes.append(f"Equally small: {listed}{further}.")
    notes += [
        f"Not considered: {scion.variety.name} ({scion.blocked})."
        for scion in study.plan.scions
        if scion.blocked is not None
    ]
    notes.append(proof_text(answer, len(nodes)))
    notes.append(weather_words(study.record, study.winters))
    return notes


def cover_data(study: Study, network: NetworkInput, answer: Cover) -> dict[str, Any]:
    """The answer as data; varieties by name, each list in the order of the plan."""
    nodes = network.nodes

    def names(chosen: tuple[int, ...]) -> list[str]:
        return [nodes[i].variety.name for i in chosen]

    return {
        "answer": cover_answer(answer, nodes, study.plan.aim.level),
        "status": answer.status,
        "added": names(answer.added),
        "alternatives": [names(chosen) for chosen in answer.alternatives],
        "all_alternatives_listed": answer.all_listed,
        "partial": names(answer.partial),
        "reliability": answer.reliability,
        "uncovered": [
            {
                "limb": nodes[miss.node].id,
                "code": miss.code,
                "reason": miss_text(miss, nodes),
                "nearest_miss": None
                if miss.donor is None
                else {
                    "variety": nodes[miss.donor].variety.name,
                    "days": miss.days,
                    "overlap_days": miss.overlap_days,
                    "reliability": miss.reliability,
                },
                "reachable": miss.reachable,
            }
            for miss in answer.uncovered
        ],
        "blocked": [
            {"variety": scion.variety.name, "why": scion.blocked}
            for scion in study.plan.scions
            if scion.blocked is not None
        ],
        "proof": {
            "solver": answer.proof.solver,
            "method": answer.proof.method,
            "status": answer.proof.status,
            "bound": answer.proof.bound,
            "gap": answer.proof.gap,
            "sizes": dict(answer.proof.sizes),
        },
        "findings": findings_data(study.findings),
    }
