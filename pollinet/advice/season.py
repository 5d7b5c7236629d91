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

from pollinet.advice.harvest import fruit_days
from pollinet.domain import NetworkInput
from pollinet.network.cover import cover_problem
from pollinet.network.cuts import CoverProblem, counted, demands
from pollinet.network.search import parts_of

MOST_SETS: Final = 200_000
"""More sets than this are not all looked through: about ten seconds."""

BEARS: Final = 0.5
"""Fruit counts where its limb has its donors in at least this share of the winters. Own convention.
"""

WIDTH: Final = 20
"""Sets of one size that the heuristic grows."""

Chosen = tuple[int, ...]


@dataclass(frozen=True)
class SeasonPoint:
    """A set of scions and what the garden is with it.

    added : nodes, ascending. fruit_days : see `advice.harvest.fruit_days`; of limbs and scions that
        are to crop and have their donors often enough to bear (`BEARS`). [days]
    reliability : share of the scenarios in which the worst-off receiver has its donors; 1 where
        nothing must crop. mean_reliability : mean of all receivers.
    """

    added: Chosen
    fruit_days: float
    reliability: float
    mean_reliability: float

    @property
    def told(self) -> tuple[int, int]:
        """Whole days with ripe fruit, and hundredths of the scenarios, rounded down."""
        return floor(self.fruit_days + 0.5), floor(100 * self.reliability + 1e-6)


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
    ripe : first pick of nodes, any day count; nodes that are not in it add nothing to the season.
    spare : how many scions the trees of each fruit can carry; None: any number.
    most : no more scions than this.
    most_sets : how many sets are looked through at most before the search is heuristic.
    """
    problem = cover_problem(network, candidates, spare)
    room = _Room(problem, len(problem.candidates) if most is None else most)
    exact = room.sets() <= most_sets
    judge = _Judge(network, problem, ripe)
    layer: list[SeasonPoint] = [judge.point(())]
    found = list(layer)
    for _ in range(room.most):
        grown = {c for point in layer for c in room.one_more(point.added, all_ways=not exact)}
        layer = [judge.point(chosen) for chosen in sorted(grown)]
        found += layer
        if not exact:
            layer = promising(layer, WIDTH)
    return SeasonFront(found[0], front_of(found), exact, len(found))


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


@dataclass
class _Judge:
    """Looks at sets of candidates; what parts of the garden that share nothing do once only."""

    network: NetworkInput
    problem: CoverProblem
    ripe: Mapping[int, float]
    _counts: dict[tuple[int, Chosen], list[tuple[int, int]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._parts = list(parts_of(self.problem))
        self._place = {
            node: (number, variable)
            for number, part in enumerate(self._parts)
            for variable, node in enumerate(part.candidates)
        }

    def point(self, chosen: Chosen) -> SeasonPoint:
        """What the garden is with a set."""
        scenarios = self.problem.view.scenarios
        covered = [one for part in self._by_part(chosen) for one in self._covered(*part)]
        bearing = [node for node, count in covered if count >= BEARS * scenarios]
        days = fruit_days(self.ripe[node] for node in bearing if node in self.ripe)
        counts = [count for _, count in covered]
        worst, mean = min(counts, default=scenarios), sum(counts) / max(1, len(counts))
        return SeasonPoint(chosen, days, worst / scenarios, mean / scenarios)

    def _by_part(self, chosen: Chosen) -> Iterator[tuple[int, Chosen]]:
        local: dict[int, list[int]] = {number: [] for number in range(len(self._parts))}
        for node in chosen:
            number, variable = self._place[node]
            local[number].append(variable)
        return ((number, tuple(variables)) for number, variables in local.items())

    def _covered(self, number: int, chosen: Chosen) -> list[tuple[int, int]]:
        """Receivers of a part, each with the number of scenarios in which it is covered."""
        if (number, chosen) not in self._counts:
            part = self._parts[number]
            active = demands(part, chosen, range(len(part.limbs)))
            self._counts[number, chosen] = [
                (part.view.receivers[d.row], counted(part, d, chosen)) for d in active
            ]
        return self._counts[number, chosen]
