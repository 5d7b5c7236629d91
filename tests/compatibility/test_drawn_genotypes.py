"""Drawn genotypes: their chances, what narrows them, and whom one draw serves.

Shares of accepted pollen are compared with the verdict's own chance, an exact sum that is written
otherwise (`gametophytic`, `sporophytic`), and with Hardy–Weinberg proportions by hand.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from crosses import rules, variety

from pollinet.compatibility.drawn import DrawnCrosses, Genotypes
from pollinet.compatibility.tables import rule_index
from pollinet.compatibility.verdict import cross_verdict
from pollinet.compatibility.verdict_table import verdicts
from pollinet.domain import (
    Alternative,
    Fertility,
    FertilityRules,
    Genotype,
    MeasuredPair,
    UsualFertility,
)
from pollinet.readers.disputes import with_alternatives
from pollinet.study.kept_pairs import KeptCrosses

SHARES = {"S1": 0.4, "S2": 0.3, "S3": 0.2, "S5": 0.1}
DRAWS = 4000


def crosses(
    table: FertilityRules, *varieties: Fertility, draws: int = DRAWS, seed: int = 1
) -> DrawnCrosses:
    index = rule_index(table)
    known = {one.id: one for one in varieties}
    genotypes = Genotypes(index, known, draws=draws, seed=seed)
    return DrawnCrosses(verdicts(varieties, table), genotypes)


def accepted(drawn: DrawnCrosses, donor: int, receiver: int) -> np.ndarray:
    return drawn.fractions(np.array([donor]), np.array([receiver]))[0]


@pytest.mark.parametrize(
    ("species", "donor", "receiver", "space"),
    [("apple", None, "S1 S3", "Malus"), ("apple", "S1 S2", None, "Malus"),
     ("apple", None, None, "Malus"), ("apple", "S1 ?", "S1 S2", "Malus"),
     ("sweet cherry", None, "S1 S2", "Prunus cerasus"), ("hazelnut", None, "S1 S2", "Corylus"),
     ("hazelnut", "S1 S2", None, "Corylus"),
     ("sour cherry", None, "S1 S2 S3", "Prunus cerasus"),
     ("sour cherry", None, None, "Prunus cerasus"),
     ("sour cherry", "S1 ?", "S1 S2 S3 S5", "Prunus cerasus"),
     ("sour cherry", "S4' ?", "S1 S2 S3 S5", "Prunus cerasus")],
)  # fmt: skip
@pytest.mark.parametrize("usual", [UsualFertility(), UsualFertility(0.2, 0.1)])
def test_draws_agree_with_the_chance_of_the_verdict(
    species: str, donor: str | None, receiver: str | None, space: str, usual: UsualFertility
) -> None:
    if species == "hazelnut":  # no triploid is known of
        usual = replace(usual, odd_ploidy=0.0)
    table = rules(allele_frequencies={space: SHARES}, usual={species: usual})
    pair = variety(species, "D", donor), variety(species, "R", receiver)
    drawn = crosses(table, *pair)
    verdict = cross_verdict(*pair, table)
    assert verdict.answer == "unknown"
    share = float((accepted(drawn, 0, 1) > 0).mean())
    assert share == pytest.approx(verdict.probability, abs=4 * 0.5 / DRAWS**0.5)


def test_a_crossing_that_was_made_narrows_what_is_possible() -> None:
    """Refused by S1S2 as donor, an unknown diploid is S1S2, S1S1 or S2S2 (Halász et al. 2007)."""
    made = MeasuredPair("apple", "Known", "Found", "no", "", "measured cross", "TEST", "published")
    table = rules(allele_frequencies={"Malus": SHARES}, pairs=(made,))
    found, known, other = (
        variety("apple", "Found"), variety("apple", "Known", "S1 S2"),
        variety("apple", "Other", "S1 S3"),
    )  # fmt: skip
    drawn = crosses(table, found, known, other)
    chances = {"S1S1": 0.16, "S1S2": 0.24, "S2S2": 0.09}
    refused = chances["S1S1"] / sum(chances.values())
    share = float((accepted(drawn, 0, 2) > 0).mean())
    assert share == pytest.approx(1 - refused, abs=0.01)
    without = crosses(rules(allele_frequencies={"Malus": SHARES}), found, known, other)
    assert float((accepted(without, 0, 2) > 0).mean()) != pytest.approx(share, abs=0.01)


def test_one_draw_serves_all_pairs_of_a_variety_and_its_clones() -> None:
    table = rules(allele_frequencies={"Malus": SHARES})
    found, twin = variety("apple", "Found"), variety("apple", "Alike")
    sport = replace(variety("apple", "Sport"), clone="Found")
    known = variety("apple", "Known", "S1 S2")
    drawn = crosses(table, found, sport, twin, known)
    assert (accepted(drawn, 0, 3) == accepted(drawn, 1, 3)).all()
    assert (accepted(drawn, 0, 3) != accepted(drawn, 2, 3)).any()
    # Two of one incompatibility group carry the same alleles, whatever these are.
    grouped = [replace(one, group="IV") for one in (found, twin)]
    drawn = crosses(table, *grouped, known)
    assert (accepted(drawn, 0, 2) == accepted(drawn, 1, 2)).all()


def test_another_variety_changes_no_draw() -> None:
    table = rules(allele_frequencies={"Malus": SHARES})
    some = [variety("apple", "Found"), variety("apple", "Known", "S1 S2")]
    few = crosses(table, *some, draws=32)
    many = crosses(table, variety("apple", "New"), *some, draws=32)
    assert (accepted(few, 0, 1) == accepted(many, 1, 2)).all()
    again = crosses(table, *some, draws=32, seed=2)
    assert (accepted(few, 0, 1) != accepted(again, 0, 1)).any()


def test_plums_are_a_chance_and_never_a_silent_yes() -> None:
    """No table of S-alleles serves European plums; most cross, and some are known not to."""
    one, other = variety("European plum", "A"), variety("European plum", "B")
    drawn = crosses(rules(), one, other)
    share = float((accepted(drawn, 0, 1) > 0).mean())
    assert share == pytest.approx(0.9, abs=0.001)
    assert not drawn.worst([0], 1, 1e-9).any()


def test_a_triploid_style_may_hold_one_allele_more() -> None:
    table = rules(allele_frequencies={"Malus": SHARES})
    donors = [variety("apple", "A", "S1 S2"), variety("apple", "B", "S2 S3")]
    limb = variety("apple", "T", None, ploidy=3)
    drawn = crosses(table, *donors, limb)
    # S1S2S3 holds the alleles of both.
    assert not drawn.worst([0, 1], 2, 1e-9).any()
    apart = crosses(table, donors[0], variety("apple", "C", "S3 S5"), limb)
    assert apart.worst([0, 1], 2, 1e-9).any(axis=1).all()


@pytest.mark.parametrize("partner", [None, "S1 ?", "S1 S2/S3 S5"])
def test_a_crossing_with_a_variety_of_which_not_all_is_known_narrows_nothing(
    partner: str | None,
) -> None:
    made = MeasuredPair("apple", "Known", "Found", "no", "", "measured cross", "TEST", "published")
    table = rules(allele_frequencies={"Malus": SHARES})
    known = variety("apple", "Known", partner)
    if partner is not None and "/" in partner:
        sides = [Alternative(1.0, Genotype(tuple(side.split()), True), 2)
                 for side in partner.split("/")]  # fmt: skip
        known = with_alternatives(variety("apple", "Known"), sides)
    varieties = variety("apple", "Found"), known, variety("apple", "Other", "S1 S3")
    plain, crossed = (
        accepted(crosses(one, *varieties), 0, 2) for one in (table, replace(table, pairs=(made,)))
    )
    assert np.array_equal(plain, crossed)
    told = variety("apple", "Found"), variety("apple", "Known", "S1 S2"), varieties[2]
    narrowed = accepted(crosses(replace(table, pairs=(made,)), *told), 0, 2)
    assert not np.array_equal(plain, narrowed)


def test_crossings_that_no_genotype_can_explain_narrow_nothing() -> None:
    """No diploid is stopped whole by S1S2 and by S3S5: one of the two crossings is wrong."""
    kinds = {"Known": "S1 S2", "Second": "S3 S5"}
    made = tuple(
        MeasuredPair("apple", name, "Found", "no", "", "measured cross", "TEST", "published")
        for name in kinds
    )
    table = rules(allele_frequencies={"Malus": SHARES})
    varieties = (variety("apple", "Found"), *(variety("apple", *one) for one in kinds.items()),
                 variety("apple", "Other", "S1 S3"))  # fmt: skip
    plain, both, first = (
        accepted(crosses(replace(table, pairs=pairs), *varieties), 0, 3)
        for pairs in ((), made, made[:1])
    )
    assert np.array_equal(plain, both)
    assert not np.array_equal(plain, first)


def test_crosses_of_many_places_are_the_same_and_asked_once() -> None:
    table = rules(allele_frequencies={"Malus": SHARES})
    varieties = [
        variety("apple", "A"),
        variety("apple", "B", "S1 ?"),
        variety("apple", "C", "S1 S3"),
    ]
    plain = crosses(table, *varieties)
    genotypes = Genotypes(rule_index(table), {v.id: v for v in varieties}, draws=DRAWS, seed=1)
    kept = KeptCrosses(verdicts(varieties, table), genotypes)
    donors, receivers = np.array([0, 1, 0]), np.array([2, 2, 1])
    first = kept.fractions(donors, receivers)
    assert np.array_equal(first, plain.fractions(donors, receivers))
    assert kept.fractions(donors.copy(), receivers) is first
    assert not first.flags.writeable
    other = kept.fractions(donors[:2], receivers[:2])
    assert np.array_equal(other, plain.fractions(donors[:2], receivers[:2]))
