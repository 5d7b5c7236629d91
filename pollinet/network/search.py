"""The search for smallest sets: what cannot matter is left out, separate parts are solved apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pollinet.domain import BoolArray, FloatArray
from pollinet.network.cuts import (
    CoverProblem,
    Cut,
    Row,
    Solved,
    Status,
    counted,
    demands,
    minimise,
    violated,
)

_COST_TOLERANCE = 1e-7


@dataclass(frozen=True, eq=False)
class Ranking:
    """What decides between sets of equal cost: penalties of each node, most important first."""

    penalties: tuple[FloatArray, ...]

    def of(self, nodes: Sequence[int]) -> tuple[float, ...]:
        """Sum of each penalty over a set."""
        return tuple(round(float(p[list(nodes)].sum()), 9) for p in self.penalties)


@dataclass(frozen=True)
class Part:
    """Smallest sets of one part of the garden, best first."""

    status: Status
    sets: tuple[tuple[int, ...], ...]
    all_listed: bool
    bound: float
    cuts: int = 0
    rounds: int = 0


# --- what can matter at all ------------------------------------------------------------------


def croppable(problem: CoverProblem) -> CoverProblem:
    """Drop candidates that no closed set can hold: the greatest closed set stays.

    More donors never uncover anybody, so that dropping the short ones until none is short is exact.
    """
    while True:
        chosen = range(len(problem.candidates))
        short = {d.variable for d in violated(problem, chosen, ())}
        if not short:
            return problem
        problem = _keep(problem, [c for c in chosen if c not in short])


def useful(problem: CoverProblem) -> CoverProblem:
    """Drop candidates that serve no limb and no useful candidate: no smallest set has them."""
    view, nodes = problem.view, np.asarray(problem.candidates, dtype=np.int64)
    rows = {node: row for row, node in enumerate(view.receivers)}
    serves: BoolArray = np.asarray(view.bits.any(axis=2))
    useful: BoolArray = np.asarray(serves[[rows[limb] for limb in problem.limbs]].any(axis=0))
    useful[nodes[list(problem.include)]] = True
    while True:
        reached = [rows[c] for c in problem.candidates if useful[c] and c in rows]
        wider = useful | serves[reached].any(axis=0)
        if (wider[nodes] == useful[nodes]).all():
            return _keep(problem, np.flatnonzero(useful[nodes]).tolist())
        useful = wider


def _keep(problem: CoverProblem, kept: Sequence[int]) -> CoverProblem:
    place = {old: new for new, old in enumerate(kept)}
    return replace(
        problem,
        candidates=tuple(problem.candidates[c] for c in kept),
        costs=problem.costs[list(kept)],
        capacities=tuple(
            (tuple(place[m] for m in members if m in place), most)
            for members, most in problem.capacities
        ),
        include=frozenset(place[c] for c in problem.include if c in place),
    )


def parts_of(problem: CoverProblem) -> Iterator[CoverProblem]:
    """Parts of the garden that share no donors and no limit, each a problem of its own."""
    import networkx as nx

    serves: BoolArray = np.asarray(problem.view.bits.any(axis=2))
    rows = {node: row for row, node in enumerate(problem.view.receivers)}
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from([*problem.limbs, *problem.candidates])
    for receiver in graph.nodes & rows.keys():
        donors = [c for c in problem.candidates if serves[rows[receiver], c]]
        graph.add_edges_from((receiver, donor) for donor in donors)
    for members, _ in problem.capacities:
        nx.add_path(graph, [problem.candidates[m] for m in members])
    for part in sorted(nx.connected_components(graph), key=min):
        limbs = tuple(limb for limb in problem.limbs if limb in part)
        kept = [i for i, c in enumerate(problem.candidates) if c in part]
        yield replace(_keep(problem, kept), limbs=limbs)


# --- one part --------------------------------------------------------------------------------


def worst(problem: CoverProblem, chosen: Sequence[int], limbs: Sequence[int]) -> int:
    """Scenarios in which the worst-off receiver is covered; all of them where there is none."""
    counts = [counted(problem, d, chosen) for d in demands(problem, chosen, limbs)]
    return min(counts, default=problem.view.scenarios)


def _cost_row(problem: CoverProblem, most: float) -> Row:
    return _row(problem, problem.costs, most + _COST_TOLERANCE)


def _row(problem: CoverProblem, of_candidates: FloatArray, most: float) -> Row:
    return np.concatenate([of_candidates, np.zeros(len(problem.limbs))]), -np.inf, most


def _another_set(problem: CoverProblem, chosen: Sequence[int]) -> Row:
    row = np.zeros(problem.variables)
    row[list(chosen)] = 1.0
    return row, -np.inf, len(chosen) - 1.0


def _all_smallest(
    problem: CoverProblem, first: Solved, pool: list[Cut], most: int, limit_s: float | None
) -> tuple[list[tuple[int, ...]], bool]:
    """Sets of the smallest cost by cutting off each one found; whether these are all."""
    found = [first.chosen]
    rows = [_cost_row(problem, float(problem.costs[list(first.chosen)].sum()))]
    while first.chosen and len(found) <= most:
        rows.append(_another_set(problem, found[-1]))
        solved = minimise(problem, _costs(problem), pool, rows, limit_s)
        if solved.status != "optimal":
            return found, solved.status == "infeasible"
        found.append(solved.chosen)
    return found[:most], len(found) <= most


def _costs(problem: CoverProblem) -> FloatArray:
    return np.concatenate([problem.costs, np.zeros(len(problem.limbs))])


def highest_level(
    problem: CoverProblem,
    start: Solved,
    pool: list[Cut],
    extra: Sequence[Row],
    limit_s: float | None,
) -> tuple[int, Solved]:
    """Highest need at which a cover exists under the extra conditions, and one that reaches it.

    start : a cover at the problem's own need.
    """
    best, top = start, problem.view.scenarios + 1
    low = worst(problem, start.chosen, start.limbs)
    while top - low > 1:
        middle = (low + top) // 2
        solved = minimise(replace(problem, need=middle), _costs(problem), pool, extra, limit_s)
        if solved.status == "optimal":
            best, low = solved, worst(problem, solved.chosen, solved.limbs)
        else:
            top = middle
    return low, best


def _best_ranked(
    problem: CoverProblem, first: Solved, ranking: Ranking, pool: list[Cut], limit_s: float | None
) -> tuple[int, ...]:
    """The first of all smallest sets in the lexicographic order, without listing them."""
    rows = [_cost_row(problem, float(problem.costs[list(first.chosen)].sum()))]
    need, best = highest_level(problem, first, pool, rows, limit_s)
    raised = replace(problem, need=max(need, problem.need))
    for penalty in ranking.penalties:
        weights = penalty[list(problem.candidates)]
        objective = np.concatenate([weights, np.zeros(len(problem.limbs))])
        solved = minimise(raised, objective, pool, rows, limit_s)
        if solved.status != "optimal":
            break
        best = solved
        rows.append(_row(problem, weights, float(weights[list(best.chosen)].sum()) + 1e-9))
    return best.chosen


def solve_part(problem: CoverProblem, ranking: Ranking, most: int, limit_s: float | None) -> Part:
    """Find up to `most` smallest sets of one part, best first."""
    pool: list[Cut] = []
    limbs = range(len(problem.limbs))
    first = minimise(problem, _costs(problem), pool, (), limit_s)
    if first.status != "optimal":
        return Part(first.status, (), False, first.bound, len(pool), first.rounds)
    found, complete = _all_smallest(problem, first, pool, most, limit_s)
    if not complete:
        found.append(_best_ranked(problem, first, ranking, pool, limit_s))

    def order(chosen: tuple[int, ...]) -> tuple[float, ...]:
        nodes = [problem.candidates[c] for c in chosen]
        return (-worst(problem, chosen, limbs), *ranking.of(nodes), *nodes)

    ordered = sorted(set(found), key=order)[:most]
    sets = tuple(tuple(problem.candidates[c] for c in chosen) for chosen in ordered)
    return Part("optimal", sets, complete, first.bound, len(pool), first.rounds)
