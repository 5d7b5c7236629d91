"""The cheapest cover, and the highest level, by whichever exact engine is fit for it.

Sets of equal cost are looked through size by size (`by_size`); where costs differ, limbs may be
left out, or there is too much to look through, the integer programme answers (`programme`). Both
prove what they say.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

import numpy as np

from pollinet.network import by_size
from pollinet.network.by_size import SizeSearch, TooLarge, covers_of_size
from pollinet.network.problem import (
    Chosen,
    CoverProblem,
    gains,
    scenarios_of_worst,
    unmet_demands,
)
from pollinet.network.programme import (
    ROUNDING,
    Solved,
    at_most,
    cost_objective,
    minimise,
)
from pollinet.network.time_limit import TimeLeft, is_over, no_limit, part_of

OWN_SHARE = 0.15
"""Share of the time that the search by size has first: own convention; most gardens need less."""

PROGRAMME_SHARE = 0.6
"""Share of the rest that the programme has then; what is left goes to the search by size."""


def cheapest(problem: CoverProblem, most: float = np.inf, left: TimeLeft = no_limit) -> Solved:
    """Find one cheapest cover, or prove that none costs `most` or less.

    First the search by size has a little of the time, or of the work where no time is told; then
    the programme most of the rest; then the search by size goes on where it stopped.
    """
    extra = [] if np.isinf(most) else [at_most(problem, problem.costs, most)]
    if not by_size.applies(problem):
        return minimise(problem, cost_objective(problem), [], extra, left)
    unit = float(problem.costs[0]) if problem.candidates else 1.0
    sizes = range(1 + min(_largest_size(problem), _whole(most / unit)))
    first = SizeSearch(problem.need, by_size.WORK, left=part_of(left, OWN_SHARE))
    found, size = _smallest(problem, sizes, first)
    if found is not None:
        return found
    # All smaller sizes have been looked through.
    extra.append(at_most(problem, -problem.costs, -size * unit))
    solved = minimise(problem, cost_objective(problem), [], extra, part_of(left, PROGRAMME_SHARE))
    if solved.status == "time limit" and not is_over(left):
        rest = SizeSearch(problem.need, np.inf, left=left)
        found, size = _smallest(problem, range(size, sizes.stop), rest)
    if found is not None:
        return replace(found, cuts=solved.cuts, programmes=solved.programmes)
    # Sets cost whole units.
    proven = 0.0 if np.isinf(solved.bound) else np.ceil(solved.bound / unit - ROUNDING) * unit
    return replace(solved, bound=max(float(proven), size * unit), looked=True)


def _smallest(problem: CoverProblem, sizes: range, search: SizeSearch) -> tuple[Solved | None, int]:
    """The first cover by size, or that there is none; None: it stopped at the size told."""
    unit = float(problem.costs[0]) if problem.candidates else 1.0
    for size in sizes:
        try:
            chosen = next(covers_of_size(problem, size, search), None)
        except TooLarge:
            return None, size
        if chosen is not None:
            limbs = tuple(range(len(problem.limbs)))
            value = size * unit
            return Solved("optimal", chosen, limbs, value, value, looked=True, by_size=True), size
    return Solved("infeasible", looked=True, by_size=True), sizes.stop


def most_limbs(problem: CoverProblem, left: TimeLeft) -> Solved:
    """Cover as many limbs as there is room for."""
    loose = replace(problem, optional=True)
    reward = np.concatenate([np.zeros(len(problem.candidates)), -np.ones(len(problem.limbs))])
    return minimise(loose, reward, [], (), left)


def highest_level(
    problem: CoverProblem, start: Solved, most: float, left: TimeLeft = no_limit
) -> tuple[int, Solved, bool]:
    """Highest need at which a cover costs `most` or less, a cover that reaches it, and the proof.

    start : such a cover at the problem's own need. A run that meets its time limit counts as a no;
        the last value is then False.
    """
    best, top, proven = start, problem.view.scenarios + 1, True
    low = scenarios_of_worst(problem, start.chosen, start.limbs)
    while top - low > 1:
        middle = (low + top) // 2
        solved = cheapest(replace(problem, need=middle), most, left)
        proven &= solved.status != "time limit"
        if solved.status == "optimal":
            best, low = solved, scenarios_of_worst(problem, solved.chosen, solved.limbs)
        else:
            top = middle
    return low, best, proven


def best_of_size(
    problem: CoverProblem, size: int, left: TimeLeft = no_limit
) -> tuple[Chosen | None, bool]:
    """The set of a size whose worst-off receiver is best, and whether that is proven.

    No smaller set may reach the problem's need. None: no set of this size does.
    """
    search, limbs = SizeSearch(problem.need, left=left), range(len(problem.limbs))
    best: Chosen | None = None
    with suppress(TooLarge):
        for chosen in covers_of_size(problem, size, search):
            count = scenarios_of_worst(problem, chosen, limbs)
            if count >= search.need:
                best, search.need = chosen, count + 1
        return best, True
    return best, False


def quick_cover(problem: CoverProblem) -> Chosen | None:
    """Heuristic: graft what brings most for its cost to those still short, again and again.

    In the end what is not needed any more is dropped. None: there is no room to go on.
    """
    limbs, chosen = range(len(problem.limbs)), sorted(problem.include)
    while short := unmet_demands(problem, chosen, limbs):
        free = [
            c
            for c in range(len(problem.candidates))
            if c not in chosen and problem.has_room_for([*chosen, c])
        ]
        worth, among = np.zeros(len(free)), np.array(free, dtype=np.int64)
        for demand in short:
            row, covered = gains(problem, demand, chosen, among)
            worth += np.minimum(row, problem.need - covered)
        if not worth.any():
            return None
        best = int((worth / np.maximum(problem.costs[among], ROUNDING)).argmax())
        chosen.append(free[best])
    for candidate in [c for c in reversed(chosen) if c not in problem.include]:
        fewer = [c for c in chosen if c != candidate]
        if not unmet_demands(problem, fewer, limbs):
            chosen = fewer
    return tuple(sorted(chosen)) if problem.has_room_for(chosen) else None


def least_cost(problem: CoverProblem) -> float:
    """Cost of what is grafted in any case; nothing can cost less."""
    taken = np.isin(np.arange(len(problem.candidates)), list(problem.include))
    return float(np.where(taken, problem.costs, np.minimum(problem.costs, 0.0)).sum())


def _whole(amount: float) -> int:
    return 10**9 if np.isinf(amount) else int(amount + ROUNDING)


def _largest_size(problem: CoverProblem) -> int:
    """No set can be larger than this."""
    crowded = {m for members, _ in problem.capacities for m in members}
    free = len(problem.candidates) - len(crowded)
    return free + sum(min(most, len(members)) for members, most in problem.capacities)
