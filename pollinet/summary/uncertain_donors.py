"""What gives pollen now and may not always: trees that may be felled, and what has off-years."""

from __future__ import annotations

from dataclasses import dataclass

from pollinet.domain import Node
from pollinet.network.resilience import losses
from pollinet.network.viability import felled_of
from pollinet.study import Study


@dataclass(frozen=True)
class Felling:
    """A neighbour's tree that may be felled. uncovers : limbs that would lack a donor then."""

    tree: Node
    uncovers: tuple[Node, ...]


def fellings(study: Study) -> tuple[Felling, ...]:
    """The trees of the plan that may be felled, one at a time."""
    network = study.network
    felled = felled_of(network)
    if not felled:
        return ()
    nodes, found = network.nodes, {loss.node: loss.uncovered for loss in losses(network)}
    return tuple(Felling(nodes[i], tuple(nodes[limb] for limb in found[i])) for i in felled)


def with_off_years(study: Study) -> tuple[Node, ...]:
    """Limbs and neighbours' trees that are taken to flower every other year only."""
    return tuple(node for node in study.network.nodes if node.biennial)
