"""One order of equally cheap sets, and the first of them: by worst-off limb, chill, preferences.

Few sets are listed and sorted. Of many the first is found without listing them: by size, asking
for more with each better one; or by programme, one objective after the other. That a set is a
smallest one is proven before, so that the order of equals has no claim on the rest of the time: it
ends with `RANKING_WORK`, the same on every machine, and with `RANKING_SHARE` at the latest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from pollinet.domain import FloatArray, NetworkInput
from pollinet.network.by_size import (
    SizeSearch,
    TooLarge,
    bytes_of_all,
    covers_of_size,
    size_of,
)
from pollinet.network.engines import highest_level
from pollinet.network.problem import Chosen, CoverProblem, scenarios_of_worst
from pollinet.network.programme import (
    Cut,
    Row,
    Solved,
    another_set,
    at_most,
    cost_objective,
    minimise,
)
from pollinet.network.time_limit import TimeLeft, part_of

RANKING_WORK = 2e9
"""Bytes that may be read for listing the sets, and as many for ranking them: a second or so. Own
convention; in gardens a hundredth of it is needed (`tests/benchmarks/test_hard_covers.py`)."""

RANKING_SHARE = 0.25
"""Share of the time that is left when a size is proven that both may take: own convention."""


@dataclass(frozen=True, eq=False)
class Ranking:
    """What decides between sets equal in cost and worst-off limb, most important first.

    penalties : each of shape (nodes,).
    """

    penalties: tuple[FloatArray, ...]

    def of(self, nodes: Sequence[int]) -> tuple[float, ...]:
        """Sum of each penalty over a set."""
        return tuple(round(float(p[list(nodes)].sum()), 9) for p in self.penalties)


def ranking_of(network: NetworkInput, preferences: Sequence[Mapping[int, float]]) -> Ranking:
    """Chill that candidates lack, then the preferences: penalties by node, missing ones are 0."""
    shortfall = 1.0 - network.chill_quality.mean(axis=1)
    count = range(len(network.nodes))
    wishes = [np.array([wish.get(i, 0.0) for i in count]) for wish in preferences]
    return Ranking((shortfall, *wishes))


def rank(problem: CoverProblem, ranking: Ranking, chosen: Chosen) -> tuple[float, ...]:
    """Key by which sets of equal cost are sorted, the first one first."""
    nodes = problem.nodes(chosen)
    return (-_worst(problem, chosen), *ranking.of(nodes), *nodes)


def ordered_sets(
    problem: CoverProblem, first: Solved, ranking: Ranking, most: int, left: TimeLeft
) -> Ordered:
    """Up to `most` of the sets as cheap as `first`, a cheapest one, in order of rank."""
    share = part_of(left, RANKING_SHARE)
    found, complete = cheapest_sets(problem, first, most, share)
    proven, looked = complete, len(found)
    if not complete:
        best, proven, others = first_in_rank(problem, first, ranking, share)
        found.append(best)
        looked = max(looked, others)
    ordered = sorted(set(found), key=lambda chosen: rank(problem, ranking, chosen))
    return Ordered(tuple(ordered[:most]), complete, proven, looked)


@dataclass(frozen=True)
class Ordered:
    """Sets of one cost, the first in rank first.

    complete : whether these are all. proven : whether the first of them is the first of all.
    looked : so many were compared, or more.
    """

    sets: tuple[Chosen, ...]
    complete: bool
    proven: bool
    looked: int


def cheapest_sets(
    problem: CoverProblem, first: Solved, most: int, left: TimeLeft
) -> tuple[list[Chosen], bool]:
    """Sets as cheap as `first`, a cheapest one: `most` of them or all; whether these are all."""
    found = [first.chosen]
    if first.by_size:
        search = SizeSearch(problem.need, RANKING_WORK, left=left)
        covers = covers_of_size(problem, size_of(problem, first.chosen), search)
        others = (chosen for chosen in covers if chosen != first.chosen)
        with suppress(TooLarge):
            found.extend(islice(others, most))
            return found[:most], len(found) <= most
        return found[:most], False
    pool: list[Cut] = []
    rows = _same_cost(problem, first.value)
    while first.chosen and len(found) <= most:
        rows.append(another_set(problem, found[-1]))
        solved = minimise(problem, cost_objective(problem), pool, rows, left)
        if solved.status != "optimal":
            return found, solved.status == "infeasible"
        found.append(solved.chosen)
    return found[:most], len(found) <= most


def _same_cost(problem: CoverProblem, cost: float) -> list[Row]:
    """No more than this cost, and no less, as is proven: so that nobody proves it again."""
    return [at_most(problem, problem.costs, cost), at_most(problem, -problem.costs, -cost)]


def first_in_rank(
    problem: CoverProblem, first: Solved, ranking: Ranking, left: TimeLeft
) -> tuple[Chosen, bool, int]:
    """The first of all sets as cheap as `first`, a cheapest one; whether that is proven.

    The number is that of sets that were compared one by one.
    """
    if first.by_size:
        return first_of_size(problem, first.chosen, ranking, left)
    need, best, proven = highest_level(problem, first, first.value, left)
    raised = replace(problem, need=max(need, problem.need))
    chosen, ranked = first_by_programme(raised, best, first.value, ranking, left)
    return chosen, proven and ranked, 0


def first_of_size(
    problem: CoverProblem, some: Chosen, ranking: Ranking, left: TimeLeft
) -> tuple[Chosen, bool, int]:
    """The first of all covers of a size, whether that is proven, and how many were compared.

    some : one of them. No smaller set may be a cover. Goes through them once, asking for more with
    each better one.
    """
    search = SizeSearch(problem.need, RANKING_WORK, left=left)
    best, looked = (rank(problem, ranking, some), some), 0
    with suppress(TooLarge):
        for chosen in covers_of_size(problem, size_of(problem, some), search):
            search.read(bytes_of_all(problem, len(chosen)))
            found = rank(problem, ranking, chosen)
            best, looked = min(best, (found, chosen)), looked + 1
            # Equals are still wanted: the next rank decides between them.
            search.need = max(search.need, -int(found[0]))
        return best[1], True, looked
    return best[1], False, looked


def first_by_programme(
    problem: CoverProblem, some: Solved, cost: float, ranking: Ranking, left: TimeLeft
) -> tuple[Chosen, bool]:
    """The first of all covers that cost so much at most, by the ranking alone; whether proven.

    some : one of them; where the programme meets its time limit, it is the answer.
    """
    best = some
    rows, pool = _same_cost(problem, cost), list[Cut]()
    for penalty in ranking.penalties:
        weights = penalty[list(problem.candidates)]
        objective = np.concatenate([weights, np.zeros(len(problem.limbs))])
        solved = minimise(problem, objective, pool, rows, left)
        if solved.status != "optimal":
            return best.chosen, False
        best = solved
        rows.append(at_most(problem, weights, float(weights[list(best.chosen)].sum())))
    return best.chosen, True


def _worst(problem: CoverProblem, chosen: Chosen) -> int:
    return scenarios_of_worst(problem, chosen, range(len(problem.limbs)))
