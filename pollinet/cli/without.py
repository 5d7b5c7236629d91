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
    in_language,
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
from pollinet.language import N_, _, ngettext
from pollinet.network.coverage import LimbCoverage
from pollinet.network.resilience import Loss
from pollinet.study import Study
from pollinet.summary.limbs import redundancy
from pollinet.wording.check import marked_winters, marks_note
from pollinet.wording.cover import equally_small
from pollinet.wording.network import losses_answer, named, without_answer
from pollinet.wording.sentences import best_donor, first_of, joined, tenths, weather_words


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
@in_language
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
            text = ngettext("{number} other limb: as before.", "{number} other limbs: as before.",
                            alike)  # fmt: skip
            lines.append(text.format(number=alike))
        then = _("What to add then: {answer}").format(answer=after.answer)
        lines.append(then if after.added else after.answer)
    lines += equally_small(after.alternatives, all_listed=after.all_listed)
    if after.added:
        bare = {nodes[row.node].sheds_apart for row in after.rows if not row.covered}
        lines += [_(_STAND_IN[catkins]) for catkins in sorted(bare)]
    text = _("Spare limbs are counted as in the plan; a place that is lost is not regrafted.")
    lines.append(text)
    print_lines([*lines, weather_words(study.record, study.outlook)])


_STAND_IN = {
    False: N_("Until a graft flowers, cut blossom can stand in: see `pollinet pollinizer`."),
    True: N_("Until a graft has catkins, cut catkins can stand in: see `pollinet pollinizer`."),
}
"""What stands in for a graft, by whether its pollen comes by catkins."""


def _loss_table(study: Study, after: After) -> tuple[TextTable, int]:
    """The limbs that are left; of many those alone that change, and how many do not."""
    nodes, before = study.network.nodes, {row.node: row for row in study.coverage}
    table = new_table(
        (_("Limb"), {}),
        (_("Variety"), {}),
        (_("Now"), {"no_wrap": True}),
        (_("Then"), {"no_wrap": True}),
        (_("Loss"), {"no_wrap": True}),
        (_("Best donor then"), {"ratio": 1}),
    )
    alike = 0
    for row in after.rows:
        node, was = nodes[row.node], before[row.node]
        change = "" if row.covered else _("uncovered") if was.covered else _("had none")
        shares = (marked_winters(was), marked_winters(row))
        if len(after.rows) > MOST_ROWS and shares[0] == shares[1]:
            alike += 1
        else:
            table.add_row(node.id, node.variety.name, *shares, change, best_donor(row, nodes))
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
        (_("Lost"), {}),
        (_("Uncovers"), {"ratio": 1}),
        (_("Falls, winters of 10"), {"ratio": 2}),
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
        text = _("The loss of {names} changes nothing that shows in whole winters.")
        print_lines([text.format(names=first_of(idle, MOST_ROWS, "or"))])
    print_lines([*_redundancy_lines(study.coverage, network), *_group_lines(study)])
    print_lines([weather_words(study.record, study.outlook)])


def _redundancy_lines(coverage: Sequence[LimbCoverage], network: NetworkInput) -> list[str]:
    if network.aim.donors > 1:
        return []
    enough = sorted(redundancy(network, coverage).items(), key=lambda found: found[1])
    if len(enough) <= MOST_ROWS:
        enough = list(redundancy(network, coverage).items())
    if not enough:
        return []
    counts = ", ".join(f"{limb} {number}" for limb, number in enough[:MOST_ROWS])
    more = len(enough) - MOST_ROWS
    text = _("Donors that would each be enough alone: {counts}.")
    if more > 0:
        text = ngettext(
            "Donors that would each be enough alone: {counts} and {number} limb with as many or "
            "more.",
            "Donors that would each be enough alone: {counts} and {number} limbs with as many or "
            "more.",
            more,
        )
    return [text.format(counts=counts, number=more)]


def _group_lines(study: Study) -> list[str]:
    text = _("Pollen finds its way from each to each among {names}.")
    return [text.format(names=first_of(group, MOST_ROWS)) for group in groups_of(study)]
