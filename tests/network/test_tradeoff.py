"""Trade-offs and concessions against brute force."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from network_gardens import candidates_of, random_garden
from test_equal_varieties import equal_wood, with_twins

from pollinet.domain import Aim, NetworkInput
from pollinet.network import tradeoff
from pollinet.network.checker import covered_share, is_cover
from pollinet.network.cover import smallest_cover
from pollinet.network.engines import best_of_size
from pollinet.network.problem import CoverProblem
from pollinet.network.tradeoff import LEVEL_STEPS, gain_per_cost, relaxations
from pollinet.network.viability import present_of


def worst_share(network: NetworkInput, chosen: tuple[int, ...]) -> float:
    standing = [*present_of(network), *chosen]
    receivers = [
        i for i in standing if network.nodes[i].must_crop and network.nodes[i].kind != "neighbour"
    ]
    return min(covered_share(network, standing, receiver) for receiver in receivers)


def best_share(network: NetworkInput, most: int) -> float:
    sets = (c for size in range(most + 1) for c in combinations(candidates_of(network), size))
    return max(
        worst_share(network, chosen)
        for chosen in sets
        if sum(network.nodes[c].cost for c in chosen) <= most
    )


@pytest.mark.parametrize("seed", range(12))
def test_each_gain_is_the_best_for_its_cost(seed: int) -> None:
    # Every other garden has wood of unequal cost, which another method answers.
    costs = seed % 2 == 1
    network = random_garden(seed, limbs=3, candidates=6, scenarios=7, costs=costs)
    gains = list(gain_per_cost(network, candidates_of(network), most=4))
    assert gains[0].reliability == pytest.approx(best_share(network, 0))
    for gain in gains:
        assert gain.proven
        assert gain.reliability == pytest.approx(best_share(network, int(gain.cost)))
        assert worst_share(network, gain.added) == pytest.approx(gain.reliability)
    best = max(gain.reliability for gain in gains)
    assert best == pytest.approx(best_share(network, 4))


def test_concessions_are_the_smallest() -> None:
    seen = set()
    for seed in range(12):
        aim = Aim(level=0.9, min_overlap_days=6)
        network = random_garden(seed, limbs=3, candidates=5, scenarios=7, aim=aim)
        free = candidates_of(network)
        if smallest_cover(network, free, {"pear": 2}).status != "infeasible":
            continue
        for eased in relaxations(network, free, {"pear": 2}):
            seen.add(eased.kind)
            if eased.kind == "level":
                # As it could be asked for: never more than there is, and less than a step below.
                assert eased.value * LEVEL_STEPS == pytest.approx(round(eased.value * LEVEL_STEPS))
                assert -1e-9 < best_share(network, 2) - eased.value < 1 / LEVEL_STEPS
                asked = replace(network, aim=replace(aim, level=eased.value))
                assert eased.added == smallest_cover(asked, free, {"pear": 2}).added
            elif eased.kind == "days":
                for days, good in ((eased.value, True), (eased.value + 0.5, False)):
                    easier = replace(network, aim=replace(aim, min_overlap_days=days))
                    sets = (c for k in range(3) for c in combinations(free, k))
                    assert any(is_cover(easier, chosen) for chosen in sets) is good
            else:
                assert len(eased.added) == 2 + eased.value
                assert is_cover(network, eased.added)
    assert seen == {"level", "days", "spare"}


def test_fewer_days_never_cost_more() -> None:
    network = random_garden(2, scenarios=8, aim=Aim(level=0.5))
    aims = [replace(network.aim, min_overlap_days=days) for days in (1.0, 2.0, 3.0, 4.0, 5.0)]
    covers = [smallest_cover(replace(network, aim=a), candidates_of(network)) for a in aims]
    costs = [np.inf if c.status == "infeasible" else c.cost for c in covers]
    assert costs == sorted(costs)


@pytest.mark.parametrize("equals", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_of_sets_that_gain_the_same_the_preferred_one_is_named(seed: int, equals: bool) -> None:
    # Every third garden has wood of unequal cost, which another method answers.
    costs = seed % 3 == 2
    network = random_garden(
        seed, limbs=2, candidates=3 if equals else 7, scenarios=3, costs=costs, pollen_only=0.7,
        aim=Aim(donors=1 + equals * seed % 2),
    )  # fmt: skip
    if equals:  # one variety under many names
        network = with_twins(network, 2, mutual=("yes", "no")[seed // 2 % 2])
    free = candidates_of(network)
    rng = np.random.default_rng(seed)
    wishes = [{c: float(rng.integers(3)) for c in free}, {c: float(rng.integers(2)) for c in free}]

    def rank(chosen: tuple[int, ...]) -> tuple[float, ...]:
        lacking = sum(1 - network.chill_quality[c].mean() for c in chosen)
        wished = [sum(wish[c] for c in chosen) for wish in wishes]
        cost = sum(network.nodes[c].cost for c in chosen)
        return (cost, round(lacking, 9), *wished, *(() if costs else chosen))

    gains = list(gain_per_cost(network, free, preferences=wishes, most=3))
    assert gains
    for gain in gains:
        as_good = [
            chosen
            for size in range(len(free) + 1)
            for chosen in combinations(free, size)
            if sum(network.nodes[c].cost for c in chosen) <= gain.cost
            and worst_share(network, chosen) == pytest.approx(gain.reliability)
        ]
        assert rank(gain.added) == min(map(rank, as_good))


def test_the_trade_off_and_the_smallest_set_name_the_same() -> None:
    found = 0
    for seed in range(12):
        network = random_garden(seed, limbs=3, candidates=8, scenarios=6, aim=Aim(level=0.5))
        free = candidates_of(network)
        wishes = [{c: float(7 * c % 5) for c in free}]
        cover = smallest_cover(network, free, preferences=wishes)
        if cover.status != "optimal":
            continue
        gains = gain_per_cost(network, free, preferences=wishes, most=len(cover.added))
        same = [gain.added for gain in gains if gain.cost == len(cover.added)]
        assert same == [cover.added]
        found += 1
    assert found > 2


def test_equals_are_looked_through_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of twenty names for each of two limbs as many as there may be donors, and one."""
    network = equal_wood(20)
    asked = set[tuple[int, ...]]()

    def spied(problem: CoverProblem, *words: object) -> object:
        asked.add(problem.candidates)
        return best_of_size(problem, *words)  # type: ignore[arg-type]

    monkeypatch.setattr(tradeoff, "best_of_size", spied)
    gains = list(gain_per_cost(network, candidates_of(network), most=3))
    # By hand: one for each of them serves it in all winters; no limb has a donor before.
    assert [(gain.cost, gain.added, gain.reliability) for gain in gains] == [
        (0.0, (), 0.0),
        (2.0, (2, 22), 1.0),
    ]
    assert asked == {(2, 3, 22, 23)}
