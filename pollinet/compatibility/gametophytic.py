"""Gametophytic incompatibility (S-RNase): cherries, almond, apricot, Japanese plum, apple, pears.

A grain shows its own allele, a style all alleles of its tree; a grain is stopped where its allele
is one of the style's. Grains with two sets, from tetraploid donors, follow two rules: in apple
and pears a grain with two different alleles passes every style, in cherries it is stopped where
either of its working alleles is met (one-allele match).

References
----------
Halász et al. 2007, Sapir et al. 2008 (rule and partial compatibility); Adachi et al. 2009 (two
alleles in one grain, apple); Tobutt et al. 2004, Hauck et al. 2006 (one-allele match, cherry);
Muñoz-Sanz et al. 2017 (modifier outside the S-locus, apricot); Kodad et al. 2009 (Sf that works).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from pollinet.compatibility.alleles import (
    AlleleBook,
    allele_book,
    in_allele_order,
    pollen_identity,
    style_identity,
)
from pollinet.compatibility.chances import allele_draws, present_among
from pollinet.compatibility.outcome import NOBODY_KNOWS, Outcome, answer_of
from pollinet.compatibility.ploidy import grains, ploidy_of
from pollinet.domain import Fertility, FertilityRules, Fruit

MIXED_GRAINS_PASS = frozenset({"Malus", "Pyrus"})
"""Genera in which a grain with two different alleles passes every style (Adachi et al. 2009)."""

ANY_OTHER = "?"
"""Stands for an allele that no table names."""


@dataclass(frozen=True)
class SLocus:
    """The S-locus of one fruit: its alleles, how frequent they are, and the rule for 2x grains."""

    book: AlleleBook
    frequencies: Mapping[str, float]
    mixed_grains_pass: bool


@dataclass(frozen=True)
class Pollen:
    """Alleles of a donor, how many more are not known, and its ploidy."""

    alleles: tuple[str, ...]
    missing: int
    ploidy: int
    modifier_share: float = 0.0


@dataclass(frozen=True)
class Style:
    """What a receiver's style stops, and how many of its alleles are not known."""

    stops: frozenset[str]
    missing: int


def s_locus(fruit: Fruit, rules: FertilityRules) -> SLocus:
    """The S-locus of a fruit; frequencies are scaled to a sum of 1."""
    counted = rules.allele_frequencies.get(fruit.name_space, {})
    total = sum(counted.values())
    return SLocus(
        book=allele_book(fruit.name_space, rules.alleles),
        frequencies={name: n / total for name, n in counted.items()} if total > 0 else {},
        mixed_grains_pass=fruit.latin.split(" ")[0] in MIXED_GRAINS_PASS,
    )


def missing_alleles(fertility: Fertility, fruit: Fruit) -> int:
    """How many alleles of a variety nobody has told us."""
    sets = ploidy_of(fertility, fruit)
    if fertility.genotype is None:
        return sets
    return 0 if fertility.genotype.complete else max(1, sets - len(fertility.genotype.alleles))


def pollen_of(fertility: Fertility, fruit: Fruit) -> Pollen:
    """The pollen side of a variety."""
    alleles = fertility.genotype.alleles if fertility.genotype else ()
    return Pollen(
        alleles,
        missing_alleles(fertility, fruit),
        ploidy_of(fertility, fruit),
        fertility.modifier_share,
    )


def style_of(fertility: Fertility, fruit: Fruit, locus: SLocus) -> Style:
    """The style side of a variety.

    A stylar-part mutant stops nothing, unless the variety is known to be self-incompatible:
    its allele is then a working one of the same name (Vivot S23Sf, Ponç Sf).
    """
    alleles = fertility.genotype.alleles if fertility.genotype else ()
    active = fertility.self_fertile is False
    identities = (style_identity(allele, locus.book, active=active) for allele in alleles)
    return Style(
        frozenset(name for name in identities if name is not None),
        missing_alleles(fertility, fruit),
    )


def identities_of(grain: Iterable[str], locus: SLocus) -> frozenset[str]:
    """What a style sees of a grain: nothing of alleles that pass every style."""
    seen = (pollen_identity(allele, locus.book) for allele in grain)
    return frozenset(name for name in seen if name is not None)


def style_accepts(grain: tuple[str, ...], stops: frozenset[str], locus: SLocus) -> bool:
    """Whether one grain (its alleles) passes a style that stops the alleles `stops`."""
    identities = identities_of(grain, locus)
    if locus.mixed_grains_pass and len(identities) > 1:
        return True
    return identities.isdisjoint(stops)


def accepted_share(pollen: Pollen, stops: frozenset[str], locus: SLocus) -> float:
    """Share of a donor's grains that a known style accepts, 0 to 1.

    Grains with the modifier pass whatever they carry; the others follow the S-locus.
    """
    made = grains(pollen.alleles, pollen.ploidy)
    passed = sum(style_accepts(grain, stops, locus) for grain in made) / len(made)
    return pollen.modifier_share + (1.0 - pollen.modifier_share) * passed


def share_chances(pollen: Pollen, style: Style, locus: SLocus) -> dict[float, float]:
    """Possible accepted shares and their probabilities; possible ones may have probability 0."""
    chances: dict[float, float] = {}
    of_styles = _style_frequencies(locus)
    for full, chance in _possible_pollen(pollen, style, locus):
        asked = identities_of(full.alleles, locus)
        for stops, also in present_among(asked, style.stops, style.missing, of_styles):
            share = accepted_share(full, stops, locus)
            chances[share] = chances.get(share, 0.0) + chance * also
    return chances


def _possible_pollen(pollen: Pollen, style: Style, locus: SLocus) -> Iterator[tuple[Pollen, float]]:
    """The donor with every possible set of alleles in the place of the missing ones."""
    possible = dict.fromkeys([*pollen.alleles, *style.stops, ANY_OTHER], 0.0)
    for draw, chance in allele_draws(possible | dict(locus.frequencies), pollen.missing):
        yield Pollen(pollen.alleles + draw, 0, pollen.ploidy, pollen.modifier_share), chance


def _style_frequencies(locus: SLocus) -> dict[str, float]:
    """Frequencies of what styles stop; stylar-part mutants stop nothing and are left out."""
    found: dict[str, float] = {}
    for allele, frequency in locus.frequencies.items():
        name = style_identity(allele, locus.book)
        if name is not None:
            found[name] = found.get(name, 0.0) + frequency
    return found


def self_passing(pollen: Pollen, locus: SLocus) -> float:
    """Probability that an incomplete genotype holds an allele or modifier that passes itself."""

    def passes(allele: str) -> bool:
        return not (pollen_identity(allele, locus.book) and style_identity(allele, locus.book))

    if pollen.modifier_share > 0.0 or any(map(passes, pollen.alleles)):
        return 1.0
    if not locus.frequencies:
        return NOBODY_KNOWS
    share = sum(chance for allele, chance in locus.frequencies.items() if passes(allele))
    return 1.0 - (1.0 - share) ** pollen.missing


def gametophytic_outcome(pollen: Pollen, style: Style, locus: SLocus) -> Outcome:
    """The rule's answer for a pair.

    Where alleles are missing, the answer is known only if all possibilities agree, and `half`
    if some of the pollen passes in all of them (`fraction` is then the least share). Otherwise
    it is unknown, with the probability that any grain passes.
    """
    if not pollen.missing and not style.missing:
        share = accepted_share(pollen, style.stops, locus)
        return _named(
            Outcome(answer_of(share), share, float(share > 0.0), ""), pollen, style, locus
        )
    chances = share_chances(pollen, style, locus)
    least, most = min(chances), max(chances)
    if least > 0.0 or most == 0.0:
        outcome = Outcome(answer_of(least), least, float(least > 0.0), "")
        return _named(outcome, pollen, style, locus)
    passes = sum(chance for share, chance in chances.items() if share > 0.0)
    probability = min(passes, 1.0) if locus.frequencies else NOBODY_KNOWS
    return _named(Outcome("unknown", None, probability, ""), pollen, style, locus)


def _named(outcome: Outcome, pollen: Pollen, style: Style, locus: SLocus) -> Outcome:
    """The outcome with its code and its accepted and refused alleles."""
    seen = {allele: pollen_identity(allele, locus.book) for allele in pollen.alleles}
    refused = in_allele_order(a for a, name in seen.items() if name in style.stops)
    accepted = in_allele_order(
        a
        for a, name in seen.items()
        if name is None or (not style.missing and name not in style.stops)
    )
    return Outcome(
        outcome.answer,
        outcome.fraction,
        outcome.probability,
        _code(outcome, pollen, style, accepted),
        accepted,
        refused,
    )


def _code(outcome: Outcome, pollen: Pollen, style: Style, accepted: tuple[str, ...]) -> str:
    """Why, as a word of `CODES`."""
    if outcome.answer == "unknown":
        return "unknown-genotype"
    if outcome.answer == "yes":
        return "compatible"
    if outcome.answer == "no":
        return "all-alleles-refused"
    if pollen.missing or style.missing:
        return "passes-known-part"
    if pollen.ploidy > 3:
        return "some-grains-refused"
    return "shares-one-allele" if accepted else "modifier-pollen"
