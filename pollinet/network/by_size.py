"""The exact engine by size: every set of a size, with bounds that never cut off a cover.

Most gardens need one to four more varieties, even out of a thousand, and then looking through the
sets beats an integer programme. Three bounds keep it short. A set of `left` more candidates adds no
more covered scenarios to a receiver than the sum of their gains (`pollinet.network.problem.gains`);
so that

- one of the candidates must bring at least the `left`-th part of what a receiver lacks: only
  these are tried, for the receiver with the fewest of them, and each is put aside afterwards;
- a candidate that stays short together with `left` - 1 times the best gain is left out;
- so is a partner that stays short together with the candidate just tried and `left` - 2 such.

That no set of a smaller size is a cover is proven by having looked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray, FloatArray
from pollinet.network.problem import (
    Chosen,
    CoverProblem,
    Demand,
    gains,
    open_demands,
    scenarios_covered,
    unmet_among,
    unmet_demands,
)
from pollinet.network.time_limit import TimeLeft, is_over, no_limit

Shortage = tuple[Demand, int]
"""A receiver that is short, and by how many scenarios."""

WORK = 1e10
"""Bytes of packed scenarios that one search may read before it gives up: some seconds."""

CALL = 2e5
"""Each look costs as much as reading so many bytes, however few it reads: measured."""

RANKING_WORK = WORK
"""`WORK` for listing and ranking the sets once their size is proven."""

_ROUNDING = 1e-9
"""Sums of gains are exact but for rounding: a bound must not cut off what it just reaches."""


class TooLarge(Exception):
    """The search has read as much as it may; another method must answer."""


@dataclass
class SizeSearch:
    """One search while it runs.

    need : scenarios that must be covered. Whoever takes the covers may raise it between two of
        them; what is found later reaches the raised need, or was nearly found before.
    most, used : bytes that may be read, and that were.
    left : time that is left for it.
    blamed : how often a receiver was the one that ruled a choice out: it is asked first.
    """

    need: int
    most: float = field(default_factory=lambda: WORK)
    used: float = 0.0
    left: TimeLeft = no_limit
    blamed: Counter[int] = field(default_factory=Counter)

    def read(self, amount: float) -> None:
        """Count one look; raise `TooLarge` beyond the most, and when no time is left."""
        self.used += amount + CALL
        if self.used > self.most or is_over(self.left):
            raise TooLarge


def applies(problem: CoverProblem) -> bool:
    """Whether sets of equal size cost the same and every limb must be covered."""
    costs = set(problem.costs.tolist())
    same = len(costs) <= 1 and all(cost > 0 for cost in costs)
    return same and not problem.optional


def covers_of_size(
    problem: CoverProblem, size: int, search: SizeSearch | None = None
) -> Iterator[tuple[int, ...]]:
    """Find all covers of a size, given that no smaller one exists.

    search : to raise the need while the search runs; default: the problem's need, all the time.

    Yields
    ------
    Candidate variables, ascending; each set once, in no special order.

    Raises
    ------
    TooLarge : more bytes than allowed would have to be read, or no time is left.
    """
    chosen = tuple(sorted(problem.include))
    others = np.setdiff1d(np.arange(len(problem.candidates)), np.asarray(chosen, dtype=np.int64))
    if size >= len(chosen):
        state = SizeSearch(problem.need) if search is None else search
        yield from _grow(problem, chosen, others, size - len(chosen), state)


def _with_room(
    problem: CoverProblem, chosen: Chosen, usable: NDArray[np.int64]
) -> NDArray[np.int64]:
    for members, most in problem.capacities:
        if len(set(members) & set(chosen)) >= most:
            usable = usable[~np.isin(usable, members)]
    return usable


def _short_receivers(problem: CoverProblem, chosen: Chosen, search: SizeSearch) -> list[Shortage]:
    """Receivers that a set leaves short; those that ruled out most sets come first."""
    short = unmet_demands(problem, chosen, range(len(problem.limbs)))
    amounts = [(d, problem.need - scenarios_covered(problem, d, chosen)) for d in short]
    return sorted(amounts, key=lambda lack: (-search.blamed[lack[0].row], -lack[1]))


def _grow(
    problem: CoverProblem, chosen: Chosen, usable: NDArray[np.int64], left: int, search: SizeSearch
) -> Iterator[Chosen]:
    if search.need > problem.need:
        problem = replace(problem, need=search.need)
    lacking = _short_receivers(problem, chosen, search)
    if not lacking and problem.has_room_for(chosen):
        yield tuple(sorted(chosen))
    if not lacking or left == 0:
        return
    usable = _with_room(problem, chosen, usable)
    if left == 1:
        yield from _complete(problem, chosen, usable, lacking, search)
        return
    gain, usable = _gains_of_usable(problem, chosen, usable, lacking, left, search)
    if usable.size == 0:
        return
    short = np.array([amount for _, amount in lacking])
    enough = gain >= short[:, None] / left - _ROUNDING
    tried = enough[int(enough.sum(axis=1).argmin())]
    most = gain.max(axis=1)
    open_still = np.ones(len(usable), dtype=bool)
    for place in np.flatnonzero(tried).tolist():
        open_still[place] = False
        partners = open_still & _partners(gain, place, short - (left - 2) * most)
        if partners.any():
            further = (*chosen, int(usable[place]))
            yield from _grow(problem, further, usable[partners], left - 1, search)


def _bytes_of_all(problem: CoverProblem, size: int) -> float:
    """What is read to see whether a set leaves anybody short, also after any loss."""
    donors = len(problem.present) + size
    looks = len(problem.limbs) + size
    if problem.surviving or problem.felled:
        looks *= 1 + donors
    return float(problem.view.width * donors * looks)


def _partners(gain: FloatArray, place: int, short: FloatArray) -> BoolArray:
    enough = gain >= (short - gain[:, place] - _ROUNDING)[:, None]
    return np.asarray(enough.all(axis=0))


def _gains_of_usable(
    problem: CoverProblem,
    chosen: Chosen,
    usable: NDArray[np.int64],
    lacking: Sequence[Shortage],
    left: int,
    search: SizeSearch,
) -> tuple[FloatArray, NDArray[np.int64]]:
    """Gains of shape (receivers, candidates) of the candidates that can be in a cover."""
    width = problem.view.width
    rows: list[tuple[NDArray[np.int64], FloatArray]] = []
    for demand, short in lacking:
        search.read(usable.size * width)
        row, _ = gains(problem, demand, chosen, usable)
        rows.append((usable, row))
        usable = usable[row >= short - (left - 1) * row.max(initial=0.0) - _ROUNDING]
        if usable.size == 0:
            search.blamed[demand.row] += 1
            break
    # Each row was worked out for the candidates usable then; `usable` stays ascending.
    return np.array([row[np.searchsorted(then, usable)] for then, row in rows]), usable


def _complete(
    problem: CoverProblem,
    chosen: Chosen,
    usable: NDArray[np.int64],
    lacking: Sequence[Shortage],
    search: SizeSearch,
) -> Iterator[Chosen]:
    """The one candidate that is still missing."""
    _, usable = _gains_of_usable(problem, chosen, usable, lacking, 1, search)
    # Who lacks nothing now lacks nothing with one more.
    short = list(dict.fromkeys(replace(demand, without=None) for demand, _ in lacking))
    for candidate in usable.tolist():
        search.read(_bytes_of_all(problem, len(chosen) + 1))
        complete = tuple(sorted((*chosen, candidate)))
        active = [*short, *open_demands(problem, [candidate], ())]
        if not unmet_among(problem, active, complete):
            yield complete
