"""Hazelnut: what the pollen shows against what the stigma carries."""

from __future__ import annotations

import numpy as np
import pytest
from crosses import rules, variety

from pollinet.compatibility.dominance import dominance_order
from pollinet.compatibility.drawn import DrawnCrosses, Genotypes
from pollinet.compatibility.tables import rule_index
from pollinet.compatibility.verdict import cross_verdict
from pollinet.compatibility.verdict_table import verdicts
from pollinet.domain import DominanceFact, Fertility, FertilityRules, Verdict
from pollinet.readers.catalogue import load_catalogue


def verdict(donor: Fertility, receiver: Fertility) -> Verdict:
    return cross_verdict(donor, receiver, rules())


YORK = variety("hazelnut", "York", "S2 S21", shown="S21")
MCDONALD = variety("hazelnut", "McDonald", "S2 S15")


def test_dominance_opens_a_pair_that_shares_an_allele() -> None:
    """York pollen shows S21 only and works on McDonald S2S15 (Smith 2018)."""
    assert verdict(YORK, MCDONALD).fraction == 1.0


def test_unknown_dominance_is_never_guessed() -> None:
    """What McDonald's pollen shows is not in the table: S2 alone would be refused by York."""
    result = verdict(MCDONALD, YORK)
    assert (result.answer, result.code) == ("unknown", "unknown-dominance")
    # S2, S15 or both: one case of three passes.
    assert result.probability == pytest.approx(1 / 3)


def dominance(*rows: tuple[str, str, str], status: str = "published") -> FertilityRules:
    facts = (DominanceFact("Corylus", *row, "TEST", status) for row in rows)
    return rules(dominance=tuple(facts), allele_frequencies={"Corylus": SHARES})


SHARES = {"S1": 0.3, "S2": 0.3, "S3": 0.2, "S15": 0.2}
S15_FIRST = ("S15", "S2", "first")


def test_the_order_of_dominance_tells_what_pollen_shows() -> None:
    """Smith 2018: S15 is dominant over S2, so McDonald serves York (S2S21)."""
    table = dominance(S15_FIRST)
    result = cross_verdict(MCDONALD, YORK, table)
    assert (result.answer, result.accepted, result.sources) == ("yes", ("S15",), ("TEST",))
    refused = cross_verdict(MCDONALD, variety("hazelnut", "R", "S1 S15"), table)
    assert (refused.code, refused.refused) == ("pollen-in-stigma", ("S15",))
    recalled = cross_verdict(MCDONALD, YORK, dominance(S15_FIRST, status="memory"))
    assert recalled.memory and not result.memory


def test_what_a_source_says_of_a_variety_goes_before_the_order() -> None:
    odd = variety("hazelnut", "Odd", "S2 S15", shown="S2")
    assert cross_verdict(odd, YORK, dominance(S15_FIRST)).refused == ("S2",)


def test_the_order_is_a_line_of_levels() -> None:
    """Mehlenbacher 1997: levels of a line, alleles of one level are both shown."""
    order = dominance_order(
        "Corylus",
        dominance(
            ("S3", "S1", "first"), ("S1", "S12", "both"), ("S12", "S2", "first"),
            ("S8", "S26", "first"),
        ).dominance,
    )  # fmt: skip
    assert order.cases(["S2", "S3"]) == [frozenset({"S3"})]
    assert order.cases(["S1", "S2"]) == [frozenset({"S1"})]
    assert order.cases(["S3", "S12"]) == [frozenset({"S3"})]
    assert order.cases(["S12", "S1"]) == [frozenset({"S1", "S12"})]
    # Nothing ties S8 to the others.
    assert len(order.cases(["S1", "S8"])) == 3
    both_ways = dominance(("S1", "S2", "first"), ("S2", "S3", "first"), ("S3", "S1", "first"))
    kept = dominance_order("Corylus", both_ways.dominance)
    assert kept.cases(["S1", "S3"]) == [frozenset({"S3"})]


def test_an_allele_alone_on_its_level_is_never_shown_with_another() -> None:
    """Mehlenbacher 1997: S4, S6, S11 and S23 stand alone on levels whose order was not read."""
    table = dominance(("S4", "", "one"), ("S1", "S4", "first"))
    order = dominance_order("Corylus", table.dominance)
    assert order.cases(["S4", "S6"]) == [frozenset({"S4"}), frozenset({"S6"})]
    assert order.cases(["S1", "S4"]) == [frozenset({"S1"})]
    donor, limb = variety("hazelnut", "D", "S4 S6"), variety("hazelnut", "R", "S4 S2")
    result = cross_verdict(donor, limb, table)
    assert (result.code, result.probability) == ("unknown-dominance", pytest.approx(1 / 2))
    genotypes = Genotypes(rule_index(table), {}, draws=300, seed=1)
    drawn = DrawnCrosses(verdicts((donor, limb), table), genotypes)
    assert drawn.fractions(np.array([0]), np.array([1])).mean() == pytest.approx(1 / 2)


def test_one_draw_of_a_pair_serves_all_its_varieties() -> None:
    """Three varieties S2S15 whose order nobody knows are taken or refused together."""
    donors = [variety("hazelnut", name, "S2 S15") for name in ("A", "B", "C")]
    limb = variety("hazelnut", "R", "S2 S3")
    table = dominance()
    names = {one.id: one for one in (*donors, limb)}
    genotypes = Genotypes(rule_index(table), names, draws=300, seed=1)
    drawn = DrawnCrosses(verdicts((*donors, limb), table), genotypes)
    share = drawn.fractions(np.arange(3), np.full(3, 3))
    assert (share == share[0]).all()
    # First, second or both: one of three passes, and each is drawn as often.
    assert share[0].mean() == pytest.approx(1 / 3)
    # At the worst none serves; where the order is known all do.
    assert not drawn.worst([0, 1, 2], 3, 1e-9).any()
    assert cross_verdict(donors[0], limb, dominance(S15_FIRST)).answer == "yes"


def test_shipped_order_agrees_with_what_shipped_varieties_show() -> None:
    catalogue, findings = load_catalogue(["hazelnut"])
    assert not findings
    [fruit] = catalogue.rules.fruits.values()
    order = dominance_order(fruit.name_space, catalogue.rules.dominance)
    told = [
        (genotype.alleles, genotype.pollen_alleles)
        for one in catalogue.varieties.values()
        if (genotype := one.fertility.genotype) is not None and genotype.complete
        if genotype.pollen_alleles is not None
    ]
    known = [(alleles, shown) for alleles, shown in told if len(order.cases(alleles)) == 1]
    assert len(known) >= 20
    assert all(order.cases(alleles) == [frozenset(shown)] for alleles, shown in known)
    # Mehlenbacher 1997 as far as it was read says nothing of these two.
    assert len(order.cases(["S10", "S14"])) == 3


def test_reciprocals_differ() -> None:
    """The dominant allele decides as pollen, both alleles as stigma (Mehlenbacher 1997)."""
    a = variety("hazelnut", "A", "S1 S3", shown="S3")
    b = variety("hazelnut", "B", "S1 S8", shown="S1")
    assert verdict(a, b).answer == "yes"
    assert (verdict(b, a).answer, verdict(b, a).refused) == ("no", ("S1",))


def test_codominant_pollen_is_refused_for_either_allele() -> None:
    both = variety("hazelnut", "Both", "S4 S6", shown="S4 S6")
    assert verdict(both, variety("hazelnut", "R", "S6 S20")).code == "pollen-in-stigma"


def test_pollen_side_alone_makes_a_donor_and_no_receiver() -> None:
    """Rows that name only the allele shown by the pollen (Turkish study of 2005)."""
    tombul = variety("hazelnut", "Tombul", "S12 ?", shown="S12")
    assert verdict(tombul, YORK).answer == "yes"
    assert verdict(YORK, tombul).answer == "unknown"
    twelve = variety("hazelnut", "Twelve", "S12 S1", shown="S12")
    assert verdict(twelve, tombul).answer == "no"
