"""`pollinet without`: what the loss of limbs or neighbours' trees does, and what to add then."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from pollinet.answers.without import (
    After,
    every_loss,
    groups_of,
    loss_of,
    without_each_of,
    without_of,
)
from pollinet.cli.common import (
    TextTable,
    csv_option,
    give,
    json_option,
    new_table,
    opened,
    plan_argument,
    plan_ids,
    print_lines,
    print_table,
    weather_option,
)
from pollinet.cli.donors import source_option
from pollinet.cli.places import places_named
from pollinet.domain import NetworkInput
from pollinet.network.coverage import LimbCoverage
from pollinet.network.resilience import Loss
from pollinet.study import Study
from pollinet.summary.limbs import redundancy
from pollinet.wording.check import marked_winters, marks_note
from pollinet.wording.cover import equally_small
from pollinet.wording.network import losses_answer, named, without_answer
from pollinet.wording.sentences import count, donor_text, first_of, joined, tenths, weather_words


@click.command(
    epilog="Example: pollinet without plan.toml neighbour-1. Exit codes: 0 every limb is covered "
    "(with names: also after the loss), 1 some limb is not, 2 bad input."
)
@plan_argument
@click.argument("names", nargs=-1, metavar="[LIMB_OR_NEIGHBOUR]...", shell_complete=plan_ids)
@source_option
@weather_option
@json_option
@csv_option
def without(
    plan: Path,
    names: tuple[str, ...],
    source: str,
    weather: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Show the plan after a loss, or with no name the loss of each limb and neighbour in turn.

    A tree's id stands for all its limbs. After a loss: who falls, by how much, and the smallest
    set of the plan's scions, or of all catalogue varieties, that covers every limb again.
    """
    study = opened(plan, weather, as_json=as_json)
    if not names:
        return _every_loss(study, as_json, csv)
    lost = places_named(study, names, as_json=as_json)
    after = loss_of(study, lost, from_catalogue=source == "catalogue")
    answer = without_of(study, after)
    return give(answer, lambda: show_without(study, after), as_json=as_json, csv=csv)


# --- after a named loss ----------------------------------------------------------------------


def show_without(study: Study, after: After) -> None:
    """Print the answer, limb by limb before and after, and what to add."""
    nodes, before = study.network.nodes, {row.node: row for row in study.coverage}
    print_lines([without_answer(after.lost, after.rows, before, nodes), ""])
    lines = []
    if after.rows:
        table, alike = _loss_table(study, after)
        if table.rows:
            print_table(table)
            lines += ["", marks_note(table.cells)]
        if alike:
            lines.append(f"{count(alike, 'other limb')}: as before.")
        lines.append(f"What to add then: {after.answer}" if after.added else after.answer)
    lines += equally_small(after.alternatives, all_listed=after.all_listed)
    if after.added:
        lines.append("Until a graft flowers, cut blossom can stand in: see `pollinet pollinizer`.")
    lines.append("Spare limbs are counted as in the plan; a place that is lost is not regrafted.")
    print_lines([*lines, weather_words(study.record, study.outlook)])


def _loss_table(study: Study, after: After) -> tuple[TextTable, int]:
    """The limbs that are left; of many those alone that change, and how many do not."""
    nodes, before = study.network.nodes, {row.node: row for row in study.coverage}
    table = new_table(
        ("Limb", {}),
        ("Variety", {}),
        ("Now", {"no_wrap": True}),
        ("Then", {"no_wrap": True}),
        ("Loss", {"no_wrap": True}),
        ("Best donor then", {"ratio": 1}),
    )
    alike = 0
    for row in after.rows:
        node, was = nodes[row.node], before[row.node]
        donor = donor_text(row.donors[0], nodes, row.node) if row.donors else "none"
        change = "" if row.covered else "uncovered" if was.covered else "had none"
        shares = (marked_winters(was), marked_winters(row))
        if len(after.rows) > MOST_ROWS and shares[0] == shares[1]:
            alike += 1
        else:
            table.add_row(node.id, node.variety.name, *shares, change, donor)
    return table, alike


MOST_ROWS = 12
"""Limbs and trees beyond which those alone are told that need attention. Own convention."""


# --- every single loss -----------------------------------------------------------------------


def _every_loss(study: Study, as_json: bool, csv: Path | None) -> int:
    found = every_loss(study)
    answer = without_each_of(study, found)
    return give(answer, lambda: show_losses(study, found), as_json=as_json, csv=csv)


def show_losses(study: Study, found: Sequence[Loss]) -> None:
    """Print what each loss does, the redundancy of each limb and the mutual groups."""
    network, nodes = study.network, study.network.nodes
    print_lines([losses_answer(found, study.coverage, nodes), ""])
    table = new_table(
        ("Lost", {}),
        ("Uncovers", {"ratio": 1}),
        ("Falls, winters of 10", {"ratio": 2}),
    )
    idle = []
    for loss in sorted(found, key=lambda x: (not x.critical, x.node)):
        falls = "; ".join(
            f"{nodes[i].id} {tenths(now)} → {tenths(then)}"
            for i, now, then in loss.weakened
            if tenths(now) != tenths(then)
        )
        uncovers = joined([nodes[i].id for i in loss.uncovered])
        if uncovers or falls:
            table.add_row(named(nodes[loss.node]), uncovers, falls)
        else:
            idle.append(nodes[loss.node].id)
    if table.rows:
        print_table(table)
        print_lines([""])
    if idle:
        one = first_of(idle, MOST_ROWS, "or")
        print_lines([f"The loss of {one} changes nothing that shows in whole winters."])
    print_lines([*_redundancy_lines(study.coverage, network), *_group_lines(study)])
    print_lines([weather_words(study.record, study.outlook)])


def _redundancy_lines(coverage: Sequence[LimbCoverage], network: NetworkInput) -> list[str]:
    if network.aim.donors > 1:
        return []
    enough = sorted(redundancy(network, coverage).items(), key=lambda found: found[1])
    if len(enough) <= MOST_ROWS:
        enough = list(redundancy(network, coverage).items())
    counts = [f"{limb} {number}" for limb, number in enough[:MOST_ROWS]]
    more = len(enough) - len(counts)
    rest = f" and {count(more, 'limb')} with as many or more" if more else ""
    return [f"Donors that would each be enough alone: {', '.join(counts)}{rest}."] if counts else []


def _group_lines(study: Study) -> list[str]:
    return [
        f"Pollen finds its way from each to each among {first_of(group, MOST_ROWS)}."
        for group in groups_of(study)
    ]
