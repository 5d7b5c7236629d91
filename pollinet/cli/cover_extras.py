"""What `pollinet cover` can add to its answer: coming springs, trade-offs, concessions."""

from __future__ import annotations

from collections.abc import Sequence

from pollinet.answers.cover import coming_springs, graft_years
from pollinet.cli.common import new_table, print_lines, print_table
from pollinet.domain import NetworkInput
from pollinet.language import _, number, pgettext
from pollinet.network.cover import Cover
from pollinet.network.tradeoff import (
    Gain,
)
from pollinet.network.viability import felled_of
from pollinet.study import Study
from pollinet.wording.network import FELLED_NOTE, SPRING_NOTE, gain_cells, spring_text
from pollinet.wording.sentences import graft_name, joined, short_name


def show_springs(
    study: Study, network: NetworkInput, added: Sequence[int], spring: int, *, survive: bool
) -> None:
    """Print the table of coming springs and what it rests on."""
    rows = coming_springs(study, network, added, spring, survive=survive)
    heading = (
        _("Grafted in spring {year}, coverage in the springs to come after the worst one loss:")
        if survive
        else _("Grafted in spring {year}, coverage in the springs to come:")
    )
    print_lines(["", heading.format(year=spring)])
    springs = [str(entry.spring) for entry in rows[0]] if rows else []
    table = new_table(
        (_("Limb"), {}), (_("Variety"), {}), *((year, {"no_wrap": True}) for year in springs)
    )
    for row in rows:
        node = network.nodes[row[0].node]
        name = pgettext("limb", "new") if node.kind == "candidate" else node.id
        table.add_row(name, node.variety.name, *map(spring_text, row))
    print_table(table)
    felled = [_(FELLED_NOTE)] if felled_of(network) and not survive else []
    print_lines([_(SPRING_NOTE), *felled, _age_note(study, network, added, spring)])


def _age_note(study: Study, network: NetworkInput, added: Sequence[int], spring: int) -> str:
    years, ages = graft_years(study, network, added, spring)
    used = [ages[node] for node, year in years.items() if year is not None]
    names = sorted({source for age in used for source in age.sources})
    if not names:
        return _("No limb has a graft year in the plan: all count as old enough to bloom.")
    told = "; ".join(study.catalogue.sources.get(name, name) for name in names)
    return _("Years from graft to flowers: {sources}.").format(sources=told)


# --- trade-offs ------------------------------------------------------------------------------


def show_traded(
    network: NetworkInput, gains: Sequence[Gain], by_days: Sequence[tuple[float, Cover]]
) -> None:
    """Print both trade-offs."""
    if gains:
        print_lines(
            ["", _("Most added varieties against the worst limb's winters (exact; rounded down):")]
        )
        table = new_table(
            (_("Added"), {}), (_("Worst limb"), {"no_wrap": True}), (_("With"), {"ratio": 1})
        )
        for gain in gains:
            table.add_row(*gain_cells(gain, network.nodes))
        print_table(table)
    print_lines(["", _("Demanded days of shared bloom against the smallest set:")])
    table = new_table((_("Days"), {"justify": "right"}), (_("Smallest set"), {"ratio": 1}))
    for days, cover in by_days:
        table.add_row(number(days), _set_text(cover, network))
    print_table(table)


def _set_text(cover: Cover, network: NetworkInput) -> str:
    if cover.uncovered:
        limbs = joined([short_name(network.nodes[miss.node]) for miss in cover.uncovered])
        return _("none covers {limbs}").format(limbs=limbs)
    return joined([graft_name(network.nodes[i]) for i in cover.added]) or _("nothing to add")
