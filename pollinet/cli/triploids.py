"""`pollinet triploids`: limbs without good pollen, their donors, and the second donor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import click

from pollinet.advice.pollinizer import Choice
from pollinet.advice.triploids import PollenlessLimb
from pollinet.answers.triploids import (
    TriploidsFound,
    helping,
    look_at_triploids,
    triploids_of,
)
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
from pollinet.domain import Node
from pollinet.language import _, pgettext
from pollinet.study import Study
from pollinet.wording.check import marked_winters, marks_note
from pollinet.wording.network import (
    MYTH,
    named,
    other_donor_lines,
    pollen_lines,
    second_text,
    triploids_answer,
)
from pollinet.wording.sentences import donor_text, joined, weather_words


@click.command(
    epilog="Example: pollinet triploids plan.toml. Exit codes: 0 each triploid, each other limb "
    "without good pollen, and their donors are covered (or there is none), 1 one is not, 2 bad "
    "input."
)
@plan_argument
@weather_option
@json_option
@csv_option
@in_language
def triploids(plan: Path, weather: Path | None, as_json: bool, csv: Path | None) -> int:
    """Tell for each triploid limb who serves it, who serves that donor, and what is missing."""
    study = opened(plan, weather, as_json=as_json)
    found = look_at_triploids(study)
    answer = triploids_of(study, found)
    return give(answer, lambda: show_triploids(study, found), as_json=as_json, csv=csv)


def show_triploids(study: Study, found: TriploidsFound) -> None:
    """Print the answer, one row a limb, and what would help."""
    nodes, givers, limbs = study.network.nodes, found.givers, found.limbs
    print_lines([triploids_answer(limbs, nodes, givers), ""])
    if limbs:
        table = new_table(
            (_("Limb"), {}),
            (_("Variety"), {}),
            (_("Winters"), {"no_wrap": True}),
            (_("Its donor"), {"ratio": 1}),
            (_("Who serves that donor"), {"ratio": 1}),
            (_("A second donor?"), {"ratio": 1}),
        )
        for limb in limbs:
            table.add_row(*_cells(limb, nodes))
        print_table(table)
        others = other_donor_lines(limbs, nodes)
        notes = [*others, *pollen_lines(givers, nodes), *_help_lines(study, found.helpers)]
        print_lines(["", marks_note(table.cells), *notes, *_next_door(limbs, nodes), _(MYTH)])
    print_lines([weather_words(study.record, study.outlook)])


def _cells(limb: PollenlessLimb, nodes: Sequence[Node]) -> tuple[str, ...]:
    row, node = limb.coverage, nodes[limb.coverage.node]
    none = pgettext("donor", "none")
    donor = none if limb.donor is None else donor_text(limb.donor, nodes, row.node)
    served = _("nobody")
    if limb.donor is not None and nodes[limb.donor.node].kind == "neighbour":
        served = _("not this plan's")
    elif limb.donor is not None and limb.servers:
        served = donor_text(limb.servers[0], nodes, limb.donor.node)
    winters = marked_winters(row)
    return (node.id, node.variety.name, winters, donor, served, second_text(limb, nodes))


def _help_lines(study: Study, helpers: Mapping[int, Sequence[Choice]]) -> list[str]:
    nodes, scions = study.network.nodes, study.nodes(study.free_scions())
    lines = []
    for limb in helpers:
        names = joined(helping(scions, helpers, limb), "or")
        text = (
            _("For {limb}: graft {names}.")
            if names
            else _("For {limb}: no scion at hand covers it alone (see `pollinet cover`).")
        )
        lines.append(text.format(limb=named(nodes[limb]), names=names))
    return lines


def _next_door(limbs: Sequence[PollenlessLimb], nodes: Sequence[Node]) -> list[str]:
    """A tree next door may be felled: how to see the plan without it."""
    trees = sorted({nodes[x.donor.node].id for x in limbs
                    if x.donor is not None and x.second == "neighbours-tree"})  # fmt: skip
    text = _("If {tree} is felled: see `pollinet without PLAN {tree}`.")
    return [text.format(tree=tree) for tree in trees]
