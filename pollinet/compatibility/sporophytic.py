"""Sporophytic incompatibility: hazelnut.

The stigma shows both alleles of its tree, the pollen the dominant one or, where neither is
dominant, both. All grains of a tree behave alike: a cross fails if any allele that the pollen
shows stands in the stigma, so there is no half compatibility and reciprocal crosses may differ.

References
----------
Mehlenbacher 1997, Mehlenbacher 2014 (alleles and dominance); Smith 2018 (York and McDonald).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pollinet.compatibility.alleles import AlleleBook, compared_name, in_allele_order
from pollinet.compatibility.chances import allele_draws
from pollinet.compatibility.dominance import DominanceOrder
from pollinet.compatibility.outcome import NOBODY_KNOWS, Outcome
from pollinet.domain import Genotype

ANY_OTHER = "?"
"""Stands for an allele that no table names."""


def stigma_accepts(
    shown: frozenset[str] | tuple[str, ...], stigma: tuple[str, ...], book: AlleleBook
) -> bool:
    """Whether pollen that shows the alleles `shown` passes a stigma with these alleles."""
    in_stigma = {compared_name(allele, book) for allele in stigma}
    return in_stigma.isdisjoint(compared_name(allele, book) for allele in shown)


def sporophytic_outcome(
    donor: Genotype | None,
    receiver: Genotype | None,
    book: AlleleBook,
    frequencies: Mapping[str, float],
    order: DominanceOrder,
) -> Outcome:
    """The rule's answer for a pair of hazelnuts.

    Where neither `pollen_alleles` nor the order of dominance tells what the pollen shows, it may
    be either of its alleles or both, and the answer is known only if all agree. `frequencies` sum
    to 1.
    """
    stigma = receiver.alleles if receiver else ()
    missing = _missing(receiver)
    scaled = {ANY_OTHER: 0.0, **frequencies}
    chances = [
        (chance, _passes(shown, stigma, missing, book, scaled))
        for shown, chance in _shown(donor, stigma, scaled, order)
    ]
    sure, never = all(p == 1.0 for _, p in chances), all(p == 0.0 for _, p in chances)
    told = order.shown_by(donor)
    shown = in_allele_order(told or (donor.alleles if donor else ()))
    if sure:
        return Outcome("yes", 1.0, 1.0, "compatible", accepted=shown)
    if never:
        # Of whose pollen it is not known what it shows, both alleles stand in the stigma.
        code = "all-alleles-refused" if told is None else "pollen-in-stigma"
        return Outcome("no", 0.0, 0.0, code, refused=_in_stigma(shown, stigma, book))
    code = "unknown-genotype" if missing or _missing(donor) else "unknown-dominance"
    known_chances = frequencies or code == "unknown-dominance"
    probability = sum(c * p for c, p in chances) if known_chances else NOBODY_KNOWS
    return Outcome("unknown", None, probability, code)


def _missing(genotype: Genotype | None) -> int:
    """How many of the two alleles are not known."""
    if genotype is None:
        return 2
    return 0 if genotype.complete else max(1, 2 - len(genotype.alleles))


def _in_stigma(
    shown: tuple[str, ...], stigma: tuple[str, ...], book: AlleleBook
) -> tuple[str, ...]:
    """The shown alleles that stand in the stigma."""
    return tuple(allele for allele in shown if not stigma_accepts((allele,), stigma, book))


def _passes(
    shown: frozenset[str],
    stigma: tuple[str, ...],
    missing: int,
    book: AlleleBook,
    frequencies: Mapping[str, float],
) -> float:
    """Probability that the pollen passes; exactly 1 or 0 only where nothing is missing."""
    if not stigma_accepts(shown, stigma, book):
        return 0.0
    if not missing:
        return 1.0
    names = {compared_name(allele, book) for allele in shown}
    share = sum(f for allele, f in frequencies.items() if compared_name(allele, book) in names)
    return min(1.0 - 1e-12, (1.0 - share) ** missing)


def _shown(
    donor: Genotype | None,
    stigma: tuple[str, ...],
    frequencies: Mapping[str, float],
    order: DominanceOrder,
) -> Iterator[tuple[frozenset[str], float]]:
    """What the pollen may show, with probabilities; possible ones may have probability 0.

    Where the order does not tell, the three cases are taken as equally likely: no source.
    """
    if donor is not None and donor.pollen_alleles is not None:
        yield frozenset(donor.pollen_alleles), 1.0
        return
    named = donor.alleles if donor else ()
    possible = dict.fromkeys([*named, *stigma], 0.0) | dict(frequencies)
    for draw, chance in allele_draws(possible, _missing(donor)):
        cases = order.cases(named + draw)
        for case in cases:
            yield case, chance / len(cases)
