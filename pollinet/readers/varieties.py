"""From checked facts to varieties: fertility, bloom and chill evidence, each with its source.

A value is only as good as its weakest part: a published offset from a reference variety whose
own date is recalled from memory counts as `memory`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import product

from pollinet.domain import (
    Alternative,
    BloomEvidence,
    ChillRequirement,
    Dispute,
    Fact,
    Fertility,
    Fruit,
    Genotype,
    Site,
    Stage,
    Status,
    TypedBloom,
    Variety,
    VarietyId,
)
from pollinet.readers.disputes import (
    DISPUTABLE,
    Factors,
    as_alternatives,
    dispute_of,
    fuller,
    like,
    with_alternatives,
)
from pollinet.readers.genotypes import allele_order, parse_genotype
from pollinet.readers.text_tables import HERE

DEFAULT_CHILL_SD_PORTIONS = 6.0
"""Spread of a published requirement that comes without one [portions]. Own estimate: published
SDs are 1.4 to 8.1 (median 4.7), and two studies of one variety differ by 5 to 8."""

DATED: Mapping[str, Stage] = {
    "first_bloom_day": "start",
    "full_bloom_day": "full",
    "bloom_end_day": "end",
}
"""Properties that are dates of bloom, and the stage that each one dates."""

SHED_DATED: Mapping[str, Stage] = {
    "pollen_shed_first_day": "start",
    "pollen_shed_end_day": "end",
}
"""Properties that are dates of pollen shed, where catkins have a time of their own."""

ALL_DATED: Mapping[str, Stage] = {**DATED, **SHED_DATED}

CLASSED = frozenset({"bloom_class", "pollen_shed_class", "stigma_receptivity_class"})
"""Properties that are classes, with the days that their context has for them."""

SHED = frozenset({*SHED_DATED, "pollen_shed_class"})
"""Properties that tell of the catkins and not of the flowers."""

TIMED = frozenset({*ALL_DATED, "bloom_offset_days", *CLASSED})
"""Properties that may be evidence of a date."""

RIPENING = frozenset({"harvest_day", "harvest_offset_days", "days_bloom_to_harvest"})
"""Properties that tell when a variety ripens."""

_WEAKNESS: Mapping[Status, int] = {
    "plan": 0,
    "published": 0,
    "trade": 1,
    "inferred": 2,
    "memory": 3,
    "invented": 4,
}


@dataclass(frozen=True)
class Context:
    """Where, when and how values were taken.

    place : key into the trial sites; empty: the values cannot be carried to another place;
        `here`: the garden that the plan describes.
    stage : stage of bloom that offsets and classes of this context date.
    reference_day : usual day there of the variety that offsets count from. [day of year]
    reference_variety : its name.
    sd_days : how far one value may be from the variety's usual date there. [days]
    """

    name: str
    place: str
    stage: Stage | None
    reference_day: float | None
    sd_days: float | None
    status: Status
    reference_variety: str = ""


@dataclass(frozen=True)
class BloomClass:
    """Usual day and spread of one bloom class in one context. [day of year, days]"""

    day: float
    sd_days: float
    status: Status


@dataclass(frozen=True)
class Grounds:
    """What facts refer to: contexts, bloom classes by (context, class), trial sites, disputes."""

    contexts: Mapping[str, Context]
    classes: Mapping[tuple[str, str], BloomClass]
    sites: Mapping[str, Site]
    factors: Factors = field(default_factory=dict)

    @cached_property
    def garden(self) -> frozenset[str]:
        """Contexts of the grower's own garden."""
        return frozenset(name for name, one in self.contexts.items() if one.place == HERE)


def weakest(statuses: Iterable[Status]) -> Status:
    """The least trustworthy of some statuses."""
    return max(statuses, key=lambda status: _WEAKNESS[status])


def build_variety(name: str, fruit: Fruit, facts: Sequence[Fact], grounds: Grounds) -> Variety:
    """A variety out of its facts, those that go first standing first."""
    first: dict[str, Fact] = {}
    disagreed = set[str]()
    for fact in facts:
        known = first.setdefault(fact.property, fact)
        if known.value != fact.value and fact.property in DISPUTABLE:
            disagreed.add(fact.property)
    disputes = tuple(
        _dispute(name, fruit, [fact for fact in facts if fact.property == told], grounds)
        for told in sorted(disagreed)
    )
    length = first.get("bloom_length_days")
    timed = (fact for fact in facts if fact.property in TIMED)
    told = ((fact.property in SHED, bloom_evidence(fact, grounds)) for fact in timed)
    evidence = [(shed, one) for shed, one in told if one is not None]
    return Variety(
        VarietyId(fruit.name, name),
        disputed_fertility(name, fruit, first, facts, disputes)
        if disputes
        else fertility(name, fruit, first),
        tuple(one for shed, one in evidence if not shed),
        float(length.value) if length else None,
        chill_requirements(facts),
        days_here(facts, grounds, DATED),
        tuple(facts),
        tuple(one for shed, one in evidence if shed),
        days_here(facts, grounds, SHED_DATED),
        disputes,
    )


def _dispute(name: str, fruit: Fruit, facts: Sequence[Fact], grounds: Grounds) -> Dispute:
    """The dispute about one property of a variety. facts : all of that property."""
    told = facts[0].property
    factors = {
        fact.value: grounds.factors[key]
        for fact in facts
        if (key := (fruit.name, name, told, fact.value)) in grounds.factors
    }
    return dispute_of(told, facts, factors)


def disputed_fertility(
    name: str,
    fruit: Fruit,
    first: Mapping[str, Fact],
    facts: Sequence[Fact],
    disputes: Sequence[Dispute],
) -> Fertility:
    """`fertility` where sources disagree: its alternatives are all that the values may come to.

    Different properties are taken as independent. What rests on memory, or was inferred, does so
    on every side.
    """
    told = [
        [
            (
                one.weight,
                [f for f in facts if (f.property, f.value) == (dispute.property, one.value)],
            )
            for one in dispute.values
            if one.weight > 0.0
        ]
        for dispute in disputes
    ]
    several: list[tuple[Alternative, Fertility]] = []
    for sides in product(*told):
        weight = 1.0
        for share, _ in sides:
            weight *= share
        here = {**first, **{rows[0].property: _surest(rows) for _, rows in sides}}
        side = fertility(name, fruit, here)
        several.append((replace(as_alternatives(side)[0], weight=weight), side))
    every = [side for _, side in several]
    return with_alternatives(
        replace(
            every[0],
            sources=tuple(dict.fromkeys(source for side in every for source in side.sources)),
            memory=_on_every_side([side.memory for side in every]),
            inferred=_on_every_side([side.inferred for side in every]),
        ),
        [alternative for alternative, _ in several],
    )


def _surest(facts: Sequence[Fact]) -> Fact:
    """The fact of the source that is trusted most; of equal ones the first."""
    return min(facts, key=lambda fact: _WEAKNESS[fact.status])


def _on_every_side(names: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(name for name in names[0] if all(name in more for more in names))


def fertility(name: str, fruit: Fruit, first: Mapping[str, Fact]) -> Fertility:
    """Fertility out of the first fact of each property.

    `self_compatibility` partial counts as not self-fertile for planning; the fact stays. What is
    usual for the fruit is left to the fertility stage, as a parent may tell better. `pollen_ok`
    is False for a triploid unless a source says that its pollen works; a diploid about whose
    pollen nobody says anything stays None: not known, presumed good by the fertility stage. A
    complete genotype of more than two alleles tells the ploidy where nothing else does.
    """
    genotype = _genotype(fruit, first)
    ploidy_fact = first.get("ploidy")
    ploidy = int(float(ploidy_fact.value)) if ploidy_fact else None
    if ploidy is None and genotype and genotype.complete and len(genotype.alleles) > 2:
        ploidy = len(genotype.alleles)
    if genotype and ploidy and len(genotype.alleles) < ploidy:
        genotype = replace(genotype, complete=False)
    selfing = first.get("self_compatibility")
    self_fertile = selfing.value == "yes" if selfing else None
    pollen = first.get("pollen_ok")
    share = first.get("modifier_share")
    group = first.get("incompatibility_group")
    used = {
        "genotype": first.get("s_genotype") or first.get("pollen_alleles"),
        "ploidy": ploidy_fact,
        "self_fertile": selfing,
        "pollen_ok": pollen or (ploidy_fact if ploidy == 3 else None),
        "modifier_share": share,
        "group": group,
    }
    return Fertility(
        VarietyId(fruit.name, name),
        name,
        genotype,
        ploidy,
        self_fertile,
        pollen.value == "yes" if pollen else (False if ploidy == 3 else None),
        float(share.value) if share else 0.0,
        group.value if group else None,
        tuple(dict.fromkeys(fact.source for fact in used.values() if fact)),
        tuple(field for field, fact in used.items() if fact and fact.status == "memory"),
        selfing is not None and selfing.value == "partial",
        tuple(field for field, fact in used.items() if fact and _only_inferred(fact)),
    )


def _only_inferred(fact: Fact) -> bool:
    """Whether a value was inferred and no list agrees with it, as the note would say."""
    return fact.status == "inferred" and not fact.note.startswith("also recalled")


def _genotype(fruit: Fruit, first: Mapping[str, Fact]) -> Genotype | None:
    style, pollen = first.get("s_genotype"), first.get("pollen_alleles")
    genotype = parse_genotype(style.value, fruit)[0] if style else None
    shown = parse_genotype(pollen.value, fruit)[0] if pollen else None
    if shown is None:
        return genotype
    if genotype is None:
        # The tree carries what its pollen shows; its other allele is not known.
        return Genotype(shown.alleles, False, shown.alleles)
    if not genotype.complete:
        known = sorted({*genotype.alleles, *shown.alleles}, key=allele_order)
        return Genotype(tuple(known), len(known) >= fruit.ploidy, shown.alleles)
    return replace(genotype, pollen_alleles=shown.alleles)


def bloom_evidence(fact: Fact, grounds: Grounds) -> BloomEvidence | None:
    """Evidence of a date of bloom or pollen shed in one fact; None: none that can be carried."""
    context = grounds.contexts.get(fact.context)
    if context is None or context.place not in grounds.sites:
        return None
    normals = grounds.sites[context.place].normals
    parts: list[Status] = [fact.status, context.status, normals.status if normals else "memory"]
    stage, day, sd_days = context.stage, None, context.sd_days
    if dated_stage := ALL_DATED.get(fact.property):
        kind, stage, day = "date", dated_stage, float(fact.value)
    elif fact.property == "bloom_offset_days" and context.reference_day is not None:
        kind, day = "offset", context.reference_day + float(fact.value)
    elif fact.property in CLASSED:
        kind = "class"
        if dated := grounds.classes.get((context.name, fact.value)):
            day, sd_days = dated.day, dated.sd_days
            parts.append(dated.status)
    if day is None or sd_days is None or stage is None:
        return None
    return BloomEvidence(
        stage,
        day,
        sd_days,
        context.place,
        kind,  # type: ignore[arg-type]
        fact.source,
        weakest(parts),
        context.name,
    )


def days_here(
    facts: Iterable[Fact], grounds: Grounds, dated: Mapping[str, Stage]
) -> TypedBloom | None:
    """Usual first and last day in the grower's own garden; None unless both are given.

    dated : `DATED` for bloom, `SHED_DATED` for pollen shed.
    """
    if not grounds.garden:
        return None
    named = {stage: name for name, stage in dated.items()}
    days = {fact.property: fact for fact in facts if fact.context in grounds.garden}
    if not {named["start"], named["end"]} <= set(days):
        return None
    first, last = days[named["start"]], days[named["end"]]
    sd_days = grounds.contexts[first.context].sd_days
    return TypedBloom(((float(first.value), float(last.value)),), sd_days)


def chill_requirements(facts: Iterable[Fact]) -> tuple[ChillRequirement, ...]:
    """Requirements in chill portions; requirements by other models stay facts only."""
    given = [fact for fact in facts if fact.property in ("chill_portions", "chill_portions_sd")]
    spreads = {
        (f.context, f.source): float(f.value) for f in given if f.property == "chill_portions_sd"
    }
    return tuple(
        ChillRequirement(
            float(fact.value),
            spreads.get((fact.context, fact.source), DEFAULT_CHILL_SD_PORTIONS),
            fact.source,
            fact.status,
            fact.context,
        )
        for fact in given
        if fact.property == "chill_portions"
    )


def clone_differences(clone: Fertility, parent: Fertility) -> tuple[tuple[str, str, str], ...]:
    """What a clone cannot have otherwise than its parent: (property, its own, its parent's).

    A clone has its parent's alleles and ploidy; mutants of an allele apart (`S4` and `S4'`).
    """
    found = []
    ours, theirs = clone.genotype, parent.genotype
    if ours is not None and theirs is not None and ours.complete and theirs.complete:
        plain = [[allele.rstrip("'") for allele in side.alleles] for side in (ours, theirs)]
        if plain[0] != plain[1]:
            found.append(("s_genotype", "".join(ours.alleles), "".join(theirs.alleles)))
    if clone.ploidy and parent.ploidy and clone.ploidy != parent.ploidy:
        found.append(("ploidy", str(clone.ploidy), str(parent.ploidy)))
    return tuple(found)


def _ripening(parent: Variety) -> Iterator[Fact]:
    """What is told of a parent's harvest, as facts of its sport."""
    for fact in parent.facts:
        if fact.property in RIPENING:
            yield replace(fact, note="; ".join(filter(None, (f"as {parent.id.name}", fact.note))))


def like_parent(
    sport: Variety, parent: Variety, source: str = "", status: Status = "plan"
) -> Variety:
    """A sport or clone with what is known of its parent where its own facts are silent.

    source, status : of the statement that it is one.

    A bud sport keeps the S-alleles of its parent (notes to SCHUSTER2020; common practice), and
    mostly its season: bloom, observed or typed, and harvest are taken over only where the sport
    has none of its own, and so whatever varieties are looked at beside it.
    """
    own, other = sport.fertility, parent.fertility
    taken = {
        name: getattr(other, name)
        for name in ("ploidy", "self_fertile", "pollen_ok", "group")
        if getattr(own, name) is None
    }
    if own.self_fertile is None:
        taken["partly_self_fertile"] = other.partly_self_fertile
    merged = replace(
        own,
        clone=other.clone,
        genotype=fuller(own.genotype, other.genotype),
        modifier_share=own.modifier_share or other.modifier_share,
        sources=tuple(dict.fromkeys(filter(None, (*own.sources, *other.sources, source)))),
        **taken,
    )
    if own.alternatives or other.alternatives:
        merged = with_alternatives(merged, like(as_alternatives(own), as_alternatives(other)))
    recalled = {name for name in other.memory if getattr(merged, name) != getattr(own, name)}
    recalled |= {"clone"} if status == "memory" else set()
    ripens = any(fact.property in RIPENING for fact in sport.facts)
    has_bloom = bool(sport.bloom) or sport.typed_bloom is not None
    has_shed = bool(sport.shed) or sport.typed_shed is not None
    return replace(
        sport,
        fertility=replace(
            merged,
            memory=tuple(sorted({*own.memory, *recalled})),
            inferred=tuple(sorted({*own.inferred, *(set(taken) & set(other.inferred))})),
        ),
        bloom=sport.bloom if has_bloom else parent.bloom,
        typed_bloom=sport.typed_bloom if has_bloom else parent.typed_bloom,
        shed=sport.shed if has_shed else parent.shed,
        typed_shed=sport.typed_shed if has_shed else parent.typed_shed,
        bloom_length_days=sport.bloom_length_days or parent.bloom_length_days,
        chill=sport.chill or parent.chill,
        facts=sport.facts if ripens else (*sport.facts, *_ripening(parent)),
        disputes=(*sport.disputes, *_parents_disputes(sport, parent)),
    )


def _parents_disputes(sport: Variety, parent: Variety) -> Iterable[Dispute]:
    """Disputes about its parent, of properties of which nothing is told of the sport itself."""
    told = {fact.property for fact in sport.facts}
    return (dispute for dispute in parent.disputes if dispute.property not in told)
