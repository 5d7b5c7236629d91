"""Varieties that are equal in every scenario: one candidate with several names.

Candidates are equal where exchanging any two of them changes no bit: they serve the same receivers
in the same scenarios, are served by the same donors in the same ones, and do to one another what
every other does. So of a set with some of them only their number matters, and no smallest set has
more of them than may count for one receiver, and one. The search knows the first few of them; what
it finds is told under all names.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import partial
from itertools import chain, combinations, product

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray
from pollinet.network.problem import CoverProblem
from pollinet.network.prune import keep_candidates
from pollinet.network.viability import Bits

Nodes = NDArray[np.int64]

Groups = tuple[tuple[int, ...], ...]
"""Nodes that are equal, those that ties would be broken for first."""

MOST_PAIRS = 100_000
"""Where so many pairs would have to be compared, equals stay apart: own choice, a second or two."""


def equal_groups(problem: CoverProblem, penalties: Sequence[FloatArray]) -> Groups:
    """Groups of candidates, by node, that are equal in every scenario.

    penalties : shape (nodes,) each, what decides between them, the most important first.
    """
    if problem.sure:  # there each has worst cases of its own
        return ()
    everyone = np.union1d(problem.candidates, problem.present)
    alike = _split([_own_varieties(problem)], partial(_plain_facts, problem))
    for limb in sorted(problem.limbs, key=lambda limb: not problem.asks(limb)):
        alike = _split(alike, partial(_given, problem, limb))
    if sum(map(len, alike)) * everyone.size > MOST_PAIRS:
        return ()
    found: list[Nodes] = []
    while alike:
        some = alike.pop()
        parts = _split([some], partial(_taken, problem, everyone))
        others = [n for n in np.setdiff1d(problem.candidates, some) if problem.view.is_receiver(n)]
        problem.view.look(np.tile(some, len(others)), np.repeat(others, len(some)))
        for other in others:
            parts = _split(parts, partial(_given, problem, other))
        if [len(part) for part in parts] != [len(some)]:
            # Those that are left out of a part are others to it now.
            alike += parts
        elif _is_even(problem, some):
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


def _given(problem: CoverProblem, receiver: int, some: Nodes) -> list[Hashable]:
    """What each gives to a receiver."""
    if not problem.view.is_receiver(receiver):
        return [b""] * len(some)
    (row,) = problem.view.rows_of(receiver)
    return [bits.tobytes() for bits in problem.view.given(row, some)]


def _taken(problem: CoverProblem, everyone: Nodes, some: Nodes) -> list[Hashable]:
    """What each is given by all others than these."""
    return [bits.tobytes() for bits in _bits_to(problem, some, np.setdiff1d(everyone, some))]


def _is_even(problem: CoverProblem, some: Nodes) -> bool:
    """Whether each of a group is to itself, and to each of the others, what all of them are."""
    bits, itself = _bits_to(problem, some, some), np.eye(len(some), dtype=bool)
    return all(
        (part == part[:1]).all()
        for part in (bits[itself], bits[~itself])
        if bits.size and len(part)
    )


def _bits_to(problem: CoverProblem, some: Nodes, donors: Nodes) -> Bits:
    """What donors give to each, shape (some, donors, bytes); nothing where they need none."""
    rows = [problem.view.rows_of(node) for node in some.tolist()]
    given = [problem.view.given(row[0], donors) for row in rows if row]
    found: Bits = np.array(given, dtype=np.uint8).reshape(
        len(given), donors.size, problem.view.width
    )
    return found if given else np.zeros((len(some), donors.size, 0), dtype=np.uint8)


def _in_order(some: Nodes, penalties: Sequence[FloatArray]) -> tuple[int, ...]:
    return tuple(
        sorted(some.tolist(), key=lambda node: (*(float(p[node]) for p in penalties), node))
    )
