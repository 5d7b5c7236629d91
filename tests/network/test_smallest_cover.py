"""Smallest covers against brute force, the definitions spelled out again in plain loops."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from cp_model import cp_optimum
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, garden, names, node, random_garden

from pollinet.domain import Aim, NetworkInput
from pollinet.network.checker import covered_share
from pollinet.network.cover import is_cover, smallest_cover
from pollinet.network.viability import present_of


def viable(network: NetworkInput, donor: int, receiver: int, s: int) -> bool:
    """The definition of the design, one condition a line; independent of the package's arrays."""
    aim, nodes = network.aim, network.nodes
    word = network.verdicts.get((donor, receiver))
    if word is None or word.answer in ("no", "unknown"):
        return False
    quality = network.chill_quality
    if min(quality[donor, s], quality[receiver, s]) < network.min_chill_quality:
        return False
    first = max(network.shed_start_h[donor, s], network.open_start_h[receiver, s])
    last = min(network.shed_end_h[donor, s], network.open_end_h[receiver, s])
    shared = (last - first) / 24
    if np.isnan(network.shed_start_h[donor, s] + network.open_start_h[receiver, s]):
        return False
    if donor == receiver:
        return bool(shared > 0)
    return bool(
        nodes[donor].clone != nodes[receiver].clone
        and (word.answer == "yes" or aim.half_counts)
        and shared >= aim.min_overlap_days
    )


def covers(network: NetworkInput, chosen: tuple[int, ...], *, loss: bool = False) -> bool:
    present = [i for i, n in enumerate(network.nodes) if n.kind != "candidate"]
    standing = [*present, *chosen]
    scenarios = network.open_start_h.shape[1]
    for lost in [None, *standing] if loss else [None]:
        for receiver in standing:
            if receiver == lost or not network.nodes[receiver].must_crop:
                continue
            good = 0
            for s in range(scenarios):
                varieties = {
                    network.nodes[d].clone
                    for d in standing
                    if d != lost and viable(network, d, receiver, s)
                }
                good += len(varieties) >= network.aim.donors
            if good / scenarios < network.aim.level - 1e-9:
                return False
    return True


def brute_force(
    network: NetworkInput, room: int | None = None, *, loss: bool = False
) -> tuple[float, set[tuple[int, ...]]] | None:
    """Cost and list of all cheapest covers; None: there is none."""
    free = candidates_of(network)
    best: tuple[float, set[tuple[int, ...]]] | None = None
    for size in range(min(len(free), len(free) if room is None else room) + 1):
        for chosen in combinations(free, size):
            cost = sum(network.nodes[c].cost for c in chosen)
            if best is not None and cost > best[0]:
                continue
            if covers(network, chosen, loss=loss):
                if best is None or cost < best[0]:
                    best = (cost, set())
                best[1].add(chosen)
    return best


AIMS = st.builds(
    Aim,
    level=st.sampled_from([0.3, 0.5, 0.8, 1.0]),
    min_overlap_days=st.sampled_from([2.0, 3.0, 4.0]),
    half_counts=st.booleans(),
    donors=st.sampled_from([1, 1, 2]),
)


@settings(max_examples=400, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6),
    limbs=st.integers(1, 4),
    candidates=st.integers(0, 7),
    aim=AIMS,
    costs=st.booleans(),
    room=st.sampled_from([None, None, 1, 2]),
    loss=st.sampled_from([False, False, False, True]),
)
def test_cover_is_the_brute_force_optimum(
    seed: int, limbs: int, candidates: int, aim: Aim, costs: bool, room: int | None, loss: bool
) -> None:
    network = random_garden(
        seed, limbs=limbs, candidates=candidates, scenarios=5, aim=aim, costs=costs
    )
    truth = brute_force(network, room, loss=loss)
    cover = smallest_cover(
        network,
        candidates_of(network),
        None if room is None else {"pear": room},
        survives_any_single_loss=loss,
        max_alternatives=500,
    )
    if truth is None:
        assert cover.status == "infeasible"
        assert cover.uncovered
        return
    assert cover.status == ("optimal" if cover.added else "nothing to add")
    assert cover.cost == pytest.approx(truth[0])
    assert cover.proof.bound == pytest.approx(truth[0])
    assert set(cover.alternatives) == truth[1]
    assert cover.all_listed
    assert all(
        is_cover(network, chosen, survives_any_single_loss=loss) for chosen in cover.alternatives
    )


@settings(max_examples=100, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS)
def test_checker_agrees_with_the_definitions(seed: int, aim: Aim) -> None:
    network = random_garden(seed, candidates=5, aim=aim)
    rng = np.random.default_rng(seed)
    for _ in range(4):
        chosen = tuple(c for c in candidates_of(network) if rng.random() < 0.5)
        for loss in (False, True):
            assert is_cover(network, chosen, survives_any_single_loss=loss) == covers(
                network, chosen, loss=loss
            )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS, room=st.sampled_from([None, 1, 2]))
def test_what_a_loss_breaks_is_covered_all_the_same(seed: int, aim: Aim, room: int | None) -> None:
    """Asked of the independent checker: who is covered, who is safe, and that losses are real."""
    network = random_garden(seed, limbs=3, candidates=4, scenarios=4, aim=aim)
    free, spare = candidates_of(network), None if room is None else {"pear": room}
    cover = smallest_cover(network, free, spare, survives_any_single_loss=True)
    chosen = cover.added or cover.partial
    bare = {miss.node for miss in cover.uncovered if not miss.hangs}
    hanging = {miss.node: miss.donor for miss in cover.uncovered if miss.hangs}
    standing = [*present_of(network), *chosen]

    def covered(receiver: int, lost: int | None = None) -> bool:
        donors = [d for d in standing if d != lost]
        return covered_share(network, donors, receiver) >= aim.level - 1e-9

    for i in standing:
        if network.nodes[i].kind == "neighbour" or not network.nodes[i].must_crop:
            continue
        assert covered(i) == (i not in bare)
        if i in hanging:
            assert not covered(i, hanging[i])
        elif i not in bare:
            assert all(covered(i, lost) for lost in standing if lost != i)
    plain = smallest_cover(network, free, spare)
    assert len(bare) == len(plain.uncovered)


def most_limbs(network: NetworkInput) -> set[int]:
    """Limbs that are covered with some closed set of candidates (no limit of room)."""
    free, reached = candidates_of(network), set()
    limbs = [i for i, n in enumerate(network.nodes) if n.kind == "limb"]
    for size in range(len(free) + 1):
        for chosen in combinations(free, size):
            for limb in limbs:
                others = tuple(
                    replace(n, must_crop=n.must_crop and (i == limb or n.kind == "candidate"))
                    for i, n in enumerate(network.nodes)
                )
                if covers(replace(network, nodes=others), chosen):
                    reached.add(limb)
    return reached


@settings(max_examples=25, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS)
def test_infeasible_names_exactly_the_hopeless_limbs(seed: int, aim: Aim) -> None:
    network = random_garden(seed, limbs=3, candidates=4, scenarios=4, aim=aim)
    limbs = {i for i, n in enumerate(network.nodes) if n.kind == "limb"}
    cover = smallest_cover(network, candidates_of(network))
    hopeless = {u.node for u in cover.uncovered}
    assert hopeless == limbs - most_limbs(network)
    # The rest is solved as if the hopeless limbs asked for nothing.
    rest = replace(
        network,
        nodes=tuple(
            replace(n, must_crop=n.must_crop and i not in hopeless)
            for i, n in enumerate(network.nodes)
        ),
    )
    truth = brute_force(rest)
    assert truth is not None
    assert (cover.partial if hopeless else cover.added) in truth[1]


@settings(max_examples=30, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), room=st.integers(0, 1))
def test_without_room_as_many_limbs_as_possible_are_covered(seed: int, room: int) -> None:
    network = random_garden(seed, limbs=4, candidates=5, scenarios=4, aim=Aim(level=0.5))
    free = candidates_of(network)
    cover = smallest_cover(network, free, {"pear": room})
    limbs = [i for i, n in enumerate(network.nodes) if n.kind == "limb"]
    best = 0
    for size in range(room + 1):
        for chosen in combinations(free, size):
            for count in range(len(limbs), best, -1):
                for kept in combinations(limbs, count):
                    others = tuple(
                        replace(n, must_crop=n.must_crop and (i in kept or n.kind == "candidate"))
                        for i, n in enumerate(network.nodes)
                    )
                    if covers(replace(network, nodes=others), chosen):
                        best = max(best, count)
    assert len(limbs) - len(cover.uncovered) == best
    assert len(cover.partial) <= room


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("donors", [1, 2])
@pytest.mark.parametrize("costs", [False, True])
def test_cover_costs_what_cp_sat_finds(seed: int, donors: int, costs: bool) -> None:
    # Independent solver: OR-tools CP-SAT on the full model of the design (tests/network/cp_model).
    network = random_garden(
        seed,
        limbs=8,
        neighbours=2,
        candidates=16,
        scenarios=20,
        aim=Aim(level=0.6, donors=donors),
        costs=costs,
    )
    cover = smallest_cover(network, candidates_of(network))
    truth = cp_optimum(network)
    assert (cover.status == "infeasible") == (truth is None)
    if truth is not None:
        assert cover.cost == pytest.approx(truth)
        assert is_cover(network, cover.added)


@pytest.mark.parametrize("seed", range(4))
def test_both_engines_find_the_same_sets(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    network = random_garden(
        seed, limbs=6, candidates=14, scenarios=12, aim=Aim(level=0.5), pollen_only=0.5
    )
    free = candidates_of(network)
    by_size = smallest_cover(network, free, max_alternatives=1000)
    assert by_size.proof.solver == "own search"
    monkeypatch.setattr("pollinet.network.by_size.applies", lambda problem: False)
    by_programme = smallest_cover(network, free, max_alternatives=1000)
    assert by_programme.proof.solver.startswith("HiGHS")
    assert by_size.alternatives == by_programme.alternatives
    assert by_size.added == by_programme.added
    # And where the search gives up half way, the programme carries on.
    monkeypatch.undo()
    monkeypatch.setattr("pollinet.network.by_size.WORK", 0.0)
    assert smallest_cover(network, free, max_alternatives=1000).added == by_size.added


@pytest.mark.parametrize("loss", [False, True])
@pytest.mark.parametrize("costs", [False, True])
@pytest.mark.parametrize("seed", [5, 8])
def test_first_of_many_ties_is_the_best_of_all(seed: int, costs: bool, loss: bool) -> None:
    network = random_garden(
        seed, limbs=2, candidates=11, scenarios=8, aim=Aim(level=0.3), costs=costs, pollen_only=0.8
    )
    free = candidates_of(network)
    truth = brute_force(network, loss=loss)
    assert truth is not None

    def worst(chosen: tuple[int, ...]) -> float:
        standing = [*range(3), *chosen]
        lost = [None, *standing] if loss else [None]
        return min(
            covered_share(network, [d for d in standing if d != gone], receiver)
            for gone in lost
            for receiver in standing
            if receiver != gone and network.nodes[receiver].must_crop
        )

    few = smallest_cover(network, free, survives_any_single_loss=loss, max_alternatives=1)
    assert few.first_proven
    assert few.all_listed == (len(truth[1]) == 1)
    assert few.added in truth[1]
    assert few.reliability == pytest.approx(worst(few.added))
    assert few.reliability == pytest.approx(max(worst(chosen) for chosen in truth[1]))
    every = smallest_cover(network, free, survives_any_single_loss=loss, max_alternatives=1000)
    assert every.added == few.added


def test_time_limit_gives_a_checked_set_and_a_bound() -> None:
    network = random_garden(3, limbs=8, candidates=30, scenarios=30, aim=Aim(level=0.6), costs=True)
    free = candidates_of(network)
    best = smallest_cover(network, free)
    assert best.status == "optimal"
    hurried = smallest_cover(network, free, time_limit_s=0.0)
    assert hurried.status == "time limit"
    assert is_cover(network, hurried.added)
    assert hurried.proof.bound <= best.cost <= hurried.cost
    assert hurried.proof.gap >= hurried.cost - best.cost


# --- metamorphic -----------------------------------------------------------------------------


def repeated(network: NetworkInput, times: int) -> NetworkInput:
    arrays = {
        name: np.tile(getattr(network, name), (1, times))
        for name in (
            "open_start_h",
            "open_end_h",
            "shed_start_h",
            "shed_end_h",
            "chill_quality",
            "flight_share",
        )
    }
    return replace(network, **arrays)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS)
def test_repeated_winters_change_nothing(seed: int, aim: Aim) -> None:
    network = random_garden(seed, aim=aim)
    once = smallest_cover(network, candidates_of(network))
    thrice = smallest_cover(repeated(network, 3), candidates_of(network))
    assert (once.status, once.alternatives) == (thrice.status, thrice.alternatives)
    assert once.reliability == pytest.approx(thrice.reliability)


def with_twin(network: NetworkInput, original: int) -> NetworkInput:
    """The same garden with one more candidate, equal to `original` in everything."""
    count = len(network.nodes)
    order = [*range(count), original]
    twin = replace(network.nodes[original], id="twin")
    rows = {
        name: getattr(network, name)[order]
        for name in (
            "open_start_h",
            "open_end_h",
            "shed_start_h",
            "shed_end_h",
            "chill_quality",
            "flight_share",
        )
    }
    verdicts = dict(network.verdicts)
    for (d, r), word in network.verdicts.items():
        for a in [d, count] if d == original else [d]:
            for b in [r, count] if r == original else [r]:
                if (a == b) == (d == r):
                    verdicts[a, b] = word
    return replace(
        network,
        nodes=(*network.nodes, twin),
        verdicts=verdicts,
        proximity=network.proximity[np.ix_(order, order)],
        **rows,
    )


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), which=st.integers(0, 5))
def test_a_twin_changes_only_the_alternatives(seed: int, which: int) -> None:
    network = random_garden(seed, aim=Aim(level=0.5))
    original = candidates_of(network)[which]
    before = smallest_cover(network, candidates_of(network), max_alternatives=500)
    doubled = with_twin(network, original)
    after = smallest_cover(doubled, candidates_of(doubled), max_alternatives=500)
    assert (before.status, before.cost, before.added) == (after.status, after.cost, after.added)
    twin = len(network.nodes)
    swapped = {
        tuple(sorted(twin if c == original else c for c in chosen))
        for chosen in before.alternatives
    }
    assert set(after.alternatives) == set(before.alternatives) | swapped


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6))
def test_a_higher_level_never_costs_less(seed: int) -> None:
    network = random_garden(seed, scenarios=8)
    last = 0.0
    for level in (0.2, 0.5, 0.8, 1.0):
        cover = smallest_cover(
            replace(network, aim=Aim(level=level)), candidates_of(network), max_alternatives=1
        )
        cost = np.inf if cover.status == "infeasible" else cover.cost
        assert cost >= last
        last = cost


# --- wishes ----------------------------------------------------------------------------------


def test_must_include_never_and_preferences() -> None:
    days = {name: [(100.0, 110.0)] for name in ("r", "a", "b", "c")}
    nodes = [node("r"), *(node(n, "candidate") for n in ("a", "b", "c"))]
    network = garden(nodes, days, {}, default="yes")
    free = candidates_of(network)
    assert names(network, smallest_cover(network, free).added) == ["a"]
    assert smallest_cover(network, free).alternatives == ((1,), (2,), (3,))
    assert smallest_cover(network, free, never=[1]).added == (2,)
    assert smallest_cover(network, free, must_include=[3]).added == (3,)
    assert smallest_cover(network, free, must_include=[2, 3]).added == (2, 3)
    assert smallest_cover(network, free, preferences=[{1: 1.0, 2: 0.5}]).added == (3,)


def test_kinds_of_fruit_are_solved_apart() -> None:
    nodes = [
        node("apple"),
        node("cherry", species="sweet cherry"),
        *(node(n, "candidate") for n in ("apple1", "apple2")),
        *(node(n, "candidate", species="sweet cherry") for n in ("cherry1", "cherry2")),
    ]
    answers = {
        (a.id, b.id): "yes"
        for a in nodes
        for b in nodes
        if a != b and a.variety.species == b.variety.species
    }
    network = garden(nodes, {n.id: [(100.0, 110.0)] for n in nodes}, answers)
    cover = smallest_cover(network, [2, 3, 4, 5])
    assert cover.proof.sizes["parts"] == 2
    assert cover.alternatives == ((2, 4), (2, 5), (3, 4), (3, 5))
    short = smallest_cover(network, [2, 3, 4, 5], {"pear": 1})
    assert [(u.node, u.code) for u in short.uncovered] == [(1, "no-spare-limb")]
    assert short.partial == (2,)


@pytest.mark.parametrize(
    ("days", "word", "code", "reliability"),
    [
        ([(112.0, 120.0)], "yes", "blooms-later", 0.0),
        ([(100.0, 110.0)], "unknown", "unknown-compatibility", 0.0),
        ([(100.0, 110.0)], "no", "incompatible", 0.0),
        ([(100.0, 110.0), (120.0, 130.0)], "yes", "too-few-winters", 0.5),
    ],
)
def test_an_uncovered_limb_names_its_nearest_miss(
    days: list[tuple[float, float]], word: str, code: str, reliability: float
) -> None:
    nodes = [node("limb"), node("far", "candidate"), node("near", "candidate", must_crop=False)]
    winters = len(days)
    network = garden(
        nodes,
        {"limb": [(100.0, 110.0)] * winters, "far": [(140.0, 150.0)] * winters, "near": days},
        {("far", "limb"): "no" if word != "yes" else "yes", ("near", "limb"): word},
    )
    cover = smallest_cover(network, [1, 2])
    (missing,) = cover.uncovered
    assert cover.status == "infeasible"
    assert (missing.node, missing.code, missing.donor) == (0, code, 2)
    assert missing.reliability == missing.reachable == reliability


# --- time --------------------------------------------------------------------------------------


@pytest.mark.parametrize("costs", [False, True])
@pytest.mark.parametrize("limit_s", [0.5, 3.0, 20.0])
def test_the_time_limit_bounds_the_whole_search(costs: bool, limit_s: float) -> None:
    # Outside check: brute force without any limit.
    network = random_garden(4, limbs=5, candidates=9, scenarios=12, aim=Aim(level=0.6), costs=costs)
    truth = brute_force(network)
    assert truth is not None
    looks = 0

    def clock() -> float:
        nonlocal looks
        looks += 1
        return float(looks)

    hurried = smallest_cover(network, candidates_of(network), time_limit_s=limit_s, clock=clock)
    assert is_cover(network, hurried.added)
    assert hurried.proof.bound <= truth[0] <= hurried.cost
    assert hurried.proof.gap == pytest.approx(max(0.0, hurried.cost - hurried.proof.bound))
    if hurried.status == "optimal":
        assert hurried.cost == truth[0]
    else:
        assert limit_s < 20.0 and hurried.status == hurried.proof.status == "time limit"
    # Once the time is over, hardly anything asks for more.
    assert looks < limit_s + 12


def test_with_time_enough_the_clock_changes_nothing() -> None:
    network = random_garden(4, limbs=5, candidates=9, scenarios=12, aim=Aim(level=0.6))
    free = candidates_of(network)
    plain = smallest_cover(network, free, time_limit_s=None)
    assert smallest_cover(network, free, time_limit_s=1e6, clock=lambda: 0.0) == plain


@pytest.mark.parametrize("seed", range(4))
def test_wood_that_costs_nothing_is_counted_as_such(seed: int) -> None:
    network = random_garden(
        seed, limbs=6, neighbours=2, candidates=10, aim=Aim(level=0.6), costs=True
    )
    free = [replace(one, cost=0.0) if one.kind == "candidate" and i % 3 == 0 else one
            for i, one in enumerate(network.nodes)]  # fmt: skip
    network = replace(network, nodes=tuple(free))
    cover, truth = smallest_cover(network, candidates_of(network)), cp_optimum(network)
    assert (cover.status == "infeasible") == (truth is None)
    if truth is not None:
        assert cover.cost == pytest.approx(truth)
        assert is_cover(network, cover.added)
