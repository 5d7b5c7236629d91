"""What a variety does without others: own pollen, pollen for others, fruit without seed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, TypeAlias, TypeVar

from pollinet.compatibility.disputed import settled
from pollinet.compatibility.ploidy import pollen_fault
from pollinet.compatibility.verdict import cross_verdict, with_selfing
from pollinet.domain import Fertility, VarietyId
from pollinet.study import Study

OwnPollen: TypeAlias = Literal["yes", "no", "partly", "disputed", "unknown"]
"""Whether its own pollen can be counted on; `partly`: it sets some fruit and is not counted on."""

GivesPollen: TypeAlias = Literal["yes", "no", "disputed"]
"""Whether its pollen is good for others, where nobody says otherwise: yes."""


@dataclass(frozen=True)
class Alone:
    """What a variety does without others.

    presumed : whether `self_fertile` is only what is usual for the fruit.
    seedless : whether a source says that fruit sets without seed; None: none says. It is never
        counted on.
    recalled : whether `seedless` rests on memory alone.
    """

    self_fertile: OwnPollen
    presumed: bool
    gives_pollen: GivesPollen
    seedless: bool | None
    recalled: bool


def alone_of(study: Study, variety: VarietyId) -> Alone:
    """What a variety of the garden does without others, on all sides of what is disputed."""
    rules = study.catalogue.rules
    fertility = with_selfing(study.known[variety].fertility, rules)
    sides = [one for _, one in settled(fertility)]
    fruit = rules.fruits[variety.species]

    def own_pollen(one: Fertility) -> OwnPollen:
        if one.partly_self_fertile:
            return "partly"
        answer = cross_verdict(one, one, rules).answer
        return "unknown" if answer == "unknown" else "no" if answer == "no" else "yes"

    told = [fact for fact in study.known[variety].facts if fact.property == "parthenocarpy"]
    own: OwnPollen | None = _agreed(own_pollen(one) for one in sides)
    pollen: GivesPollen | None = _agreed(
        "yes" if pollen_fault(one, fruit) is None else "no" for one in sides
    )
    return Alone(
        self_fertile=own or "disputed",
        presumed=fertility.self_fertile is None and not fertility.disputed and own != "unknown",
        gives_pollen=pollen or "disputed",
        seedless=any(fact.value == "yes" for fact in told) if told else None,
        recalled=bool(told) and all(fact.status == "memory" for fact in told),
    )


_Word = TypeVar("_Word", bound=str)


def _agreed(words: Iterable[_Word]) -> _Word | None:
    """What all sides say; None where they differ."""
    found = set(words)
    return found.pop() if len(found) == 1 else None
