"""Fractions and probabilities against plain enumeration of every genotype and every grain.

The enumeration below knows nothing of the package: alleles are strings, a grain is a tuple, and
the biology is written out anew from Halász et al. 2007 (diploids), Adachi et al. 2009 (mixed
grains of pome fruit) and Hauck et al. 2006 (one-allele match).
"""

from __future__ import annotations

from itertools import combinations, product

import pytest
from crosses import rules, variety
from hypothesis import given, settings
from hypothesis import strategies as st

from pollinet.compatibility.chances import allele_draws
from pollinet.compatibility.ploidy import grains
from pollinet.compatibility.verdict import cross_verdict
from pollinet.domain import AlleleFact

SHARES = {"S1": 0.4, "S2": 0.25, "S3": 0.2, "S4": 0.1, "S4'": 0.05}
COUNTS = {"Prunus cerasus": SHARES, "Malus": SHARES}

known = st.lists(st.sampled_from(["S1", "S2", "S3", "S4", "S5"]), max_size=4)


def passes(grain: tuple[str, ...], style: tuple[str, ...], pome: bool) -> bool:
    working = {a for a in grain if not (a == "S4'" and not pome)}
    stopping = {a.replace("'", "") for a in style}
    if pome and len({a.replace("'", "") for a in grain}) > 1:
        return True
    return not {a.replace("'", "") for a in working} & stopping


def enumerated(
    donor: tuple[str, ...], n_d: int, style: tuple[str, ...], n_s: int, pome: bool
) -> tuple[float, set[float]]:
    """Probability that any grain passes, and all accepted shares with a probability above 0."""
    total, shares = 0.0, set()
    for d in product(SHARES, repeat=n_d - len(donor)):
        for s in product(SHARES, repeat=n_s - len(style)):
            weight = 1.0
            for allele in (*d, *s):
                weight *= SHARES[allele]
            made = list(combinations(donor + d, n_d // 2))
            share = sum(passes(g, style + s, pome) for g in made) / len(made)
            total += weight * (share > 0)
            shares.add(share)
    return total, shares


@settings(max_examples=60, deadline=None)
@given(known, known, st.sampled_from(["apple", "sweet cherry"]), st.sampled_from([2, 4]))
def test_verdict_equals_enumeration(
    donor: list[str], style: list[str], species: str, ploidy: int
) -> None:
    donor, style = donor[:ploidy], style[:2]
    # Four unknown alleles on both sides are too many to write out.
    if ploidy == 4 and len(donor) < 2:
        donor = ["S1", "S2"]
    sides = [
        variety(species, name, " ".join([*names, *["?"] * (len(names) < n)]), ploidy=n)
        if names
        else variety(species, name, None, ploidy=n)
        for name, names, n in (("D", donor, ploidy), ("R", style, 2))
    ]
    result = cross_verdict(*sides, rules(allele_frequencies=COUNTS))
    probability, shares = enumerated(tuple(donor), ploidy, tuple(style), 2, species == "apple")
    assert result.probability == pytest.approx(probability)
    if result.answer == "unknown":
        assert 0.0 in shares or result.probability == pytest.approx(1.0)
    elif len(donor) == ploidy and len(style) == 2:
        assert sorted(shares) == pytest.approx([result.fraction])
    else:
        assert result.fraction <= min(shares) + 1e-12


def test_hazelnut_chance_equals_enumeration() -> None:
    """S8 pollen on an unknown stigma passes unless a drawn allele is S8."""
    donor = variety("hazelnut", "D", "S8 ?", shown="S8")
    receiver = variety("hazelnut", "R")
    shares = {"S1": 0.5, "S8": 0.3, "S10": 0.2}
    result = cross_verdict(donor, receiver, rules(allele_frequencies={"Corylus": shares}))
    expected = sum(
        shares[a] * shares[b] for a, b in product(shares, repeat=2) if "S8" not in (a, b)
    )
    assert result.answer == "unknown"
    assert result.probability == pytest.approx(expected)


def test_chance_of_own_pollen_counts_broken_alleles() -> None:
    """An unknown apricot may set itself if it carries Sc: one or two of its two alleles."""
    own = variety("apricot", "Own")
    counts = {"Prunus armeniaca": {"S1": 7, "Sc": 3}}
    result = cross_verdict(own, own, rules(allele_frequencies=counts))
    assert result.code == "self-fertility-unknown"
    assert result.probability == pytest.approx(1 - 0.7**2)
    modified = variety("apricot", "Own", modifier_share=0.5)
    assert cross_verdict(modified, modified, rules(allele_frequencies=counts)).probability == 1.0


def test_chance_where_both_parts_may_be_broken() -> None:
    """A style that turns out to stop nothing must not stop pollen that passes everywhere."""
    facts = (
        AlleleFact("Malus", "Sp", "S1", "pollen"),
        AlleleFact("Malus", "Ss", "S2", "style"),
    )
    shares = {"S1": 0.4, "Sp": 0.3, "Ss": 0.3}
    sides = variety("apple", "D"), variety("apple", "R")
    result = cross_verdict(*sides, rules(alleles=facts, allele_frequencies={"Malus": shares}))
    expected = 0.0
    for *pollen, one, other in product(shares, repeat=4):
        stops = {"S1"} & {a.replace("p", "1") for a in (one, other)}
        seen = [{"S1": "S1", "Sp": "", "Ss": "S2"}[allele] for allele in pollen]
        weight = shares[one] * shares[other] * shares[pollen[0]] * shares[pollen[1]]
        expected += weight * any(name not in stops for name in seen)
    assert result.probability == pytest.approx(expected)


@given(st.integers(0, 4))
def test_draws_are_a_distribution(count: int) -> None:
    assert sum(p for _, p in allele_draws(SHARES, count)) == pytest.approx(1.0)


def test_grains_of_each_ploidy() -> None:
    assert grains(("S1", "S2"), 2) == (("S1",), ("S2",))
    assert len(grains(("S1", "S2", "S3", "S4"), 4)) == 6
    # S1S1S2S2: one S1S1, four S1S2, one S2S2 (random chromosome segregation).
    assert grains(("S1", "S2"), 4).count(("S1", "S2")) == 4
    assert grains((), 2) == ()
