"""The exact engine by size: every set of a size, with bounds that never cut off a cover.

Most gardens need one to four more varieties, even out of a thousand, and then looking through the
sets beats an integer programme. A size is a sum of costs in units, the greatest of which all costs
are multiples: the number of candidates where all cost the same. Three bounds keep it short. A set
of more candidates adds no more covered scenarios to a receiver than the sum of their gains
(`pollinet.network.problem.gains`); so that, with `left` units to spend,

- one of the candidates must bring, for each of its units, at least the `left`-th part of what a
  receiver lacks: only these are tried, for the receiver with the fewest of them, and each is put
  aside afterwards;
- a candidate is left out that stays short together with the most that can be had for the rest;
- so is a partner that stays short together with the candidate just tried and what is left then.

The most that can be had is no more than the best gain of a unit for each unit, nor than the best
gain for each candidate that can be paid. That no smaller set is a cover is proven by having looked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray
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

WORK = 5e8
"""Bytes of packed scenarios that one search may read before it hands over: a third of a second.
Gardens that it suits are done in a tenth of that (`tests/benchmarks/test_hard_covers.py`)."""

CALL = 2e5
"""Each look costs as much as reading so many bytes, however few it reads: measured."""

MOST_UNITS = 20
"""Where one candidate costs so many times the unit of all costs, there would be too many sizes to
look through: own choice."""

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
    """Whether all costs are a few times a unit, and every limb must be covered."""
    return units_of(problem) is not None and not problem.optional


def units_of(problem: CoverProblem) -> NDArray[np.int64] | None:
    """The cost of each candidate in units, shape (candidates,); None: there is no fit unit.

    Costs are compared to the hundredth, unless all are the same.
    """
    costs = problem.costs
    if not costs.size:
        return np.zeros(0, dtype=np.int64)
    if costs.min() <= 0:
        return None
    if (costs == costs[0]).all():
        return np.ones(costs.size, dtype=np.int64)
    hundredths = np.rint(100 * costs).astype(np.int64)
    if np.abs(100 * costs - hundredths).max() > _ROUNDING or not hundredths.all():
        return None
    units = hundredths // np.gcd.reduce(hundredths)
    return None if units.max() > MOST_UNITS else np.asarray(units)


def size_of(problem: CoverProblem, chosen: Chosen) -> int:
    """What a set costs, in units."""
    units = units_of(problem)
    if units is None:
        raise ValueError("costs have no unit")
    return int(units[list(chosen)].sum())


def unit_cost(problem: CoverProblem) -> float:
    """What a unit costs; 1 where there is nothing to pay for."""
    units = units_of(problem)
    return float(problem.costs[0] / units[0]) if units is not None and units.size else 1.0


def covers_of_size(
    problem: CoverProblem, size: int, search: SizeSearch | None = None
) -> Iterator[tuple[int, ...]]:
    """Find all covers of a size, given that no smaller one exists.

    size : sum of their costs, in units; `applies` must hold.
    search : to raise the need while the search runs; default: the problem's need, all the time.

    Yields
    ------
    Candidate variables, ascending; each set once, in no special order.

    Raises
    ------
    TooLarge : more bytes than allowed would have to be read, or no time is left.
    """
    chosen, units = tuple(sorted(problem.include)), units_of(problem)
    others = np.setdiff1d(np.arange(len(problem.candidates)), np.asarray(chosen, dtype=np.int64))
    left = size - size_of(problem, chosen)
    if left >= 0 and units is not None:
        state = SizeSearch(problem.need) if search is None else search
        yield from _grow(problem, chosen, others, _Purse(left, units), state)


@dataclass(frozen=True, eq=False)
class _Purse:
    """What is left to spend, and what each candidate costs, in units."""

    left: int
    units: NDArray[np.int64]

    def without(self, candidate: int) -> _Purse:
        """What is left when a candidate is paid."""
        return replace(self, left=self.left - int(self.units[candidate]))

    def payable(self, some: NDArray[np.int64]) -> NDArray[np.int64]:
        """Those of some candidates that can be paid."""
        return some[self.units[some] <= self.left]


@dataclass(frozen=True, eq=False)
class _Most:
    """The most that can be had for so many units: by the unit, and by the candidate.

    of_unit, of_one : the best gain, shape (receivers, 1). least : units of the cheapest.
    """

    of_unit: FloatArray
    of_one: FloatArray
    least: int

    def within(self, units: NDArray[np.int64]) -> FloatArray:
        """The most for each amount, shape (receivers, amounts)."""
        return np.minimum(units * self.of_unit, units // self.least * self.of_one)


def _most_of(gain: FloatArray, price: NDArray[np.int64]) -> _Most:
    """gain : shape (receivers, candidates), price : shape (candidates,); at least one of each."""
    return _Most(
        (gain / price).max(axis=1, keepdims=True),
        gain.max(axis=1, keepdims=True),
        int(price.min()),
    )


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
    problem: CoverProblem,
    chosen: Chosen,
    usable: NDArray[np.int64],
    purse: _Purse,
    search: SizeSearch,
) -> Iterator[Chosen]:
    if search.need > problem.need:
        problem = replace(problem, need=search.need)
    lacking = _short_receivers(problem, chosen, search)
    if not lacking and problem.has_room_for(chosen):
        yield tuple(sorted(chosen))
    usable = purse.payable(_with_room(problem, chosen, usable))
    if not lacking or usable.size == 0:
        return
    if purse.left < 2 * purse.units[usable].min():
        yield from _complete(problem, chosen, usable, lacking, purse, search)
        return
    gain, usable = _gains_of_usable(problem, chosen, usable, lacking, purse, search)
    if usable.size == 0:
        return
    price = purse.units[usable]
    short = np.array([amount for _, amount in lacking])[:, None]
    enough = gain >= short * price / purse.left - _ROUNDING
    tried = enough[int(enough.sum(axis=1).argmin())]
    most = _most_of(gain, price)
    open_still = np.ones(len(usable), dtype=bool)
    for place in np.flatnonzero(tried).tolist():
        open_still[place] = False
        then = purse.without(int(usable[place]))
        lacking_then = short - gain[:, [place]] - _ROUNDING
        partners = np.flatnonzero(open_still & (price <= then.left))
        rest = most.within(then.left - price[partners])
        partners = partners[(gain[:, partners] + rest >= lacking_then).all(axis=0)]
        if partners.size or (lacking_then <= 0).all():
            further = (*chosen, int(usable[place]))
            yield from _grow(problem, further, usable[partners], then, search)


def bytes_of_all(problem: CoverProblem, size: int) -> float:
    """What is read to see whether a set leaves anybody short, also after any loss."""
    donors = len(problem.present) + size
    looks = len(problem.limbs) + size
    if problem.surviving or problem.felled:
        looks *= 1 + donors
    return float(problem.view.width * donors * looks)


def _gains_of_usable(
    problem: CoverProblem,
    chosen: Chosen,
    usable: NDArray[np.int64],
    lacking: Sequence[Shortage],
    purse: _Purse,
    search: SizeSearch,
) -> tuple[FloatArray, NDArray[np.int64]]:
    """Gains of shape (receivers, candidates) of the candidates that can be in a cover."""
    width = problem.view.width
    rows: list[tuple[NDArray[np.int64], FloatArray]] = []
    for demand, short in lacking:
        search.read(usable.size * width)
        row, _ = gains(problem, demand, chosen, usable)
        rows.append((usable, row))
        price = purse.units[usable]
        (rest,) = _most_of(row[None], price).within(purse.left - price)
        usable = usable[row + rest >= short - _ROUNDING]
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
    purse: _Purse,
    search: SizeSearch,
) -> Iterator[Chosen]:
    """The one candidate that is still missing."""
    _, usable = _gains_of_usable(problem, chosen, usable, lacking, purse, search)
    # Who lacks nothing now lacks nothing with one more.
    short = list(dict.fromkeys(replace(demand, without=None) for demand, _ in lacking))
    for candidate in usable.tolist():
        search.read(bytes_of_all(problem, len(chosen) + 1))
        complete = tuple(sorted((*chosen, candidate)))
        active = [*short, *open_demands(problem, [candidate], ())]
        if not unmet_among(problem, active, complete):
            yield complete
