"""Who serves whom whatever it is that nobody knows: each receiver in every worst case.

A limb is surely served where it is served whatever its own alleles are, with every donor at its
worst for them; donors of whose bloom nothing is known are not counted on. So nothing is left
open: each worst case of a receiver is a row of its own, in which a donor serves or does not, and
what holds in all rows is sure. The search needs to know no more than that.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

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
    serves, unknown = best.some, is_open(known)
    everyone = np.arange(len(network.nodes))
    taking = np.asarray(rows, dtype=np.int64)
    counted = worst_cases(network, everyone, taking, serves, unknown.T)
    places = np.repeat(np.arange(taking.size), [len(case) for case in counted])
    cases = Cases(places, np.concatenate([*counted, np.zeros((0, everyone.size), dtype=bool)]))
    nodes = tuple(taking[places].tolist())
    return Viability(nodes, best.bits, best.scenarios, best.clones, cases)


def worst_cases(
    network: NetworkInput,
    donors: NDArray[np.int64],
    receivers: NDArray[np.int64],
    serves: BoolArray,
    unknown: BoolArray,
) -> list[BoolArray]:
    """Which donors count in each worst case of each receiver: of shape (cases, D) each.

    donors, receivers : nodes, shape (D,) and (R,).
    serves : shape (R, D), which donors serve in any scenario if an unknown verdict is a yes; one
        that does not adds nothing, whatever its alleles.
    unknown : shape (R, D), whether nobody knows if the pollen is accepted.
    """
    counted = serves
    if network.dated is not None:
        counted = serves & (network.dated[donors] | (donors == receivers[:, None]))
    known = counted & ~unknown
    cases = [row[None] for row in known]
    if network.drawn is None:
        return cases
    rows, columns = np.nonzero(counted & unknown)
    least = least_fraction(network)
    for row in np.unique(rows).tolist():
        here = columns[rows == row]
        worst = network.drawn.worst(donors[here].tolist(), int(receivers[row]), least)
        cases[row] = np.repeat(cases[row], len(worst), axis=0)
        cases[row][:, here] = worst
    return cases
