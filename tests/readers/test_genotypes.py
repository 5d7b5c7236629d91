"""Genotypes as people write them. The forms are those printed in the sources of the catalogues."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.domain import Genotype
from pollinet.readers.catalogue import fruits
from pollinet.readers.genotypes import parse_genotype

READABLE = [
    ("apple", "S1S5", ("S1", "S5")),
    ("apple", "S5 S1", ("S1", "S5")),
    ("apple", "S1/S5", ("S1", "S5")),
    ("apple", "S10S2", ("S2", "S10")),
    ("apple", "S60S3", ("S3", "S60")),  # CRESPO2023 reports a new S60: no greatest number
    ("apple", "S2S3S9", ("S2", "S3", "S9")),
    ("apple", "s2s3", ("S2", "S3")),
    ("sweet cherry", "S3S4'", ("S3", "S4'")),
    ("sweet cherry", "S3S4’", ("S3", "S4'")),
    ("sweet cherry", "S3 S4′", ("S3", "S4'")),
    ("sweet cherry", "S3S4-prime", ("S3", "S4'")),
    ("sweet cherry", "S3S4*", ("S3", "S4'")),
    ("sweet cherry", "S4'S3", ("S3", "S4'")),
    ("pear", "S101S102", ("S101", "S102")),
    ("pear", "S105 S104-1", ("S104-1", "S105")),
    ("pear", "SjSk", ("Sj", "Sk")),
    ("nashi", "S2S4sm", ("S2", "S4sm")),
    ("apricot", "ScS19", ("S19", "Sc")),
    ("apricot", "ScSc", ("Sc", "Sc")),
    ("almond", "S23Sf", ("S23", "Sf")),
    ("Japanese plum", "ScSe", ("Sc", "Se")),
    ("hazelnut", "S2 S21", ("S2", "S21")),
]


@pytest.mark.parametrize(("fruit", "text", "alleles"), READABLE)
def test_reads(fruit: str, text: str, alleles: tuple[str, ...]) -> None:
    assert parse_genotype(text, fruits()[fruit]) == (Genotype(alleles), ())


@pytest.mark.parametrize("text", ["S1S?", "S1S-", "S1", "S? S1"])
def test_missing_allele_makes_it_incomplete(text: str) -> None:
    assert parse_genotype(text, fruits()["apple"]) == (Genotype(("S1",), complete=False), ())


@pytest.mark.parametrize("text", ["", "  ", "S?S?"])
def test_nothing_known_is_no_genotype_and_no_problem(text: str) -> None:
    assert parse_genotype(text, fruits()["apple"]) == (None, ())


def test_two_alleles_of_a_tetraploid_are_not_all() -> None:
    genotype, _ = parse_genotype("S3S4'", fruits()["sour cherry"])
    assert genotype is not None and not genotype.complete


@pytest.mark.parametrize(
    ("fruit", "text"),
    [
        ("pear", "S1S2"),  # nashi numbers, or the older Spanish ones: cannot be told apart
        ("nashi", "S101S102"),
        ("apple", "S3S4'"),
        ("apple", "SxxS1"),
        ("apple", "A1A2"),
        ("apple", "S1S2S3S4S5S6S7"),
        ("sweet cherry", "ScSf"),
        ("peach", "S1S2"),  # no allele names are in use
    ],
)
def test_other_name_space_is_found(fruit: str, text: str) -> None:
    genotype, findings = parse_genotype(
        text, fruits()[fruit], file="own.csv", place="value", line=7
    )
    assert genotype is None
    (finding,) = findings
    assert (finding.severity, finding.code) == ("error", "unknown-genotype")
    assert finding.where == "own.csv, line 7, value"
    assert fruit in finding.message


def test_finding_offers_the_nearest_alleles() -> None:
    _, (finding,) = parse_genotype("S12'S101", fruits()["pear"])
    assert "S101S105" in finding.message and "nearest: S1" in finding.message


@given(st.permutations(["S1", "S2", "S10", "S4'"]).map(lambda p: p[:2]), st.sampled_from(" /,"))
def test_order_and_separator_do_not_matter(alleles: list[str], gap: str) -> None:
    cherry = fruits()["sweet cherry"]
    forward, _ = parse_genotype(gap.join(alleles), cherry)
    backward, _ = parse_genotype("".join(reversed(alleles)), cherry)
    assert forward == backward and forward is not None


@given(st.text(max_size=12))
def test_any_text_gives_a_genotype_or_one_finding_or_nothing(text: str) -> None:
    genotype, findings = parse_genotype(text, fruits()["apple"])
    assert len(findings) <= 1 and not (genotype and findings)
    if genotype:
        again, _ = parse_genotype("".join(genotype.alleles), fruits()["apple"])
        assert again is not None and again.alleles == genotype.alleles
