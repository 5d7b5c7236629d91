"""Counting covered scenarios of one receiver on packed bits."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pollinet.network.viability import Bits, Viability, popcount


def variety_bits(bits: Bits, clones: NDArray[np.int64]) -> Bits:
    """Join the rows of equal clones: shape (donors, bytes) to (varieties, bytes)."""
    order = np.argsort(clones, kind="stable")
    firsts = np.flatnonzero(np.diff(clones[order], prepend=-1))
    joined: Bits = np.bitwise_or.reduceat(bits[order], firsts, axis=0)
    return joined


def at_least(bits: Bits, clones: NDArray[np.int64], most: int) -> list[Bits]:
    """Scenarios with at least 1, 2, … `most` different viable varieties, packed.

    bits : shape (donors, bytes), one row a donor. clones : shape (donors,).
    """
    levels = [np.zeros(bits.shape[1], dtype=np.uint8) for _ in range(most)]
    if len(bits) == 0:
        return levels
    if most == 1:
        return [np.bitwise_or.reduce(bits, axis=0)]
    for variety in variety_bits(bits, clones):
        for level in range(most - 1, 0, -1):
            levels[level] |= levels[level - 1] & variety
        levels[0] |= variety
    return levels


def covered_bits(view: Viability, row: int, donors: Sequence[int], wanted: int) -> Bits:
    """Scenarios in which the receiver of a row has `wanted` viable varieties among `donors`."""
    chosen = np.asarray(donors, dtype=np.int64)
    return at_least(view.bits[row, chosen], view.clones[chosen], wanted)[-1]


def covered_count(view: Viability, row: int, donors: Sequence[int], wanted: int) -> int:
    """In how many scenarios that is so."""
    return int(popcount(covered_bits(view, row, donors, wanted)))
