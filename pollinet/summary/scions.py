"""Which wood to cut or to order: the shopping list of a cover."""

from __future__ import annotations

from dataclasses import dataclass

from pollinet.domain import NetworkInput, VarietyId
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.resilience import carriers, losses
from pollinet.network.viability import present_of
from pollinet.study import Study


@dataclass(frozen=True)
class ScionWanted:
    """One variety to graft.

    trees : trees of its fruit that can still carry a graft. serves : limbs that it would carry
    alone, whose best donor it would be, or that would fall short without it. at_hand : whether the
    plan names its wood; else it must be ordered.
    """

    variety: VarietyId
    trees: tuple[str, ...]
    serves: tuple[str, ...]
    at_hand: bool


def scions_wanted(study: Study, network: NetworkInput, cover: Cover) -> tuple[ScionWanted, ...]:
    """The varieties of a cover's first set, in its order."""
    chosen = cover.added or cover.partial
    rows = limb_coverage(network, (*present_of(network), *chosen))
    losing = losses(network, (*present_of(network), *chosen))
    missed = {loss.node: loss.uncovered for loss in losing}
    at_hand = {scion.variety for scion in study.plan.scions}
    return tuple(
        ScionWanted(
            network.nodes[node].variety,
            tuple(
                tree.id
                for tree in study.plan.trees
                if tree.species == network.nodes[node].variety.species and tree.spare_limbs
            ),
            tuple(
                network.nodes[row.node].id
                for row in rows
                if network.nodes[row.node].kind == "limb"
                and (_served(row, node, network.aim.level) or row.node in missed[node])
            ),
            network.nodes[node].variety in at_hand,
        )
        for node in chosen
    )


def _served(row: LimbCoverage, donor: int, level: float) -> bool:
    best = row.donors[0].node if row.donors else None
    return donor == best or donor in carriers(row, level)
