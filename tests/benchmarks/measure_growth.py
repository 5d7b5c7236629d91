"""Measure how the work and the size of a cover grow with candidates and with scenarios.

    python tests/benchmarks/measure_growth.py

Makes `growth.csv` anew (some minutes). The gardens are those of `test_cover_speed.py`, ten limbs
and wood wanted for its pollen only: so that picking a cover is a question of dominating the limbs,
which networkx can approximate. It counts limbs that have a donor as gained again and knows only
donors that are enough alone; so it may graft more than one for each limb, or find no cover.

Times are multiples of that of all overlaps of the garden, measured just before on the same machine;
each includes finding out who can serve whom.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from pathlib import Path
from time import perf_counter

import networkx as nx
import numpy as np
from test_cover_speed import cp_optimum, free, greedy, orchard, viable_matrix

from pollinet.domain import NetworkInput
from pollinet.network.cover import is_cover, smallest_cover
from pollinet.network.overlap import overlap_blocks

LIMBS, WINTERS = 10, 10
CANDIDATES, SCENARIOS = (25, 50, 100, 200, 400), (20, 50, 100, 200, 500, 1000)
USUAL_CANDIDATES, USUAL_SCENARIOS = 100, 100
SEEDS = (1, 2, 3)
COLUMNS = ("grows", "candidates", "scenarios", "seed", "method", "overlap_times", "size")


def garden(candidates: int, scenarios: int, seed: int) -> NetworkInput:
    """A garden of the benchmark, told only who could serve the limbs: nobody else needs a donor."""
    return orchard(
        seed, limbs=LIMBS, candidates=candidates, winters=WINTERS, draws=scenarios // WINTERS,
        spread=10.0, length=9.0, pollen_only=True,
    )  # fmt: skip


def exact(network: NetworkInput) -> int | None:
    """Smallest cover of the package; one set, unranked choice of all."""
    cover = smallest_cover(network, free(network), max_alternatives=1)
    return len(cover.added) if cover.status == "optimal" else None


def cp_sat(network: NetworkInput) -> int | None:
    """Proven optimum of OR-tools CP-SAT."""
    cost = cp_optimum(network)
    return None if cost is None else int(cost)


def picked(network: NetworkInput) -> int | None:
    """Plain greedy choice."""
    chosen = greedy(network)
    return len(chosen) if is_cover(network, chosen) else None


def approximated(network: NetworkInput) -> int | None:
    """Dominating set of networkx, where a donor counts that alone is enough in all its winters.

    A hub that costs nothing dominates the candidates; limbs are too dear to dominate themselves.
    """
    share = viable_matrix(network)[:, :LIMBS].mean(axis=2)
    graph = nx.Graph([("hub", c) for c in free(network)])
    graph.add_nodes_from(range(LIMBS))
    graph.add_edges_from(np.argwhere(share >= network.aim.level).tolist())
    for node, data in graph.nodes(data=True):
        data["weight"] = 1e-9 if node == "hub" else 1e6 if node < LIMBS else 1.0
    chosen = nx.algorithms.approximation.min_weighted_dominating_set(graph, "weight") - {"hub"}
    return len(chosen) if min(chosen) >= LIMBS and is_cover(network, sorted(chosen)) else None


METHODS: dict[str, Callable[[NetworkInput], int | None]] = {
    "exact": exact,
    "CP-SAT": cp_sat,
    "networkx": approximated,
    "greedy": picked,
}


def overlap_s(network: NetworkInput) -> float:
    """Seconds for all overlaps, the shortest of three runs."""
    arrays = network.shed_start_h, network.shed_end_h, network.open_start_h, network.open_end_h
    times = []
    for _ in range(3):
        began = perf_counter()
        for _ in overlap_blocks(*arrays):
            pass
        times.append(perf_counter() - began)
    return min(times)


def rows(grows: str, candidates: int, scenarios: int) -> list[Sequence[object]]:
    """What every method does in the gardens of one size."""
    found: list[Sequence[object]] = []
    for seed in SEEDS:
        network = garden(candidates, scenarios, seed)
        unit = overlap_s(network)
        for name, method in METHODS.items():
            began = perf_counter()
            size = method(network)
            times = float(f"{(perf_counter() - began) / unit:.3g}")
            found.append((grows, candidates, scenarios, seed, name, times, size))
            print(*found[-1], flush=True)
    return found


if __name__ == "__main__":
    exact(garden(25, 20, 0)), cp_sat(garden(25, 20, 0))  # imports are not measured
    table = [row for c in CANDIDATES for row in rows("candidates", c, USUAL_SCENARIOS)]
    table += [row for s in SCENARIOS for row in rows("scenarios", USUAL_CANDIDATES, s)]
    with (Path(__file__).parent / "growth.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(table)
