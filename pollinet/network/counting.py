"""Counting the covered scenarios of one receiver on packed bits."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pollinet.network.viability import Bits, Viability, popcount

Nodes = Sequence[int] | NDArray[np.int64]


def variety_bits(bits: Bits, clones: NDArray[np.int64]) -> Bits:
    """Join the rows of equal clones: shape (donors, bytes) to (varieties, bytes)."""
    order = np.argsort(clones, kind="stable")
    ordered = clones[order]
    firsts = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
    if firsts.size == len(bits):
        return bits
    joined: Bits = np.bitwise_or.reduceat(bits[order], firsts, axis=0)
    return joined


def at_least(bits: Bits, clones: NDArray[np.int64], most: int) -> list[Bits]:
    """Scenarios with at least 1, 2, … `most` different viable varieties, packed.

    bits : shape (donors, bytes), one row a donor. clones : shape (donors,).
    """
    if len(bits) == 0:
        return [np.zeros(bits.shape[1], dtype=np.uint8)] * most
    if most == 1:
        return [np.bitwise_or.reduce(bits, axis=0)]
    varieties = variety_bits(bits, clones)
    levels, adding = [], varieties
    for _ in range(most):
        so_far = np.bitwise_or.accumulate(adding, axis=0)
        levels.append(so_far[-1])
        # One variety more than before: those before it had reached this level already.
        adding = varieties.copy()
        adding[0] = 0
        adding[1:] &= so_far[:-1]
    return levels


def covered_bits(view: Viability, row: int, donors: Nodes, wanted: int) -> Bits:
    """Scenarios in which the receiver of a row has `wanted` viable varieties among `donors`."""
    chosen = view.serving(row, np.asarray(donors, dtype=np.int64))
    return at_least(view.given(row, chosen), view.clones[chosen], wanted)[-1]


def covered_count(view: Viability, row: int, donors: Nodes, wanted: int) -> int:
    """In how many scenarios that is so."""
    return int(popcount(covered_bits(view, row, donors, wanted)))


def covered_and_safe(view: Viability, row: int, donors: Nodes, wanted: int) -> tuple[int, int]:
    """In how many scenarios it is covered, and in how many of these whichever variety is lost."""
    chosen = view.serving(row, np.asarray(donors, dtype=np.int64))
    return _covered_and_safe(view.given(row, chosen), view.clones[chosen], wanted)


def _covered_and_safe(bits: Bits, clones: NDArray[np.int64], wanted: int) -> tuple[int, int]:
    covered, safe = popcount(np.stack(at_least(bits, clones, wanted + 1)[-2:])).tolist()
    return covered, safe


class Standing:
    """In how many scenarios what stands covers a receiver, and how safely.

    Looked at when it is asked for. Whoever is covered enough by what stands asks for nothing,
    whatever is grafted.
    """

    def __init__(self, view: Viability, present: Nodes, wanted: int) -> None:
        self._view, self._wanted = view, wanted
        self._present = np.asarray(present, dtype=np.int64)
        self._counts: dict[int, tuple[int, int]] = {}

    def of(self, node: int) -> tuple[int, int]:
        """`covered_and_safe` of a receiver by what stands and itself, in its worst case."""
        if node not in self._counts:
            self._counts[node] = self.beside(node, ())
        return self._counts[node]

    def beside(self, node: int, others: Sequence[int]) -> tuple[int, int]:
        """The same with some other nodes beside what stands. With more it is never less."""
        donors = np.unique([*self._present, node, *others])
        cases = [
            _covered_and_safe(bits, self._view.clones[donors], self._wanted)
            for bits in self._view.among(node, donors)
        ]
        return min(covered for covered, _ in cases), min(safe for _, safe in cases)

    def look(self, nodes: NDArray[np.int64]) -> None:
        """Look at many receivers at once; sooner than one by one."""
        donors = np.concatenate([np.tile(self._present, len(nodes)), nodes])
        receivers = np.concatenate([np.repeat(nodes, self._present.size), nodes])
        self._view.look(donors, receivers)


def counts_without_each(view: Viability, row: int, donors: Nodes, wanted: int) -> NDArray[np.int64]:
    """In how many scenarios the receiver stays covered when one donor is lost, shape (donors,).

    A loss counts where exactly `wanted` varieties were viable and the lost donor was the only limb
    of its variety.
    """
    chosen = np.asarray(donors, dtype=np.int64)
    bits, clones = view.given(row, chosen), view.clones[chosen]
    levels = at_least(bits, clones, wanted + 1)
    barely = levels[wanted - 1] & ~levels[wanted]
    alone = bits & barely
    for clone in np.flatnonzero(np.bincount(clones) > 1):
        twins = np.flatnonzero(clones == clone)
        alone[twins] &= ~at_least(bits[twins], np.arange(len(twins)), 2)[1]
    return np.asarray(popcount(levels[wanted - 1]) - popcount(alone), dtype=np.int64)
