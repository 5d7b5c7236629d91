"""Sure, expected and possible winters against plain enumeration of every genotype.

The enumeration knows nothing of the package: a genotype is a pair of letters, a grain passes where
its letter is not in the style (Halász et al. 2007), a triploid gives no good pollen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations_with_replacement, product
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from open_gardens import SHARES, WINTERS, Scene, network_of, open_garden, rules, scenes, variety

from pollinet.compatibility.drawn import Genotypes
from pollinet.compatibility.tables import rule_index
from pollinet.domain import Aim, Fertility, Genotype, NetworkInput, Node, VarietyId
from pollinet.network.checker import covered_share
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.viability import present_of

DRAWS = 2000


def garden(
    varieties: Sequence[Fertility],
    together: np.ndarray,
    *,
    odd: float = 0.0,
    aim: Aim | None = None,
) -> NetworkInput:
    """The first variety receives; `together[d, w]`: whether donor d blooms with it in winter w."""
    nodes = [
        Node(v.id.name, "limb" if i == 0 else "neighbour", v.id, v.clone, must_crop=i == 0)
        for i, v in enumerate(varieties)
    ]
    return network_of(varieties, nodes, together, rules(odd), aim or Aim(), draws=DRAWS)


def genotypes(own: Fertility, odd: float) -> Iterator[tuple[tuple[str, ...], float]]:
    """Every genotype of a variety with its chance: ordered draws, counted one by one."""
    known = own.genotype.alleles if own.genotype else ()
    whole = own.genotype is not None and own.genotype.complete
    for sets, of_sets in ((2, 1 - odd), (3, odd)) if own.ploidy is None and not whole else (
        (own.ploidy or 2, 1.0),
    ):  # fmt: skip
        for draw in product(SHARES, repeat=0 if whole else sets - len(known)):
            weight = of_sets
            for allele in draw:
                weight *= SHARES[allele]
            if weight > 0:
                yield known + draw, weight


def enumerated(
    varieties: Sequence[Fertility], together: np.ndarray, odd: float, wanted: int = 1
) -> tuple[float, float, float]:
    """Least, mean and most share of winters over every joint genotype.

    Those with one style in which the same donors serve are counted together.
    """
    shares, weights = [], []
    first, *donors = (list(genotypes(own, odd)) for own in varieties)
    for style, of_style in first:
        outcomes = []
        for each in donors:
            chance = {True: 0.0, False: 0.0}
            for donor, weight in each:
                chance[len(donor) % 2 == 0 and not set(donor) <= set(style)] += weight
            outcomes.append([(serves, weight) for serves, weight in chance.items() if weight])
        for joint in product(*outcomes):
            serves = np.array([one for one, _weight in joint])
            count = (together[1:] & serves[:, None]).sum(axis=0)
            shares.append(float((count >= wanted).mean()))
            weights.append(of_style * float(np.prod([weight for _one, weight in joint])))
    return min(shares), float(np.average(shares, weights=weights)), max(shares)


def looked_at(network: NetworkInput) -> LimbCoverage:
    (row,) = limb_coverage(network)
    return row


known_alleles = st.sampled_from([None, "S1 S2", "S1 S3", "S2 S3", "S1 ?", "S3 ?", "S2 S5"])
bloom = st.lists(
    st.lists(st.booleans(), min_size=WINTERS, max_size=WINTERS), min_size=3, max_size=3
)


@settings(max_examples=80, deadline=None)
@given(st.lists(known_alleles, min_size=4, max_size=4), bloom, st.sampled_from([0.0, 0.3]),
       st.sampled_from([1, 2]), st.booleans())  # fmt: skip
def test_shares_equal_enumeration(
    alleles: list[str | None], days: list[list[bool]], odd: float, wanted: int, triploid: bool
) -> None:
    ploidies: list[int | None] = [3 if triploid and alleles[0] is None else None, None, None, None]
    varieties = [
        variety(f"v{i}", a, p) for i, (a, p) in enumerate(zip(alleles, ploidies, strict=True))
    ]
    together = np.array([[True] * WINTERS, *days])
    row = looked_at(garden(varieties, together, odd=odd, aim=Aim(donors=wanted)))
    least, mean, most = enumerated(varieties, together, odd, wanted)
    assert row.sure == pytest.approx(least)
    assert row.possible_reliability == pytest.approx(most)
    # Four SDs of a mean of so many draws; a share of winters varies by no more than ½.
    assert row.reliability == pytest.approx(mean, abs=4 * 0.5 / DRAWS**0.5)
    assert row.sure <= row.reliability <= row.possible_reliability
    # A tenth of the draws lies on either side of what is told for what is not known.
    assert row.low <= row.high


@settings(max_examples=40, deadline=None)
@given(st.lists(known_alleles, min_size=3, max_size=3), bloom, st.data())
def test_learning_a_genotype_keeps_within_what_was_possible(
    alleles: list[str | None], days: list[list[bool]], data: st.DataObject
) -> None:
    varieties = [variety(f"v{i}", a) for i, a in enumerate(alleles)]
    together = np.array([[True] * WINTERS, *days[:2]])
    before = looked_at(garden(varieties, together))
    place = data.draw(st.integers(0, 2))
    options = [genotype for genotype, _ in genotypes(varieties[place], 0.0)]
    told = data.draw(st.sampled_from(options))
    learnt = [*varieties]
    learnt[place] = replace(varieties[place], genotype=Genotype(tuple(sorted(told))))
    after = looked_at(garden(learnt, together))
    assert before.sure <= after.sure + 1e-12
    assert after.possible_reliability <= before.possible_reliability + 1e-12


@settings(max_examples=40, deadline=None)
@given(st.lists(known_alleles, min_size=4, max_size=4), bloom)
def test_more_donors_never_lower_any_share_and_a_twin_changes_nothing(
    alleles: list[str | None], days: list[list[bool]]
) -> None:
    varieties = [variety(f"v{i}", a) for i, a in enumerate(alleles)]
    together = np.array([[True] * WINTERS, *days])
    fewer = looked_at(garden(varieties[:3], together[:3]))
    more = looked_at(garden(varieties, together))
    for share in ("sure", "reliability", "possible_reliability"):
        assert getattr(fewer, share) <= getattr(more, share) + 1e-12
    twin = replace(varieties[3], id=VarietyId("apple", "sport"))
    with_twin = looked_at(garden([*varieties, twin], np.array([*together, together[3]])))
    for share in ("sure", "reliability", "possible_reliability", "verdict"):
        assert getattr(with_twin, share) == getattr(more, share)


def test_two_different_known_diploids_make_an_unknown_limb_sure() -> None:
    """No diploid style can hold the alleles of both; of one alone it can."""
    together = np.ones((3, WINTERS), dtype=bool)
    pair = [variety("limb", None), variety("a", "S3 S5"), variety("b", "S1 S2")]
    assert looked_at(garden(pair, together)).verdict == "sure"
    assert looked_at(garden(pair[:2], together[:2])).verdict == "likely"
    alike = [*pair[:2], variety("c", "S3 S5")]
    assert looked_at(garden(alike, together)).verdict == "likely"


def test_cox_and_golden_delicious_make_a_triploid_sure() -> None:
    """S5S9 and S2S3 have four alleles, a triploid style three (Cox S5S9, Golden Delicious S2S3)."""
    together = np.ones((3, WINTERS), dtype=bool)
    triploid = variety("Bramley", None, 3)
    cox, golden = variety("Cox", "S5 S9"), variety("Golden", "S2 S3")
    assert looked_at(garden([triploid, cox, golden], together)).verdict == "sure"
    # S2S3 and S3S5 have three between them: one triploid style holds them all.
    other = variety("Other", "S3 S5")
    assert looked_at(garden([triploid, other, golden], together)).verdict == "likely"


def test_the_same_draw_serves_all_pairs_of_a_variety() -> None:
    """Of two donors of one known genotype both serve an unknown limb, or neither."""
    together = np.ones((3, WINTERS), dtype=bool)
    limb, one, other = variety("limb", None), variety("a", "S1 S2"), variety("b", "S1 S2")
    both = looked_at(garden([limb, one, other], together))
    alone = looked_at(garden([limb, one], together[:2]))
    assert both.reliability == alone.reliability
    chance = 1 - 2 * SHARES["S1"] * SHARES["S2"]
    assert alone.reliability == pytest.approx(chance, abs=1 / DRAWS)


def test_draws_are_stratified() -> None:
    """Thirty-two draws hold each genotype as often as its chance says, to one draw."""
    index = rule_index(rules())
    own = variety("v", None)
    drawn = Genotypes(index, {own.id: own}, draws=32, seed=1).drawn(own)
    stops = [frozenset(row.tolist()) - {-1} for row in drawn.stops]
    possible = Genotypes(index, {own.id: own}, draws=32, seed=1).possible(own)
    assert possible.chance.size == comb(len(SHARES) + 1, 2)
    named = list(combinations_with_replacement(sorted(SHARES), 2))
    for place, (one, other) in enumerate(named):
        chance = SHARES[one] * SHARES[other] * (1 if one == other else 2)
        assert possible.chance[place] == pytest.approx(chance)
        code = frozenset(possible.stops[place].tolist()) - {-1}
        assert abs(stops.count(code) - 32 * chance) <= 1


@settings(max_examples=60, deadline=None)
@given(scenes(candidates=2))
def test_the_checker_counts_what_nobody_knows_by_the_same_draws(scene: Scene) -> None:
    network = open_garden(scene)
    standing = present_of(network)
    for row in limb_coverage(network):
        assert covered_share(network, standing, row.node) == pytest.approx(row.reliability)
