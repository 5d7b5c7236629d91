"""What `pollinet cover` can add to its answer: coming springs, trade-offs, concessions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from time import monotonic
from typing import Any

from pollinet.cli.common import new_table, print_lines, print_table
from pollinet.domain import NetworkInput
from pollinet.language import _, number, pgettext
from pollinet.network.cover import Cover, smallest_cover
from pollinet.network.tradeoff import (
    Gain,
    Relaxation,
    gain_per_cost,
    relaxations,
)
from pollinet.network.viability import Viability, present_of
from pollinet.network.years import (
    GraftMethod,
    SpringShare,
    coverage_by_spring,
    first_springs,
    graft_method,
)
from pollinet.readers.bearing import BearingAge, load_bearing
from pollinet.study import Study
from pollinet.wording.network import SPRING_NOTE, gain_cells, relaxation_text, spring_text
from pollinet.wording.sentences import joined, short_name

SPRINGS = 6
"""Coming springs that are told; the slowest fruit blooms by then on a bearing tree."""

MOST_ADDED = 3
"""Most added varieties in the trade-off."""

TRADED_DAYS = (1.0, 2.0, 3.0, 4.0, 5.0)
"""Demanded days of shared bloom in the trade-off, beside the plan's own. [days]"""


# --- coming springs --------------------------------------------------------------------------


def coming_springs(
    study: Study, network: NetworkInput, added: Sequence[int], spring: int
) -> tuple[tuple[SpringShare, ...], ...]:
    """Coverage in each of the next springs when the set is grafted in one spring."""
    grafted, ages = _graft_years(study, network, added, spring)
    firsts = first_springs(grafted, {node: (age.first, age.late) for node, age in ages.items()})
    springs = range(spring + 1, spring + SPRINGS + 1)
    return coverage_by_spring(network, (*present_of(network), *added), firsts, springs)


def _graft_years(
    study: Study, network: NetworkInput, added: Sequence[int], spring: int
) -> tuple[dict[int, int | None], dict[int, BearingAge]]:
    methods: dict[int, GraftMethod] = {node: "graft on a bearing tree" for node in added}
    years: dict[int, int | None] = dict.fromkeys(added, spring)
    places = {node.id: i for i, node in enumerate(network.nodes) if node.kind == "limb"}
    for tree in study.plan.trees:
        for limb in tree.limbs:
            years[places[limb.id]] = limb.grafted
            methods[places[limb.id]] = graft_method(limb, tree)
    fruits = {network.nodes[node].variety.species for node in methods}
    tables = {method: load_bearing(fruits, method) for method in set(methods.values())}
    ages = {
        node: tables[method][network.nodes[node].variety.species]
        for node, method in methods.items()
    }
    return years, ages


def show_springs(study: Study, network: NetworkInput, added: Sequence[int], spring: int) -> None:
    """Print the table of coming springs and what it rests on."""
    rows = coming_springs(study, network, added, spring)
    heading = _("Grafted in spring {year}, coverage in the springs to come:")
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
    print_lines([_(SPRING_NOTE), _age_note(study, network, added, spring)])


def _age_note(study: Study, network: NetworkInput, added: Sequence[int], spring: int) -> str:
    years, ages = _graft_years(study, network, added, spring)
    used = [ages[node] for node, year in years.items() if year is not None]
    names = sorted({source for age in used for source in age.sources})
    if not names:
        return _("No limb has a graft year in the plan: all count as old enough to bloom.")
    told = "; ".join(study.catalogue.sources.get(name, name) for name in names)
    return _("Years from graft to flowers: {sources}.").format(sources=told)


def springs_data(
    study: Study, network: NetworkInput, added: Sequence[int], spring: int
) -> list[dict[str, Any]]:
    """The table of coming springs as data."""
    return [
        {
            "id": network.nodes[row[0].node].id,
            "variety": network.nodes[row[0].node].variety.name,
            "springs": [
                {
                    "spring": entry.spring,
                    "blooms": entry.blooms,
                    "cautious": entry.cautious,
                    "hopeful": entry.hopeful,
                }
                for entry in row
            ],
        }
        for row in coming_springs(study, network, added, spring)
    ]


# --- trade-offs ------------------------------------------------------------------------------


def by_number(
    study: Study,
    network: NetworkInput,
    candidates: Sequence[int],
    answer: Cover,
    limit_s: float | None,
    view: Viability,
) -> list[Gain]:
    """Best worst limb for each number of added varieties; of equal sets the answer's own."""
    found = gain_per_cost(
        network,
        candidates,
        study.spare_limbs(),
        preferences=study.tie_breakers(network),
        most=MOST_ADDED,
        time_limit_s=limit_s,
        clock=monotonic,
        view=view,
    )
    own = answer.reliability if answer.status == "optimal" else -1.0
    return [
        replace(gain, added=answer.added)
        if gain.cost == answer.cost and abs(gain.reliability - own) < 1e-9
        else gain
        for gain in found
    ]


def with_days(network: NetworkInput, days: float) -> NetworkInput:
    """The network when other days of shared bloom are demanded. [days]"""
    return replace(network, aim=replace(network.aim, min_overlap_days=days))


def show_traded(
    network: NetworkInput, gains: Sequence[Gain], by_days: Sequence[tuple[float, Cover]]
) -> None:
    """Print both trade-offs."""
    if gains:
        print_lines(["", _("Most added varieties against the worst limb's winters (exact):")])
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
    return joined([network.nodes[i].variety.name for i in cover.added]) or _("nothing to add")


def traded_data(
    network: NetworkInput, gains: Sequence[Gain], by_days: Sequence[tuple[float, Cover]]
) -> dict[str, Any]:
    """Both trade-offs as data."""
    names = network.nodes
    return {
        "by_number": [
            {
                "most_added": gain.cost,
                "added": [names[i].variety.name for i in gain.added],
                "reliability": gain.reliability,
            }
            for gain in gains
        ],
        "by_days": [
            {
                "min_overlap_days": days,
                "status": cover.status,
                "added": [names[i].variety.name for i in cover.added],
            }
            for days, cover in by_days
        ],
    }


# --- concessions -----------------------------------------------------------------------------


def concessions(
    study: Study, network: NetworkInput, candidates: Sequence[int], *, from_catalogue: bool
) -> list[dict[str, Any]]:
    """What would make an infeasible plan feasible: kind, value, what is added, and the words."""
    found = [
        _concession(relaxation, network)
        for relaxation in relaxations(
            network, candidates, study.spare_limbs(), preferences=study.tie_breakers(network)
        )
    ]
    return found if from_catalogue else found + _wider(study)


def _concession(relaxation: Relaxation, network: NetworkInput) -> dict[str, Any]:
    return {
        "kind": relaxation.kind,
        "value": relaxation.value,
        "added": [network.nodes[i].variety.name for i in relaxation.added],
        "text": relaxation_text(relaxation, network.nodes),
    }


def _wider(study: Study) -> list[dict[str, Any]]:
    """A smallest set when every catalogue variety may be chosen."""
    if study.record is None:
        # Without weather the catalogue's varieties have no bloom here.
        return []
    network = study.network_of(study.free_scions(from_catalogue=True))
    present = len(present_of(network))
    candidates = range(present, len(network.nodes))
    cover = smallest_cover(
        network, candidates, study.spare_limbs(),
        preferences=study.tie_breakers(network), max_alternatives=1,
    )  # fmt: skip
    if cover.status != "optimal":
        return []
    added = [network.nodes[i].variety.name for i in cover.added]
    text = _("with other wood, such as {names} (--from catalogue lists more)")
    text = text.format(names=joined(added))
    return [{"kind": "candidates", "value": len(added), "added": added, "text": text}]
