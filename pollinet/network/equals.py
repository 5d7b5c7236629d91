"""Varieties that are equal in every scenario: one candidate with several names.

Candidates are equal where exchanging any two of them changes no bit: they serve the same receivers
in the same scenarios, are served by the same donors in the same ones, and do to one another what
every other does; where worst cases are looked at, in each of them. So of a set with some of them
only their number matters, and no smallest set has more of them than may count for one receiver, and
one. The search knows the first few of them; what it finds is told under all names.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from heapq import heappop, heappush, merge
from itertools import chain, combinations, islice, product
from math import comb, prod

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray
from pollinet.network.problem import CoverProblem
from pollinet.network.prune import keep_candidates
from pollinet.network.time_limit import TimeLeft, is_over, no_limit
from pollinet.network.viability import Viability

Nodes = NDArray[np.int64]

Groups = tuple[tuple[int, ...], ...]
"""Nodes that are equal, those that ties would be broken for first."""

MOST_PAIRS = 100_000
"""Where so many pairs would have to be compared, equals stay apart: own choice, a second or two."""

FEW_CASES = 8
"""So many worst cases a receiver may have for that on average: own choice."""


def equal_groups(
    problem: CoverProblem, penalties: Sequence[FloatArray], left: TimeLeft = no_limit
) -> Groups:
    """Groups of candidates, by node, that are equal in every scenario.

    penalties : shape (nodes,) each, what decides between them, the most important first.
    left : where the time is over, those found so far: that is exact, too.
    """
    asking = [limb for limb in problem.limbs if problem.asks(limb)]
    among = Among((problem.view,), problem.limbs, asking, problem.candidates, problem.present)
    return equal_among(among, partial(_plain_facts, problem), penalties, left)


@dataclass(frozen=True, eq=False)
class Among:
    """Whom candidates are looked at beside.

    views : in each of which they must be equal. limbs : that they may serve, and those of them that
        ask for donors: who serves none of these stays apart.
    candidates, present : all nodes there are.
    """

    views: tuple[Viability, ...]
    limbs: Sequence[int]
    asking: Sequence[int]
    candidates: Sequence[int]
    present: Sequence[int]


def equal_among(
    among: Among,
    tell: Callable[[Nodes], Sequence[Hashable]],
    penalties: Sequence[FloatArray],
    left: TimeLeft = no_limit,
) -> Groups:
    """The same by what some views say of them. tell : in what else they must be alike."""
    everyone = np.union1d(among.candidates, among.present)
    groups = _split([_own_varieties(among)], tell)
    for limb in sorted(among.limbs, key=lambda limb: limb not in among.asking):
        groups = _split(groups, partial(_given, among.views, limb))
    if sum(map(len, groups)) * everyone.size > MOST_PAIRS:
        return ()
    found, looked = list[Nodes](), 0
    while groups and not is_over(left):
        some = groups.pop()
        others = [n for n in np.setdiff1d(among.candidates, some).tolist() if _takes(among, n)]
        for view in among.views:
            view.look(np.tile(some, len(others)), np.repeat(others, len(some)))
        looked += _cases(among, some.tolist()) * everyone.size + _cases(among, others) * some.size
        if looked > MOST_PAIRS * FEW_CASES:
            break
        parts = _split([some], partial(_taken, among.views, everyone))
        for other in others:
            parts = _split(parts, partial(_given, among.views, other))
        if [len(part) for part in parts] != [len(some)]:
            # Those that are left out of a part are others to it now.
            groups += parts
        elif _is_even(among.views, everyone, some):
            found.append(some)
    return tuple(sorted(_in_order(some, penalties) for some in found))


def with_few(problem: CoverProblem, groups: Groups) -> CoverProblem:
    """The problem with as many of each group as a smallest set may hold."""
    most = problem.wanted + bool(problem.surviving) + 1
    left_out = {node for group in groups for node in group[most:]}
    kept = [i for i, node in enumerate(problem.candidates) if node not in left_out]
    return keep_candidates(problem, kept) if left_out else problem


def renamed_sets(sets: Sequence[tuple[int, ...]], groups: Groups) -> Iterator[tuple[int, ...]]:
    """The same sets of nodes under all names, each once."""
    member = {node for group in groups for node in group}
    seen = set[tuple[int, ...]]()
    for one in sets:
        counts = {group: sum(node in group for node in one) for group in groups}
        others = [node for node in one if node not in member]
        first = _named(others, [group[: counts[group]] for group in groups])
        if first in seen:
            continue
        seen.add(first)
        for names in product(*(combinations(group, counts[group]) for group in groups)):
            yield _named(others, names)


def first_names(
    sets: Sequence[tuple[int, ...]],
    groups: Groups,
    order: Callable[[tuple[int, ...]], tuple[float, ...]],
    most: int,
) -> tuple[list[tuple[int, ...]], int]:
    """The first of the same sets under all names, and how many there are.

    order : sums over a set, then its nodes, ascending. Each group must be in that order, so that no
        set is ahead of one with members further ahead.
    """
    member = {node for group in groups for node in group}
    counted = {
        (
            tuple(node for node in one if node not in member),
            tuple(sum(node in group for node in one) for group in groups),
        )
        for one in sets
    }
    number = sum(
        prod(comb(len(group), count) for group, count in zip(groups, counts, strict=True))
        for _, counts in counted
    )
    each = (_in_turn(others, groups, counts, order) for others, counts in counted)
    return list(islice(merge(*each, key=order), most)), number


def _in_turn(
    others: tuple[int, ...],
    groups: Groups,
    counts: Sequence[int],
    order: Callable[[tuple[int, ...]], tuple[float, ...]],
) -> Iterator[tuple[int, ...]]:
    """Some nodes with so many of each group, the first in order first.

    What comes next differs from one before by a member that is one further back in its group.
    """

    def named(places: tuple[tuple[int, ...], ...]) -> tuple[int, ...]:
        return _named(others, [[g[i] for i in p] for g, p in zip(groups, places, strict=True)])

    first = tuple(tuple(range(count)) for count in counts)
    waiting, seen = [(order(named(first)), first)], {first}
    while waiting:
        _, places = heappop(waiting)
        yield named(places)
        for which, (group, taken) in enumerate(zip(groups, places, strict=True)):
            for place in (i for i in taken if i + 1 < len(group) and i + 1 not in taken):
                moved = tuple(sorted(i + (i == place) for i in taken))
                after = (*places[:which], moved, *places[which + 1 :])
                if after not in seen:
                    seen.add(after)
                    heappush(waiting, (order(named(after)), after))


def _named(others: Sequence[int], names: Sequence[Sequence[int]]) -> tuple[int, ...]:
    return tuple(sorted(chain(others, *names)))


def _own_varieties(among: Among) -> Nodes:
    """Candidates that serve a limb that asks, and are the only ones of their variety."""
    nodes = np.array(sorted(among.candidates), dtype=np.int64)
    useful = np.zeros(nodes.size, dtype=bool)
    for limb, view in product(among.asking, among.views):
        useful |= view.reach(limb, nodes)
    clones = among.views[0].clones
    of_variety = np.bincount(clones[np.union1d(nodes, among.present)])
    useful &= of_variety[clones[nodes]] == 1
    return np.asarray(nodes[useful])


def _split(groups: Sequence[Nodes], tell: Callable[[Nodes], Sequence[Hashable]]) -> list[Nodes]:
    """Groups of those of which the same is told; who is alone is left out."""
    found: list[Nodes] = []
    for some in groups:
        parts: dict[Hashable, list[int]] = {}
        for node, told in zip(some.tolist(), tell(some), strict=True):
            parts.setdefault(told, []).append(node)
        found += [np.array(part, dtype=np.int64) for part in parts.values() if len(part) > 1]
    return found


def _plain_facts(problem: CoverProblem, some: Nodes) -> list[Hashable]:
    places = np.searchsorted(problem.candidates, some)
    limits = [frozenset(members) for members, _ in problem.capacities]
    # Of what costs nothing a cheapest set may hold more than it has use for.
    apart = problem.include | set(np.flatnonzero(problem.costs <= 0).tolist())
    return [
        (
            float(problem.costs[place]),
            int(problem.fruits[node]),
            problem.view.is_receiver(node),
            tuple(place in members for members in limits),
            place if place in apart else None,
        )
        for place, node in zip(places.tolist(), some.tolist(), strict=True)
    ]


def _takes(among: Among, node: int) -> bool:
    return any(view.is_receiver(node) for view in among.views)


def _cases(among: Among, nodes: Sequence[int]) -> int:
    """How many rows some nodes have."""
    return sum(len(view.rows_of(node)) for view in among.views for node in nodes)


def _given(views: Sequence[Viability], receiver: int, some: Nodes) -> list[Hashable]:
    """What each gives to a receiver, in each of its rows."""
    bits = [view.given(row, some) for view in views for row in view.rows_of(receiver)]
    return [tuple(row[place].tobytes() for row in bits) for place in range(len(some))]


def _taken(views: Sequence[Viability], everyone: Nodes, some: Nodes) -> list[Hashable]:
    """What each is given by all others than these, in any order of its rows."""
    others = np.setdiff1d(everyone, some)
    return [
        tuple(
            frozenset(view.given(row, others).tobytes() for row in view.rows_of(node))
            for view in views
        )
        for node in some.tolist()
    ]


def _is_even(views: Sequence[Viability], everyone: Nodes, some: Nodes) -> bool:
    """Whether each of a group is to itself, and to each of the others, what all of them are."""
    others = np.setdiff1d(everyone, some)
    told = set[Hashable]()
    for node in some.tolist():
        mates, rows = some[some != node], list[frozenset[Hashable]]()
        for view in views:
            each = set[Hashable]()
            for row in view.rows_of(node):
                among = view.given(row, mates)
                if (among != among[:1]).any():
                    return False
                itself = view.given(row, np.array([node]))
                rest = view.given(row, others)
                # These belong together: the worst case for one donor may be none for another.
                each.add((rest.tobytes(), itself.tobytes(), among[0].tobytes()))
            rows.append(frozenset(each))
        told.add(tuple(rows))
    return len(told) == 1


def _in_order(some: Nodes, penalties: Sequence[FloatArray]) -> tuple[int, ...]:
    return tuple(
        sorted(
            some.tolist(), key=lambda node: (*(round(float(p[node]), 9) for p in penalties), node)
        )
    )
