"""How a search shares its time, and the short cuts of the search against plain counting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, random_garden

from pollinet.domain import Aim
from pollinet.network import engines, tie_break
from pollinet.network.by_size import SizeSearch
from pollinet.network.counting import counts_without_each, covered_and_safe, covered_count
from pollinet.network.cover import smallest_cover
from pollinet.network.engines import cheapest, quick_cover
from pollinet.network.problem import CoverProblem, cover_problem, unmet_demands
from pollinet.network.programme import Solved, cost_objective, minimise
from pollinet.network.prune import _join
from pollinet.network.time_limit import part_of, time_left
from pollinet.network.tradeoff import relaxations
from pollinet.network.viability import viability
from pollinet.wording.cover import _compared_note


def ticking() -> Callable[[], float]:
    """A clock that is a second later with every look."""
    seconds = iter(range(10**6))
    return lambda: float(next(seconds))


def test_a_part_of_the_time_ends_before_the_whole() -> None:
    now = [0.0]
    left = time_left(10.0, lambda: now[0])
    now[0] = 2.0
    part = part_of(left, 0.25)
    assert (left(), part()) == (8.0, 2.0)
    now[0] = 4.0
    assert (left(), part()) == (6.0, 0.0)
    assert part_of(time_left(None), 0.5)() is None


def hard() -> CoverProblem:
    network = random_garden(3, limbs=8, candidates=30, scenarios=30, aim=Aim(level=0.6))
    return cover_problem(network, candidates_of(network))


def asked_in_turn(
    monkeypatch: pytest.MonkeyPatch, picked: tuple[int, ...]
) -> tuple[list[str], Solved]:
    """Which engine is asked when, if neither ends before the last turn, and what comes of it."""
    problem, asked = hard(), list[str]()
    best = cheapest(problem)
    smallest = engines._smallest

    def by_size(problem: CoverProblem, sizes: range, search: SizeSearch) -> object:
        asked.append("by size")
        # Until then it ends at once, as if it had used up its share.
        return (None, 1) if search.most < np.inf else smallest(problem, sizes, search)

    def programme(*words: object) -> Solved:
        asked.append("programme")
        return Solved("time limit", bound=1.2, programmes=1)

    monkeypatch.setattr(engines, "_smallest", by_size)
    monkeypatch.setattr(engines, "minimise", programme)
    monkeypatch.setattr(engines, "quick_cover", lambda problem: picked)
    found = cheapest(problem, left=time_left(1e6, ticking()))
    assert (found.status, found.value) == ("optimal", best.value)
    return asked, found


def test_the_engines_take_turns_as_is_written_down(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither engine starves the other."""
    far, found = asked_in_turn(monkeypatch, tuple(range(9)))
    assert far == ["by size", "programme", "programme", "by size"]
    assert found.programmes == 2


def test_where_one_size_is_left_the_search_by_size_is_asked_sooner(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(engines, "_or_picked", lambda problem, solved, picked, most: solved)
    near, _ = asked_in_turn(monkeypatch, (0, 1))
    assert near == ["by size", "programme", "by size", "programme", "by size"]


def test_the_order_of_ties_ends_with_its_own_work(monkeypatch: pytest.MonkeyPatch) -> None:
    network = random_garden(3, limbs=8, candidates=30, scenarios=30, aim=Aim(level=0.8))
    whole = smallest_cover(network, candidates_of(network), max_alternatives=1)
    assert whole.first_proven and not _compared_note(whole)
    monkeypatch.setattr(tie_break, "RANKING_WORK", 0.0)
    capped = smallest_cover(network, candidates_of(network), max_alternatives=1)
    assert (capped.status, capped.cost, capped.proof.gap) == ("optimal", whole.cost, 0.0)
    assert not capped.first_proven and capped.compared >= 1
    assert _compared_note(capped)[0].endswith(f"at least {capped.compared}.")


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 200), wanted=st.integers(1, 2))
def test_both_engines_agree_on_unequal_costs(seed: int, wanted: int) -> None:
    aim = Aim(level=0.5, donors=wanted)
    network = random_garden(seed, limbs=3, candidates=9, scenarios=8, aim=aim)
    costs = np.random.default_rng(seed).integers(1, 6, len(network.nodes)) / 2
    nodes = zip(network.nodes, costs.tolist(), strict=True)
    network = replace(network, nodes=tuple(replace(one, cost=cost) for one, cost in nodes))
    problem = cover_problem(network, candidates_of(network))
    by_programme = minimise(problem, cost_objective(problem), [])
    found, _ = engines._smallest(problem, range(60), SizeSearch(problem.need, np.inf))
    assert found is not None
    assert found.status == by_programme.status
    if by_programme.status == "optimal":
        assert found.value == pytest.approx(by_programme.value)
        assert not unmet_demands(problem, found.chosen, range(len(problem.limbs)))


def test_a_picked_set_is_the_answer_where_nothing_smaller_is_left(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = hard()
    best = cheapest(problem)
    size = len(best.chosen)

    def unwanted(*words: object) -> Solved:
        raise AssertionError

    monkeypatch.setattr(engines, "_smallest", lambda *words: (None, size))
    monkeypatch.setattr(engines, "minimise", unwanted)
    monkeypatch.setattr(engines, "quick_cover", lambda problem: best.chosen)
    found = cheapest(problem, left=time_left(1e6, ticking()))
    assert (found.status, found.value, found.by_size) == ("optimal", best.value, True)


def test_a_bound_of_sets_that_cost_the_same_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    def programme(*words: object) -> Solved:
        return Solved("time limit", bound=1.2, programmes=1)

    monkeypatch.setattr(engines, "_smallest", lambda *words: (None, 1))
    monkeypatch.setattr(engines, "minimise", programme)
    monkeypatch.setattr(engines, "quick_cover", lambda problem: None)
    assert cheapest(hard(), left=lambda: 1.0).bound == 2.0


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 200), wanted=st.integers(1, 2), loss=st.booleans())
def test_a_quick_set_is_a_cover(seed: int, wanted: int, loss: bool) -> None:
    network = random_garden(
        seed, limbs=4, candidates=12, scenarios=10, aim=Aim(level=0.5, donors=wanted)
    )
    problem = cover_problem(network, candidates_of(network), survive=loss)
    everyone, limbs = range(len(problem.candidates)), range(len(problem.limbs))
    chosen = quick_cover(problem)
    if chosen is None:
        assert unmet_demands(problem, everyone, limbs)
    else:
        assert not unmet_demands(problem, chosen, limbs)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 200), wanted=st.integers(1, 2))
def test_what_is_safe_is_left_after_any_loss(seed: int, wanted: int) -> None:
    network = random_garden(seed, limbs=3, candidates=6, scenarios=20, aim=Aim(donors=wanted))
    view, donors = viability(network), list(range(len(network.nodes)))
    for row in range(len(view.receivers)):
        covered, safe = covered_and_safe(view, row, donors, wanted)
        assert covered == covered_count(view, row, donors, wanted)
        assert safe <= counts_without_each(view, row, donors, wanted).min()


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 12), st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11))))
def test_groups_are_the_components_of_the_graph(count: int, edges: list[tuple[int, int]]) -> None:
    # Outside check: networkx.
    part, graph = np.arange(count), nx.empty_graph(count)
    for one, other in edges:
        if max(one, other) < count:
            _join(part, np.array([one, other]))
            graph.add_edge(one, other)
    groups = [set(np.flatnonzero(part == one).tolist()) for one in np.unique(part)]
    assert groups == sorted(nx.connected_components(graph), key=min)


def test_concessions_say_when_the_time_was_over() -> None:
    unproven = 0
    for seed in range(12):
        aim = Aim(level=0.9, min_overlap_days=6)
        network = random_garden(seed, limbs=3, candidates=5, scenarios=7, aim=aim)
        free, room = candidates_of(network), {"pear": 2}
        if smallest_cover(network, free, room).status != "infeasible":
            continue
        best = {one.kind: one.value for one in relaxations(network, free, room)}
        for limit_s in (3.0, 15.0, 30.0, 60.0, 120.0):
            told = relaxations(network, free, room, time_limit_s=limit_s, clock=ticking())
            for one in told:
                unproven += not one.proven
                if one.proven:
                    assert one.value == best[one.kind]
                elif one.kind != "spare":
                    assert one.value <= best[one.kind]
    assert unproven
