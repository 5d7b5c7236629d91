"""May this donor's pollen serve this receiver's flowers? The order of decision, in one place.

1. The same variety, its clone or sport: a triploid's or sterile pollen is a no, else self-fertile
   or not (`selfing`).
2. The kinds of fruit (`crossing`): another fruit without a rule that lets it pass is a no.
3. The donor's pollen (`ploidy`): triploid or sterile is a no.
4. The S-alleles (`gametophytic`, `sporophytic`), or for fruits without such a table the
   chance that most other varieties do; incompatibility groups where alleles are missing.
5. Over 3 and 4 stands what was measured or plainly said on this very pair (`measured`).

Where sources disagree about a variety, this is asked on each side of the dispute (`disputed`).

Unknown stays unknown with a probability: none of these steps turns it into a yes, except a
source that answers for this very pair.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Literal

from pollinet.compatibility.alleles import compared_name, facts_behind, mutant_part
from pollinet.compatibility.crossing import crossing_outcome
from pollinet.compatibility.disputed import joined_verdict, settled, sides
from pollinet.compatibility.gametophytic import SLocus, gametophytic_outcome, pollen_of, style_of
from pollinet.compatibility.genotypes import accepted
from pollinet.compatibility.likeness import same_variety
from pollinet.compatibility.measured import agreed, behind, crosses_made, measured_line, overruled
from pollinet.compatibility.outcome import (
    MOST_DO,
    NOBODY_KNOWS,
    Outcome,
    answer_of,
    known,
    unknown,
)
from pollinet.compatibility.ploidy import pollen_fault
from pollinet.compatibility.selfing import self_chance, selfed, selfed_by_rule
from pollinet.compatibility.sporophytic import sporophytic_outcome
from pollinet.compatibility.tables import RuleIndex, pairs_on, rule_index
from pollinet.domain import (
    CrossingRule,
    Fertility,
    FertilityRules,
    MeasuredPair,
    Verdict,
)

NO_GROUP = frozenset({"", "0", "SC", "SI"})
"""Entries in columns of incompatibility groups that name no group: unique or self-compatible."""


def cross_verdict(donor: Fertility, receiver: Fertility, rules: FertilityRules) -> Verdict:
    """Whether the donor's pollen may serve the receiver's flowers.

    Returns
    -------
    Verdict
        `answer` yes, half, no or unknown; `code` is a key of `outcome.CODES`. For a self-fertile
        variety the answer is yes; `fraction` is then the share of its grains that its own style
        accepts (S3S4': one half, which is ample), or 1 where the genotype does not explain it.

    Raises
    ------
    PollinetError
        If the rules of a variety's fruit were not loaded.
    """
    return indexed_verdict(donor, receiver, rule_index(rules))


def indexed_verdict(donor: Fertility, receiver: Fertility, index: RuleIndex) -> Verdict:
    """`cross_verdict` with tables that are already laid out."""
    pairs = pairs_on(donor, receiver, index)
    if same_variety(donor, receiver):
        verdict = self_verdict(donor, receiver, pairs, index)
    elif donor.alternatives or receiver.alternatives:
        verdict = joined_verdict(donor, receiver, _on_all_sides(donor, receiver, pairs, index))
    else:
        verdict = overruled(rule_verdict(donor, receiver, index), pairs)
    return replace(
        verdict,
        measured=tuple(measured_line(pair) for pair in pairs),
        sources=_unique((*verdict.sources, *(pair.source for pair in pairs))),
    )


# --- another variety -------------------------------------------------------------------------


def rule_verdict(donor: Fertility, receiver: Fertility, index: RuleIndex) -> Verdict:
    """The verdict of the rules alone for two different varieties, before any measured cross."""
    if donor.alternatives or receiver.alternatives:
        return joined_verdict(donor, receiver, _on_all_sides(donor, receiver, (), index))
    if donor.id.species != receiver.id.species:
        rule = index.crossings.get((donor.id.species, receiver.id.species))
        outcome = _between_fruits(donor, receiver, rule, index)
        if outcome is not None:
            memory = rule is not None and rule.status == "memory"
            sources = [rule.source] if rule else []
            return _verdict(donor, receiver, outcome, sources, memory)
    fault = pollen_fault(donor, index.fruit(donor.id.species))
    if fault is not None:
        fields = {"pollen_ok", "ploidy"}
        memory = bool(fields & {*donor.memory})
        verdict = _verdict(donor, receiver, known(0.0, fault), donor.sources, memory)
        return replace(verdict, inferred=bool(fields & {*donor.inferred}))
    return _allele_verdict(donor, receiver, index)


def _on_all_sides(
    donor: Fertility, receiver: Fertility, pairs: tuple[MeasuredPair, ...], index: RuleIndex
) -> list[tuple[float, Verdict]]:
    """The verdicts on all sides of what is disputed of a pair, each with its chance."""
    return [
        (side.chance, settled_verdict(side.donor, side.receiver, pairs, index))
        for side in sides(donor, receiver)
    ]


def settled_verdict(
    donor: Fertility, receiver: Fertility, pairs: tuple[MeasuredPair, ...], index: RuleIndex
) -> Verdict:
    """The verdict on one side of what is disputed. pairs : what is published on the pair."""
    if same_variety(donor, receiver):
        return self_verdict(donor, receiver, pairs, index)
    return overruled(rule_verdict(donor, receiver, index), pairs)


def _between_fruits(
    donor: Fertility, receiver: Fertility, rule: CrossingRule | None, index: RuleIndex
) -> Outcome | None:
    """What the kinds of fruit decide; a yes still needs good pollen, and comes after it."""
    donor_fruit, receiver_fruit = index.fruit(donor.id.species), index.fruit(receiver.id.species)
    outcome = crossing_outcome(
        rule,
        same_genus=donor_fruit.genus == receiver_fruit.genus,
        same_name_space=donor_fruit.name_space == receiver_fruit.name_space,
    )
    if outcome is not None and outcome.answer == "no":
        return outcome
    return None if pollen_fault(donor, donor_fruit) is not None else outcome


def _allele_verdict(donor: Fertility, receiver: Fertility, index: RuleIndex) -> Verdict:
    """S-alleles, groups, or the assumption for fruits without a table of alleles."""
    outcome = allele_outcome(donor, receiver, index)
    if outcome.answer == "unknown" and _same_group(donor, receiver):
        fields, outcome = {"group"}, known(0.0, "same-group")
    elif outcome.code == "assumed-compatible":
        return _verdict(donor, receiver, outcome, (), False)
    else:
        fields = {"genotype", "modifier_share"}
    if outcome.code == "unknown-genotype" and (donor.descent or receiver.descent):
        fields, outcome = {*fields, "descent"}, _by_descent(outcome, donor, receiver, index)
    if outcome.answer == "no" and any(_unmarked(side, index) for side in (donor, receiver)):
        fields |= {"self_fertile"}
        outcome = replace(unknown(NOBODY_KNOWS, "unmarked-mutation"), refused=outcome.refused)
    facts = [
        fact
        for side in (donor, receiver)
        for allele in (side.genotype.alleles if side.genotype else ())
        for fact in facts_behind(allele, index.loci[side.id.species].book)
    ]
    orders = index.loci[receiver.id.species].dominance.behind(donor.genotype)
    grounds = [(fact.source, fact.status) for fact in facts]
    grounds += [(fact.source, fact.status) for fact in orders]
    recalled = any(status == "memory" for _, status in grounds)
    memory = bool(fields & {*donor.memory, *receiver.memory}) or recalled
    sources = (*donor.sources, *receiver.sources, *(source for source, _ in grounds))
    verdict = _verdict(donor, receiver, outcome, sources, memory)
    if outcome.code not in ("unknown-genotype", "by-descent"):
        return verdict
    return replace(verdict, untold=_untold(donor, receiver))


def _untold(donor: Fertility, receiver: Fertility) -> tuple[Literal["donor", "receiver"], ...]:
    """The sides of which not all S-alleles are known."""
    sides: list[tuple[Literal["donor", "receiver"], Fertility]] = [
        ("donor", donor),
        ("receiver", receiver),
    ]
    return tuple(side for side, own in sides if own.genotype is None or not own.genotype.complete)


def allele_outcome(donor: Fertility, receiver: Fertility, index: RuleIndex) -> Outcome:
    """The outcome of the receiver's fertility system, on genotypes alone."""
    fruit, donor_fruit = index.fruit(receiver.id.species), index.fruit(donor.id.species)
    locus = index.loci[fruit.name]
    if fruit.system == "class":
        # A fruit that sets itself as a rule (peach) has no incompatibility that works.
        sets_itself = fruit.self_fertile_default is True
        return (known(1.0, "assumed-compatible") if sets_itself
                else unknown(MOST_DO, "assumed-compatible"))  # fmt: skip
    if fruit.system == "sporophytic":
        return sporophytic_outcome(
            donor.genotype, receiver.genotype, locus.book, locus.frequencies, locus.dominance
        )
    outcome = gametophytic_outcome(
        pollen_of(donor, donor_fruit, locus), style_of(receiver, fruit, locus), locus
    )
    if outcome.answer == "no" and _same_genotype(donor, receiver, locus):
        return replace(outcome, code="same-genotype")
    return outcome


def _by_descent(
    outcome: Outcome, donor: Fertility, receiver: Fertility, index: RuleIndex
) -> Outcome:
    """An unknown outcome after what the parents of one or both can have given them.

    Against a variety of which nothing at all is told they settle nothing: it may have whatever
    alleles they gave.
    """
    locus = index.loci[receiver.id.species]
    if not locus.frequencies or _nothing_told(donor) or _nothing_told(receiver):
        return outcome
    giving, taking = index.laid_out(donor), index.laid_out(receiver)
    share = accepted(
        giving.grains[:, None], giving.share[:, None], taking.stops[None], giving.modifier_share,
        mixed_grains_pass=locus.mixed_grains_pass,
    )  # fmt: skip
    chance = giving.chance[:, None] * taking.chance
    least = float(share[chance > 0].min())
    if least > 0.0:
        return Outcome(answer_of(least), least, 1.0, "by-descent")
    return replace(outcome, probability=float(chance[share > 0].sum()))


def _nothing_told(own: Fertility) -> bool:
    """Whether neither alleles nor parents of a variety are known."""
    return not (own.genotype and own.genotype.alleles) and own.descent is None


def _same_genotype(donor: Fertility, receiver: Fertility, locus: SLocus) -> bool:
    """Whether both carry the same alleles, mutants told apart from the plain alleles."""
    theirs = [
        {(compared_name(a, locus.book), mutant_part(a, locus.book)) for a in side.genotype.alleles}
        for side in (donor, receiver)
        if side.genotype is not None and side.genotype.complete
    ]
    return len(theirs) == 2 and theirs[0] == theirs[1]


def _unmarked(variety: Fertility, index: RuleIndex) -> bool:
    """Whether it is self-fertile although its alleles, as far as known, refuse one another.

    Something that is not written in the genotype lets its pollen pass, or its style take pollen
    (cherries Cristobalina and Talegal Ahim): what it does in crosses cannot be read off it.
    """
    if not variety.self_fertile or variety.genotype is None:
        return False
    # A missing allele may be the one that passes, and need not be.
    known_part = replace(variety, genotype=replace(variety.genotype, complete=True))
    by_alleles = index.fruit(variety.id.species).system == "gametophytic"
    return by_alleles and self_chance(known_part, index) == 0.0


def _same_group(donor: Fertility, receiver: Fertility) -> bool:
    """Groups are numbered within one fruit; two of one group refuse each other."""
    same_fruit = donor.id.species == receiver.id.species
    return same_fruit and donor.group == receiver.group and (donor.group or "") not in NO_GROUP


# --- the same variety ------------------------------------------------------------------------


def self_verdict(
    donor: Fertility, receiver: Fertility, pairs: tuple[MeasuredPair, ...], index: RuleIndex
) -> Verdict:
    """The verdict on a variety's own pollen, or that of its clone or sport.

    Yes only where a source, the species as a whole or a selfing that was made says so.
    """
    if donor.alternatives or receiver.alternatives:
        return joined_verdict(donor, receiver, _on_all_sides(donor, receiver, pairs, index))
    rule = allele_outcome(donor, receiver, index)
    made = crosses_made(pairs)
    result = agreed(made)
    fault = pollen_fault(donor, index.fruit(donor.id.species))
    if fault is not None:  # self-fertile or not: what gives no good pollen serves nobody
        outcome, fields = known(0.0, fault), {"pollen_ok", "ploidy"}
    elif receiver.self_fertile is not None:
        outcome, fields = selfed(receiver.self_fertile, rule), {"self_fertile"}
        if receiver.partly_self_fertile:
            outcome = replace(outcome, code="partly-self-fertile")
    elif result is not None:
        outcome = replace(selfed(result != "no", rule), code="measured-cross")
        return _verdict(donor, receiver, outcome, *behind(made))
    else:
        outcome, fields = selfed_by_rule(receiver, rule, index), {"genotype"}
    if donor.id != receiver.id:
        fields |= {"clone"}
    memory = bool(fields & {*donor.memory, *receiver.memory})
    return _verdict(donor, receiver, outcome, (*donor.sources, *receiver.sources), memory)


def with_selfing(fertility: Fertility, rules: FertilityRules) -> Fertility:
    """A fertility with `self_fertile` filled in where the alleles decide; else as it was."""
    known = (side.genotype is not None and side.genotype.complete for _, side in settled(fertility))
    if fertility.self_fertile is not None or not all(known):
        return fertility
    verdict = cross_verdict(fertility, fertility, rules)
    if verdict.answer == "unknown":
        return fertility
    memory = (*fertility.memory, "self_fertile") if verdict.memory else fertility.memory
    return replace(fertility, self_fertile=verdict.answer != "no", memory=memory)


# --- putting it together ---------------------------------------------------------------------


def _unique(sources: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(source for source in sources if source))


def _verdict(
    donor: Fertility,
    receiver: Fertility,
    outcome: Outcome,
    sources: Iterable[str],
    memory: bool,
) -> Verdict:
    return Verdict(
        donor=donor.id,
        receiver=receiver.id,
        answer=outcome.answer,
        fraction=outcome.fraction,
        probability=outcome.probability,
        code=outcome.code,
        accepted=outcome.accepted,
        refused=outcome.refused,
        sources=_unique(sources),
        memory=memory,
    )
