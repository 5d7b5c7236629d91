"""What breaks when one limb or one neighbour's tree is lost, and who depends on whom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pollinet.domain import NetworkInput
from pollinet.network.counting import counts_without_each, covered_count
from pollinet.network.coverage import LimbCoverage
from pollinet.network.viability import needed_scenarios, present_of, receivers_of, viability
from pollinet.shares import reaches

if TYPE_CHECKING:
    import networkx as nx


@dataclass(frozen=True)
class Loss:
    """What the loss of one node does.

    uncovered : receivers that are covered now and would not be.
    weakened : (receiver, share of scenarios now, share then) of all whose share falls.
    """

    node: int
    uncovered: tuple[int, ...]
    weakened: tuple[tuple[int, float, float], ...]

    @property
    def critical(self) -> bool:
        """Whether the loss uncovers anybody."""
        return bool(self.uncovered)


def losses(network: NetworkInput, present: Sequence[int] | None = None) -> tuple[Loss, ...]:
    """What the loss of each node present would do, in the order of nodes.

    present : nodes that stand (default: limbs and neighbours); candidates count as grafted.
    """
    here = present_of(network) if present is None else tuple(sorted(set(present)))
    receivers = [r for r in receivers_of(network) if r in set(here)]
    view = viability(network, receivers)
    need, wanted = needed_scenarios(network), network.aim.donors
    uncovered: dict[int, list[int]] = {node: [] for node in here}
    weakened: dict[int, list[tuple[int, float, float]]] = {node: [] for node in here}
    for row, receiver in enumerate(view.receivers):
        now = covered_count(view, row, here, wanted)
        then = counts_without_each(view, row, here, wanted).tolist()
        for node, count in zip(here, then, strict=True):
            if node == receiver or count == now:
                continue
            weakened[node].append((receiver, now / view.scenarios, count / view.scenarios))
            if count < need <= now:
                uncovered[node].append(receiver)
    return tuple(Loss(node, tuple(uncovered[node]), tuple(weakened[node])) for node in here)


def bare_without(
    network: NetworkInput, groups: Sequence[Sequence[int]]
) -> tuple[tuple[int, ...], ...]:
    """Receivers that are covered now and would not be, for the loss of each group of nodes.

    groups : such as the limbs of each tree; what is lost itself does not count as bare.
    """
    here = present_of(network)
    view = viability(network, receivers_of(network))
    need, wanted = needed_scenarios(network), network.aim.donors
    covered = [
        (row, receiver)
        for row, receiver in enumerate(view.receivers)
        if covered_count(view, row, here, wanted) >= need
    ]
    found = []
    for group in groups:
        gone = set(group)
        rest = tuple(i for i in here if i not in gone)
        bare = (
            receiver
            for row, receiver in covered
            if receiver not in gone and covered_count(view, row, rest, wanted) < need
        )
        found.append(tuple(bare))
    return tuple(found)


def carriers(row: LimbCoverage, level: float) -> tuple[int, ...]:
    """Donors that would each carry a limb alone: the limb's redundancy is their number."""
    return tuple(share.node for share in row.donors if reaches(share.reliability, level))


def mutual_groups(graph: nx.DiGraph[str]) -> tuple[tuple[str, ...], ...]:
    """Groups in which pollen finds its way from each to each: strongly connected components.

    Largest first, then by name; single nodes are left out.
    """
    import networkx as nx

    groups = [tuple(sorted(group)) for group in nx.strongly_connected_components(graph)]
    return tuple(sorted((g for g in groups if len(g) > 1), key=lambda g: (-len(g), g)))
