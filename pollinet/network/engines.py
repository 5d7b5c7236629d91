"""The cheapest cover, and the highest level, by whichever exact engine is fit for it.

Sets of equal cost are looked through size by size (`by_size`); where costs differ, limbs may be
left out, or there is too much to look through, the integer programme answers (`programme`). Both
prove what they say.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace

import numpy as np

from pollinet.network import by_size
from pollinet.network.by_size import (
    SizeSearch,
    TooLarge,
    covers_of_size,
    size_of,
    unit_cost,
    units_of,
)
from pollinet.network.problem import (
    Chosen,
    CoverProblem,
    gains,
    scenarios_of_worst,
    unmet_demands,
)
from pollinet.network.programme import (
    ROUNDING,
    Cut,
    Row,
    Solved,
    at_most,
    cost_objective,
    minimise,
)
from pollinet.network.time_limit import TimeLeft, is_over, no_limit, part_of

OWN_SHARE = 0.1
"""Share of the time that the search by size has first, and no more than `by_size.WORK`: own
convention; most gardens need far less."""

SHORT_SHARE = 0.05
"""Share of the rest that the programme has then: enough where it is quick."""

NEAR_SHARE, NEAR_WORK = 0.3, 45
"""Share of the rest that the search by size has then where one size is left to look through, and so
many times its first work."""

PROGRAMME_SHARE, FAR_SHARE = 0.6, 0.9
"""Share of the rest that the programme has then, the larger one where more sizes are left; what is
left goes to the search by size."""


def cheapest(problem: CoverProblem, most: float = np.inf, left: TimeLeft = no_limit) -> Solved:
    """Find one cheapest cover, or prove that none costs `most` or less.

    First the search by size has a little work, a set is picked quickly, and the programme has a
    little time. Where the picked set is at most one size larger than what is ruled out, the search
    by size goes on for a while. Then the programme has most of the rest; then the search by size
    goes on where it stopped. As soon as nothing smaller than the picked set is left, that is the
    answer. Where the time is over, `chosen` is the picked set.
    """
    extra = [] if np.isinf(most) else [at_most(problem, problem.costs, most)]
    if not by_size.applies(problem):
        solved = minimise(problem, cost_objective(problem), [], extra, left)
        picked = quick_cover(problem) if solved.status == "time limit" else None
        return _or_picked(problem, solved, picked, most)
    sizes = range(1 + min(_largest_size(problem), _whole(most / unit_cost(problem))))
    turns = _Turns(problem, sizes, extra, left)
    if turns.look(by_size.WORK, OWN_SHARE):
        return turns.found
    turns.found = replace(turns.found, looked=True)
    picked = quick_cover(problem)
    size = np.inf if picked is None else size_of(problem, picked)

    def is_done() -> bool:
        turns.found = _or_picked(problem, turns.found, picked, most)
        return turns.found.status != "time limit"

    if is_done():
        # All smaller sizes were looked through.
        return replace(turns.found, by_size=turns.size == size)
    turns.ask(SHORT_SHARE if left() is not None else 1.0)
    if is_done() or is_over(left):
        return turns.found
    is_near = size <= turns.size + 1
    if is_near and turns.look(by_size.WORK * NEAR_WORK, NEAR_SHARE):
        return turns.found
    turns.ask(PROGRAMME_SHARE if is_near else FAR_SHARE)
    if not is_done() and not is_over(left):
        turns.look(np.inf, 1.0)
        is_done()
    return turns.found


@dataclass
class _Turns:
    """Both engines while they take turns at one problem.

    sizes : that are looked through. extra : further conditions of the programme.
    found : what was found, or the best bound so far. size : all smaller ones were looked through.
    """

    problem: CoverProblem
    sizes: range
    extra: Sequence[Row]
    left: TimeLeft
    found: Solved = field(default_factory=lambda: Solved("time limit", bound=0.0))
    size: int = 0
    pool: list[Cut] = field(default_factory=list)

    def look(self, work: float, share: float) -> bool:
        """Let the search by size go on; whether it is done."""
        search = SizeSearch(self.problem.need, work, left=part_of(self.left, share))
        told, self.size = _smallest(self.problem, range(self.size, self.sizes.stop), search)
        counts = self.found.cuts, self.found.programmes
        if told is not None:
            self.found = replace(told, cuts=counts[0], programmes=counts[1])
        self._raise_bound(self.size * unit_cost(self.problem))
        return told is not None

    def ask(self, share: float) -> None:
        """Let the programme go on."""
        problem, unit = self.problem, unit_cost(self.problem)
        rows = [*self.extra, at_most(problem, -problem.costs, -self.size * unit)]
        before = self.found
        told = minimise(
            problem, cost_objective(problem), self.pool, rows, part_of(self.left, share)
        )
        # Sets cost whole units.
        whole = np.ceil(told.bound / unit - ROUNDING) * unit if np.isfinite(told.bound) else 0.0
        self.found = replace(
            told, bound=float(whole), programmes=before.programmes + told.programmes, looked=True
        )
        self._raise_bound(before.bound)

    def _raise_bound(self, bound: float) -> None:
        if self.found.status == "time limit":
            self.found = replace(self.found, bound=max(self.found.bound, bound))


def _or_picked(problem: CoverProblem, solved: Solved, picked: Chosen | None, most: float) -> Solved:
    """Where the time was over: with the set that was picked; optimal where the bound says so."""
    cost = np.inf if picked is None else float(problem.costs[list(picked)].sum())
    if solved.status != "time limit" or picked is None or cost > most + ROUNDING:
        return solved
    if cost > solved.bound + ROUNDING:
        return replace(solved, chosen=picked)
    limbs = tuple(range(len(problem.limbs)))
    return replace(solved, status="optimal", chosen=picked, limbs=limbs, value=cost, bound=cost)


def _smallest(problem: CoverProblem, sizes: range, search: SizeSearch) -> tuple[Solved | None, int]:
    """The first cover by size, or that there is none; None: it stopped at the size told."""
    unit = unit_cost(problem)
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
    """No set can be larger than this, in units."""
    units = units_of(problem)
    if units is None:
        raise ValueError("costs have no unit")
    free = np.ones(units.size, dtype=bool)
    size = 0
    for members, most in problem.capacities:
        free[list(members)] = False
        size += int(np.sort(units[list(members)])[::-1][:most].sum())
    return size + int(units[free].sum())
