"""Varieties that are equal in every scenario: found, searched once, told under all their names."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, garden, node, random_garden
from test_smallest_cover import brute_force

from pollinet.domain import Aim, NetworkInput
from pollinet.network.best_added import best_added
from pollinet.network.cover import smallest_cover
from pollinet.network.equals import equal_groups, with_few
from pollinet.network.problem import cover_problem
from pollinet.network.tie_break import ranking_of
from pollinet.network.tradeoff import gain_per_cost


def with_twins(network: NetworkInput, copies: int, *, mutual: str) -> NetworkInput:
    """The garden with the first two candidates several times, each a variety of its own.

    mutual : what the copies of one are to one another.
    """
    models = candidates_of(network)[:2]
    rows = [*range(len(network.nodes)), *(c for c in models for _ in range(copies))]
    nodes = [
        replace(network.nodes[c], id=f"{i:03d}", clone=f"own {i}")
        if c in models
        else network.nodes[c]
        for i, c in enumerate(rows)
    ]
    word = {v.answer: v for v in network.verdicts.values()}
    verdicts = {}
    for i, donor in enumerate(rows):
        for j, receiver in enumerate(rows):
            found = network.verdicts.get((donor, receiver))
            if donor == receiver and i != j:
                found = word.get(mutual)
            if found is not None:
                verdicts[i, j] = found
    return replace(
        network,
        nodes=tuple(nodes),
        open_start_h=network.open_start_h[rows],
        open_end_h=network.open_end_h[rows],
        shed_start_h=network.shed_start_h[rows],
        shed_end_h=network.shed_end_h[rows],
        verdicts=verdicts,
        proximity=network.proximity[np.ix_(rows, rows)],
        chill_quality=network.chill_quality[rows],
        flight_share=network.flight_share[rows],
    )


@settings(max_examples=120, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6),
    mutual=st.sampled_from(["yes", "no"]),
    level=st.sampled_from([0.5, 0.8, 1.0]),
    donors=st.sampled_from([1, 1, 2]),
    loss=st.booleans(),
)
def test_all_names_of_equals_are_told(
    seed: int, mutual: str, level: float, donors: int, loss: bool
) -> None:
    network = random_garden(
        seed, limbs=3, candidates=3, scenarios=5, aim=Aim(level=level, donors=donors)
    )
    network = with_twins(network, 2, mutual=mutual)
    truth = brute_force(network, 4, loss=loss)
    cover = smallest_cover(
        network,
        candidates_of(network),
        {"pear": 4},
        survives_any_single_loss=loss,
        max_alternatives=500,
    )
    if truth is None:
        assert cover.status == "infeasible"
        return
    assert cover.cost == pytest.approx(truth[0])
    assert set(cover.alternatives) == truth[1]
    assert cover.all_listed


def equal_wood(count: int, *, chill: bool = False) -> NetworkInput:
    """Two limbs that ask, and for each of them so many varieties that serve it all alike."""
    kinds = {"A": "limb", "B": "limb"}
    kinds |= {f"{limb}{i:02d}": "candidate" for limb in "AB" for i in range(count)}
    nodes = [node(name, kind, must_crop=kind == "limb") for name, kind in kinds.items()]
    quality = np.ones((len(nodes), 2))
    if chill:  # the last ones are the best chilled
        quality[2:] -= np.linspace(0.4, 0.0, 2 * count)[:, None]
    return garden(
        nodes,
        {name: [(100.0, 110.0)] * 2 for name in kinds},
        {(name, name[0]): "yes" for name in kinds if len(name) > 1},
        quality=quality,
    )


def test_equals_are_searched_once() -> None:
    network = equal_wood(20)
    problem = cover_problem(network, candidates_of(network))
    groups = equal_groups(problem, ())
    assert groups == (tuple(range(2, 22)), tuple(range(22, 42)))
    assert with_few(problem, groups).candidates == (2, 3, 22, 23)


def test_ties_of_equals_are_broken_as_those_of_others() -> None:
    network = equal_wood(20, chill=True)
    cover = smallest_cover(network, candidates_of(network), max_alternatives=7)
    # 20 for each limb: by hand. The best chilled of each come first.
    assert cover.added == (21, 41)
    assert cover.first_proven and not cover.all_listed
    assert len(cover.alternatives) == 7
    every = smallest_cover(network, candidates_of(network), max_alternatives=1000)
    assert every.all_listed and len(set(every.alternatives)) == 20 * 20
    assert every.alternatives[0] == cover.added


def test_of_two_donors_asked_for_two_equals_may_serve() -> None:
    network = equal_wood(6)
    network = replace(network, aim=replace(network.aim, donors=2))
    cover = smallest_cover(network, candidates_of(network), max_alternatives=1000)
    assert cover.all_listed and len(set(cover.alternatives)) == comb(6, 2) ** 2


def test_sports_of_one_variety_and_unlike_costs_stay_apart() -> None:
    network = equal_wood(3)
    nodes = list(network.nodes)
    nodes[3], nodes[4] = replace(nodes[3], cost=2.0), replace(nodes[4], clone=nodes[2].clone)
    network = replace(network, nodes=tuple(nodes))
    problem = cover_problem(network, candidates_of(network))
    ranking = ranking_of(network, ())
    assert equal_groups(problem, ranking.penalties) == ((5, 6, 7),)


def told_by_all_searches(network: NetworkInput, most: int) -> set[tuple[int, ...]]:
    """The smallest sets, which must be the best ones of that size as well, sure or not."""
    free = candidates_of(network)
    covers = [
        smallest_cover(network, free, sure=sure, max_alternatives=99) for sure in (False, True)
    ]
    best = [
        best_added(network, free, most, sure=sure, max_alternatives=99) for sure in (False, True)
    ]
    told = [set(found.alternatives) for found in (*covers, *best)]
    assert all(one == told[0] for one in told)
    gains = list(gain_per_cost(network, free, most=most))
    assert gains[-1].added == min(told[0]) and gains[-1].reliability == 1
    return told[0]


def test_equals_that_serve_one_another_come_in_twos() -> None:
    """By hand: each serves the limb, and only another one of them serves it."""
    names = ("L", "A", "B", "C", "D")
    nodes = [node(name, "limb" if name == "L" else "candidate") for name in names]
    network = garden(
        nodes,
        {name: [(100.0, 110.0)] * 2 for name in names},
        {(one, other): "yes" for one in "ABCD" for other in names if one != other},
    )
    assert told_by_all_searches(network, 2) == set(combinations(range(1, 5), 2))


def test_who_serves_a_graft_that_another_does_not_is_no_equal() -> None:
    """By hand: A and B both serve L; C serves M, and of these only A serves C."""
    nodes = [node("L"), node("M")]
    nodes += [node(name, "candidate", must_crop=name == "C") for name in "ABC"]
    network = garden(
        nodes,
        {one.id: [(100.0, 110.0)] * 2 for one in nodes},
        {("A", "L"): "yes", ("B", "L"): "yes", ("C", "M"): "yes", ("A", "C"): "yes"},
    )
    assert told_by_all_searches(network, 2) == {(2, 4)}
