"""Hazelnut: what the pollen shows against what the stigma carries."""

from __future__ import annotations

import pytest
from crosses import rules, variety

from pollinet.compatibility.verdict import cross_verdict
from pollinet.domain import Fertility, Verdict


def verdict(donor: Fertility, receiver: Fertility) -> Verdict:
    return cross_verdict(donor, receiver, rules())


YORK = variety("hazelnut", "York", "S2 S21", shown="S21")
MCDONALD = variety("hazelnut", "McDonald", "S2 S15")


def test_dominance_opens_a_pair_that_shares_an_allele() -> None:
    """York pollen shows S21 only and works on McDonald S2S15 (Smith 2018)."""
    assert verdict(YORK, MCDONALD).fraction == 1.0


def test_dominance_is_never_guessed() -> None:
    """What McDonald's pollen shows is not in the table: S2 alone would be refused by York."""
    result = verdict(MCDONALD, YORK)
    assert (result.answer, result.code) == ("unknown", "unknown-dominance")
    # S2, S15 or both: one case of three passes.
    assert result.probability == pytest.approx(1 / 3)


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
