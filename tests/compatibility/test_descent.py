"""What parents tell of the alleles of their child, against plain enumeration of Mendel's rule."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from crosses import rules, variety

from pollinet.compatibility.alleles import allele_book
from pollinet.compatibility.descent import inherited
from pollinet.compatibility.drawn import DrawnCrosses, Genotypes
from pollinet.compatibility.tables import rule_index
from pollinet.compatibility.verdict import cross_verdict
from pollinet.compatibility.verdict_table import verdicts
from pollinet.domain import Descent, Fertility, FertilityRules, UsualFertility

SHARES = {"S1": 0.4, "S2": 0.3, "S3": 0.2, "S5": 0.1}
TABLE = rules(allele_frequencies={"Malus": SHARES, "Prunus cerasus": SHARES})
BOOK = allele_book("Malus", TABLE.alleles)


def child(descent: Descent, alleles: str | None = None, name: str = "Child") -> Fertility:
    return replace(variety("apple", name, alleles), descent=descent)


def drawn(*varieties: Fertility, table: FertilityRules = TABLE) -> DrawnCrosses:
    known = {one.id: one for one in varieties}
    return DrawnCrosses(
        verdicts(varieties, table), Genotypes(rule_index(table), known, draws=4000, seed=1)
    )


def children(
    seed: tuple[str, str] | None, pollen: tuple[str, str] | None
) -> dict[tuple[str, ...], float]:
    """Chances by enumeration: an egg and a grain each, the grain none of the seed parent's."""
    eggs, grains = (
        SHARES if parent is None else {allele: 0.5 for allele in parent}
        for parent in (seed, pollen)
    )
    found: dict[tuple[str, ...], float] = {}
    for egg, grain in product(eggs, grains):
        if seed is None or grain not in seed:
            pair = tuple(sorted((egg, grain)))
            found[pair] = found.get(pair, 0.0) + eggs[egg] * grains[grain]
    total = sum(found.values())
    return {pair: chance / total for pair, chance in found.items()}


@pytest.mark.parametrize("seed", [("S1", "S2"), None])
@pytest.mark.parametrize("pollen", [("S2", "S3"), ("S3", "S5"), None])
@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize("known", [(), ("S3",)])
def test_a_child_has_one_allele_of_each_parent(
    seed: tuple[str, str] | None,
    pollen: tuple[str, str] | None,
    told: bool,
    known: tuple[str, ...],
) -> None:
    ways = [children(seed, pollen)] + ([] if told else [children(pollen, seed)])
    wanted: dict[tuple[str, ...], float] = {}
    for way in ways:
        for pair, chance in way.items():
            if set(known) <= set(pair):
                wanted[pair] = wanted.get(pair, 0.0) + chance
    total = sum(wanted.values())
    found = inherited(Descent(seed, pollen, told), known, SHARES, BOOK, by_style=True)
    assert set(found) == set(wanted)
    for pair, chance in found.items():
        assert chance == pytest.approx(wanted[pair] / total)


def test_the_grain_that_made_it_was_none_that_the_seed_parent_stops() -> None:
    descent = Descent(("S1", "S2"), ("S2", "S3"), told=True)
    found = inherited(descent, (), SHARES, BOOK, by_style=True)
    assert found == {("S1", "S3"): 0.5, ("S2", "S3"): 0.5}
    # A stigma of a hazelnut does not stop single alleles.
    assert len(inherited(descent, (), SHARES, BOOK, by_style=False)) == 4


def test_pollen_of_a_mutant_passes_the_style_that_would_stop_it() -> None:
    # SCHUSTER2020: S4' of Stella is a mutant of the pollen.
    book = allele_book("Prunus cerasus", TABLE.alleles)
    descent = Descent(("S3", "S4"), ("S3", "S4'"), told=True)
    found = inherited(descent, (), SHARES, book, by_style=True)
    assert set(found) == {("S3", "S4'"), ("S4", "S4'")}


def test_alleles_that_the_parents_cannot_give_leave_descent_out() -> None:
    assert (
        inherited(Descent(("S1", "S2"), ("S3", "S5")), ("S9",), SHARES, BOOK, by_style=True) == {}
    )
    told = child(Descent(("S1", "S2"), ("S3", "S5")), "S9 ?")
    plain, donor = variety("apple", "Child", "S9 ?"), variety("apple", "D", "S1 S2")
    assert cross_verdict(donor, told, TABLE).probability == pytest.approx(
        cross_verdict(donor, plain, TABLE).probability
    )


def test_draws_and_verdict_have_the_chance_of_the_enumeration() -> None:
    young = child(Descent(("S1", "S2"), None, told=True))
    donor = variety("apple", "D", "S1 S3")
    verdict = cross_verdict(donor, young, TABLE)
    pairs = children(("S1", "S2"), None)
    wanted = sum(chance for pair, chance in pairs.items() if set(pair) != {"S1", "S3"})
    assert verdict.answer == "unknown"
    assert verdict.probability == pytest.approx(wanted)
    share = drawn(donor, young).fractions(np.array([0]), np.array([1]))[0]
    assert float((share > 0).mean()) == pytest.approx(wanted, abs=0.03)
    without = cross_verdict(donor, replace(young, descent=None), TABLE)
    assert without.probability != pytest.approx(wanted, abs=0.01)


def test_what_all_children_of_two_parents_accept_is_sure() -> None:
    # Of S1S2 x S3S5 come S1S3, S1S5, S2S3, S2S5: none stops S8, and none is stopped by S8S9.
    young = replace(child(Descent(("S1", "S2"), ("S3", "S5"), told=True)), memory=("descent",))
    other = variety("apple", "O", "S8 S9")
    for donor, receiver in ((young, other), (other, young)):
        verdict = cross_verdict(donor, receiver, TABLE)
        assert (verdict.answer, verdict.code, verdict.probability) == ("yes", "by-descent", 1.0)
        assert verdict.memory
    half = cross_verdict(variety("apple", "H", "S1 S2"), young, TABLE)
    assert (half.answer, half.fraction, half.code) == ("half", 0.5, "by-descent")
    # Where its number of sets is open, it may have alleles of neither.
    usual = {"apple": UsualFertility(odd_ploidy=0.1)}
    table = rules(allele_frequencies={"Malus": {**SHARES, "S8": 0.1, "S9": 0.1}}, usual=usual)
    assert cross_verdict(other, young, table).answer == "unknown"
    assert cross_verdict(other, replace(young, ploidy=2), table).answer == "yes"


def test_triploids_and_known_genotypes_are_as_before() -> None:
    descent = Descent(("S1", "S2"), ("S3", "S5"), told=True)
    donor = variety("apple", "D", "S1 S3")
    for own in (variety("apple", "T", None, ploidy=3), variety("apple", "K", "S1 S5")):
        told = cross_verdict(donor, replace(own, descent=descent), TABLE)
        plain = cross_verdict(donor, own, TABLE)
        assert (told.answer, told.code) == (plain.answer, plain.code)
        assert told.probability == pytest.approx(plain.probability)


def test_alleles_that_the_parents_cannot_give_are_drawn_as_without_parents() -> None:
    told = child(Descent(("S1", "S2"), ("S3", "S5")), "S9 ?")
    other = variety("apple", "Other", "S1 S9")
    found = [
        drawn(one, other).fractions(np.array([0]), np.array([1]))
        for one in (told, variety("apple", "Child", "S9 ?"), replace(told, genotype=None))
    ]
    assert np.array_equal(found[0], found[1])
    # S9 is stopped; the other allele is S1 in four varieties of ten, and then nothing passes.
    assert (found[0] == 0).mean() == pytest.approx(SHARES["S1"], abs=0.03)
    assert not np.array_equal(found[0], found[2])
