"""Who serves whom whatever it is that nobody knows: each receiver in every worst case.

A limb is surely served where it is served whatever its own alleles are, with every donor at its
worst for them; donors of whose bloom nothing is known are not counted on. So nothing is left
open: each worst case of a receiver is a row of its own, in which a donor serves or does not, and
what holds in all rows is sure. The search needs to know no more than that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from pollinet.domain import BoolArray, NetworkInput
from pollinet.network.viability import (
    Cases,
    Pairs,
    Viability,
    is_open,
    least_fraction,
    pairs,
    receivers_of,
    viability,
)


def sure_viability(
    network: NetworkInput,
    receivers: Sequence[int] | None = None,
    *,
    donors: Sequence[int] | None = None,
    table: Pairs | None = None,
) -> Viability:
    """`viability` with one row for each worst case of each receiver. Exact.

    For the parameters see `viability`. New grafts that are to crop have all their cases, too.
    """
    rows = receivers_of(network) if receivers is None else tuple(sorted(receivers))
    known = pairs(network, rows, donors) if table is None else table
    best = viability(network, rows, donors=donors, unknown=True, table=known)
    serves, unknown = np.asarray(best.bits.any(axis=2)), is_open(known)
    nodes, places, counted = list[int](), list[int](), list[BoolArray]()
    for place, receiver in enumerate(rows):
        for case in _cases(network, receiver, serves[place], unknown[:, place]):
            nodes.append(receiver)
            places.append(place)
            counted.append(case)
    kept = np.array(counted, dtype=bool).reshape(len(nodes), len(network.nodes))
    cases = Cases(np.array(places, dtype=np.int64), kept)
    return Viability(tuple(nodes), best.bits, best.scenarios, best.clones, cases)


def _cases(
    network: NetworkInput, receiver: int, serves: BoolArray, unknown: BoolArray
) -> Iterator[BoolArray]:
    """Which donors count in each worst case of a receiver, shape (N,) each.

    serves : which donors serve it in any scenario if an unknown verdict is a yes.
    """
    counted = serves.copy()
    if network.dated is not None:
        counted &= network.dated
        counted[receiver] = serves[receiver]
    asked = np.flatnonzero(counted & unknown)
    worst = np.zeros((1, asked.size), dtype=bool)
    if network.drawn is not None and asked.size:
        worst = network.drawn.worst(asked.tolist(), receiver, least_fraction(network))
    for case in worst:
        here = counted.copy()
        here[asked] = case
        yield here
