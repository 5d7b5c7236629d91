"""Smallest sets that are sure whatever the unknown alleles are, against brute force over sets.

The alleles are those of `test_unknown_alleles`, whose enumeration proves the sure share itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from open_gardens import Scene, open_garden, scenes

from pollinet.domain import NetworkInput
from pollinet.network.cover import smallest_cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.equals import equal_groups
from pollinet.network.problem import cover_problem
from pollinet.network.selection import lose_nodes
from pollinet.shares import reaches


def standing(network: NetworkInput, chosen: Sequence[int]) -> list[int]:
    """What stands with some candidates grafted."""
    return [i for i, n in enumerate(network.nodes) if n.kind != "candidate" or i in chosen]


def is_sure(network: NetworkInput, chosen: Sequence[int], *, loss: bool = False) -> bool:
    """Whether each limb and new graft is surely served, by the coverage told of it."""
    here = standing(network, chosen)
    grafted = [network.nodes[i] for i in here]
    small = lose_nodes(network, [i for i in range(len(network.nodes)) if i not in here])
    losses: list[int | None] = [None, *(range(len(grafted)) if loss else ())]
    for lost in losses:
        left = small if lost is None else lose_nodes(small, [lost])
        rows = limb_coverage(left, range(len(left.nodes)))
        if not all(reaches(row.sure, network.aim.level) for row in rows):
            return False
    return True


def smallest_sure_sets(network: NetworkInput, *, loss: bool) -> set[tuple[int, ...]]:
    free = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    for size in range(len(free) + 1):
        found = {s for s in combinations(free, size) if is_sure(network, s, loss=loss)}
        if found:
            return found
    return set()


@settings(max_examples=150, deadline=None)
@given(scenes(candidates=5), st.booleans())
def test_the_smallest_sure_sets_are_those_of_brute_force(scene: Scene, loss: bool) -> None:
    network = open_garden(scene)
    free = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    found = smallest_cover(
        network, free, sure=True, survives_any_single_loss=loss, max_alternatives=500
    )
    assert found.sure
    truth = smallest_sure_sets(network, loss=loss)
    if not truth:
        assert found.status == "infeasible" and found.uncovered
        return
    assert found.status == ("optimal" if found.added else "nothing to add")
    assert set(found.alternatives) == truth and found.all_listed
    assert found.tally.sure == found.tally.limbs
    assert found.proof.bound == pytest.approx(found.cost)


def with_copies(scene: Scene, copies: int) -> Scene:
    """The scene with its last two candidates several times, each a variety of its own."""
    rows = [*range(len(scene.kinds)), *([-1, -2] * copies)[:copies]]
    return replace(
        scene,
        alleles=tuple(scene.alleles[i] for i in rows),
        kinds=tuple(scene.kinds[i] for i in rows),
        together=scene.together[rows],
    )


@settings(max_examples=25, deadline=None, derandomize=True)
@given(scenes(candidates=3), st.integers(1, 3), st.booleans())
def test_all_names_of_those_equal_in_each_worst_case_are_told(
    scene: Scene, copies: int, loss: bool
) -> None:
    network = open_garden(with_copies(scene, copies))
    free = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    found = smallest_cover(
        network, free, sure=True, survives_any_single_loss=loss, max_alternatives=500
    )
    truth = smallest_sure_sets(network, loss=loss)
    assert set(found.alternatives) == truth
    assert found.all_listed or not truth


@settings(max_examples=80, deadline=None, derandomize=True)
@given(scenes(candidates=7), st.integers(0, 10**6))
def test_exchanging_two_that_are_equal_changes_no_sure_share(scene: Scene, seed: int) -> None:
    rng = np.random.default_rng(seed)
    # All in bloom early or late in the same winters, so that only alleles tell them apart.
    winters = np.where(rng.random((len(scene.kinds), 1)) < 0.2, rng.random(5) < 0.6, True)
    network = open_garden(replace(scene, together=winters))
    free = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    problem = cover_problem(network, free, sure=True)

    def shares(chosen: Sequence[int], place: dict[int, int]) -> dict[int, float]:
        rows = limb_coverage(network, standing(network, chosen))
        return {place.get(row.node, row.node): row.sure for row in rows}

    for group in equal_groups(problem, ()):
        for _ in range(4):
            one, other = rng.choice(group, 2, replace=False).tolist()
            chosen = {one, *rng.choice(free, rng.integers(3), replace=False).tolist()}
            place = {one: other, other: one}
            assert shares([*chosen], {}) == pytest.approx(
                shares([place.get(c, c) for c in chosen], place)
            )


def test_those_of_whom_the_same_is_unknown_are_equal_only_if_sure_is_asked_for() -> None:
    """By hand: whatever they are drawn to be, the worst case of each is that of the others."""
    alleles = ("S1 S2", *["S3 ?"] * 4, "S3 S5", "S3 S5")
    kinds = ("limb", *["candidate"] * 4, "pollen", "pollen")
    network = open_garden(Scene(alleles, kinds, np.ones((7, 5), dtype=bool), level=0.4))
    surely, expected = (
        equal_groups(cover_problem(network, range(1, 7), sure=sure), ()) for sure in (True, False)
    )
    assert surely == ((1, 2, 3, 4), (5, 6))
    assert (1, 2, 3, 4) not in expected


@settings(max_examples=60, deadline=None)
@given(scenes(candidates=4), st.data())
def test_costs_and_room_lead_to_the_same_by_programme(scene: Scene, data: st.DataObject) -> None:
    network = open_garden(scene)
    costs = data.draw(st.lists(st.sampled_from([1.0, 2.0]), min_size=4, max_size=4))
    free = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    nodes = list(network.nodes)
    for node, cost in zip(free, costs, strict=True):
        nodes[node] = replace(nodes[node], cost=cost)
    network = replace(network, nodes=tuple(nodes))
    room = {"apple": data.draw(st.integers(0, 3))}
    found = smallest_cover(network, free, room, sure=True, max_alternatives=500)
    sets = [s for size in range(room["apple"] + 1) for s in combinations(free, size)]
    good = {s: sum(nodes[i].cost for i in s) for s in sets if is_sure(network, s)}
    if not good:
        assert found.status == "infeasible"
        return
    assert found.cost == pytest.approx(min(good.values()))
    least = {s for s, cost in good.items() if cost == pytest.approx(found.cost)}
    # The programme lists the sets of least cost that hold no other such set.
    assert set(found.alternatives) <= least and found.added in least


@settings(max_examples=60, deadline=None)
@given(scenes(candidates=4))
def test_limbs_that_cannot_be_sure_are_named_once_and_truly(scene: Scene) -> None:
    network = open_garden(scene)
    free = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    found = smallest_cover(network, free, sure=True)
    named = [miss.node for miss in found.uncovered]
    assert len(named) == len(set(named))
    level = network.aim.level
    closed = closed_sets(network, free)
    for node in named:
        # No set whose own grafts are surely served makes this limb sure.
        assert not any(reaches(rows[node].sure, level) for rows in closed)
    others = {i for i, n in enumerate(network.nodes) if n.kind == "limb"} - set(named)
    assert not found.uncovered or any(
        all(reaches(rows[limb].sure, level) for limb in others) for rows in closed
    )


def closed_sets(network: NetworkInput, free: Sequence[int]) -> list[dict[int, LimbCoverage]]:
    """Coverage by node, for each set of candidates whose own grafts are surely served."""
    found = []
    for size in range(len(free) + 1):
        for chosen in combinations(free, size):
            rows = {r.node: r for r in limb_coverage(network, standing(network, chosen))}
            if all(reaches(rows[c].sure, network.aim.level) for c in chosen if c in rows):
                found.append(rows)
    return found


def test_a_donor_without_any_date_is_not_counted_on() -> None:
    scene = Scene(("S3 S5", None, "S1 S2"), ("limb", "limb", "candidate"), np.ones((3, 5), bool))
    network = open_garden(scene)
    told = smallest_cover(network, [2])
    assert told.status == "nothing to add" and told.tally.sure < told.tally.limbs
    undated = replace(network, dated=np.array([True, True, False]))
    found = smallest_cover(undated, [2], sure=True)
    assert [miss.code for miss in found.uncovered] == ["not-sure", "not-sure"]
    assert all(miss.reachable < 0.8 <= miss.expected for miss in found.uncovered)
