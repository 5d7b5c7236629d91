"""What one more scion buys, and the smallest concession that makes a plan feasible. Exact."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from pollinet.domain import NetworkInput
from pollinet.network.cover import Cover, cover_problem, smallest_cover
from pollinet.network.cuts import Clock, CoverProblem, Solved, TimeLeft, minimise, time_left
from pollinet.network.exhaust import searchable
from pollinet.network.search import best_of_size, highest_level, useful, worst
from pollinet.network.viability import Viability

DAYS_STEP = 0.5
"""Steps in which the demanded days of overlap are lowered. [days]"""


@dataclass(frozen=True)
class Gain:
    """Best that can be had for some cost.

    cost : most that the added scions may cost; with costs of 1, their number.
    added : nodes that reach it. reliability : of the worst-off receiver then.
    proven : False where a time limit was met, so that there may be better.
    """

    cost: float
    added: tuple[int, ...]
    reliability: float
    proven: bool = True


@dataclass(frozen=True)
class Relaxation:
    """One concession that makes an infeasible plan feasible, the smallest of its kind.

    kind : `level` (value: the highest share of scenarios that can be had), `days` (value: the
        highest demanded overlap, in steps of half a day), `spare` (value: how many more limbs).
    added : a smallest cover under the concession.
    """

    kind: Literal["level", "days", "spare"]
    value: float
    added: tuple[int, ...]


def _nothing_asked(problem: CoverProblem, left: TimeLeft) -> Solved:
    """The start of a climb: the cheapest set when no scenario has to be covered."""
    costs = np.concatenate([problem.costs, np.zeros(len(problem.limbs))])
    return minimise(problem, costs, [], (), left)


def _climb(problem: CoverProblem, most: float, left: TimeLeft) -> Gain:
    free = replace(problem, need=0)
    start = _nothing_asked(free, left)
    count, best, proven = highest_level(free, start, most, left)
    cost = float(problem.costs[list(best.chosen)].sum()) if np.isinf(most) else most
    added = tuple(problem.candidates[c] for c in best.chosen)
    return Gain(cost, added, count / problem.view.scenarios, proven)


def gain_per_cost(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int] | None = None,
    *,
    most: int = 5,
    time_limit_s: float | None = 60.0,
    clock: Clock | None = None,
    view: Viability | None = None,
) -> Iterator[Gain]:
    """Best reliability of the worst-off receiver for 0, 1, 2, … `most`, until nothing is gained.

    Lazy: each entry is computed when it is asked for. For the time limit and the view see
    `smallest_cover`.
    """
    left = time_left(time_limit_s, clock)
    problem = useful(cover_problem(network, candidates, spare, view=view))
    if searchable(problem) and set(problem.costs.tolist()) <= {1.0}:
        yield from _by_size(problem, most, left)
        return
    last = -1.0
    for cost in range(most + 1):
        gain = _climb(problem, float(cost), left)
        if gain.reliability > last:
            yield gain
        last = max(last, gain.reliability)
        if last >= 1.0:
            return


def _by_size(problem: CoverProblem, most: int, left: TimeLeft) -> Iterator[Gain]:
    limbs, scenarios = range(len(problem.limbs)), problem.view.scenarios
    last, proven = worst(problem, (), limbs), True
    yield Gain(0.0, (), last / scenarios)
    for size in range(1, most + 1):
        # What no smaller set reaches: that is what the search by size asks for.
        chosen, looked = best_of_size(replace(problem, need=last + 1), size, left)
        proven &= looked
        if chosen is not None:
            last = worst(problem, chosen, limbs)
            added = tuple(problem.candidates[c] for c in chosen)
            yield Gain(float(size), added, last / scenarios, proven)


def covers_by_days(
    network: NetworkInput,
    candidates: Sequence[int],
    days: Sequence[float],
    spare: Mapping[str, int] | None = None,
) -> tuple[tuple[float, Cover], ...]:
    """The smallest cover for each demanded overlap. [days]"""
    return tuple(
        (value, smallest_cover(_with_days(network, value), candidates, spare)) for value in days
    )


def _with_days(network: NetworkInput, days: float) -> NetworkInput:
    return replace(network, aim=replace(network.aim, min_overlap_days=days))


def _solved(cover: Cover) -> bool:
    return cover.status in ("optimal", "nothing to add")


def _level(
    network: NetworkInput, candidates: Sequence[int], spare: Mapping[str, int] | None
) -> Relaxation | None:
    problem = useful(cover_problem(network, candidates, spare))
    gain = _climb(problem, np.inf, time_left(60.0))
    if gain.reliability <= 0:
        return None
    eased = replace(network, aim=replace(network.aim, level=gain.reliability))
    return Relaxation("level", gain.reliability, smallest_cover(eased, candidates, spare).added)


def _days(
    network: NetworkInput, candidates: Sequence[int], spare: Mapping[str, int] | None
) -> Relaxation | None:
    """Halve the interval: fewer days demanded never make a cover fail."""
    low, high = 0, int(np.ceil(network.aim.min_overlap_days / DAYS_STEP))
    best: Relaxation | None = None
    while high - low > 1:
        middle = (low + high) // 2
        eased = _with_days(network, middle * DAYS_STEP)
        cover = smallest_cover(eased, candidates, spare, max_alternatives=1)
        if _solved(cover):
            best, low = Relaxation("days", middle * DAYS_STEP, cover.added), middle
        else:
            high = middle
    return best


def _spare(
    network: NetworkInput, candidates: Sequence[int], spare: Mapping[str, int] | None
) -> Relaxation | None:
    cover = smallest_cover(network, candidates, None, max_alternatives=1)
    if spare is None or not _solved(cover):
        return None
    species = [network.nodes[node].variety.species for node in cover.added]
    lacking = [max(0, species.count(name) - spare.get(name, 0)) for name in set(species)]
    return Relaxation("spare", float(sum(lacking)), cover.added)


def relaxations(
    network: NetworkInput, candidates: Sequence[int], spare: Mapping[str, int] | None = None
) -> tuple[Relaxation, ...]:
    """The smallest concession of each kind that makes an infeasible plan feasible, if any does."""
    kinds = (_level, _days, _spare)
    found = (kind(network, candidates, spare) for kind in kinds)
    return tuple(relaxation for relaxation in found if relaxation is not None)
