"""Trees that may be felled, off-years and young limbs, against plain loops over the definitions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, garden, node, random_garden, verdict

from pollinet.domain import Aim, NetworkInput, VarietyId
from pollinet.network.checker import covered_share, is_cover
from pollinet.network.cover import smallest_cover
from pollinet.network.coverage import limb_coverage
from pollinet.network.resilience import losses
from pollinet.network.viability import present_of, receivers_of
from pollinet.network.years import coverage_by_spring, first_springs
from pollinet.phenology.off_years import off_years
from pollinet.shares import reaches

AIMS = st.builds(
    Aim,
    level=st.sampled_from([0.3, 0.5, 0.8]),
    min_overlap_days=st.sampled_from([2.0, 3.0]),
    donors=st.sampled_from([1, 1, 2]),
)


def uncertain_garden(seed: int, aim: Aim, *, candidates: int = 6) -> NetworkInput:
    """A garden by chance, in which some neighbours may be felled and some nodes have off-years."""
    network = random_garden(seed, limbs=3, neighbours=3, candidates=candidates, aim=aim)
    rng = np.random.default_rng(seed + 1)
    count, scenarios = network.open_start_h.shape
    nodes = tuple(
        replace(
            one,
            may_be_felled=one.kind == "neighbour" and rng.random() < 0.6,
            biennial=rng.random() < 0.4,
        )
        for one in network.nodes
    )
    off = (np.arange(scenarios) + rng.integers(0, 2, count)[:, None]) % 2 == 1
    resting = off & np.array([one.biennial for one in nodes])[:, None]
    words = {
        (one, other): verdict(nodes[one], nodes[other], "yes")
        if nodes[one].kind == "neighbour" and rng.random() < 0.7
        else told
        for (one, other), told in network.verdicts.items()
        if one != other
    }
    return replace(network, nodes=nodes, resting=resting, verdicts=words)


def without_rest(network: NetworkInput) -> NetworkInput:
    """The same with the off-years written into the dates of shedding.

    A donor that rests sheds nothing: its dates of shedding are gone.
    """
    assert network.resting is not None
    gone = np.where(network.resting, np.nan, network.shed_start_h)
    ends = np.where(network.resting, np.nan, network.shed_end_h)
    return replace(network, shed_start_h=gone, shed_end_h=ends, resting=None)


def share(network: NetworkInput, standing: Iterable[int], receiver: int) -> float:
    """Share of scenarios with enough donors; no garden here has pollen of its own."""
    assert (receiver, receiver) not in network.verdicts
    return covered_share(without_rest(network), list(standing), receiver)


def holds(network: NetworkInput, chosen: Sequence[int], *, loss: bool) -> bool:
    standing = [*present_of(network), *chosen]
    gone = [i for i in standing if loss or network.nodes[i].may_be_felled]
    return all(
        reaches(share(network, [d for d in standing if d != lost], limb), network.aim.level)
        for lost in (None, *gone)
        for limb in receivers_of(network)
        if limb in standing and limb != lost
    )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS, loss=st.booleans())
def test_the_smallest_set_outlasts_fellings_and_off_years(seed: int, aim: Aim, loss: bool) -> None:
    network = uncertain_garden(seed, aim)
    free = candidates_of(network)
    truth = next(
        (
            good
            for size in range(len(free) + 1)
            if (good := {s for s in combinations(free, size) if holds(network, s, loss=loss)})
        ),
        None,
    )
    found = smallest_cover(network, free, survives_any_single_loss=loss, max_alternatives=500)
    if truth is None:
        assert found.status == "infeasible"
        assert found.uncovered
        return
    assert set(found.alternatives) == truth
    for chosen in found.alternatives:
        assert is_cover(network, chosen, survives_any_single_loss=loss)
    assert found.reliability == pytest.approx(
        min(
            share(network, [d for d in standing if d != lost], limb)
            for standing in [[*present_of(network), *found.added]]
            for lost in (
                None,
                *(i for i in standing if loss or network.nodes[i].may_be_felled),
            )
            for limb in receivers_of(network)
            if limb in standing and limb != lost
        )
    )


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS)
def test_limbs_that_hang_on_a_tree_are_covered_while_it_stands(seed: int, aim: Aim) -> None:
    network = uncertain_garden(seed, aim, candidates=4)
    found = smallest_cover(network, candidates_of(network))
    standing = [*present_of(network), *found.partial]
    for miss in found.uncovered:
        if miss.hangs:
            assert miss.donor is not None
            assert network.nodes[miss.donor].may_be_felled
            assert reaches(share(network, standing, miss.node), aim.level)
            left = [d for d in standing if d != miss.donor]
            assert not reaches(share(network, left, miss.node), aim.level)


def test_what_can_be_had_while_a_tree_stands_is_had() -> None:
    """The neighbour serves the limb in two springs, the scion in the others: it needs both."""
    limb, tree = node("limb"), replace(node("tree", "neighbour"), may_be_felled=True)
    scion = node("scion", "candidate", must_crop=False)
    days = {
        "limb": [(100, 110)] * 4,
        "tree": [(100, 110), (100, 110), (130, 140), (130, 140)],
        "scion": [(130, 140), (130, 140), (100, 110), (100, 110)],
    }
    pollen = {("tree", "limb"): "yes", ("scion", "limb"): "yes"}
    network = garden([limb, tree, scion], days, pollen)
    found = smallest_cover(network, [2])
    assert found.status == "infeasible"
    assert found.partial == (2,)
    (miss,) = found.uncovered
    assert (miss.node, miss.code, miss.donor) == (0, "one-loss", 1)
    assert miss.reliability == 0.5


@settings(max_examples=40, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), survive=st.booleans())
def test_each_spring_counts_losses_among_those_that_bloom(seed: int, survive: bool) -> None:
    network = uncertain_garden(seed, Aim())
    here = (*present_of(network), *candidates_of(network)[:3])
    graft = {i: 2024 + (i * 7 + seed) % 4 for i in here if i % 2}
    firsts = first_springs(dict(graft), dict.fromkeys(graft, (2, 3)))
    springs = range(2026, 2031)
    for row in coverage_by_spring(network, here, firsts, springs, survive=survive):
        for entry in row:
            for told, edge in ((entry.hopeful, 0), (entry.cautious, 1)):
                if told is None:
                    assert entry.blooms == "no"
                    continue
                limb = entry.node
                bloom = [
                    i for i in here if i == limb or entry.spring >= firsts.get(i, (0, 0))[edge]
                ]
                gone = [
                    i for i in bloom
                    if i != limb and (survive or (edge and network.nodes[i].may_be_felled))
                ]  # fmt: skip
                left = [share(network, [d for d in bloom if d != x], limb) for x in (None, *gone)]
                assert told == pytest.approx(min(left))


@settings(max_examples=30, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6))
def test_coverage_and_losses_count_off_years(seed: int) -> None:
    network = uncertain_garden(seed, Aim())
    here = present_of(network)
    for row in limb_coverage(network):
        assert row.reliability == pytest.approx(share(network, here, row.node))
    for loss in losses(network):
        for limb, _now, then in loss.weakened:
            rest = [i for i in here if i != loss.node]
            assert then == pytest.approx(share(network, rest, limb))


def test_own_pollen_is_not_missed_in_an_off_year() -> None:
    """What does not flower needs none: a self-fertile limb is never short for its off-years."""
    limb = node("own")
    network = garden([limb], {"own": [(100, 110)] * 4}, {("own", "own"): "yes"})
    resting = np.array([[True, False, True, False]])
    (row,) = limb_coverage(replace(network, resting=resting))
    assert row.reliability == 1
    assert row.strength == "strong"


def test_off_years_alternate_and_are_even_in_half_of_the_draws() -> None:
    years = (2019, 2020, 2021, 2023)
    rests = off_years(VarietyId("apple", "any"), years, draws=32, seed=1)
    assert rests.shape == (32, 4)
    assert (rests.sum(axis=0) == 16).all()
    assert (rests[:, 0] == ~rests[:, 1]).all()
    assert (rests[:, 0] == rests[:, 3]).all()
    other = off_years(VarietyId("apple", "other"), years, draws=32, seed=1)
    assert (rests != other).any()
    assert (rests == off_years(VarietyId("apple", "any"), years, draws=32, seed=1)).all()
