"""What a search leaves out, and how little it looks at, against the definitions in plain loops."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cp_model import viable_matrix
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, garden, node, random_garden
from numpy.typing import NDArray

from pollinet.domain import Aim, NetworkInput
from pollinet.network import by_size
from pollinet.network.checker import covered_share
from pollinet.network.cover import smallest_cover
from pollinet.network.nearest_miss import never_covered, shortfalls
from pollinet.network.problem import cover_problem
from pollinet.network.prune import drop_bare, drop_useless, idle_among, kin_of, never_met
from pollinet.network.time_limit import time_left
from pollinet.network.viability import Viability, present_of, viability

AIMS = st.builds(Aim, level=st.sampled_from([0.4, 0.7, 1.0]), donors=st.sampled_from([1, 1, 2]))


def closed(network: NetworkInput) -> set[int]:
    """The candidates that are left when those that the others leave short go, again and again."""
    viable, nodes = viable_matrix(network), network.nodes
    present = [i for i, one in enumerate(nodes) if one.kind != "candidate"]
    kept = set(candidates_of(network))
    while True:
        short = set()
        for c in kept:
            donors = [d for d in (*present, *kept) if viable[d, c].any()]
            good = [
                len({nodes[d].clone for d in donors if viable[d, c, s]}) >= network.aim.donors
                for s in range(viable.shape[2])
            ]
            if nodes[c].must_crop and np.mean(good) < network.aim.level - 1e-9:
                short.add(c)
        if not short:
            return kept
        kept -= short


@settings(max_examples=80, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS, first_look=st.sampled_from([1, 3, 16]))
def test_who_is_dropped_as_bare_has_no_donor_among_those_left(
    seed: int, aim: Aim, first_look: int
) -> None:
    network = random_garden(seed, limbs=2, candidates=12, scenarios=5, spread=7.0, aim=aim)
    problem = cover_problem(network, candidates_of(network))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("pollinet.network.prune.FIRST_LOOK", first_look)
        left = drop_bare(problem)
    assert set(left.candidates) == closed(network)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6))
def test_pairs_are_the_same_looked_at_one_by_one_and_at_once(seed: int) -> None:
    network = random_garden(seed, scenarios=9)
    once, one_by_one = viability(network), viability(network)
    everyone = np.arange(len(network.nodes))
    rows = np.array(once.receivers)
    once.look(np.tile(everyone, rows.size), np.repeat(rows, everyone.size))
    for row in range(rows.size):
        each = [one_by_one.given(row, everyone[[donor]])[0] for donor in everyone]
        assert (once.given(row, everyone) == np.array(each)).all()


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> set[tuple[int, int]]:
    """Pairs of donor and receiver whose scenarios were worked out."""
    pairs, found = set[tuple[int, int]](), Viability._found

    def spied(view: Viability, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> object:
        each = np.broadcast_to(receivers, donors.shape)
        pairs.update(zip(donors.tolist(), each.tolist(), strict=True))
        return found(view, donors, receivers)

    monkeypatch.setattr(Viability, "_found", spied)
    return pairs


def orchard(alone: bool) -> NetworkInput:
    """Two limbs that serve each other, or of which the second has no donor, and forty scions."""
    names = ["A", "B", *(f"S{number:02d}" for number in range(40))]
    nodes = [node(name, "candidate" if len(name) > 1 else "limb") for name in names]
    apart = {("A", "B"): "no"} if alone else {}
    return garden(nodes, {name: [(100.0, 110.0)] for name in names}, apart, default="yes")


def test_where_all_are_served_no_scion_is_looked_at(looked: set[tuple[int, int]]) -> None:
    network = orchard(alone=False)
    assert smallest_cover(network, candidates_of(network)).status == "nothing to add"
    # By hand: two limbs, each by both; whom the scions serve does not matter.
    assert {pair for pair in looked if max(pair) > 1} == set()


def test_scions_that_limbs_serve_are_not_asked_for_one_another(
    looked: set[tuple[int, int]],
) -> None:
    network = orchard(alone=True)
    cover = smallest_cover(network, candidates_of(network), max_alternatives=100)
    assert len(cover.alternatives) == 40 and cover.all_listed
    among = {pair for pair in looked if min(pair) > 1 and pair[0] != pair[1]}
    # They are equal, so that each is looked at beside each other; else they are not.
    assert len(among) == 40 * 39
    looked.clear()
    unequal = orchard(alone=True)
    unequal.open_end_h[2:] -= np.arange(40)[:, None]
    unequal.shed_end_h[2:] -= np.arange(40)[:, None]
    unequal.verdicts.pop((2, 1))  # type: ignore[attr-defined]
    left = drop_bare(drop_useless(cover_problem(unequal, candidates_of(unequal))))
    assert len(left.candidates) == 39
    assert {pair for pair in looked if min(pair) > 1 and pair[0] != pair[1]} == set()


def test_idle_is_who_serves_neither_a_limb_nor_one_that_does() -> None:
    nodes = [node("A"), *(node(name, "candidate") for name in ("serves", "helps", "idle"))]
    network = garden(
        nodes,
        {one.id: [(100.0, 110.0)] for one in nodes},
        {("serves", "A"): "yes", ("helps", "serves"): "yes", ("A", "idle"): "yes"},
    )
    problem = cover_problem(network, candidates_of(network))
    assert idle_among(problem, [0, 1, 2]) == {2}
    assert idle_among(problem, [0]) == set()


def test_the_proof_names_both_engines_where_both_ran(monkeypatch: pytest.MonkeyPatch) -> None:
    network = random_garden(3, limbs=8, candidates=30, scenarios=30, aim=Aim(level=0.6))
    alone = smallest_cover(network, candidates_of(network))
    assert (alone.proof.solver, alone.proof.sizes["programmes"]) == ("own search", 0)
    monkeypatch.setattr(by_size, "WORK", 1.0)
    # No set that was picked settles it before.
    monkeypatch.setattr("pollinet.network.engines.quick_cover", lambda problem: None)
    both = smallest_cover(network, candidates_of(network))
    assert both.proof.solver == "own search and HiGHS (scipy.optimize.milp)"
    assert both.cost == alone.cost and both.proof.gap == 0
    dear = [
        one if one.kind != "candidate" else node(one.id, one.kind, clone=one.clone, cost=1 + i / 7)
        for i, one in enumerate(network.nodes)
    ]
    unequal = replace(network, nodes=tuple(dear))
    assert smallest_cover(unequal, candidates_of(unequal)).proof.solver.startswith("HiGHS")


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6), donors=st.sampled_from([1, 2]), level=st.sampled_from([0.3, 0.8])
)
def test_whom_all_leave_short_after_a_loss_is_found_without_asking_all(
    seed: int, donors: int, level: float
) -> None:
    """Against the count with every candidate grafted, of each of them."""
    network = random_garden(seed, candidates=24, spread=7.0, aim=Aim(level=level, donors=donors))
    problem = cover_problem(network, candidates_of(network), survive=True)
    every = range(len(problem.candidates))
    short = shortfalls(problem, every)
    doubtful = never_met(problem)
    assert doubtful == [c for c in every if problem.candidates[c] in short]
    assert shortfalls(problem, every, doubtful=doubtful) == short


@pytest.mark.parametrize("seed", range(30))
def test_whom_all_together_leave_short_no_set_covers(seed: int) -> None:
    network = random_garden(seed, limbs=4, candidates=4, scenarios=7, aim=Aim(level=0.9))
    here, free = present_of(network), candidates_of(network)
    short = {
        i
        for i in here
        if network.nodes[i].kind == "limb"
        and covered_share(network, [*here, *free], i) < network.aim.level - 1e-9
    }
    assert never_covered(cover_problem(network, free)) == short
    if short:
        assert smallest_cover(network, free).status == "infeasible"


def test_what_there_is_no_time_to_know_is_not_said() -> None:
    network = random_garden(1, candidates=24, aim=Aim(level=0.8))
    problem = cover_problem(network, candidates_of(network), survive=True)
    ticks = iter(range(100))
    assert never_met(problem, time_left(5.0, lambda: float(next(ticks)))) is None


def test_kin_of_kin_are_kept_and_fruits_apart_are_not() -> None:
    """a serves b and b serves c, by their kinds: whoever asks for c may hang on a. d is apart."""
    kinds = {"L": "a", "A": "a", "B": "b", "C": "c", "D": "d"}
    nodes = [
        node(x, "limb" if x == "L" else "candidate", species=kind) for x, kind in kinds.items()
    ]
    network = garden(
        nodes,
        {one.id: [(100.0, 110.0)] for one in nodes},
        {},
    )
    # Kinds in the order of their names, donor first.
    apart = np.ones((4, 4), dtype=bool)
    apart[0, 1] = apart[1, 2] = False
    problem = replace(cover_problem(network, candidates_of(network)), apart=apart)
    place = {network.nodes[c].id: i for i, c in enumerate(problem.candidates)}

    def kin(some: str) -> set[str]:
        left = kin_of(problem, [place[some]])
        return {network.nodes[c].id for c in left.candidates}

    assert kin("C") == kin("A") == kin("B") == {"A", "B", "C"}
    assert kin("D") == {"D"}
