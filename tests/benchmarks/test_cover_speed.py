"""How fast and how small: the exact cover against CP-SAT, networkx and greedy picking.

`pytest tests/benchmarks --benchmark-enable -s`; the run of a thousand candidates is `-m long`.
"""

from __future__ import annotations

import resource
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import Any

import numpy as np
import pytest

from pollinet.domain import Aim, NetworkInput, Node, VarietyId, Verdict
from pollinet.network.cover import is_cover, smallest_cover
from pollinet.network.overlap import overlap_blocks

sys.path.insert(0, str(Path(__file__).parent.parent / "network"))
from cp_model import cp_optimum, viable_matrix


def orchard(
    seed: int,
    *,
    limbs: int,
    candidates: int,
    winters: int,
    draws: int,
    spread: float,
    length: float,
    pollen_only: bool = False,
) -> NetworkInput:
    """Limbs that do not serve each other, and wood with two of twelve alleles each. [days]"""
    rng = np.random.default_rng(seed)
    count, scenarios = limbs + candidates, winters * draws
    species = "sweet cherry"
    nodes = tuple(
        Node(
            f"{i:04d}",
            "limb" if i < limbs else "candidate",
            VarietyId(species, f"{i:04d}"),
            f"{i:04d}",
            must_crop=i < limbs or not pollen_only,
        )
        for i in range(count)
    )
    season = np.tile(rng.normal(0, 6, winters), draws)
    position = rng.normal(110, spread, count)[:, None]
    drawn = rng.normal(0, 2, (count, draws)).repeat(winters, axis=1)
    start = 24 * (position + season + drawn + rng.normal(0, 2.5, (count, scenarios)))
    end = start + 24 * rng.normal(length, 2, (count, 1)).clip(5)
    alleles = [set(rng.choice(12, 2, replace=False).tolist()) for _ in range(count)]
    words = [
        Verdict(nodes[0].variety, nodes[0].variety, answer, fraction, 1.0, "benchmark")
        for answer, fraction in (("yes", 1.0), ("half", 0.5), ("no", 0.0))
    ]
    return NetworkInput(
        nodes,
        start,
        end,
        start,
        end,
        {
            (d, r): words[2 if max(d, r) < limbs else len(alleles[d] & alleles[r])]
            for d in range(count)
            for r in range(limbs if pollen_only else count)
            if d != r
        },
        np.ones((count, count)),
        np.ones((count, scenarios)),
        np.ones((count, scenarios)),
        Aim(),
        winters=winters,
    )


def free(network: NetworkInput) -> list[int]:
    return [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]


def greedy(network: NetworkInput) -> list[int]:
    """Always the candidate that brings most; stops at a cover (or when nothing is left)."""
    viable = viable_matrix(network)
    need = int(np.ceil(network.aim.level * viable.shape[2]))
    chosen: list[int] = []
    standing = [i for i, node in enumerate(network.nodes) if node.kind != "candidate"]
    while not is_cover(network, chosen) and len(chosen) < len(free(network)):

        def worth(candidate: int) -> float:
            donors = [*standing, *chosen, candidate]
            receivers = [r for r in donors if network.nodes[r].must_crop]
            counts = viable[np.ix_(donors, receivers)].any(axis=0).sum(axis=1)
            lacking = np.maximum(need - counts, 0)
            return float(-lacking.sum())

        chosen.append(max((c for c in free(network) if c not in chosen), key=worth))
    return sorted(chosen)


SMALL = {"limbs": 6, "candidates": 30, "winters": 10, "draws": 4, "spread": 8.0, "length": 10.0}


def test_exact_cover(benchmark: Callable[..., Any]) -> None:
    network = orchard(1, **SMALL)  # type: ignore[arg-type]
    cover = benchmark(smallest_cover, network, free(network))
    assert cover.status == "optimal"
    assert cover.cost == cp_optimum(network)
    assert all(is_cover(network, chosen) for chosen in cover.alternatives)


def test_cp_sat(benchmark: Callable[..., Any]) -> None:
    network = orchard(1, **SMALL)  # type: ignore[arg-type]
    assert benchmark(cp_optimum, network) == smallest_cover(network, free(network)).cost


@pytest.mark.parametrize("seed", [1, 2, 3, 5])
def test_greedy_is_never_smaller(benchmark: Callable[..., Any], seed: int) -> None:
    network = orchard(seed, **SMALL)  # type: ignore[arg-type]
    chosen = benchmark(greedy, network)
    cover = smallest_cover(network, free(network))
    assert is_cover(network, chosen)
    assert cover.cost <= len(chosen)


def test_networkx_approximation_is_never_smaller(benchmark: Callable[..., Any]) -> None:
    # One scenario, wood for its pollen only: a dominating set of limbs, where networkx has an
    # approximation (networkx.algorithms.approximation.min_weighted_dominating_set).
    import networkx as nx

    rng = np.random.default_rng(3)
    base = nx.gnp_random_graph(24, 0.15, seed=3)
    names = [f"{v:02d}" for v in base]
    nodes = tuple(
        Node(kind[0] + name, kind, VarietyId("pear", name), kind[0] + name, must_crop=crop)
        for kind, crop in (("limb", True), ("candidate", False))
        for name in names
    )
    start = np.full((48, 1), 2400.0) + rng.normal(0, 1, (48, 1))
    word = Verdict(nodes[0].variety, nodes[0].variety, "yes", 1.0, 1.0, "benchmark")
    pairs = [(24 + u, v) for v in base for u in (v, *base[v])]
    network = NetworkInput(
        nodes,
        start,
        start + 240,
        start,
        start + 240,
        dict.fromkeys(pairs, word),
        np.ones((48, 48)),
        np.ones((48, 1)),
        np.ones((48, 1)),
        Aim(),
    )
    approximate = benchmark(nx.algorithms.approximation.min_weighted_dominating_set, base)
    cover = smallest_cover(network, free(network))
    assert cover.status == "optimal"
    assert cover.cost <= len(approximate)
    assert cover.cost == cp_optimum(network)


@pytest.mark.long
@pytest.mark.parametrize("spread", [6.0, 9.0])
def test_a_thousand_candidates(spread: float, record_property: Callable[..., None]) -> None:
    """40 limbs, 1,000 candidates, 50 winters times 32 draws, to proven optimality."""
    network = orchard(
        1,
        limbs=40,
        candidates=1000,
        winters=50,
        draws=32,
        spread=spread,
        length=15 - 2 / 3 * spread,
    )
    arrays = network.shed_start_h, network.shed_end_h, network.open_start_h, network.open_end_h
    began = perf_counter()
    for _ in overlap_blocks(*arrays):
        pass
    overlap_s = perf_counter() - began
    began = perf_counter()
    cover = smallest_cover(network, free(network))
    cover_s = perf_counter() - began
    # Kilobytes on Linux; the most that this process has held, with all that was imported.
    peak = 1000 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(f"overlap {overlap_s:.1f} s; cover {cover_s / overlap_s:.2f} times that")
    print(f"peak {peak / 1e6:.0f} MB; {cover.cost:.0f} added; {cover.proof}")
    assert cover.status == "optimal"
    assert cover.proof.gap == 0
    assert all(is_cover(network, chosen) for chosen in cover.alternatives)
    assert peak < 1e9
