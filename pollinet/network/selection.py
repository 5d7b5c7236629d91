"""Parts of a network: the same garden with some nodes gone, or with one asked about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from pollinet.compatibility.verdict_table import VerdictTable
from pollinet.domain import NetworkInput, Verdict


def keep_nodes(network: NetworkInput, kept: Sequence[int]) -> NetworkInput:
    """The network of some of its nodes, which keep their order and get new numbers."""
    rows = np.array(sorted(set(kept)), dtype=np.int64)
    return replace(
        network,
        nodes=tuple(network.nodes[i] for i in rows.tolist()),
        open_start_h=network.open_start_h[rows],
        open_end_h=network.open_end_h[rows],
        shed_start_h=network.shed_start_h[rows],
        shed_end_h=network.shed_end_h[rows],
        verdicts=_kept_verdicts(network.verdicts, rows.tolist()),
        proximity=network.proximity[np.ix_(rows, rows)],
        chill_quality=network.chill_quality[rows],
        flight_share=network.flight_share[rows],
        drawn=None if network.drawn is None else network.drawn.kept(rows.tolist()),
        dated=None if network.dated is None else network.dated[rows],
        resting=None if network.resting is None else network.resting[rows],
    )


def _kept_verdicts(
    verdicts: Mapping[tuple[int, int], Verdict], rows: Sequence[int]
) -> Mapping[tuple[int, int], Verdict]:
    if isinstance(verdicts, VerdictTable):
        return verdicts.kept(rows)
    place = {old: new for new, old in enumerate(rows)}
    return {
        (place[donor], place[receiver]): verdict
        for (donor, receiver), verdict in verdicts.items()
        if donor in place and receiver in place
    }


def lose_nodes(network: NetworkInput, lost: Sequence[int]) -> NetworkInput:
    """The network without some of its nodes."""
    return keep_nodes(network, [i for i in range(len(network.nodes)) if i not in set(lost)])


def as_receiver(network: NetworkInput, node: int) -> NetworkInput:
    """The network with one limb asked about as if it were to crop, also where it need not."""
    nodes = list(network.nodes)
    nodes[node] = replace(nodes[node], must_crop=True)
    return replace(network, nodes=tuple(nodes))
