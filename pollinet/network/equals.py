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
from itertools import chain, combinations, product

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
    alike = _split([_own_varieties(problem)], partial(_plain_facts, problem))
    limbs = sorted(problem.limbs, key=lambda limb: not problem.asks(limb))
    among = Among((problem.view,), limbs, problem.candidates, problem.present)
    return equal_among(among, alike, penalties, left)


@dataclass(frozen=True, eq=False)
class Among:
    """Whom candidates are looked at beside.

    views : in each of which they must be equal. limbs : that they may serve.
    candidates, present : all nodes there are.
    """

    views: tuple[Viability, ...]
    limbs: Sequence[int]
    candidates: Sequence[int]
    present: Sequence[int]


def equal_among(
    among: Among, alike: Sequence[Nodes], penalties: Sequence[FloatArray], left: TimeLeft = no_limit
) -> Groups:
    """The same among candidates that are alike in all else and the only ones of their variety."""
    everyone = np.union1d(among.candidates, among.present)
    groups = list(alike)
    for limb in among.limbs:
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
    group_of = {node: group for group in groups for node in group}
    seen = set[tuple[int, ...]]()
    for one in sets:
        counts = {group: sum(node in group for node in one) for group in groups}
        first = _named(one, group_of, [group[: counts[group]] for group in groups])
        if first in seen:
            continue
        seen.add(first)
        for names in product(*(combinations(group, counts[group]) for group in groups)):
            yield _named(one, group_of, names)


def _named(
    one: Sequence[int], group_of: dict[int, tuple[int, ...]], names: Sequence[tuple[int, ...]]
) -> tuple[int, ...]:
    others = (node for node in one if node not in group_of)
    return tuple(sorted(chain(others, *names)))


def _own_varieties(problem: CoverProblem) -> Nodes:
    """Candidates that serve a limb that asks, and are the only ones of their variety."""
    nodes = np.array(problem.candidates, dtype=np.int64)
    useful = np.zeros(nodes.size, dtype=bool)
    for limb in filter(problem.asks, problem.limbs):
        useful |= problem.view.reach(limb, nodes)
    useful[list(problem.include)] = False
    # Of what costs nothing a cheapest set may hold more than it has use for.
    useful &= problem.costs > 0
    clones = problem.view.clones
    of_variety = np.bincount(clones[np.union1d(nodes, problem.present)])
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
    return [
        (
            float(problem.costs[place]),
            int(problem.fruits[node]),
            problem.view.is_receiver(node),
            tuple(place in members for members in limits),
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
