"""All that is known of one variety, with sources, and what is missing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar, Literal

from pollinet.answers.base import About, Answer, Findings, Recalled, Told, Typed
from pollinet.answers.cross import Crossing, crossing
from pollinet.answers.parts import DisputeTold, Fruit, disputes_told
from pollinet.compatibility.verdict import cross_verdict, with_selfing
from pollinet.domain import (
    BloomEvidence,
    Catalogue,
    Fact,
    MeasuredPair,
    Stage,
    Status,
    Variety,
    Verdict,
)
from pollinet.findings import Finding
from pollinet.readers.varieties import DATED, SHED_DATED, Context, Grounds, bloom_evidence
from pollinet.summary.limbs import memory_words
from pollinet.summary.varieties import relative_bloom
from pollinet.wording.varieties import LABELS, missing_lines, variety_answer


@dataclass(frozen=True)
class FactBloom:
    """The date of bloom, or of pollen shed, that comes of a fact."""

    stage: Stage
    day_of_year: float
    sd_days: Annotated[float, About("How far the usual date may be from it. [days]")]
    place: Annotated[str, About("Where it was dated; here: in the grower's garden.")]
    status: Status


@dataclass(frozen=True)
class FactTold:
    """One value of one property."""

    property: str
    value: str
    unit: str
    context: Annotated[str, About("Place and years.")]
    source: str
    status: Status
    note: str
    bloom: Annotated[FactBloom | None, About("The date that comes of it.")]


@dataclass(frozen=True)
class PublishedCross:
    """A cross that somebody made."""

    female: Annotated[str, About("Receiver of the pollen.")]
    male: Annotated[str, About("Donor of the pollen.")]
    result: Literal["yes", "half", "no"]
    fruit_set_pct: Annotated[str, About("[%]; empty: not told.")]
    kind: str
    source: str
    status: Status


@dataclass(frozen=True, repr=False)
class VarietyPage(Answer):
    """All that is known of a variety."""

    NAME: ClassVar[str] = "variety"
    ROWS: ClassVar[str] = "facts"
    ROW: ClassVar[type] = FactTold

    answer: Told
    species: Fruit
    variety: str
    typed: Typed
    other_names: Annotated[tuple[str, ...], About("Synonyms and registered names.")]
    clone_of: Annotated[str | None, About("Variety whose sport it is.")]
    sports: Annotated[tuple[str, ...], About("Its own sports.")]
    s_alleles: tuple[str, ...] | None
    s_alleles_complete: bool | None
    ploidy: Annotated[int | None, About("Sets of chromosomes.")]
    pollen_ok: bool | None
    self_fertile: bool | None
    incompatibility_group: str | None
    own_pollen: Annotated[Crossing, About("What its own pollen does, from all that is known.")]
    same_s_alleles: Annotated[tuple[str, ...], About("Varieties with the same S-alleles.")]
    bloom_relative_days: Annotated[float | None, About("Against the fruit's middle. [days]")]
    disputes: Annotated[
        tuple[DisputeTold, ...], About("What sources disagree about, with all values.")
    ]
    facts: tuple[FactTold, ...]
    crosses: Annotated[tuple[PublishedCross, ...], About("Crosses that somebody made.")]
    missing: Annotated[tuple[str, ...], About("What is not known, and how to find out.")]
    rests_on_memory: Recalled
    sources: Annotated[dict[str, str], About("Citations by source id.")]
    findings: Findings


# --- gathering -------------------------------------------------------------------------------

BLOOM = (*DATED, *SHED_DATED, "bloom_offset_days", "bloom_class")
"""Properties that say when a variety blooms or sheds its pollen."""


@dataclass(frozen=True)
class KnownFact:
    """One fact with the date that comes of it, and the context it belongs to."""

    fact: Fact
    evidence: BloomEvidence | None
    context: Context | None

    @property
    def unused(self) -> bool:
        """Whether it says when the variety blooms, and yet no date comes of it."""
        here = self.context is not None and self.context.place == "here"
        return self.fact.property in BLOOM and self.evidence is None and not here


@dataclass(frozen=True)
class KnownVariety:
    """What is known of a variety.

    relative_days : its bloom against the middle of the fruit. [days]
    other_names : synonyms and registered names. sports : its own clones and sports.
    sharing : varieties with the same S-alleles, those with known bloom first.
    own_pollen : what its own pollen does, from all that is known.
    """

    variety: Variety
    relative_days: float | None
    facts: tuple[KnownFact, ...]
    other_names: tuple[str, ...]
    sports: tuple[str, ...]
    sharing: tuple[str, ...]
    crosses: tuple[MeasuredPair, ...]
    own_pollen: Verdict


def look_at_variety(variety: Variety, catalogue: Catalogue, grounds: Grounds) -> KnownVariety:
    """Gather what is known of a variety, its facts in the order in which a page tells them."""
    name, rules = variety.id, catalogue.rules
    peers = [v for v in catalogue.varieties.values() if v.id.species == name.species]
    order = {word: number for number, word in enumerate(LABELS)}
    facts = sorted(variety.facts, key=lambda f: (order.get(f.property, 99), f.context))
    own_pollen = cross_verdict(variety.fertility, variety.fertility, rules)
    variety = replace(variety, fertility=with_selfing(variety.fertility, rules))
    return KnownVariety(
        variety,
        relative_bloom(peers).get(name),
        tuple(
            KnownFact(fact, bloom_evidence(fact, grounds), grounds.contexts.get(fact.context))
            for fact in facts
        ),
        tuple(
            sorted(
                other.name
                for other, meant in catalogue.synonyms.items()
                if meant == name and other not in catalogue.trade_names
            )
        ),
        tuple(v.id.name for v in peers if v.fertility.clone == name.name and v.id != name),
        tuple(_sharing(variety, peers)),
        tuple(
            pair
            for pair in rules.pairs
            if pair.species == name.species and name.name in (pair.female, pair.male)
        ),
        own_pollen,
    )


def _sharing(variety: Variety, peers: Iterable[Variety]) -> list[str]:
    genotype = variety.fertility.genotype
    if genotype is None or not genotype.complete:
        return []
    alike = [
        peer
        for peer in peers
        if peer.fertility.genotype is not None
        and peer.fertility.genotype.complete
        and peer.fertility.genotype.alleles == genotype.alleles
        and peer.fertility.clone == peer.id.name != variety.fertility.clone
    ]
    return [peer.id.name for peer in sorted(alike, key=lambda p: (not p.bloom, p.id))]


# --- telling ---------------------------------------------------------------------------------

SHOWN_CROSSES = 5
"""Published crosses whose sources are told with the answer: those that a page shows."""


def variety_page_of(
    known: KnownVariety,
    catalogue: Catalogue,
    findings: Sequence[Finding],
    typed: str | None = None,
) -> VarietyPage:
    """The answer, with all names and crosses, and whole citations.

    typed : the name as it was typed, where it is not that of the catalogue.
    """
    variety, fertility = known.variety, known.variety.fertility
    fruit, genotype = catalogue.rules.fruits[variety.id.species], fertility.genotype
    return VarietyPage(
        answer=variety_answer(variety, fruit, known.relative_days),
        species=variety.id.species,
        variety=variety.id.name,
        typed=typed,
        other_names=known.other_names,
        clone_of=fertility.clone if fertility.clone != variety.id.name else None,
        sports=known.sports,
        s_alleles=None if genotype is None else genotype.alleles,
        s_alleles_complete=None if genotype is None else genotype.complete,
        ploidy=fertility.ploidy,
        pollen_ok=fertility.pollen_ok,
        self_fertile=fertility.self_fertile,
        incompatibility_group=fertility.group,
        own_pollen=crossing(known.own_pollen, catalogue),
        same_s_alleles=known.sharing,
        bloom_relative_days=known.relative_days,
        disputes=disputes_told(variety),
        facts=tuple(map(_fact, known.facts)),
        crosses=tuple(map(_cross, known.crosses)),
        missing=tuple(missing_lines(variety, fruit)),
        rests_on_memory=tuple(field for field, _ in memory_words(variety)),
        sources={source: catalogue.sources.get(source, "") for source in _sources(known)},
        findings=tuple(findings),
    )


def _sources(known: KnownVariety) -> Sequence[str]:
    used = [told.fact.source for told in known.facts]
    used += [
        source
        for dispute in known.variety.disputes
        for value in dispute.values
        for source, _ in value.told_by
    ]
    used += [pair.source for pair in known.crosses[:SHOWN_CROSSES]]
    return sorted({*used, *known.variety.fertility.sources, *known.own_pollen.sources})


def _fact(known: KnownFact) -> FactTold:
    fact, evidence = known.fact, known.evidence
    return FactTold(
        property=fact.property,
        value=fact.value,
        unit=fact.unit,
        context=fact.context,
        source=fact.source,
        status=fact.status,
        note=fact.note,
        bloom=None
        if evidence is None
        else FactBloom(
            evidence.stage,
            round(evidence.day, 1),
            evidence.sd_days,
            evidence.place,
            evidence.status,
        ),
    )


def _cross(pair: MeasuredPair) -> PublishedCross:
    return PublishedCross(
        pair.female,
        pair.male,
        pair.result,
        pair.fruit_set_pct,
        pair.kind,
        pair.source,
        pair.status,
    )
