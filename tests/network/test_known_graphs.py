"""Covers of gardens that encode graphs whose domination numbers are published.

A limb and a candidate stand for each vertex; a candidate serves its own limb and those of its
neighbours. With candidates wanted for their pollen only the smallest cover is a smallest dominating
set; with candidates that crop and serve each other along edges it is a smallest total dominating
set.

Sources: T. W. Haynes, S. T. Hedetniemi, P. J. Slater, Fundamentals of Domination in Graphs (1998):
paths and cycles ceil(n/3), stars and complete graphs 1, complete bipartite graphs 2, Petersen graph
3; M. A. Henning, A. Yeo, Total Domination in Graphs (2013): paths and cycles
floor(n/2) + ceil(n/4) - floor(n/4), Petersen graph 4. Both from memory; brute force over all sets
confirms every number below.
"""

from __future__ import annotations

from itertools import combinations
from math import ceil

import networkx as nx
import pytest
from network_gardens import candidates_of, garden, node

from pollinet.domain import NetworkInput
from pollinet.network.cover import is_cover, smallest_cover


def encoded(graph: nx.Graph, *, total: bool) -> NetworkInput:
    vertices = sorted(graph.nodes)
    nodes = [
        *(node(f"limb{v:02d}") for v in vertices),
        *(node(f"wood{v:02d}", "candidate", must_crop=total) for v in vertices),
    ]
    answers = {}
    for v in vertices:
        answers[f"wood{v:02d}", f"limb{v:02d}"] = "yes"
        for u in graph[v]:
            answers[f"wood{u:02d}", f"limb{v:02d}"] = "yes"
            answers[f"wood{u:02d}", f"wood{v:02d}"] = "yes"
    return garden(nodes, {n.id: [(100.0, 110.0)] for n in nodes}, answers)


def smallest_by_brute_force(graph: nx.Graph, *, total: bool) -> int:
    vertices = set(graph.nodes)
    closed = {v: set(graph[v]) | (set() if total else {v}) for v in vertices}
    return next(
        size
        for size in range(1, len(vertices) + 1)
        if any(all(closed[v] & set(c) for v in vertices) for c in combinations(vertices, size))
    )


def path_or_cycle_total(n: int) -> int:
    return n // 2 + ceil(n / 4) - n // 4


CASES = [
    *((f"path{n}", nx.path_graph(n), ceil(n / 3), path_or_cycle_total(n)) for n in range(3, 13)),
    *((f"cycle{n}", nx.cycle_graph(n), ceil(n / 3), path_or_cycle_total(n)) for n in range(3, 13)),
    ("star", nx.star_graph(6), 1, 2),
    ("complete", nx.complete_graph(5), 1, 2),
    ("bipartite", nx.complete_bipartite_graph(3, 4), 2, 2),
    ("petersen", nx.petersen_graph(), 3, 4),
]


@pytest.mark.parametrize(("name", "graph", "plain", "total"), CASES, ids=[c[0] for c in CASES])
def test_domination_numbers(name: str, graph: nx.Graph, plain: int, total: int) -> None:
    for wanted, closed in ((plain, False), (total, True)):
        network = encoded(graph, total=closed)
        cover = smallest_cover(network, candidates_of(network), max_alternatives=1000)
        assert smallest_by_brute_force(graph, total=closed) == wanted
        assert cover.cost == wanted
        assert all(is_cover(network, chosen) for chosen in cover.alternatives)


def test_petersen_graph_has_ten_smallest_dominating_sets() -> None:
    graph = nx.petersen_graph()
    network = encoded(graph, total=False)
    cover = smallest_cover(network, candidates_of(network), max_alternatives=1000)
    reach = {v: {v, *graph[v]} for v in graph}
    sets = [c for c in combinations(graph, 3) if set().union(*(reach[v] for v in c)) == set(graph)]
    assert len(cover.alternatives) == len(sets)
