"""The season's trade-off against looking at every set with the definitions."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from math import floor

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from network_gardens import candidates_of, garden, node, random_garden

from pollinet.advice.harvest import GAP_DAYS
from pollinet.advice.season import SeasonPoint, front_of, ripe_bits, season_front
from pollinet.domain import Aim, NetworkInput, VarietyId
from pollinet.network.checker import covered_share
from pollinet.network.viability import present_of


def receivers(network: NetworkInput, standing: list[int]) -> list[int]:
    nodes = network.nodes
    return [i for i in standing if nodes[i].must_crop and nodes[i].kind != "neighbour"]


def told(network: NetworkInput, chosen: tuple[int, ...], ripe: dict[int, int]) -> tuple[int, int]:
    """Days with ripe fruit counted one by one, and the worst-off receiver's hundredths.

    What has its donor in fewer than half of the winters does not bear.
    """
    standing = [*present_of(network), *chosen]
    shares = {i: covered_share(network, standing, i) for i in receivers(network, standing)}
    bearing = [i for i in shares if i in ripe and shares[i] >= 0.5]
    days = {ripe[i] + more for i in bearing for more in range(GAP_DAYS)}
    return len(days), floor(100 * min(shares.values(), default=1.0) + 1e-6)


def fits(network: NetworkInput, chosen: tuple[int, ...], spare: dict[str, int]) -> bool:
    fruits = [network.nodes[i].variety.species for i in chosen]
    return all(fruits.count(fruit) <= spare.get(fruit, 0) for fruit in fruits)


def brute_front(
    network: NetworkInput, ripe: dict[int, int], spare: dict[str, int], most: int
) -> list[tuple[tuple[int, int], int]]:
    """What is told of the sets that none betters, with the fewest scions that reach it."""
    free = candidates_of(network)
    sets = [c for k in range(most + 1) for c in combinations(free, k) if fits(network, c, spare)]
    values = [(told(network, chosen, ripe), len(chosen)) for chosen in sets]
    best = {
        value
        for value, _ in values
        if not any(o != value and o[0] >= value[0] and o[1] >= value[1] for o, _ in values)
    }
    return sorted((value, min(k for v, k in values if v == value)) for value in best)


def two_fruits(seed: int) -> tuple[NetworkInput, dict[int, int]]:
    """A garden by chance in which every fourth node is of another fruit; some harvests unknown."""
    rng = np.random.default_rng(seed)
    aim = Aim(level=0.8, donors=1 + seed % 5 // 4)
    network = random_garden(seed, limbs=2, candidates=8, scenarios=15, aim=aim, pollen_only=0.2)
    moved_h = 24.0 * rng.integers(-6, 7, network.open_start_h.shape)
    nodes = tuple(
        replace(n, variety=VarietyId("quince", n.variety.name)) if i % 4 == 3 else n
        for i, n in enumerate(network.nodes)
    )
    kin = {(a, b): v for (a, b), v in network.verdicts.items() if (a % 4 == 3) == (b % 4 == 3)}
    ripe = {i: int(rng.integers(150, 260)) for i in range(len(nodes)) if rng.random() < 0.8}
    made = replace(
        network,
        nodes=nodes,
        verdicts=kin,
        open_start_h=network.open_start_h + moved_h,
        open_end_h=network.open_end_h + moved_h,
        shed_start_h=network.shed_start_h + moved_h,
        shed_end_h=network.shed_end_h + moved_h,
    )
    return made, ripe


@pytest.mark.parametrize("seed", range(24))
def test_the_front_is_that_of_all_sets(seed: int) -> None:
    network, ripe = two_fruits(seed)
    spare = {"pear": 1 + seed % 3, "quince": 1}
    most = 2 + seed % 2
    found = season_front(network, candidates_of(network), ripe, spare, most=most)
    assert found.exact
    for point in (found.today, *found.points):
        assert point.told == told(network, point.added, ripe)
        assert fits(network, point.added, spare)
        shares = [
            covered_share(network, [*present_of(network), *point.added], i)
            for i in receivers(network, [*present_of(network), *point.added])
        ]
        assert point.mean_reliability == pytest.approx(np.mean(shares) if shares else 0)
    assert found.today.added == ()
    assert [(p.told, len(p.added)) for p in found.points] == brute_front(network, ripe, spare, most)


@pytest.mark.parametrize("seed", range(8))
def test_the_heuristic_finds_nothing_better_than_there_is(seed: int) -> None:
    network, ripe = two_fruits(seed)
    spare = {"pear": 3, "quince": 2}
    free = candidates_of(network)
    exact = season_front(network, free, ripe, spare)
    rough = season_front(network, free, ripe, spare, most_sets=5)
    assert exact.exact and not rough.exact
    for point in rough.points:
        assert point.told == told(network, point.added, ripe)
        assert any(p.told[0] >= point.told[0] and p.told[1] >= point.told[1] for p in exact.points)
    # With this few candidates it grows all sets that matter.
    assert rough.points == exact.points


def test_more_room_never_makes_it_worse() -> None:
    for seed in range(6):
        network, ripe = two_fruits(seed)
        fronts = [
            season_front(network, candidates_of(network), ripe, {"pear": room, "quince": 1}).points
            for room in (0, 1, 2)
        ]
        for tight, loose in pairwise(fronts):
            for point in tight:
                assert any(p.told[0] >= point.told[0] and p.told[1] >= point.told[1] for p in loose)


def test_by_hand() -> None:
    """L is picked on day 200 and has no donor, so bears nothing. E ripens with it and serves it, F
    a month later, and serves it in one of two springs: E is surer, F longer."""
    spring = [(100, 110), (100, 110)]
    late = [(100, 110), (130, 140)]
    nodes = [node("L"), node("E", "candidate"), node("F", "candidate", must_crop=True)]
    answers = {("E", "L"): "yes", ("L", "E"): "yes", ("F", "L"): "yes", ("L", "F"): "yes"}
    days = {"L": spring, "E": spring, "F": late}
    network = garden(nodes, days, answers)
    ripe = {0: 200.0, 1: 200.0, 2: 230.0}
    found = season_front(network, [1, 2], ripe, {"pear": 1})
    assert found.today.told == (0, 0)
    assert [(p.added, p.told) for p in found.points] == [((1,), (14, 100)), ((2,), (28, 50))]
    assert found.tried == 3
    # F itself has a donor in one spring of two: with E the worst-off receiver is F.
    both = season_front(network, [1, 2], ripe, {"pear": 2}).points
    assert [(p.added, p.told) for p in both] == [((1,), (14, 100)), ((2,), (28, 50))]
    # Kept for its pollen only, it neither lengthens the season nor asks for a donor.
    nodes[2] = node("F", "candidate", must_crop=False)
    pollen = season_front(garden(nodes, days, answers), [1, 2], ripe, {"pear": 2})
    assert [(p.added, p.told) for p in pollen.points] == [((1,), (14, 100))]


def test_a_garden_without_room_is_what_it_is() -> None:
    network, ripe = two_fruits(0)
    found = season_front(network, candidates_of(network), ripe, {})
    assert (found.points, found.tried) == ((found.today,), 1)


@given(st.floats(-100, 500))
def test_a_variety_is_ripe_for_a_fortnight_from_its_pick(pick: float) -> None:
    days = [day for day in range(1000) if ripe_bits(pick) >> day & 1]
    assert len(days) == GAP_DAYS == days[-1] - days[0] + 1
    assert abs(days[0] - ripe_day_zero() - pick) <= 0.5


def ripe_day_zero() -> int:
    return ripe_bits(0.0).bit_length() - GAP_DAYS


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=20))
def test_a_front_betters_everything_that_is_not_on_it(pairs: list[tuple[int, int]]) -> None:
    points = [SeasonPoint((i,), days, share / 10, 0) for i, (days, share) in enumerate(pairs)]
    front = front_of(points)
    for point in points:
        assert any(p.told[0] >= point.told[0] and p.told[1] >= point.told[1] for p in front)
    days = [p.told for p in front]
    assert days == sorted(days)
    assert [winters for _, winters in days] == sorted((w for _, w in days), reverse=True)
    assert len({p.told for p in front}) == len(front)
