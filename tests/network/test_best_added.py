"""The best so many varieties to add, against brute force over sets and their coverage."""

from __future__ import annotations

from itertools import combinations, count
from math import comb
from time import monotonic

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, random_garden
from open_gardens import Scene, open_garden, scenes
from test_equal_varieties import equal_wood, with_twins

from pollinet.domain import Aim, NetworkInput
from pollinet.network.best_added import BestAdded, best_added
from pollinet.network.cover import smallest_cover
from pollinet.network.coverage import limb_coverage
from pollinet.shares import reaches

Ranked = tuple[int, int, float]


def ranked(network: NetworkInput, chosen: tuple[int, ...], *, sure: bool) -> Ranked | None:
    """Limbs sure, limbs covered and the worst expected share; None: a new graft is not served."""
    here = [i for i, n in enumerate(network.nodes) if n.kind != "candidate" or i in chosen]
    rows = limb_coverage(network, here)
    grafts = [row for row in rows if row.node in chosen]
    if not all(row.verdict == "sure" if sure else row.covered for row in grafts):
        return None
    limbs = [row for row in rows if row.node not in chosen]
    surely = sum(row.verdict == "sure" for row in limbs)
    worst = min((row.reliability for row in limbs), default=1.0)
    return surely, sum(row.covered for row in limbs), round(worst, 9)


def brute_force(
    network: NetworkInput, most: int, room: int | None, *, sure: bool
) -> tuple[Ranked, set[tuple[int, ...]]]:
    best: tuple[Ranked, set[tuple[int, ...]]] | None = None
    for size in range(min(most, most if room is None else room) + 1):
        found: dict[tuple[int, ...], Ranked] = {}
        for chosen in combinations(candidates_of(network), size):
            if (rank := ranked(network, chosen, sure=sure)) is not None:
                found[chosen] = rank
        top = max(found.values(), default=None)
        if top is not None and (best is None or top > best[0]):
            best = top, {chosen for chosen, rank in found.items() if rank == top}
    assert best is not None
    return best


def agrees(found: BestAdded, truth: tuple[Ranked, set[tuple[int, ...]]]) -> None:
    told = found.tally
    assert (told.sure, told.covered, round(told.worst, 9)) == truth[0]
    assert set(found.alternatives) == truth[1]
    assert found.added == found.alternatives[0]
    assert found.proven and found.all_listed


@settings(max_examples=120, deadline=None)
@given(scenes(candidates=5), st.integers(0, 3), st.sampled_from([None, None, 1, 2]), st.booleans())
def test_the_best_sets_are_those_of_brute_force(
    scene: Scene, most: int, room: int | None, sure: bool
) -> None:
    network = open_garden(scene)
    spare = None if room is None else {"apple": room}
    free = candidates_of(network)
    found = best_added(network, free, most, spare, sure=sure, max_alternatives=500)
    agrees(found, brute_force(network, most, room, sure=sure))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), most=st.integers(1, 3), donors=st.sampled_from([1, 2]))
def test_clones_and_poor_chill_change_nothing_of_that(seed: int, most: int, donors: int) -> None:
    network = random_garden(seed, candidates=7, aim=Aim(level=0.5, donors=donors))
    found = best_added(network, candidates_of(network), most, max_alternatives=500)
    agrees(found, brute_force(network, most, None, sure=False))


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6))
def test_where_all_limbs_can_be_covered_no_more_are_taken_than_that_asks_for(seed: int) -> None:
    """A set of the size of a smallest cover covers all limbs; the best one does so as well."""
    network = random_garden(seed, candidates=6)
    cover = smallest_cover(network, candidates_of(network))
    if cover.status not in ("optimal", "nothing to add"):
        return
    found = best_added(network, candidates_of(network), len(cover.added))
    assert found.tally.covered == found.tally.limbs


@settings(max_examples=30, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6),
    most=st.integers(1, 4),
    donors=st.sampled_from([1, 2]),
    mutual=st.sampled_from(["yes", "no"]),
    sure=st.booleans(),
)
def test_all_names_of_equals_are_told_in_order(
    seed: int, most: int, donors: int, mutual: str, sure: bool
) -> None:
    """One variety under many names; of these, too, the first ones are those of the whole list."""
    network = random_garden(
        seed, limbs=3, candidates=3, scenarios=5, aim=Aim(level=0.5, donors=donors)
    )
    network = with_twins(network, 2, mutual=mutual)
    free = candidates_of(network)
    rng = np.random.default_rng(seed)
    wishes = [{c: float(rng.integers(3)) for c in free}, {c: float(rng.integers(2)) for c in free}]
    found = best_added(network, free, most, sure=sure, preferences=wishes, max_alternatives=500)
    agrees(found, brute_force(network, most, None, sure=sure))

    def order(chosen: tuple[int, ...]) -> tuple[float, ...]:
        lacking = sum(1 - network.chill_quality[c].mean() for c in chosen)
        return (round(lacking, 9), *(sum(w[c] for c in chosen) for w in wishes), *chosen)

    assert list(found.alternatives) == sorted(found.alternatives, key=order)
    few = best_added(network, free, most, sure=sure, preferences=wishes, max_alternatives=3)
    assert few.alternatives == found.alternatives[:3]
    assert few.all_listed == (len(found.alternatives) <= 3)


def test_equals_are_looked_through_once() -> None:
    network = equal_wood(60)
    found = best_added(network, candidates_of(network), 2, max_alternatives=1000)
    # By hand: one of sixty for each of two limbs; two names of each are enough to be looked at.
    assert found.tally.sure == 2 and found.added == (2, 62)
    assert len(set(found.alternatives)) == 1000 and not found.all_listed
    assert list(found.alternatives) == sorted(found.alternatives)
    assert found.offered == 120 and found.looked <= comb(4, 1) + comb(4, 2)


def test_what_is_wanted_in_any_case_is_in_every_set() -> None:
    network = random_garden(3, candidates=6)
    free = candidates_of(network)
    for node in free:
        found = best_added(network, free, 2, must_include=[node])
        assert all(node in chosen for chosen in found.alternatives)
        assert len(found.added) <= 2


def test_ties_are_broken_as_in_the_smallest_set() -> None:
    """All three serve the limb in every winter; the second is preferred, then the third."""
    alleles = ("S1 S2", "S3 S5", "S3 S5", "S3 S5")
    scene = Scene(alleles, ("limb", "pollen", "pollen", "pollen"), np.ones((4, 5), dtype=bool))
    network = open_garden(scene)
    found = best_added(network, [1, 2, 3], 2, preferences=[{1: 0.5, 2: 0.1, 3: 0.3}])
    assert found.added == (2,)
    assert found.alternatives == ((2,), (3,), (1,))
    assert reaches(found.tally.worst, 1.0)


@pytest.fixture(scope="module")
def orchard() -> NetworkInput:
    return random_garden(11, limbs=8, candidates=200, scenarios=960, spread=9.0)


def test_three_of_two_hundred_within_seconds(orchard: NetworkInput) -> None:
    """1.3 million sets; few of them are counted one by one."""
    started = monotonic()
    found = best_added(orchard, candidates_of(orchard), 3, clock=monotonic)
    assert found.proven and monotonic() - started < 20
    assert found.looked < comb(200, 3)
    # No single exchange makes it better: the definitions, without any bound.
    free = candidates_of(orchard)
    best = ranked(orchard, found.added, sure=False)
    assert best is not None
    for out in found.added:
        for other in free[::5]:
            changed = tuple(sorted({*found.added, other} - {out}))
            rank = ranked(orchard, changed, sure=False)
            assert rank is None or rank <= best


def test_where_time_is_up_the_best_found_is_told(orchard: NetworkInput) -> None:
    ticks = count()
    found = best_added(
        orchard, candidates_of(orchard), 3, time_limit_s=4.0, clock=lambda: float(next(ticks))
    )
    assert not found.proven and not found.all_listed
    assert found.added == found.alternatives[0]
