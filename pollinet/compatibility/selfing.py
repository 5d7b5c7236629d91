"""A variety's own pollen, or that of its clone or sport.

Self-fertility is a fact of its own, never read off a genotype alone: almonds Vivot and Ponç carry
Sf and are self-incompatible, cherry Cristobalina is self-compatible with a plain S3S6.

References
----------
Kodad et al. 2009, Fernández i Martí et al. 2010 (Ponç, Vivot); Schuster 2020 (Cristobalina).
"""

from __future__ import annotations

from dataclasses import replace

from pollinet.compatibility.alleles import in_allele_order
from pollinet.compatibility.gametophytic import accepted_share, pollen_of, self_passing, style_of
from pollinet.compatibility.outcome import NOBODY_KNOWS, Outcome, known, unknown
from pollinet.compatibility.tables import RuleIndex
from pollinet.domain import Fertility


def selfed(fertile: bool, rule: Outcome) -> Outcome:
    """The outcome where it is known whether the variety is self-fertile.

    rule : what the alleles say about the variety's own pollen, for the alleles and the share.
    """
    if not fertile:
        return replace(
            known(0.0, "same-variety"), refused=in_allele_order(rule.accepted + rule.refused)
        )
    return replace(
        rule, answer="yes", fraction=rule.fraction or 1.0, probability=1.0, code="self-fertile"
    )


def selfed_by_rule(variety: Fertility, rule: Outcome, index: RuleIndex) -> Outcome:
    """The outcome where nobody has told whether the variety is self-fertile.

    What is usual for the fruit decides, unless the alleles speak for the contrary: a genotype in
    which some grains should pass is unknown until a source says that they do.
    """
    usual = index.fruit(variety.id.species).self_fertile_default
    if usual:
        return selfed(True, rule)
    chance = self_chance(variety, index)
    if chance == 0.0 or (usual is False and chance < 1.0):
        return selfed(False, rule)
    return replace(unknown(chance, "self-fertility-unknown"), accepted=rule.accepted)


def self_chance(variety: Fertility, index: RuleIndex) -> float:
    """Probability that some grain of a variety passes its own style, as far as alleles tell."""
    fruit = index.fruit(variety.id.species)
    locus = index.loci[fruit.name]
    if fruit.system == "class":
        share = index.usual_of(fruit.name).self_fertile
        return NOBODY_KNOWS if share is None else share
    if fruit.system == "sporophytic":
        return 0.0  # What the pollen shows always stands in the stigma of its own tree.
    pollen = pollen_of(variety, fruit, locus)
    if not pollen.missing:
        stops = style_of(variety, fruit, locus).stops
        return float(accepted_share(pollen, stops, locus.mixed_grains_pass) > 0.0)
    return self_passing(pollen, locus)
