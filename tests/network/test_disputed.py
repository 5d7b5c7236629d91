"""What sources disagree about, against plain enumeration of every side of every dispute.

The enumeration knows nothing of the package: a variety is one of several plants, a grain passes
where its letter is not in the style (Halász et al. 2007), pollen that is sterile or of a triploid
serves nobody, and a self-fertile plant with good pollen serves itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from open_gardens import FRUIT, SHARES, network_of

from pollinet.domain import (
    Aim,
    Alternative,
    Fertility,
    FertilityRules,
    Fruit,
    Genotype,
    NetworkInput,
    Node,
    UsualFertility,
    VarietyId,
)
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.readers.disputes import with_alternatives

PLUM = Fruit("European plum", "Prunus domestica", "class", "European plum", 6)
WINTERS, DRAWS = 4, 2000


@dataclass(frozen=True)
class Plant:
    """What a variety is on one side: alleles (None: not known), sets, self-fertile, pollen."""

    alleles: str | None
    ploidy: int = 2
    selfs: bool = False
    good: bool | None = None

    def alternative(self, weight: float) -> Alternative:
        genotype = None if self.alleles is None else Genotype(tuple(self.alleles.split()))
        return Alternative(weight, genotype, self.ploidy, self.selfs, self.good)

    @property
    def gives(self) -> bool:
        return self.good is not False and (self.ploidy % 2 == 0 or self.good is True)

    def genotypes(self) -> Iterator[tuple[tuple[str, ...], float]]:
        if self.alleles is not None:
            yield tuple(self.alleles.split()), 1.0
            return
        for draw in product(SHARES, repeat=self.ploidy):
            yield draw, float(np.prod([SHARES[allele] for allele in draw]))


Dispute = Sequence[tuple[Plant, float]]


def variety(name: str, sides: Dispute, fruit: Fruit = FRUIT) -> Fertility:
    own = Fertility(VarietyId(fruit.name, name), name)
    return with_alternatives(own, [plant.alternative(weight) for plant, weight in sides])


def garden(
    varieties: Sequence[Fertility], together: np.ndarray, fruit: Fruit = FRUIT, wanted: int = 1
) -> NetworkInput:
    """The first variety receives; `together[d, w]`: whether donor d blooms with it in winter w."""
    rules = FertilityRules(
        {fruit.name: fruit},
        allele_frequencies={"apple": SHARES},
        usual={fruit.name: UsualFertility()},
    )
    nodes = tuple(
        Node(v.id.name, "limb" if i == 0 else "neighbour", v.id, v.clone, must_crop=i == 0)
        for i, v in enumerate(varieties)
    )
    return network_of(
        varieties, nodes, together, rules, Aim(donors=wanted), draws=DRAWS, seed=5
    )  # fmt: skip


def looked_at(network: NetworkInput) -> LimbCoverage:
    (row,) = limb_coverage(network)
    return row


def enumerated(
    each: Sequence[Dispute], together: np.ndarray, wanted: int
) -> tuple[float, float, float]:
    """Least, mean and most share of winters over every joint side and genotype."""
    states = [
        [(plant, alleles, weight * chance) for plant, weight in sides
         for alleles, chance in plant.genotypes()]
        for sides in each
    ]  # fmt: skip
    shares, weights = [], []
    limb, *donors = states
    for plant, style, of_limb in limb:
        itself = plant.selfs and plant.gives
        outcomes = []
        for states_of_donor in donors:
            chance = {True: 0.0, False: 0.0}
            for donor, alleles, weight in states_of_donor:
                chance[donor.gives and not set(alleles) <= set(style)] += weight
            outcomes.append([(serves, weight) for serves, weight in chance.items() if weight])
        for joint in product(*outcomes):
            serves = np.array([itself, *(one for one, _ in joint)])
            count = (together & serves[:, None]).sum(axis=0)
            shares.append(float((count >= wanted).mean()))
            weights.append(of_limb * float(np.prod([weight for _, weight in joint])))
    return min(shares), float(np.average(shares, weights=weights)), max(shares)


good = st.sampled_from([None, None, False])
# Known alleles that refuse one another say nothing once the plant sets itself all the same.
plants = st.one_of(
    st.builds(Plant, st.sampled_from(["S1 S2", "S1 S3", "S2 S3", "S3 S5"]), good=good),
    st.builds(Plant, st.none(), selfs=st.booleans(), good=good),
)
ploidies = st.sampled_from([Plant("S1 S2"), Plant("S1 S2 S3", 3), Plant(None, 3), Plant(None, 2)])
disputes = st.one_of(
    st.lists(plants, min_size=1, max_size=3, unique=True),
    st.lists(ploidies, min_size=1, max_size=2, unique=True),
).map(lambda found: [(plant, (i + 1.0) / sum(range(1, len(found) + 1)))
                     for i, plant in enumerate(found)])  # fmt: skip
bloom = st.lists(
    st.lists(st.booleans(), min_size=WINTERS, max_size=WINTERS), min_size=2, max_size=2
)


@settings(max_examples=80, deadline=None)
@given(st.lists(disputes, min_size=3, max_size=3), bloom, st.sampled_from([1, 2]))
def test_shares_equal_enumeration(each: list[Dispute], days: list[list[bool]], wanted: int) -> None:
    together = np.array([[True] * WINTERS, *days])
    varieties = [variety(f"v{i}", sides) for i, sides in enumerate(each)]
    row = looked_at(garden(varieties, together, wanted=wanted))
    least, mean, most = enumerated(each, together, wanted)
    assert row.sure == pytest.approx(least)
    assert row.possible_reliability == pytest.approx(most)
    # Four SDs of a mean of so many draws; a share of winters varies by no more than ½.
    assert row.reliability == pytest.approx(mean, abs=4 * 0.5 / DRAWS**0.5)
    assert row.sure <= row.reliability <= row.possible_reliability


def test_disputed_genotype_is_drawn_by_its_weights() -> None:
    """S1S2 is refused by S1S2 and half accepted by S1S5: nothing sure, served as often as S1S5."""
    together = np.ones((2, WINTERS), dtype=bool)
    limb = variety("limb", [(Plant("S1 S2"), 0.25), (Plant("S1 S5"), 0.75)])
    assert limb.genotype == Genotype(("S1",), False)
    row = looked_at(garden([limb, variety("donor", [(Plant("S1 S2"), 1.0)])], together))
    assert (row.sure, row.possible_reliability) == (0.0, 1.0)
    assert row.reliability == pytest.approx(0.75, abs=1 / DRAWS)


@pytest.mark.parametrize("fruit", [FRUIT, PLUM])
def test_disputed_self_fertility_is_drawn_by_its_weights(fruit: Fruit) -> None:
    """Alone it is served in the draws in which it is self-fertile, and in no other."""
    sides = [(Plant(None, selfs=True), 0.75), (Plant(None), 0.25)]
    limb = variety("limb", sides, fruit)
    row = looked_at(garden([limb], np.ones((1, WINTERS), dtype=bool), fruit))
    assert (row.sure, row.possible_reliability, row.verdict) == (0.0, 1.0, "open")
    assert row.reliability == pytest.approx(0.75, abs=1 / DRAWS)
    assert limb.self_fertile is None


def test_one_draw_serves_all_pairs_of_a_donor_whose_pollen_is_disputed() -> None:
    """In a fruit without S-alleles: of two limbs both have the donor in a draw, or neither."""
    donor = variety("donor", [(Plant(None, good=True), 0.5), (Plant(None, good=False), 0.5)], PLUM)
    limbs = [variety(name, [(Plant(None), 1.0)], PLUM) for name in ("a", "b")]
    drawn = garden([*limbs, donor], np.ones((3, WINTERS), dtype=bool), PLUM).drawn
    assert drawn is not None
    fractions = drawn.fractions(np.array([2, 2]), np.array([0, 1]))
    sterile = fractions.max(axis=0) == 0.0
    # Where it is good, nine in ten crosses of this fruit are taken to work, each by itself.
    assert sterile.mean() == pytest.approx(0.5 + 0.5 * 0.1**2, abs=0.02)


def test_clones_share_the_draw_of_a_dispute() -> None:
    """Two sports of one disputed variety are the same plant in every draw."""
    sides = [(Plant("S1 S2"), 0.5), (Plant("S1 S5"), 0.5)]
    parent = variety("parent", sides)
    sport = replace(variety("sport", sides), clone="parent")
    limb = variety("limb", [(Plant("S1 S2"), 1.0)])
    drawn = garden([limb, parent, sport], np.ones((3, WINTERS), dtype=bool)).drawn
    assert drawn is not None
    both = drawn.fractions(np.array([1, 2]), np.array([0, 0]))
    assert (both[0] == both[1]).all()
    assert 0.0 < (both[0] > 0).mean() < 1.0


def test_donors_of_different_sides_are_not_possible_together() -> None:
    """One donor serves S1S2 alone, the other S3S5 alone: never both in the best case."""
    together = np.array([[True] * 4, [True, True, False, False], [False, False, True, True]])
    limb = variety("limb", [(Plant("S1 S2"), 0.5), (Plant("S3 S5"), 0.5)])
    donors = [variety("a", [(Plant("S3 S5"), 1.0)]), variety("b", [(Plant("S1 S2"), 1.0)])]
    row = looked_at(garden([limb, *donors], together))
    assert row.possible_reliability == pytest.approx(0.5)
    assert row.sure == pytest.approx(0.5)
