"""The search for smallest sets: what cannot matter is left out, separate parts are solved apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from pollinet.domain import BoolArray, FloatArray
from pollinet.network.cuts import (
    CoverProblem,
    Cut,
    Row,
    Solved,
    Status,
    TimeLeft,
    after_each_loss,
    counted,
    demands,
    learn,
    minimise,
    no_limit,
    violated,
)
from pollinet.network.exhaust import RANKING_WORK, Sweep, TooLarge, covers_of_size, searchable

_TOLERANCE = 1e-7


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
    first_proven: bool
    bound: float
    cuts: int = 0
    programmes: int = 0


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
    """Scenarios in which the worst-off receiver is covered; all of them where there is none.

    Where the cover must survive a loss: after the loss that is worst for it.
    """
    active = demands(problem, chosen, limbs)
    counts = [counted(problem, d, chosen) for d in active]
    firm = [d for d in active if problem.view.receivers[d.row] in problem.firm]
    counts += [count for d in firm for _, count in after_each_loss(problem, d, chosen)]
    return min(counts, default=problem.view.scenarios)


def cheapest(problem: CoverProblem, most: float = np.inf, left: TimeLeft = no_limit) -> Solved:
    """Find one cheapest cover, or prove that none costs `most` or less.

    Looks through the sets by size where that is possible and short, else asks the programme.
    """
    extra = [] if np.isinf(most) else [_row(problem, problem.costs, most)]
    if searchable(problem):
        unit = float(problem.costs[0]) if problem.candidates else 1.0
        for size in range(1 + min(_room(problem), _floor(most / unit))):
            try:
                chosen = next(covers_of_size(problem, size, Sweep(problem.need, left=left)), None)
            except TooLarge:
                # All smaller sizes have been looked through.
                extra.append(_row(problem, -problem.costs, -size * unit))
                solved = minimise(problem, _costs(problem), [], extra, left)
                return replace(solved, bound=max(solved.bound, size * unit))
            if chosen is not None:
                limbs = tuple(range(len(problem.limbs)))
                return Solved("optimal", chosen, limbs, size * unit, size * unit)
        return Solved("infeasible")
    return minimise(problem, _costs(problem), [], extra, left)


def highest_level(
    problem: CoverProblem, start: Solved, most: float, left: TimeLeft = no_limit
) -> tuple[int, Solved, bool]:
    """Highest need at which a cover costs `most` or less, a cover that reaches it, and the proof.

    start : such a cover at the problem's own need. A run that meets its time limit counts as a no;
        the last value is then False.
    """
    best, top, proven = start, problem.view.scenarios + 1, True
    low = worst(problem, start.chosen, start.limbs)
    while top - low > 1:
        middle = (low + top) // 2
        solved = cheapest(replace(problem, need=middle), most, left)
        proven &= solved.status != "time limit"
        if solved.status == "optimal":
            best, low = solved, worst(problem, solved.chosen, solved.limbs)
        else:
            top = middle
    return low, best, proven


def best_of_size(
    problem: CoverProblem, size: int, left: TimeLeft = no_limit
) -> tuple[tuple[int, ...] | None, bool]:
    """The set of a size whose worst-off receiver is best, and whether that is proven.

    No smaller set may reach the problem's need. None: no set of this size does.
    """
    sweep, limbs = Sweep(problem.need, left=left), range(len(problem.limbs))
    best: tuple[int, ...] | None = None
    with suppress(TooLarge):
        for chosen in covers_of_size(problem, size, sweep):
            count = worst(problem, chosen, limbs)
            if count >= sweep.need:
                best, sweep.need = chosen, count + 1
        return best, True
    return best, False


def solve_part(problem: CoverProblem, ranking: Ranking, most: int, left: TimeLeft) -> Part:
    """Find up to `most` smallest sets of one part, the first one first."""
    first = cheapest(problem, left=left)
    if first.status != "optimal":
        kept = _irreducible(problem) if first.status == "time limit" else None
        some = [] if kept is None else [_nodes(problem, kept)]
        bound = max(first.bound, _least(problem))
        proven = kept is not None and problem.costs[list(kept)].sum() <= bound + _TOLERANCE
        status = "optimal" if proven else first.status
        return Part(status, tuple(some), False, False, bound, first.cuts, first.programmes)
    found, complete = _all_smallest(problem, first, most, left)
    proven = complete
    if not complete:
        best, proven = _first_ranked(problem, first, ranking, left)
        found.append(best)
    ordered = sorted(set(found), key=lambda chosen: _order(problem, ranking, chosen))[:most]
    sets = tuple(_nodes(problem, chosen) for chosen in ordered)
    return Part("optimal", sets, complete, proven, first.bound, first.cuts, first.programmes)


def _irreducible(problem: CoverProblem) -> tuple[int, ...] | None:
    """Heuristic: drop candidates, the least useful first, for as long as it is a cover.

    None: there is not room for what is left.
    """
    limbs = range(len(problem.limbs))
    kept = list(range(len(problem.candidates)))
    worth = np.sum([learn(problem, d, ()).gains for d in demands(problem, (), limbs)], axis=0)
    for candidate in np.argsort(worth / np.maximum(problem.costs, _TOLERANCE), kind="stable"):
        fewer = [c for c in kept if c != candidate]
        if candidate not in problem.include and not violated(problem, fewer, limbs):
            kept = fewer
    crowded = any(len(set(members) & set(kept)) > most for members, most in problem.capacities)
    return None if crowded else tuple(kept)


def _nodes(problem: CoverProblem, chosen: Sequence[int]) -> tuple[int, ...]:
    return tuple(problem.candidates[c] for c in chosen)


def _order(problem: CoverProblem, ranking: Ranking, chosen: Sequence[int]) -> tuple[float, ...]:
    nodes = _nodes(problem, chosen)
    return (-worst(problem, chosen, range(len(problem.limbs))), *ranking.of(nodes), *nodes)


def _all_smallest(
    problem: CoverProblem, first: Solved, most: int, left: TimeLeft
) -> tuple[list[tuple[int, ...]], bool]:
    """Sets of the smallest cost, `most` of them or all; whether these are all."""
    found = [first.chosen]
    if searchable(problem) and not first.programmes:
        sweep = Sweep(problem.need, RANKING_WORK, left=left)
        covers = covers_of_size(problem, len(first.chosen), sweep)
        others = (chosen for chosen in covers if chosen != first.chosen)
        with suppress(TooLarge):
            found.extend(islice(others, most))
            return found[:most], len(found) <= most
        return found[:most], False
    pool: list[Cut] = []
    rows = [_row(problem, problem.costs, first.value)]
    while first.chosen and len(found) <= most:
        rows.append(_another_set(problem, found[-1]))
        solved = minimise(problem, _costs(problem), pool, rows, left)
        if solved.status != "optimal":
            return found, solved.status == "infeasible"
        found.append(solved.chosen)
    return found[:most], len(found) <= most


def _first_ranked(
    problem: CoverProblem, first: Solved, ranking: Ranking, left: TimeLeft
) -> tuple[tuple[int, ...], bool]:
    """The first of all smallest sets in the order of ranks without listing them; whether proven."""
    if searchable(problem) and not first.programmes:
        return _climbing(problem, first.chosen, ranking, left)
    need, best, proven = highest_level(problem, first, first.value, left)
    raised = replace(problem, need=max(need, problem.need))
    rows, pool = [_row(problem, problem.costs, first.value)], list[Cut]()
    for penalty in ranking.penalties:
        weights = penalty[list(problem.candidates)]
        objective = np.concatenate([weights, np.zeros(len(problem.limbs))])
        solved = minimise(raised, objective, pool, rows, left)
        if solved.status != "optimal":
            return best.chosen, False
        best = solved
        rows.append(_row(problem, weights, float(weights[list(best.chosen)].sum())))
    return best.chosen, proven


def _climbing(
    problem: CoverProblem, first: tuple[int, ...], ranking: Ranking, left: TimeLeft
) -> tuple[tuple[int, ...], bool]:
    """Go through the covers of a size once, asking for more with each better one."""
    sweep = Sweep(problem.need, RANKING_WORK, left=left)
    limbs = range(len(problem.limbs))
    best = (_order(problem, ranking, first), first)
    try:
        for chosen in covers_of_size(problem, len(first), sweep):
            best = min(best, (_order(problem, ranking, chosen), chosen))
            # Equals are still wanted: the next rank decides between them.
            sweep.need = max(sweep.need, worst(problem, chosen, limbs))
    except TooLarge:
        return best[1], False
    return best[1], True


def _least(problem: CoverProblem) -> float:
    """Cost of what is grafted in any case; nothing can cost less."""
    taken = np.isin(np.arange(len(problem.candidates)), list(problem.include))
    return float(np.where(taken, problem.costs, np.minimum(problem.costs, 0.0)).sum())


def _floor(amount: float) -> int:
    return 10**9 if np.isinf(amount) else int(amount + _TOLERANCE)


def _room(problem: CoverProblem) -> int:
    """No set can be larger than this."""
    crowded = {m for members, _ in problem.capacities for m in members}
    free = len(problem.candidates) - len(crowded)
    return free + sum(min(most, len(members)) for members, most in problem.capacities)


def _costs(problem: CoverProblem) -> FloatArray:
    return np.concatenate([problem.costs, np.zeros(len(problem.limbs))])


def _row(problem: CoverProblem, of_candidates: FloatArray, most: float) -> Row:
    row = np.concatenate([of_candidates, np.zeros(len(problem.limbs))])
    return row, -np.inf, most + _TOLERANCE


def _another_set(problem: CoverProblem, chosen: Sequence[int]) -> Row:
    row = np.zeros(problem.variables)
    row[list(chosen)] = 1.0
    return row, -np.inf, len(chosen) - 1.0
