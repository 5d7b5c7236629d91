"""`pollinet triploids`: limbs without good pollen, their donors, and the second donor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from pollinet.advice.pollinizer import Choice, choices
from pollinet.advice.triploids import PollenlessLimb, pollenless_limbs
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
from pollinet.cli.donors import donor_data
from pollinet.compatibility.ploidy import ploidy_of, pollen_fault
from pollinet.domain import Node
from pollinet.study import Study
from pollinet.wording.network import MYTH, named, pollen_lines, second_text, triploids_answer
from pollinet.wording.sentences import donor_text, joined, of_ten, weather_words


@click.command(
    epilog="Example: pollinet triploids plan.toml. Exit codes: 0 each triploid, each other limb "
    "without good pollen, and their donors are covered (or there is none), 1 one is not, 2 bad "
    "input."
)
@plan_argument
@weather_option
@json_option
def triploids(plan: Path, weather: Path | None, as_json: bool) -> int:
    """Tell for each triploid limb who serves it, who serves that donor, and what is missing."""
    study = opened(plan, weather, as_json=as_json)
    limbs = pollenless_limbs(study.network, study.coverage, _odd_ones(study))
    helpers = _helpers(study, limbs)
    if as_json:
        print_json(triploids_data(study, limbs, helpers), schema="triploids")
    else:
        show_triploids(study, limbs, helpers)
    return 1 if any(x.second in ("needed", "no-first-donor") for x in limbs) else 0


def _odd_ones(study: Study) -> tuple[int, ...]:
    """Nodes that are triploid, whatever their pollen, and others without good pollen."""
    fruits = study.catalogue.rules.fruits
    nodes = [
        (study.known[node.variety].fertility, fruits[node.variety.species])
        for node in study.network.nodes
    ]
    return tuple(
        i
        for i, (fertility, fruit) in enumerate(nodes)
        if ploidy_of(fertility, fruit) % 2 or pollen_fault(fertility, fruit)
    )


def _givers(study: Study, limbs: Sequence[PollenlessLimb]) -> dict[int, str]:
    """Limbs among them whose pollen is good all the same, with who says so."""
    found = {}
    for node in (limb.coverage.node for limb in limbs):
        variety = study.known[study.network.nodes[node].variety]
        if variety.fertility.pollen_ok is True:
            typed = any(f.property == "pollen_ok" and f.status == "plan" for f in variety.facts)
            found[node] = "plan" if typed else "source"
    return found


def _helpers(study: Study, limbs: Sequence[PollenlessLimb]) -> dict[int, tuple[Choice, ...]]:
    """Scions that would cover each limb that lacks a donor: the first donor's, or its own."""
    lacking = sorted({i for x in limbs if (i := _lacking(x)) is not None})
    if not lacking:
        return {}
    network = study.network_of(study.free_scions())
    candidates = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    return {
        i: tuple(c for c in choices(network, candidates, [i]) if c.closed and c.covers)
        for i in lacking
    }


def _lacking(limb: PollenlessLimb) -> int | None:
    if limb.second == "no-first-donor":
        return limb.coverage.node
    return limb.donor.node if limb.second == "needed" and limb.donor is not None else None


def show_triploids(
    study: Study, limbs: Sequence[PollenlessLimb], helpers: Mapping[int, Sequence[Choice]]
) -> None:
    """Print the answer, one row a limb, and what would help."""
    nodes, givers = study.network.nodes, _givers(study, limbs)
    print_lines([triploids_answer(limbs, nodes, givers), ""])
    if limbs:
        table = new_table(
            ("Limb", {}),
            ("Variety", {}),
            ("Winters", {"no_wrap": True}),
            ("Its donor", {"ratio": 1}),
            ("Who serves that donor", {"ratio": 1}),
            ("A second donor?", {"ratio": 1}),
        )
        for limb in limbs:
            table.add_row(*_cells(limb, nodes))
        print_table(table)
        notes = [*pollen_lines(givers, nodes), *_help_lines(study, helpers)]
        print_lines(["", *notes, *_next_door(limbs, nodes), MYTH])
    print_lines([weather_words(study.record, study.outlook)])


def _cells(limb: PollenlessLimb, nodes: Sequence[Node]) -> tuple[str, ...]:
    row, node = limb.coverage, nodes[limb.coverage.node]
    donor = "none" if limb.donor is None else donor_text(limb.donor, nodes, row.node)
    served = "nobody"
    if limb.donor is not None and nodes[limb.donor.node].kind == "neighbour":
        served = "not this plan's"
    elif limb.donor is not None and limb.servers:
        served = donor_text(limb.servers[0], nodes, limb.donor.node)
    winters = of_ten(row.reliability)
    return (node.id, node.variety.name, winters, donor, served, second_text(limb, nodes))


def _help_lines(study: Study, helpers: Mapping[int, Sequence[Choice]]) -> list[str]:
    nodes, scions = study.network.nodes, study.nodes(study.free_scions())
    lines = []
    for limb in helpers:
        names = joined(_names(scions, helpers, limb), "or")
        advice = f"graft {names}" if names else "no scion at hand covers it alone (see `cover`)"
        lines.append(f"For {named(nodes[limb])}: {advice}.")
    return lines


def _next_door(limbs: Sequence[PollenlessLimb], nodes: Sequence[Node]) -> list[str]:
    """A tree next door may be felled: how to see the plan without it."""
    trees = sorted({nodes[x.donor.node].id for x in limbs
                    if x.donor is not None and x.second == "neighbours-tree"})  # fmt: skip
    return [f"If {tree} is felled: see `pollinet without PLAN {tree}`." for tree in trees]


def _names(
    scions: Sequence[Node], helpers: Mapping[int, Sequence[Choice]], limb: int | None
) -> list[str]:
    found = () if limb is None else helpers[limb]
    return [scions[choice.node].variety.name for choice in found]


def triploids_data(
    study: Study, limbs: Sequence[PollenlessLimb], helpers: Mapping[int, Sequence[Choice]]
) -> dict[str, Any]:
    """The answer as data, limbs in the order of the plan."""
    nodes, scions = study.network.nodes, study.nodes(study.free_scions())
    givers = _givers(study, limbs)
    return {
        "answer": triploids_answer(limbs, nodes, givers),
        "limbs": [
            {
                "id": nodes[x.coverage.node].id,
                "variety": nodes[x.coverage.node].variety.name,
                "covered": x.coverage.covered,
                "reliability": x.coverage.reliability,
                "good_pollen_by": givers.get(x.coverage.node),
                "donor": None if x.donor is None else donor_data(x.donor, nodes),
                "donor_served_by": [donor_data(server, nodes) for server in x.servers],
                "second_donor": x.second,
                "second_donor_needed": x.second == "needed",
                "why": second_text(x, nodes),
                "would_help": _names(scions, helpers, _lacking(x)),
            }
            for x in limbs
        ],
        "findings": findings_data(study.findings),
    }
