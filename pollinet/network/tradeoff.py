"""What one more scion buys, and the smallest concession that makes a plan feasible. Exact."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor
from typing import Literal

import numpy as np

from pollinet.domain import NetworkInput
from pollinet.network import by_size
from pollinet.network.cover import Cover, smallest_cover
from pollinet.network.engines import best_of_size, highest_level
from pollinet.network.equals import equal_groups, with_few
from pollinet.network.problem import (
    CoverProblem,
    cover_problem,
    room_of,
    scenarios_of_worst,
    view_of,
)
from pollinet.network.programme import Solved, cost_objective, minimise
from pollinet.network.prune import drop_useless
from pollinet.network.tie_break import Ranking, first_by_programme, first_of_size, ranking_of
from pollinet.network.time_limit import SEARCH_LIMIT_S, Clock, TimeLeft, is_over, part_of, time_left
from pollinet.network.viability import Viability
from pollinet.shares import TOLERANCE

Preferences = Sequence[Mapping[int, float]]
"""What decides between equal sets, see `smallest_cover`."""

LEVEL_STEPS = 100
"""The demanded share of winters is lowered by hundredths. Own convention."""

DAYS_STEP = 0.5
"""Steps in which the demanded days of overlap are lowered. [days]"""


@dataclass(frozen=True)
class Gain:
    """Best that can be had for some cost.

    cost : most that the added scions may cost; with costs of 1, their number.
    added : the first set that reaches it, in the order of `smallest_cover`, as far as the search
        gets through all that do. reliability : of the worst-off receiver then.
    proven : False where a time limit was met, so that there may be better.
    """

    cost: float
    added: tuple[int, ...]
    reliability: float
    proven: bool = True


@dataclass(frozen=True)
class Relaxation:
    """One concession that makes an infeasible plan feasible, the smallest of its kind.

    kind : `level` (value: the highest share of scenarios that can be had, in whole hundredths, as
        a plan can ask for it: at that level `added` is the smallest cover), `days` (value: the
        highest demanded overlap, in steps of half a day), `spare` (value: how many more limbs).
    added : the first smallest cover under the concession.
    proven : False where the time was over, so that less may do.
    """

    kind: Literal["level", "days", "spare"]
    value: float
    added: tuple[int, ...]
    proven: bool = True


def gain_per_cost(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int] | None = None,
    *,
    preferences: Preferences = (),
    most: int = 5,
    time_limit_s: float | None = SEARCH_LIMIT_S,
    clock: Clock | None = None,
    view: Viability | None = None,
) -> Iterator[Gain]:
    """Best reliability of the worst-off receiver for 0, 1, 2, … `most`, until nothing is gained.

    Lazy: each entry is computed when it is asked for. For the preferences, the time limit and the
    view see `smallest_cover`.
    """
    left = time_left(time_limit_s, clock)
    ranking = ranking_of(network, preferences)
    problem = _at_any_level(cover_problem(network, candidates, spare, view=view))
    problem = _joined(problem, ranking, left)
    if by_size.applies(problem) and set(problem.costs.tolist()) <= {1.0}:
        yield from _gains_by_size(problem, most, ranking, left)
        return
    last = -1.0
    for cost in range(most + 1):
        gain = _gain_for(problem, float(cost), ranking, left)
        if gain.reliability > last:
            yield gain
        last = max(last, gain.reliability)
        if last >= 1.0:
            return


def _gains_by_size(
    problem: CoverProblem, most: int, ranking: Ranking, left: TimeLeft
) -> Iterator[Gain]:
    limbs, scenarios = range(len(problem.limbs)), problem.view.scenarios
    last, proven = scenarios_of_worst(problem, (), limbs), True
    yield Gain(0.0, (), last / scenarios)
    for size in range(1, most + 1):
        # What no smaller set reaches: that is what the search by size asks for.
        some, looked = best_of_size(replace(problem, need=last + 1), size, left)
        proven &= looked
        if some is not None:
            last = scenarios_of_worst(problem, some, limbs)
            chosen, _, _ = first_of_size(replace(problem, need=last), some, ranking, left)
            yield Gain(float(size), problem.nodes(chosen), last / scenarios, proven)


def _gain_for(problem: CoverProblem, most: float, ranking: Ranking, left: TimeLeft) -> Gain:
    count, best, proven = _highest(problem, most, left)
    raised = replace(problem, need=count)
    chosen, _ = first_by_programme(raised, best, best.value, ranking, left)
    return Gain(most, problem.nodes(chosen), count / problem.view.scenarios, proven)


def _highest(problem: CoverProblem, most: float, left: TimeLeft) -> tuple[int, Solved, bool]:
    """What `highest_level` finds, climbing from the cheapest set when nothing is asked."""
    free = replace(problem, need=0)
    start = minimise(free, cost_objective(free), [], (), left)
    return highest_level(free, start, most, left)


def _with_days(network: NetworkInput, days: float) -> NetworkInput:
    return replace(network, aim=replace(network.aim, min_overlap_days=days))


def _solved(cover: Cover) -> bool:
    return cover.status in ("optimal", "nothing to add")


def relaxations(
    network: NetworkInput,
    candidates: Sequence[int],
    spare: Mapping[str, int] | None = None,
    *,
    preferences: Preferences = (),
    sure: bool = False,
    time_limit_s: float | None = SEARCH_LIMIT_S,
    clock: Clock | None = None,
    view: Viability | None = None,
) -> tuple[Relaxation, ...]:
    """The smallest concession of each kind that makes an infeasible plan feasible, if any does.

    preferences, sure, view : see `smallest_cover`. time_limit_s, clock : for all of it; each kind
    has an equal share of what the kinds before it have left.
    """
    left = time_left(time_limit_s, clock)
    seen = view_of(network, candidates, sure=sure) if view is None else view

    def cover(eased: NetworkInput, left: TimeLeft, room: Mapping[str, int] | None = spare) -> Cover:
        # Only the days of shared bloom say who serves whom.
        same = eased.aim.min_overlap_days == network.aim.min_overlap_days
        return smallest_cover(
            eased, candidates, room, preferences=preferences, max_alternatives=1, sure=sure,
            time_limit_s=left(), clock=clock,
            view=seen if same else None,
        )  # fmt: skip

    def more_limbs() -> Relaxation | None:
        return None if spare is None else _more_limbs(network, spare, cover(network, left, None))

    problem = _at_any_level(cover_problem(network, candidates, spare, view=seen))
    problem = _joined(problem, ranking_of(network, preferences), part_of(left, 1 / 3))
    found = [_lower_level(network, problem, cover, part_of(left, 1 / 3))]
    found.append(_fewer_days(network, cover, part_of(left, 1 / 2)))
    found.append(more_limbs())
    return tuple(relaxation for relaxation in found if relaxation is not None)


def _at_any_level(problem: CoverProblem) -> CoverProblem:
    """Without candidates that are of no use whatever level is asked for."""
    every = drop_useless(replace(problem, need=problem.view.scenarios))
    return replace(every, need=problem.need)


def _joined(problem: CoverProblem, ranking: Ranking, left: TimeLeft) -> CoverProblem:
    """With the first few alone of candidates that are equal in every scenario.

    One more of them than may count raises no share, so that no smallest set for any level has it,
    and of those as good the first are named. `equal_groups` compares what is given to all limbs,
    whether or not they ask at the plan's level.
    """
    every = replace(problem, need=problem.view.scenarios)
    return with_few(problem, equal_groups(every, ranking.penalties, left))


_Search = Callable[[NetworkInput, TimeLeft], Cover]


def _lower_level(
    network: NetworkInput, problem: CoverProblem, cover: _Search, left: TimeLeft
) -> Relaxation | None:
    count, _, proven = _highest(problem, np.inf, part_of(left, 2 / 3))
    level = floor(count / problem.view.scenarios * LEVEL_STEPS + TOLERANCE) / LEVEL_STEPS
    if level <= 0:
        return None
    found = cover(replace(network, aim=replace(network.aim, level=level)), left)
    served = _solved(found) or found.added
    return Relaxation("level", level, found.added, proven) if served else None


def _fewer_days(network: NetworkInput, cover: _Search, left: TimeLeft) -> Relaxation | None:
    """Halve the interval: fewer days demanded never make a cover fail."""
    low, high = 0, int(np.ceil(network.aim.min_overlap_days / DAYS_STEP))
    best: Relaxation | None = None
    proven = True
    while high - low > 1 and not is_over(left):
        middle = (low + high) // 2
        found = cover(_with_days(network, middle * DAYS_STEP), left)
        proven &= found.proof.status != "time limit"
        if _solved(found):
            best, low = Relaxation("days", middle * DAYS_STEP, found.added), middle
        else:
            high = middle
    return best and replace(best, proven=proven and high - low <= 1)


def _more_limbs(
    network: NetworkInput, spare: Mapping[str, int], unlimited: Cover
) -> Relaxation | None:
    """unlimited : the smallest cover when the trees could carry any number of limbs."""
    if not _solved(unlimited):
        return None
    rooms = [room_of(network.nodes[node]) for node in unlimited.added]
    lacking = [max(0, rooms.count(room) - spare.get(room, 0)) for room in set(rooms)]
    return Relaxation("spare", float(sum(lacking)), unlimited.added)
