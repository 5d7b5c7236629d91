"""What a fertility rule answers, and the list of all codes that a verdict can carry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Answer = Literal["yes", "half", "no", "unknown"]

CODES: Mapping[str, str] = {
    "compatible": "none of the donor's alleles is stopped by the receiver's style",
    "shares-one-allele": "the style stops the grains with the shared allele, the others pass",
    "some-grains-refused": "the style stops some of the grains of a polyploid donor",
    "modifier-pollen": "only grains with a modifier outside the S-locus pass",
    "passes-known-part": "known alleles of the donor pass for certain, the rest is not known",
    "same-genotype": "both carry the same alleles, and all are stopped",
    "all-alleles-refused": "every allele of the donor is stopped by the receiver's style",
    "pollen-in-stigma": "sporophytic: an allele that the pollen shows is in the stigma",
    "same-variety": "the same variety, its clone or sport, which is not self-fertile",
    "partly-self-fertile": "the same variety, which sets some fruit alone: not counted on",
    "self-fertile": "the same variety, its clone or sport, which is self-fertile",
    "self-fertility-unknown": "the same variety; nobody has told whether it is self-fertile",
    "disputed-self-fertility": "the same variety; sources disagree whether it is self-fertile",
    "triploid-pollen": "the donor is triploid (or another odd ploidy): its pollen is not good",
    "sterile-pollen": "a source calls the donor's pollen sterile or useless",
    "same-group": "alleles are missing, but both belong to one incompatibility group",
    "unknown-genotype": "a genotype is missing or incomplete and the rest does not decide",
    "disputed": "sources disagree about one of the two, and the answer hangs on who is right",
    "unknown-dominance": "sporophytic: it is not known which of its alleles the pollen shows",
    "assumed-compatible": "no S-allele table serves this fruit: most other varieties do",
    "unmarked-mutation": "a self-fertile variety whose alleles do not tell why: they cannot judge",
    "other-fruit": "another kind of fruit, whose pollen does not set it",
    "unknown-fruit-cross": "a related kind of fruit; nobody here says whether its pollen sets it",
    "species-cross": "another kind of fruit; a source says that its pollen sets this one",
    "species-cross-possible": "another kind of fruit; set in trials, possible in gardens",
    "species-cross-not-relied-upon": "another kind of fruit; sources advise not to count on it",
    "different-name-space": "two fruits whose S-alleles cannot be compared",
    "measured-cross": "somebody made this cross; its result overrules the rule",
    "source-statement": "no rule decides; a source says plainly how the pair behaves",
}
"""All values of `Verdict.code` with their meaning."""


@dataclass(frozen=True)
class Outcome:
    """The answer of one rule, without the names of the varieties and without sources.

    fraction, probability, accepted, refused : as in `pollinet.domain.Verdict`.
    """

    answer: Answer
    fraction: float | None
    probability: float
    code: str
    accepted: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()


MOST_DO = 0.9
"""Chance that a variety sets another of a fruit without a table of S-alleles (European plums),
where nobody says so: all crosses of two plums in this project's tables set fruit, and known
incompatible groups are few; common practice, no source for the figure."""

NOBODY_KNOWS = 0.5
"""Probability where no frequencies are at hand: even chances; a convention, no source."""


def answer_of(fraction: float) -> Answer:
    """`yes` for all pollen, `half` for part of it, `no` for none."""
    if fraction >= 1.0:
        return "yes"
    return "half" if fraction > 0.0 else "no"


def known(fraction: float, code: str) -> Outcome:
    """An outcome that is certain."""
    return Outcome(answer_of(fraction), fraction, float(fraction > 0.0), code)


def unknown(probability: float, code: str) -> Outcome:
    """An outcome that nobody knows; `probability` that any of the pollen is accepted."""
    return Outcome("unknown", None, probability, code)
