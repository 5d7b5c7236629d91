"""What a longer picking season costs in pollination: the sets of scions between which to choose.

Of two sets the one is better that has ripe fruit on more days and leaves the worst-off limb with a
viable donor in more winters, both as they are told: to the day and to the tenth of a winter in ten.
What is left are the sets that no other one betters in both. All sets that there is room for are
looked through where they are not too many; else the search is heuristic: it grows the most
promising sets of each size by one more scion.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import comb, floor
from typing import Final

import numpy as np

from pollinet.advice.harvest import GAP_DAYS
from pollinet.domain import NetworkInput
from pollinet.network.problem import (
    Chosen,
    CoverProblem,
    cover_problem,
    demands,
    scenarios_covered,
)
from pollinet.network.prune import separate_parts
from pollinet.shares import reaches

MOST_SETS: Final = 200_000
"""More sets than this are not all looked through: about ten seconds."""

BEARS: Final = 0.5
"""Fruit counts where its limb has its donors in at least this share of the winters. Own convention.
"""

WIDTH: Final = 20
"""Sets of one size that the heuristic grows."""


@dataclass(frozen=True)
class SeasonPoint:
    """A set of scions and what the garden is with it.

    added : nodes, ascending.
    fruit_days : days of the year with ripe fruit, that of each limb and scion for `GAP_DAYS` from
        its first pick, if it is to crop and has its donors often enough to bear. [days]
    reliability : share of the scenarios in which the worst-off receiver has its donors; 1 where
        nothing must crop. mean_reliability : mean of all receivers.
    """

    added: Chosen
    fruit_days: int
    reliability: float
    mean_reliability: float

    @property
    def told(self) -> tuple[int, int]:
        """Days with ripe fruit, and the hundredths of the winters, rounded down."""
        return self.fruit_days, floor(100 * self.reliability + 1e-6)


@dataclass(frozen=True)
class SeasonFront:
    """The garden as it stands, and the sets that no other betters, the shortest season first.

    Of sets that are told alike the one stands for all that has the fewest scions, then the best
    mean reliability, then the first in the order of nodes.

    exact : whether every set was looked through. tried : how many were.
    """

    today: SeasonPoint
    points: tuple[SeasonPoint, ...]
    exact: bool
    tried: int


def season_front(
    network: NetworkInput,
    candidates: Sequence[int],
    ripe: Mapping[int, float],
    spare: Mapping[str, int] | None = None,
    *,
    most: int | None = None,
    most_sets: int = MOST_SETS,
) -> SeasonFront:
    """Find what can be had between the longest season and the surest pollination.

    Parameters
    ----------
    ripe : first pick of nodes; nodes that are not in it add nothing to the season. [day of year]
    spare : how many scions the trees of each fruit can carry; None: any number.
    most : no more scions than this.
    most_sets : how many sets are looked through at most before the search is heuristic.
    """
    problem = cover_problem(network, candidates, spare)
    room = _Room(problem, len(problem.candidates) if most is None else most)
    exact = room.sets() <= most_sets
    judge = _Judge(problem, ripe)
    layer: list[SeasonPoint] = [judge.point(())]
    found = list(layer)
    for _ in range(room.most):
        judge.look_ahead(layer)
        grown = {c for point in layer for c in room.one_more(point.added, all_ways=not exact)}
        layer = [judge.point(chosen) for chosen in sorted(grown)]
        found += layer
        if not exact:
            layer = promising(layer, WIDTH)
    return SeasonFront(found[0], front_of(found), exact, len(found))


def bears(reliability: float) -> bool:
    """Whether a limb that has its donors in this share of the winters counts for the season."""
    return reaches(reliability, BEARS)


def front_of(points: Iterable[SeasonPoint]) -> tuple[SeasonPoint, ...]:
    """The points that none betters, the shortest season first; one for each pair told."""
    best: list[SeasonPoint] = []
    for point in sorted(points, key=_order):
        if not best or point.told[1] > best[-1].told[1]:
            best.append(point)
    return tuple(reversed(best))


def _order(point: SeasonPoint) -> tuple[object, ...]:
    days, winters = point.told
    mean = round(point.mean_reliability, 9)
    return -days, -winters, len(point.added), -mean, point.added


def promising(points: Sequence[SeasonPoint], width: int) -> list[SeasonPoint]:
    """Heuristic: the front, then the front of the rest, and so on until there are enough."""
    kept: list[SeasonPoint] = []
    rest = list(points)
    while rest and len(kept) < width:
        front = front_of(rest)
        kept += front
        gone = {point.added for point in front}
        rest = [point for point in rest if point.added not in gone]
    return kept[:width]


class _Room:
    """Which sets of candidates the trees can carry; as nodes."""

    def __init__(self, problem: CoverProblem, most: int) -> None:
        groups = problem.capacities or ((tuple(range(len(problem.candidates))), most),)
        self._group = {
            problem.candidates[member]: number
            for number, (members, _) in enumerate(groups)
            for member in members
        }
        self._limits = [min(limit, len(members)) for members, limit in groups]
        self._sizes = [len(members) for members, _ in groups]
        self.most = min(most, sum(self._limits))

    def sets(self) -> int:
        """How many sets there are, the empty one included."""
        by_size = Counter({0: 1})
        for size, limit in zip(self._sizes, self._limits, strict=True):
            wider: Counter[int] = Counter()
            for so_far, ways in by_size.items():
                for more in range(min(limit, self.most - so_far) + 1):
                    wider[so_far + more] += ways * comb(size, more)
            by_size = wider
        return by_size.total()

    def one_more(self, chosen: Chosen, *, all_ways: bool) -> Iterator[Chosen]:
        """Sets with one scion more; without `all_ways` each set comes from one smaller set only."""
        taken = Counter(self._group[node] for node in chosen)
        last = -1 if all_ways or not chosen else chosen[-1]
        for node, group in self._group.items():
            if node > last and node not in chosen and taken[group] < self._limits[group]:
                yield tuple(sorted((*chosen, node)))


@dataclass(frozen=True)
class _Outcome:
    """What one part of the garden is: its receivers, scenarios covered, days with ripe fruit.

    worst, total : of the numbers of scenarios in which each receiver is covered.
    ripe : days as the bits of a number.
    """

    worst: int
    total: int
    receivers: int
    ripe: int


@dataclass
class _Judge:
    """Looks at sets of candidates; parts of the garden that share nothing are looked at apart."""

    problem: CoverProblem
    ripe: Mapping[int, float]
    _outcomes: dict[tuple[int, Chosen], _Outcome] = field(default_factory=dict)

    def __post_init__(self) -> None:
        view, candidates = self.problem.view, np.array(self.problem.candidates, dtype=np.int64)
        self.problem.standing.look(
            np.array([c for c in self.problem.candidates if view.is_receiver(c)], dtype=np.int64)
        )
        for limb in self.problem.limbs:
            view.serves(limb, candidates)
        self._parts = list(separate_parts(self.problem))
        self._place = {
            node: (number, variable)
            for number, part in enumerate(self._parts)
            for variable, node in enumerate(part.candidates)
        }

    def look_ahead(self, layer: Sequence[SeasonPoint]) -> None:
        """Look at all pairs of those in a layer and others of their part at once: sooner so."""
        members = {node for point in layer for node in point.added}
        for part in self._parts:
            here = np.array(sorted(members & set(part.candidates)), dtype=np.int64)
            others = np.array(part.candidates, dtype=np.int64)
            one, other = np.repeat(here, others.size), np.tile(others, here.size)
            for donors, takers in ((one, other), (other, one)):
                asks = np.array([part.view.is_receiver(node) for node in takers.tolist()], bool)
                part.view.look(donors[asks], takers[asks])

    def point(self, chosen: Chosen) -> SeasonPoint:
        """What the garden is with a set."""
        local: list[list[int]] = [[] for _ in self._parts]
        for node in chosen:
            number, variable = self._place[node]
            local[number].append(variable)
        found = [self._outcome(number, tuple(some)) for number, some in enumerate(local)]
        scenarios, ripe = self.problem.view.scenarios, 0
        for outcome in found:
            ripe |= outcome.ripe
        worst = min((outcome.worst for outcome in found), default=scenarios)
        mean = sum(o.total for o in found) / max(1, sum(o.receivers for o in found))
        return SeasonPoint(chosen, ripe.bit_count(), worst / scenarios, mean / scenarios)

    def _outcome(self, number: int, chosen: Chosen) -> _Outcome:
        if (number, chosen) not in self._outcomes:
            part, scenarios = self._parts[number], self.problem.view.scenarios
            active = demands(part, chosen, range(len(part.limbs)))
            counts = {
                part.view.receivers[d.row]: scenarios_covered(part, d, chosen) for d in active
            }
            ripe = 0
            for node, count in counts.items():
                if node in self.ripe and bears(count / scenarios):
                    ripe |= ripe_bits(self.ripe[node])
            worst, total = min(counts.values(), default=scenarios), sum(counts.values())
            self._outcomes[number, chosen] = _Outcome(worst, total, len(counts), ripe)
        return self._outcomes[number, chosen]


def ripe_bits(pick: float) -> int:
    """The days with ripe fruit of a variety as the bits of a number; whole days."""
    return ((1 << GAP_DAYS) - 1) << (_BEFORE + floor(pick + 0.5))


_BEFORE = 400
"""Days before the year's first that still have a bit: estimates may fall into the year before."""
