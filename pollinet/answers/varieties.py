"""The varieties of a fruit of which the catalogue knows something."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings, Recalled, Told
from pollinet.answers.parts import DisputeTold, Fruit, disputes_told
from pollinet.summary.limbs import memory_words
from pollinet.summary.varieties import ListedVariety, Search, genotype_text
from pollinet.wording.varieties import list_answer


@dataclass(frozen=True)
class VarietyRow:
    """One variety of the list."""

    species: Fruit
    variety: str
    clone_of: Annotated[str | None, About("Variety whose sport it is.")]
    s_genotype: Annotated[str | None, About("S-alleles.")]
    incompatibility_group: str | None
    ploidy: Annotated[int | None, About("Sets of chromosomes.")]
    pollen_ok: bool | None
    self_fertile: bool | None
    disputes: Annotated[
        tuple[DisputeTold, ...], About("What sources disagree about, with all values.")
    ]
    bloom: Annotated[str | None, About("Class: early, mid, late …")]
    bloom_relative_days: Annotated[float | None, About("Against the fruit's middle. [days]")]
    bloom_places: Annotated[tuple[str, ...], About("Where its bloom was dated.")]
    chill_portions: Annotated[tuple[float, ...], About("Published needs. [chill portions]")]
    rests_on_memory: Recalled
    sources: tuple[str, ...]


@dataclass(frozen=True, repr=False)
class Varieties(Answer):
    """The varieties of a fruit."""

    NAME: ClassVar[str] = "varieties"
    ROWS: ClassVar[str] = "varieties"
    ROW: ClassVar[type] = VarietyRow

    answer: Told
    varieties: tuple[VarietyRow, ...]
    findings: Findings


def varieties_of(found: Search, where: Sequence[str] = ()) -> Varieties:
    """The list of a fruit, from a search that no error ended; where : the conditions as typed."""
    assert found.fruit is not None and found.catalogue is not None
    known = len(found.catalogue.varieties)
    words = list_answer(len(found.rows), known, found.fruit, where)
    return Varieties(words, tuple(map(_row, found.rows)), found.findings)


def _row(row: ListedVariety) -> VarietyRow:
    variety, fertility = row.variety, row.variety.fertility
    told = [fact.source for fact in variety.facts] + [e.source for e in variety.bloom]
    return VarietyRow(
        species=variety.id.species,
        variety=variety.id.name,
        clone_of=fertility.clone if fertility.clone != variety.id.name else None,
        s_genotype=genotype_text(fertility.genotype),
        incompatibility_group=fertility.group,
        ploidy=fertility.ploidy,
        pollen_ok=fertility.pollen_ok,
        self_fertile=fertility.self_fertile,
        disputes=disputes_told(variety),
        bloom=row.bloom or None,
        bloom_relative_days=row.relative_days,
        bloom_places=tuple(sorted({evidence.place for evidence in variety.bloom})),
        chill_portions=tuple(requirement.portions for requirement in variety.chill),
        rests_on_memory=tuple(field for field, _ in memory_words(variety)),
        sources=tuple(sorted({*told, *fertility.sources})),
    )
