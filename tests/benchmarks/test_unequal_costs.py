"""Smallest covers whose varieties cost unequally: 300 candidates, proven, against CP-SAT.

`pytest tests/benchmarks/test_unequal_costs.py --benchmark-enable -s -n 0`. Costs are whole, so
that CP-SAT can be asked for the same.
"""

from __future__ import annotations

from dataclasses import replace
from time import monotonic, process_time

import numpy as np
import pytest
from test_cover_speed import cp_optimum, free, orchard

from pollinet.domain import NetworkInput
from pollinet.network.cover import is_cover, smallest_cover


def dear(seed: int, limbs: int, draws: int) -> NetworkInput:
    """An orchard whose 300 candidates cost one to five."""
    network = orchard(
        seed, limbs=limbs, candidates=300, winters=30, draws=draws, spread=10.0, length=9.0
    )
    costs = np.random.default_rng(seed).integers(1, 6, len(network.nodes))
    nodes = zip(network.nodes, costs.tolist(), strict=True)
    return replace(network, nodes=tuple(replace(one, cost=float(cost)) for one, cost in nodes))


@pytest.mark.parametrize(("seed", "limbs"), [(1, 8), (2, 8), (3, 8), (1, 40)])
def test_unequal_costs_are_proven(seed: int, limbs: int) -> None:
    network = dear(seed, limbs, draws=16)
    began = process_time()
    cover = smallest_cover(network, free(network), max_alternatives=1, clock=monotonic)
    ours = process_time() - began
    began = process_time()
    rival = cp_optimum(network, 60.0)
    theirs = process_time() - began
    proof = f"{cover.status}, cost {cover.cost:g}, bound {cover.proof.bound:g}"
    print(f"\n{limbs} limbs, seed {seed}: {proof}; {ours:.1f} s CPU, CP-SAT {rival}, "
          f"{theirs:.1f} s CPU, ratio {ours / theirs:.2f}")  # fmt: skip
    if cover.status == "optimal":
        assert is_cover(network, cover.added)
        assert cover.cost == rival
