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

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations_with_replacement

import numpy as np

from pollinet.compatibility.alleles import (
    PASSES,
    AlleleBook,
    allele_book,
    in_allele_order,
    pollen_identity,
    style_identity,
)
from pollinet.compatibility.chances import allele_draws, at_least, drawn_places, possible_stops
from pollinet.compatibility.dominance import DominanceOrder, dominance_order
from pollinet.compatibility.outcome import NOBODY_KNOWS, Answer, Outcome, answer_of
from pollinet.compatibility.ploidy import grains, ploidy_of
from pollinet.domain import Fertility, FertilityRules, Fruit, UsualFertility

MIXED_GRAINS_PASS = frozenset({"Malus", "Pyrus"})
"""Genera in which a grain with two different alleles passes every style (Adachi et al. 2009)."""

ANY_OTHER = "?"
"""Stands for an allele that no table names."""


@dataclass(frozen=True)
class SLocus:
    """The S-locus of one fruit.

    frequencies : of the alleles, with a sum of 1, `ANY_OTHER` for those that no table names;
        empty where they are not known.
    odd_ploidy : chance that a variety of which nothing is told has an odd number of sets.
    mixed_grains_pass : whether a grain with two different alleles passes every style.
    dominance : what pollen with two alleles shows, where it shows what its plant says.
    answered : outcomes that were worked out before; a catalogue asks the same ones very often.
    """

    book: AlleleBook
    frequencies: Mapping[str, float]
    mixed_grains_pass: bool
    odd_ploidy: float = 0.0
    dominance: DominanceOrder = field(default_factory=DominanceOrder)
    answered: dict[tuple[Pollen, Style], Outcome] = field(
        default_factory=dict, repr=False, compare=False
    )


@dataclass(frozen=True)
class Pollen:
    """The pollen side of a variety.

    alleles : the known alleles, under the names that the source gives.
    seen : what styles see of them, in the same order; `PASSES` for pollen-part mutants.
    missing : how many alleles are not known.
    good : chance that it is good pollen; below 1 where the number of sets is not known.
    """

    alleles: tuple[str, ...]
    seen: tuple[str, ...]
    missing: int
    ploidy: int
    modifier_share: float = 0.0
    good: float = 1.0


@dataclass(frozen=True)
class Style:
    """What a receiver's style stops, and how many of its alleles are not known.

    one_more : chance that it has one set more than presumed, where that is not known.
    """

    stops: frozenset[str]
    missing: int
    one_more: float = 0.0


def s_locus(fruit: Fruit, rules: FertilityRules) -> SLocus:
    """The S-locus of a fruit; frequencies are scaled to a sum of 1."""
    counted = rules.allele_frequencies.get(fruit.name_space, {})
    usual = rules.usual.get(fruit.name, UsualFertility())
    total, seen = sum(counted.values()), 1.0 - usual.unseen_alleles
    frequencies = {name: seen * n / total for name, n in counted.items()} if total > 0 else {}
    if frequencies and usual.unseen_alleles:
        frequencies[ANY_OTHER] = usual.unseen_alleles
    return SLocus(
        book=allele_book(fruit.name_space, rules.alleles),
        frequencies=frequencies,
        mixed_grains_pass=fruit.genus in MIXED_GRAINS_PASS,
        odd_ploidy=usual.odd_ploidy,
        dominance=dominance_order(fruit.name_space, rules.dominance),
    )


def odd_chance(fertility: Fertility, locus: SLocus) -> float:
    """Chance that a variety has one set more than presumed; 0 where its ploidy or genotype tell."""
    told = fertility.ploidy is not None or (fertility.genotype and fertility.genotype.complete)
    return 0.0 if told else locus.odd_ploidy


def missing_alleles(fertility: Fertility, fruit: Fruit) -> int:
    """How many alleles of a variety nobody has told us."""
    sets = ploidy_of(fertility, fruit)
    if fertility.genotype is None:
        return sets
    return 0 if fertility.genotype.complete else max(1, sets - len(fertility.genotype.alleles))


def pollen_of(fertility: Fertility, fruit: Fruit, locus: SLocus) -> Pollen:
    """The pollen side of a variety."""
    alleles = fertility.genotype.alleles if fertility.genotype else ()
    return Pollen(
        alleles,
        tuple(pollen_identity(allele, locus.book) for allele in alleles),
        missing_alleles(fertility, fruit),
        ploidy_of(fertility, fruit),
        fertility.modifier_share,
        1.0 if fertility.pollen_ok else 1.0 - odd_chance(fertility, locus),
    )


def style_of(fertility: Fertility, fruit: Fruit, locus: SLocus) -> Style:
    """The style side of a variety.

    A stylar-part mutant stops nothing, unless the variety is known to be wholly
    self-incompatible: its allele is then a working one of the same name (Vivot S23Sf, Ponç Sf).
    """
    alleles = fertility.genotype.alleles if fertility.genotype else ()
    active = fertility.self_fertile is False and not fertility.partly_self_fertile
    stops = {style_identity(allele, locus.book, active=active) for allele in alleles}
    missing, one_more = missing_alleles(fertility, fruit), odd_chance(fertility, locus)
    return Style(frozenset(stops - {PASSES}), missing, one_more)


def style_accepts(grain: tuple[str, ...], stops: frozenset[str], mixed_grains_pass: bool) -> bool:
    """Whether a grain passes a style that stops the alleles `stops`.

    grain : what is seen of its alleles, `PASSES` where nothing is.
    """
    seen = set(grain) - {PASSES}
    return (mixed_grains_pass and len(seen) > 1) or seen.isdisjoint(stops)


def accepted_share(pollen: Pollen, stops: frozenset[str], mixed_grains_pass: bool) -> float:
    """Share of a completely known donor's grains that a style accepts, 0 to 1.

    Grains with the modifier pass whatever they carry; the others follow the S-locus.
    """
    made = grains(pollen.seen, pollen.ploidy)
    passed = sum(style_accepts(grain, stops, mixed_grains_pass) for grain in made) / len(made)
    return pollen.modifier_share + (1.0 - pollen.modifier_share) * passed


def possible_shares(pollen: Pollen, style: Style, mixed_grains_pass: bool) -> set[float]:
    """The accepted shares that are possible, whatever the missing alleles turn out to be.

    It is enough to let a missing allele be one that is known of the pair, or one other: several
    others can only be stopped less often than one.
    """
    found: set[float] = set()
    candidates = sorted({*pollen.seen, *style.stops, ANY_OTHER})
    for draw in combinations_with_replacement(candidates, pollen.missing):
        full = replace(pollen, seen=pollen.seen + draw, missing=0)
        asked = frozenset(full.seen) - {PASSES}
        for stops in possible_stops(asked, style.stops, style.missing + (style.one_more > 0)):
            found.add(accepted_share(full, stops, mixed_grains_pass))
    return found


def chance_of_any(pollen: Pollen, style: Style, locus: SLocus) -> float:
    """Probability that any grain passes: exact sum over what the style may carry."""
    if not locus.frequencies:
        return NOBODY_KNOWS
    usual = _chance_of_any(pollen, style, locus)
    if style.one_more:
        more = _chance_of_any(pollen, replace(style, missing=style.missing + 1), locus)
        usual += style.one_more * (more - usual)
    return min(pollen.good * usual, 1.0)


def _chance_of_any(pollen: Pollen, style: Style, locus: SLocus) -> float:
    """The same for good pollen, and a style that has as many sets as presumed."""
    of_pollen = _identity_frequencies(locus, pollen_identity)
    of_styles = _identity_frequencies(locus, style_identity)
    if pollen.missing and locus.mixed_grains_pass and pollen.ploidy > 3:
        return _chance_of_mixed(pollen, style, of_pollen, of_styles)
    if pollen.missing:
        return _chance_of_drawn(pollen, style, of_pollen, of_styles)
    # All alleles that the pollen does not show are one to it.
    others = [name for name in of_styles if name == PASSES or name not in pollen.seen]
    of_styles[PASSES] = sum(of_styles.pop(name) for name in others)
    return sum(
        chance
        for draw, chance in allele_draws(of_styles, style.missing)
        if accepted_share(pollen, style.stops | frozenset(draw), locus.mixed_grains_pass) > 0.0
    )


def _chance_of_drawn(
    pollen: Pollen, style: Style, of_pollen: Mapping[str, float], of_styles: Mapping[str, float]
) -> float:
    """The same where alleles of the pollen are missing, and drawn as those of the style are.

    A grain passes where as many alleles as it carries are free of the style's.
    """
    names = sorted({*of_pollen, *of_styles, *pollen.seen, *style.stops})
    place = {name: i for i, name in enumerate(names)}
    drawn = sorted(of_styles)
    draws, chance = drawn_places([of_styles[name] for name in drawn], style.missing)
    free = np.ones((len(draws), len(names)), dtype=bool)
    among = np.array([place[name] for name in drawn], dtype=np.int64)
    free[np.arange(len(draws))[:, None], among[draws]] = False
    free[:, [place[name] for name in style.stops]] = False
    if PASSES in place:
        free[:, place[PASSES]] = True
    shares = np.array([of_pollen.get(name, 0.0) for name in names])
    each = np.minimum((free * shares).sum(axis=1), 1.0)
    known_free = free[:, [place[name] for name in pollen.seen]].sum(axis=1)
    size, passing = max(1, pollen.ploidy // 2), np.zeros(len(draws))
    for known in np.unique(known_free).tolist():
        here = known_free == known
        passing[here] = at_least(size - known, pollen.missing, each[here])
    return float((chance * passing).sum())


def _chance_of_mixed(
    pollen: Pollen, style: Style, of_pollen: Mapping[str, float], of_styles: Mapping[str, float]
) -> float:
    """The same where mixed grains pass and alleles of the pollen are missing.

    None passes only if all alleles of the donor are one and the same, and stopped.
    """
    known = set(pollen.seen)
    alike = sorted(of_pollen) if not known else sorted(known) if len(known) == 1 else []
    refused = 0.0
    for name in alike:
        if name != PASSES:
            free = 0.0 if name in style.stops else (1.0 - of_styles.get(name, 0.0)) ** style.missing
            refused += of_pollen.get(name, 0.0) ** pollen.missing * (1.0 - free)
    return 1.0 - refused


def _identity_frequencies(
    locus: SLocus, identity: Callable[[str, AlleleBook], str]
) -> dict[str, float]:
    """Frequencies of what is seen of pollen, or stopped by styles."""
    found: dict[str, float] = {}
    for allele, frequency in locus.frequencies.items():
        name = identity(allele, locus.book)
        found[name] = found.get(name, 0.0) + frequency
    return found


def self_passing(pollen: Pollen, locus: SLocus) -> float:
    """Probability that an incomplete genotype holds an allele or modifier that passes itself."""

    def passes(allele: str) -> bool:
        return PASSES in (
            pollen_identity(allele, locus.book),
            style_identity(allele, locus.book),
        )

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
    if (pollen, style) not in locus.answered:
        locus.answered[pollen, style] = _outcome(pollen, style, locus)
    return locus.answered[pollen, style]


def _outcome(pollen: Pollen, style: Style, locus: SLocus) -> Outcome:
    if pollen.missing or style.missing:
        shares = possible_shares(pollen, style, locus.mixed_grains_pass)
    else:
        shares = {accepted_share(pollen, style.stops, locus.mixed_grains_pass)}
    if pollen.good < 1.0:
        shares.add(0.0)
    least = min(shares)
    if least > 0.0 or max(shares) == 0.0:
        return _named(answer_of(least), least, float(least > 0.0), pollen, style)
    return _named("unknown", None, chance_of_any(pollen, style, locus), pollen, style)


def _named(
    answer: Answer, fraction: float | None, probability: float, pollen: Pollen, style: Style
) -> Outcome:
    """The outcome with its code and the alleles that are known to be accepted or refused."""
    seen = dict(zip(pollen.alleles, pollen.seen, strict=True))
    refused = in_allele_order(a for a, name in seen.items() if name in style.stops)
    accepted = in_allele_order(
        a
        for a, name in seen.items()
        if name == PASSES or (not style.missing and name not in style.stops)
    )
    code = _code(answer, pollen, style, accepted)
    return Outcome(answer, fraction, probability, code, accepted, refused)


def _code(answer: Answer, pollen: Pollen, style: Style, accepted: tuple[str, ...]) -> str:
    """Why, as a word of `CODES`."""
    if answer == "unknown":
        return "unknown-genotype"
    if answer != "half":
        return "compatible" if answer == "yes" else "all-alleles-refused"
    if pollen.missing or style.missing:
        return "passes-known-part"
    if pollen.ploidy > 3:
        return "some-grains-refused"
    return "shares-one-allele" if accepted else "modifier-pollen"
