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
    Bits,
    Viability,
    is_open,
    least_fraction,
    receivers_of,
    told_of,
)


class SureViability(Viability):
    """`Viability` with one row for each worst case of each receiver.

    The cases of a receiver are worked out when its rows are first asked for.
    """

    def __init__(
        self, network: NetworkInput, receivers: Sequence[int], donors: NDArray[np.int64]
    ) -> None:
        super().__init__(network, receivers, unknown=True)
        self._donors = donors
        self._cases: list[tuple[int, BoolArray]] = []
        self._rows: dict[int, tuple[int, ...]] = {}

    def rows_of(self, node: int) -> tuple[int, ...]:
        """The rows of a node, one for each case; none: it is no receiver."""
        if node not in self._own_row:
            return ()
        if node not in self._rows:
            first = len(self._cases)
            for case in self._counted(node, self._donors):
                counted = np.zeros(len(self.clones), dtype=bool)
                counted[self._donors] = case
                self._cases.append((node, counted))
            self._rows[node] = tuple(range(first, len(self._cases)))
        return self._rows[node]

    def node_of(self, row: int) -> int:
        """The receiver of a row."""
        return self._cases[row][0]

    def given(self, row: int, donors: NDArray[np.int64]) -> Bits:
        """What some donors give to the receiver of a row, shape (donors, bytes): a copy."""
        found = super().given(row, donors)
        found[~self._cases[row][1][donors]] = 0
        return found

    def serving(self, row: int, donors: NDArray[np.int64]) -> NDArray[np.int64]:
        """Those of some donors that give the receiver of a row anything in any scenario."""
        return super().serving(row, donors[self._cases[row][1][donors]])

    def among(self, node: int, donors: NDArray[np.int64]) -> list[Bits]:
        """What some donors give to a receiver if there are no others; one for each of its cases."""
        (best,) = super().among(node, donors)
        return [best * case[:, None] for case in self._counted(node, donors)]

    def _counted(self, node: int, donors: NDArray[np.int64]) -> BoolArray:
        """Which of some donors count in each worst case of a receiver, shape (cases, donors)."""
        taking, serves = np.array([node]), self._looked_at(node, donors).place[donors] > 0
        unknown = is_open(told_of(self._network, donors, taking))
        return worst_cases(self._network, donors, taking, serves[None], unknown[None])[0]


def sure_viability(
    network: NetworkInput,
    receivers: Sequence[int] | None = None,
    *,
    donors: Sequence[int] | None = None,
) -> SureViability:
    """`viability` with one row for each worst case of each receiver. Exact.

    donors : look at these nodes alone; the others count as not viable. Default: all.
    """
    rows = receivers_of(network) if receivers is None else receivers
    given = range(len(network.nodes)) if donors is None else sorted({*donors})
    return SureViability(network, rows, np.array(given, dtype=np.int64))


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
