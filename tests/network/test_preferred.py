"""Wood at hand before wood to be ordered, against all sets one by one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations
from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, random_garden

from pollinet.domain import NetworkInput
from pollinet.network.answer import Cover
from pollinet.network.cover import is_cover, smallest_cover
from pollinet.network.preferred import Prefer, ordered_of, preferred_cover


def wood(seed: int, *, costs: bool) -> NetworkInput:
    """A garden by chance; of half of the candidates there is wood."""
    network = random_garden(seed, limbs=4, candidates=7, costs=costs)
    rng = np.random.default_rng(seed)
    there = rng.random(len(network.nodes)) < 0.5
    nodes = [replace(one, at_hand=bool(x)) for one, x in zip(network.nodes, there, strict=True)]
    return replace(network, nodes=tuple(nodes))


def preferred(
    network: NetworkInput, prefer: Prefer, room: int | None, must: Sequence[int]
) -> Cover:
    spare = None if room is None else {"pear": room}

    def search(free: Sequence[int], most_ordered: int | None) -> Cover:
        return smallest_cover(
            network, free, spare, must_include=must, max_alternatives=500, most_ordered=most_ordered
        )

    free = candidates_of(network)
    return preferred_cover(network, free, search, must_include=must, prefer=prefer, most_sets=500)


def covers(network: NetworkInput, room: int | None, must: Iterable[int]) -> list[tuple[int, ...]]:
    free = candidates_of(network)
    return [
        chosen
        for size in range(1 + (len(free) if room is None else room))
        for chosen in combinations(free, size)
        if set(must) <= set(chosen) and is_cover(network, chosen)
    ]


@settings(max_examples=80, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6),
    prefer=st.sampled_from(get_args(Prefer)),
    costs=st.booleans(),
    room=st.sampled_from([None, None, 2, 3]),
    must=st.booleans(),
)
def test_the_first_set_is_the_best_of_all(
    seed: int, prefer: Prefer, costs: bool, room: int | None, must: bool
) -> None:
    network = wood(seed, costs=costs)
    wanted = candidates_of(network)[:1] if must else []
    found = preferred(network, prefer, room, wanted)
    good = covers(network, room, wanted)
    if not good:
        assert found.status == "infeasible"
        return

    def rank(chosen: Sequence[int]) -> tuple[float, float]:
        cost = sum(network.nodes[i].cost for i in chosen)
        numbers = cost, ordered_of(network, chosen)
        return numbers if prefer == "fewest" else (numbers[1], numbers[0])

    best = min(map(rank, good))
    assert rank(found.added) == pytest.approx(best)
    assert found.fewest_ordered
    cost = sum(network.nodes[i].cost for i in found.added)
    assert found.cost == pytest.approx(cost)
    alike = {s for s in good if rank(s) == pytest.approx(best)}
    if prefer == "at-hand":
        # All sets of that number that have no more to order than the limit it was found under.
        assert alike <= set(found.alternatives)
    else:
        cheapest = {s for s in good if rank(s)[0] == pytest.approx(best[0])}
        assert set(found.alternatives) == cheapest
        assert set(found.alternatives[: len(alike)]) == alike
    if found.smaller:
        assert prefer == "at-hand"
        assert sum(network.nodes[i].cost for i in found.smaller) < cost
        assert ordered_of(network, found.smaller) > best[0]
