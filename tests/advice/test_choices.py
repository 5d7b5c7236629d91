"""The one variety to add, limbs without pollen and tie-breakers, against the definitions."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, random_garden

from pollinet.advice.pollinizer import choices, cover_order, jars
from pollinet.advice.preferences import (
    FULL_SPREAD_DAYS,
    UNKNOWN_STEPS,
    harvest_bunching,
    preferences,
    vigour_mismatch,
)
from pollinet.advice.triploids import pollenless_limbs
from pollinet.domain import (
    Aim,
    Fact,
    Fertility,
    NetworkInput,
    Node,
    PickWindow,
    Variety,
    VarietyId,
    Verdict,
)
from pollinet.network.checker import covered_share
from pollinet.network.cover import smallest_cover
from pollinet.network.coverage import limb_coverage


def small_garden(seed: int) -> NetworkInput:
    """Four limbs, a tree next door and five candidates with bloom and verdicts by chance."""
    rng = np.random.default_rng(seed)
    kinds = ["limb"] * 4 + ["neighbour"] + ["candidate"] * 5
    nodes = tuple(
        Node(f"n{i}", kind, VarietyId("pear", f"v{i}"), f"v{i}", must_crop=kind != "neighbour")  # type: ignore[arg-type]
        for i, kind in enumerate(kinds)
    )
    start = np.round(rng.normal(100, 4, (10, 1)) + rng.normal(0, 1, (10, 8))) * 24.0
    end = start + 24.0 * rng.integers(5, 11, (10, 1))
    answers = rng.choice(["yes", "half", "no", "unknown"], p=[0.3, 0.3, 0.3, 0.1], size=(10, 10))
    shares = {"yes": 1.0, "half": 0.5, "no": 0.0, "unknown": None}
    verdicts = {
        (i, j): Verdict(nodes[i].variety, nodes[j].variety, answers[i, j], shares[answers[i, j]],
                        0.5, "test")
        for i in range(10) for j in range(10) if i != j
    }  # fmt: skip
    proximity = np.ones((10, 10))
    proximity[4], proximity[:, 4] = 0.0, 0.0
    ones = np.ones(start.shape)
    return NetworkInput(nodes, start, end, start, end, verdicts, proximity, ones, ones, Aim(),
                        winters=8)  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_single_candidates_come_in_the_order_of_the_cover(seed: int) -> None:
    network = random_garden(seed, candidates=8, costs=seed % 2 == 0)
    offered, wishes = candidates_of(network), [{7: 1.0, 9: 2.0}]
    spare = {"pear": 3}
    cover = smallest_cover(network, offered, spare, preferences=wishes)
    keys = cover_order(network, offered, spare, wishes)
    alone = [nodes[0] for nodes in cover.alternatives if len(nodes) == 1]
    assert [node for node in sorted(keys, key=keys.__getitem__) if node in alone] == alone


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_choices_are_what_each_candidate_alone_does(seed: int) -> None:
    network = small_garden(seed)
    here, level = list(range(5)), network.aim.level - 1e-9
    found = {choice.node: choice for choice in choices(network, range(5, 10))}
    for candidate in range(5, 10):
        with_it = [*here, candidate]
        now = {i: covered_share(network, here, i) for i in range(4)}
        then = {i: covered_share(network, with_it, i) for i in range(4)}
        helped = [i for i in range(4) if then[i] > now[i]]
        assert (candidate in found) == bool(helped)
        if helped:
            choice = found[candidate]
            assert [gain.node for gain in choice.gains] == helped
            assert set(choice.covers) == {i for i in helped if now[i] < level <= then[i]}
            assert choice.own == pytest.approx(covered_share(network, with_it, candidate))
            assert choice.closed == (choice.own >= level)
            # Worth a graft: a whole winter of ten more, or what a limb that lacks a donor lacks.
            bare = [i for i in range(4) if now[i] < level] or range(4)
            lifted = [
                i for i in bare
                if i in choice.covers or (i in helped and then[i] - now[i] > 0.1 - 1e-9)
            ]  # fmt: skip
            told = [int(then[i] * 10 + 1e-6) - int(now[i] * 10 + 1e-6) for i in lifted]
            assert (choice.winters, choice.helps) == (sum(told), bool(lifted))
    ranks = [(c.helps, c.closed, len(c.covers), c.winters) for c in choices(network, range(5, 10))]
    assert ranks == sorted(ranks, reverse=True)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_a_jar_brings_near_what_is_too_far_and_nothing_else(seed: int) -> None:
    network = small_garden(seed)
    for jar in jars(network, range(4), range(5, 10)):
        far = [s for s in jar.sources if s.node == 4]
        # Next door but out of reach: a source if its pollen and its bloom would do.
        verdict = network.verdicts[4, jar.node]
        overlap = np.minimum(network.open_end_h[4], network.open_end_h[jar.node]) - np.maximum(
            network.open_start_h[4], network.open_start_h[jar.node]
        )
        # At least one winter of ten, which one of the ten scenarios is.
        serves = verdict.answer in ("yes", "half") and (overlap >= 72).any()
        assert bool(far) == bool(serves)
        assert all(source.reliability >= 0.1 - 1e-9 for source in jar.sources)
        assert not {s.node for s in jar.sources} & set(range(4))
        assert jar.sources == tuple(
            sorted(jar.sources, key=lambda s: (-s.reliability, -s.effective_days, s.node))
        )


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), pollenless=st.sets(st.integers(0, 3), max_size=3))
def test_a_second_donor_is_asked_for_only_where_the_first_has_none(
    seed: int, pollenless: set[int]
) -> None:
    network = small_garden(seed)
    coverage = limb_coverage(network)
    for limb in pollenless_limbs(network, coverage, pollenless):
        share = covered_share(network, range(5), limb.coverage.node)
        if share < network.aim.level - 1e-9:
            assert limb.second == "no-first-donor"
            continue
        assert limb.donor is not None
        donor = covered_share(network, range(5), limb.donor.node)
        assert (limb.second == "needed") == (donor < network.aim.level - 1e-9)


def variety(name: str, **facts: str) -> Variety:
    identity = VarietyId("pear", name)
    return Variety(identity, Fertility(identity, name),
                   facts=tuple(Fact(k, v, context="here") for k, v in facts.items()))  # fmt: skip


def test_vigour_and_harvest_break_ties_and_unknown_is_neither_best_nor_hidden() -> None:
    limbs = [variety("a", vigour="medium", harvest_day="250"), variety("b", vigour="medium")]
    alike, weak = variety("c", vigour="medium"), variety("d", vigour="low")
    assert vigour_mismatch(alike, limbs) == 0
    assert vigour_mismatch(weak, limbs) == 2
    assert vigour_mismatch(variety("e"), limbs) == UNKNOWN_STEPS
    assert vigour_mismatch(alike, [variety("f")]) == UNKNOWN_STEPS
    late = variety("g", harvest_day="275")
    assert harvest_bunching(late, limbs) == FULL_SPREAD_DAYS - 25
    assert harvest_bunching(variety("h", harvest_day="300"), limbs) == 0
    assert harvest_bunching(alike, limbs) == FULL_SPREAD_DAYS
    # Days of two places are never compared.
    elsewhere = Variety(late.id, late.fertility, facts=(Fact("harvest_day", "300", context="x"),))
    assert harvest_bunching(elsewhere, limbs) == FULL_SPREAD_DAYS
    # Times of picking at one place are compared as well.
    one, other = (
        Variety(late.id, late.fertility, picking=(PickWindow(day, day + 14, "L", "T", "trade"),))
        for day in (244, 250)
    )
    assert harvest_bunching(one, [other]) == FULL_SPREAD_DAYS - 6
    vigour, harvest = preferences({7: weak, 9: late}, limbs)
    assert (vigour, harvest) == ({7: 2, 9: 1}, {7: 30, 9: 5})
