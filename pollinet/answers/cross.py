"""May one variety's pollen serve another's flowers, allele by allele."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal

from pollinet.answers.base import About, Answer, Findings, Typed, flat
from pollinet.compatibility.crossing import strength_of
from pollinet.compatibility.verdict import cross_verdict
from pollinet.domain import Catalogue, CrossingStrength, VarietyId, Verdict
from pollinet.findings import Finding
from pollinet.wording.verdicts import verdict_sentence

Strength = Annotated[
    CrossingStrength | None,
    About("How far growers count on a cross of these kinds; null: one kind, or bad pollen."),
]


@dataclass(frozen=True)
class Crossing:
    """The verdict on one way of a cross."""

    species: Annotated[str, About("Kind of fruit of the receiver.")]
    female: Annotated[str, About("Receiver of the pollen.")]
    male: Annotated[str, About("Donor of the pollen.")]
    female_typed: Typed
    male_typed: Typed
    verdict: Literal["yes", "half", "no", "unknown"]
    fraction: Annotated[
        float | None, About("Share of the pollen that the style accepts; null: not known.")
    ]
    probability: Annotated[float, About("Chance that any of it is accepted.")]
    code: Annotated[str, About("Why, as a stable word.")]
    strength: Strength
    reason: Annotated[str, About("Why, in words.")]
    accepted: Annotated[tuple[str, ...], About("The donor's alleles that pass.")]
    refused: Annotated[tuple[str, ...], About("The donor's alleles that do not.")]
    measured: Annotated[tuple[str, ...], About("Crosses that somebody made.")]
    memory: Annotated[bool, About("Whether it rests on a value recalled and not confirmed.")]
    sources: Annotated[dict[str, str], About("Citations by source id.")]


@dataclass(frozen=True, repr=False)
class Cross(Answer, Crossing):
    """May one variety pollinate another."""

    NAME: ClassVar[str] = "cross"
    ROW: ClassVar[type] = Crossing

    other_way: Annotated[
        Crossing | None, About("The opposite cross; null: both are the same variety.")
    ]
    findings: Findings

    def rows(self) -> list[dict[str, Any]]:
        """One row a way of the cross; sources by their ids."""
        names = self.columns()
        ways = [
            Crossing(**{name: getattr(self, name) for name in names}),
            *([] if self.other_way is None else [self.other_way]),
        ]
        return [{**dict(flat(way)), "sources": "; ".join(way.sources)} for way in ways]

    def __repr__(self) -> str:
        """One line: the verdict and why."""
        return f"<Cross: {self.male} on {self.female}: {self.verdict} ({self.reason})>"

    @property
    def answer(self) -> str:
        """The verdict in one sentence."""
        return f"{self.male} on {self.female}: {self.verdict}. {self.reason}"


def verdicts_between(ids: Sequence[VarietyId], catalogue: Catalogue) -> list[Verdict]:
    """The verdict on each way of a cross; one alone where both are the same variety."""
    one, other = (catalogue.varieties[name].fertility for name in ids)
    ways = [(one, other)] if one.id == other.id else [(one, other), (other, one)]
    return [cross_verdict(*way, catalogue.rules) for way in ways]


def cross_of(
    verdicts: Sequence[Verdict],
    catalogue: Catalogue,
    findings: Sequence[Finding],
    typed: Mapping[VarietyId, str] | None = None,
) -> Cross:
    """The answer on a cross, from its verdicts.

    typed : names as they were typed, where they are not those of the catalogue.
    """
    one, *more = (crossing(verdict, catalogue, typed) for verdict in verdicts)
    return Cross(**vars(one), other_way=next(iter(more), None), findings=tuple(findings))


def crossing(
    verdict: Verdict, catalogue: Catalogue, typed: Mapping[VarietyId, str] | None = None
) -> Crossing:
    """A verdict as it is told; `typed` as for `cross_of`."""
    told = typed or {}
    return Crossing(
        species=verdict.receiver.species,
        female=verdict.receiver.name,
        male=verdict.donor.name,
        female_typed=told.get(verdict.receiver),
        male_typed=told.get(verdict.donor),
        verdict=verdict.answer,
        fraction=verdict.fraction,
        probability=verdict.probability,
        code=verdict.code,
        strength=strength_of(verdict),
        reason=verdict_sentence(verdict),
        accepted=tuple(verdict.accepted),
        refused=tuple(verdict.refused),
        measured=tuple(verdict.measured),
        memory=verdict.memory,
        sources={source: catalogue.sources.get(source, "") for source in verdict.sources},
    )
