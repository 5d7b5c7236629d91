"""Overlap, viable donors and coverage against day counting and the definitions."""

from __future__ import annotations

import io
import json
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from cp_model import viable_matrix
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import garden, node, random_garden

from pollinet.domain import Aim, NetworkInput
from pollinet.errors import ShapeError
from pollinet.network.checker import covered_share
from pollinet.network.coverage import coverage_by_winter, limb_coverage
from pollinet.network.graph import (
    donor_graph,
    edge_reason,
    graphml,
    matrix_csv,
    node_link,
)
from pollinet.network.overlap import overlap_days
from pollinet.network.resilience import carriers, losses
from pollinet.network.viability import pack, popcount, unpack, viability


def hours(first: float, last: float) -> tuple[np.ndarray, np.ndarray]:
    """Days typed by a person, both counted, as hours with the end exclusive."""
    return np.array([[first * 24.0]]), np.array([[(last + 1) * 24.0]])


def test_typed_days_are_counted_with_both_ends() -> None:
    # Own convention, stated in the guide: 8-18 April and 10-21 April share nine days.
    assert overlap_days(*hours(8, 18), *hours(10, 21)).item() == 9
    assert overlap_days(*hours(8, 9), *hours(10, 21)).item() == 0


@given(a=st.integers(0, 40), b=st.integers(0, 20), c=st.integers(0, 40), d=st.integers(0, 20))
def test_overlap_is_the_number_of_common_days(a: int, b: int, c: int, d: int) -> None:
    common = set(range(a, a + b + 1)) & set(range(c, c + d + 1))
    assert overlap_days(*hours(a, a + b), *hours(c, c + d)).item() == len(common)


def test_no_bloom_is_no_overlap_and_blocks_agree() -> None:
    rng = np.random.default_rng(1)
    start = rng.normal(2400, 100, (5, 7))
    start[1, 3] = np.nan
    end = start + 200
    days = overlap_days(start, end, start[:3], end[:3])
    assert days.shape == (5, 3, 7)
    assert (days[1, :, 3] == 0).all()
    assert (days[:, 1, 3] == 0).all()
    assert not np.isnan(days).any()
    assert (days >= 0).all()


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6),
    half=st.booleans(),
    least=st.sampled_from([0.0, 2.0, 3.0, 5.5]),
    scenarios=st.sampled_from([1, 7, 8, 65]),
)
def test_viable_donors_follow_the_definitions(
    seed: int, half: bool, least: float, scenarios: int
) -> None:
    aim = Aim(half_counts=half, min_overlap_days=least)
    network = random_garden(seed, scenarios=scenarios, aim=aim)
    truth = viable_matrix(network)
    view = viability(network)
    for row, receiver in enumerate(view.receivers):
        found = unpack(view.given(row, np.arange(len(network.nodes))), view.scenarios)
        assert (found == truth[:, receiver]).all()


def test_an_overlap_that_is_short_by_rounding_counts() -> None:
    days = {"A": [(100.1, 102.1)], "B": [(100.1, 102.1)]}
    network = garden([node("A"), node("B")], days, {}, default="yes")
    shorter = network.open_end_h - 1e-9
    network = replace(network, open_end_h=shorter, shed_end_h=shorter)
    assert all(row.covered for row in limb_coverage(network))


def test_far_trees_and_other_fruit_give_nothing() -> None:
    days = {name: [(100.0, 110.0)] for name in "ABC"}
    near = np.ones((3, 3))
    near[0, 1] = near[1, 0] = 0.01
    network = garden(
        [node("A"), node("B"), node("C", "neighbour", species="plum")],
        days,
        {("A", "B"): "yes", ("B", "A"): "yes"},
        proximity=near,
    )
    row, _ = limb_coverage(network)
    assert [r.code for r in row.refusals] == ["not-self-fertile", "too-far", "no-verdict"]


def test_popcount_without_numpy_2(monkeypatch: pytest.MonkeyPatch) -> None:
    flags = np.random.default_rng(0).random((4, 133)) < 0.3
    bits = pack(flags)
    assert (popcount(bits) == flags.sum(axis=1)).all()
    monkeypatch.delattr(np, "bitwise_count", raising=False)
    assert (popcount(bits) == flags.sum(axis=1)).all()


@settings(max_examples=50, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), donors=st.integers(1, 2))
def test_reliability_is_the_share_of_covered_scenarios(seed: int, donors: int) -> None:
    network = random_garden(seed, scenarios=6, aim=Aim(donors=donors))
    present = range(len(network.nodes))
    rows = limb_coverage(network, present)
    for row in rows:
        assert row.reliability == pytest.approx(covered_share(network, present, row.node))
        assert row.covered == (row.reliability >= 0.8 - 1e-9)
        assert row.possible_reliability >= row.reliability
        assert len(row.donors) + len(row.refusals) == len(network.nodes)
        assert (row.strength == "none") == (not row.covered)
    limbs, by_winter = coverage_by_winter(replace(network, winters=3), present)
    assert list(limbs) == [row.node for row in rows]
    assert by_winter.shape == (len(rows), 3)
    assert by_winter.mean(axis=1) == pytest.approx([row.reliability for row in rows])


def test_winters_are_told_apart() -> None:
    # Scenario s is winter s % W: the second of three winters keeps the two apart in both draws.
    days = {"A": [(100.0, 110.0)] * 6, "B": [(100.0, 110.0), (120.0, 130.0), (100.0, 110.0)] * 2}
    network = garden([node("A"), node("B")], days, {}, default="yes", winters=3)
    _, shares = coverage_by_winter(network)
    assert shares.tolist() == [[1, 0, 1], [1, 0, 1]]


def test_effective_days_are_the_product_of_their_parts() -> None:
    days = {"A": [(100.0, 110.0)], "B": [(102.0, 115.0)]}
    network = garden(
        [node("A"), node("B")],
        days,
        {("A", "B"): "half", ("B", "A"): "yes"},
        quality=np.array([[0.9], [0.8]]),
        flight=np.array([[0.4], [0.6]]),
        proximity=np.array([[1.0, 0.7], [0.7, 1.0]]),
    )
    first, second = limb_coverage(network)
    # 102 to 110: nine days; fraction, proximity, mean of flight shares, both chill qualities.
    assert first.donors[0].effective_days == pytest.approx(9 * 1.0 * 0.7 * 0.5 * 0.72)
    assert second.donors[0].effective_days == pytest.approx(9 * 0.5 * 0.7 * 0.5 * 0.72)
    assert [first.strength, second.strength] == ["weak", "weak"]
    clear = replace(network, flight_share=np.ones((2, 1)), proximity=np.ones((2, 2)))
    assert [row.strength for row in limb_coverage(clear)] == ["strong", "strong"]


def test_unknown_is_possible_and_never_viable() -> None:
    days = {"A": [(100.0, 110.0)], "B": [(100.0, 110.0)]}
    words = {("A", "B"): "unknown", ("B", "A"): "unknown"}
    row, _ = limb_coverage(garden([node("A"), node("B")], days, words))
    assert (row.reliability, row.possible_reliability) == (0.0, 1.0)
    assert [(r.code, r.possible) for r in row.refusals] == [
        ("not-self-fertile", 0.0),
        ("unknown-compatibility", 1.0),
    ]


@pytest.mark.parametrize(
    ("days", "quality", "code"),
    [
        ((111, 120), 1.0, "blooms-later"),
        ((90, 99), 1.0, "blooms-earlier"),
        ((109, 120), 1.0, "short-overlap"),
        ((100, 110), 0.3, "chill"),
        ((np.nan, np.nan), 1.0, "no-bloom"),
    ],
)
def test_a_refusal_names_the_condition_that_fails(
    days: tuple[float, float], quality: float, code: str
) -> None:
    network = garden(
        [node("A"), node("B")],
        {"A": [(100, 110)], "B": [days]},
        {},
        default="yes",
        quality=np.array([[1.0], [quality]]),
    )
    (row,) = limb_coverage(network, only=[0])
    assert row.refusals[1].code == code


def test_two_limbs_of_one_variety_are_one_variety() -> None:
    days = {name: [(100.0, 110.0)] for name in "ABC"}
    nodes = [node("A"), node("B", clone="pear"), node("C", clone="pear")]
    network = garden(nodes, days, {}, default="yes")
    assert [row.covered for row in limb_coverage(network)] == [True, True, True]
    twice = replace(network, aim=Aim(donors=2))
    assert [row.covered for row in limb_coverage(twice)] == [False, False, False]
    row = limb_coverage(replace(network), [1, 2])[0]
    assert row.refusals[1].code == "same-variety"


def test_arrays_that_do_not_fit_are_refused() -> None:
    network = random_garden(1)
    with pytest.raises(ShapeError, match="chill_quality"):
        limb_coverage(replace(network, chill_quality=np.ones((2, 2))))
    with pytest.raises(ShapeError, match="winters"):
        limb_coverage(replace(network, winters=4))
    with pytest.raises(ShapeError, match="same id"):
        limb_coverage(replace(network, nodes=(network.nodes[1], *network.nodes[1:])))


# --- losses and the graph --------------------------------------------------------------------


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), donors=st.integers(1, 2))
def test_losses_are_what_is_left_without_the_node(seed: int, donors: int) -> None:
    network = random_garden(seed, aim=Aim(level=0.5, donors=donors))
    here = range(len(network.nodes))
    now = {row.node: row for row in limb_coverage(network, here)}
    for loss in losses(network, here):
        then = limb_coverage(network, [i for i in here if i != loss.node])
        fallen = [r for r in then if r.reliability < now[r.node].reliability - 1e-9]
        assert [w[0] for w in loss.weakened] == [r.node for r in fallen]
        assert [w[2] for w in loss.weakened] == pytest.approx([r.reliability for r in fallen])
        bare = tuple(r.node for r in then if now[r.node].covered and not r.covered)
        assert loss.uncovered == bare
        assert loss.critical == bool(bare)


def shown(network: NetworkInput) -> nx.DiGraph:
    return donor_graph(network, range(len(network.nodes)))


def test_graph_goes_out_and_comes_back() -> None:
    network = random_garden(4)
    graph = shown(network)
    assert list(graph) == sorted(n.id for n in network.nodes)
    text = graphml(graph)
    back = nx.read_graphml(io.BytesIO(text.encode()))
    assert set(back.edges) == set(graph.edges)
    assert all(back.edges[e]["overlap_days"] == graph.edges[e]["overlap_days"] for e in graph.edges)
    again = nx.node_link_graph(json.loads(json.dumps(node_link(graph))), edges="edges")
    assert nx.utils.graphs_equal(again, graph)
    assert graphml(shown(network)) == text


def test_matrix_has_receivers_in_rows() -> None:
    days = {"b": [(100.0, 110.0)], "a": [(104.0, 112.0)], "n": [(90.0, 99.0)]}
    nodes = [node("a"), node("b"), node("n", "neighbour")]
    network = garden(nodes, days, {("a", "b"): "half", ("n", "a"): "yes"})
    graph = donor_graph(network)
    assert matrix_csv(graph) == "receiver,a,b,n\na,,,\nb,7,,\n"
    rows = limb_coverage(network)
    reason = edge_reason(rows, 2, 0)
    assert getattr(reason, "code", None) == "blooms-earlier"
    assert edge_reason(rows, 0, 2) is None
    assert graph.edges["a", "b"]["strength"] == "strong"
    assert carriers(rows[1], 0.8) == (0,)
    with_rows = donor_graph(network, coverage=rows)
    assert nx.utils.graphs_equal(graph, with_rows)
