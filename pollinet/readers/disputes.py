"""What sources disagree about: no value is picked, each keeps a weight, and what follows is drawn.

A value weighs what the statuses of its sources weigh together. A table of its own
(`disputes.csv`) says where that does not hold: where a correction outweighs a value, or where one
source counts its own references.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, Final

from pollinet.domain import (
    Alternative,
    Dispute,
    DisputedValue,
    Fact,
    Fertility,
    Genotype,
    Status,
)

DISPUTABLE: Final = frozenset(
    {"s_genotype", "pollen_alleles", "ploidy", "self_compatibility", "pollen_ok"}
)
"""Properties of which the shipped tables may hold values that disagree."""

STATUS_WEIGHTS: Final[Mapping[Status, float]] = {
    "plan": 4.0,
    "published": 4.0,
    "trade": 3.0,
    "inferred": 2.0,
    "memory": 1.0,
    "invented": 1.0,
}
"""What one source of a value weighs against those of another value. Own convention, no source: the
statuses in the order in which they are trusted, in even steps, as nobody has counted how often each
is wrong."""


@dataclass(frozen=True)
class Weighed:
    """What `disputes.csv` says of a value: its weight is multiplied by `factor`; 0: outweighed."""

    factor: float
    note: str = ""


Factors = Mapping[tuple[str, str, str, str], Weighed]
"""By fruit, variety, property and value."""


def is_recall(source: str) -> bool:
    """Whether a source id names lists that are recalled, which are one memory."""
    return source.startswith("MEM") or source.endswith("_MEM")


def dispute_of(
    property_name: str, facts: Sequence[Fact], factors: Mapping[str, Weighed]
) -> Dispute:
    """The values of one property with their weights, the likeliest first.

    facts : all facts of that property of one variety. factors : by value.
    Each source counts once for a value, and all recalled lists count as one.
    """
    found: dict[str, dict[str, float]] = {}
    told: dict[str, dict[tuple[str, Status], None]] = {}
    for fact in facts:
        source = "" if is_recall(fact.source) else fact.source
        weights = found.setdefault(fact.value, {})
        weights[source] = max(weights.get(source, 0.0), STATUS_WEIGHTS[fact.status])
        told.setdefault(fact.value, {})[fact.source, fact.status] = None
    usual = Weighed(1.0)
    weight = {
        value: sum(weights.values()) * factors.get(value, usual).factor
        for value, weights in found.items()
    }
    total = sum(weight.values())
    values = (
        DisputedValue(value, weight[value] / total if total else 0.0, tuple(told[value]),
                      factors.get(value, usual).note)
        for value in found
    )  # fmt: skip
    return Dispute(property_name, tuple(sorted(values, key=lambda one: (-one.weight, one.value))))


# --- alternatives ----------------------------------------------------------------------------

_FIELDS: Final = ("genotype", "ploidy", "self_fertile", "pollen_ok", "partly_self_fertile")


def as_alternatives(fertility: Fertility) -> tuple[Alternative, ...]:
    """What a variety may be; the one that it is, where nothing is disputed."""
    return fertility.alternatives or (
        Alternative(1.0, **{name: getattr(fertility, name) for name in _FIELDS}),
    )


def with_alternatives(fertility: Fertility, several: Sequence[Alternative]) -> Fertility:
    """A variety that is one of several; its own fields become what all of them agree on.

    Whether it is `no` or `partial` with its own pollen makes no difference to anything: such two
    are no alternatives, and the likelier one stands.
    """
    joint: dict[tuple[Any, ...], Alternative] = {}
    for one in sorted(several, key=lambda one: -one.weight):
        key = tuple(getattr(one, name) for name in _FIELDS[:-1])
        first = joint.setdefault(key, replace(one, weight=0.0))
        joint[key] = replace(first, weight=first.weight + one.weight)
    total = sum(one.weight for one in joint.values())
    kept = tuple(
        sorted(
            (replace(one, weight=one.weight / total) for one in joint.values()),
            key=lambda one: -one.weight,
        )
    )
    return replace(
        fertility,
        genotype=_common([one.genotype for one in kept]),
        ploidy=_agreed([one.ploidy for one in kept]),
        self_fertile=_agreed([one.self_fertile for one in kept]),
        pollen_ok=_agreed([one.pollen_ok for one in kept]),
        partly_self_fertile=all(one.partly_self_fertile for one in kept),
        alternatives=kept if len(kept) > 1 else (),
    )


def _agreed(values: Sequence[Any]) -> Any:
    """The value of all; None: they disagree."""
    return values[0] if len(set(values)) == 1 else None


def _common(genotypes: Sequence[Genotype | None]) -> Genotype | None:
    """The genotype of all, or the alleles that all have; None: there are none."""
    first = _agreed(genotypes)
    known = [one for one in genotypes if one is not None]
    if first is not None or len(known) < len(genotypes):
        return first if isinstance(first, Genotype) else None
    alleles = list[str]()
    for allele in dict.fromkeys(known[0].alleles):
        alleles += [allele] * min(one.alleles.count(allele) for one in known)
    shown = _agreed([one.pollen_alleles for one in known])
    return Genotype(tuple(alleles), False, shown) if alleles else None


def like(own: Sequence[Alternative], parent: Sequence[Alternative]) -> tuple[Alternative, ...]:
    """Alternatives of a sport: what its own leave open is as one of its parent's."""
    return tuple(
        Alternative(
            mine.weight * theirs.weight,
            fuller(mine.genotype, theirs.genotype),
            theirs.ploidy if mine.ploidy is None else mine.ploidy,
            theirs.self_fertile if mine.self_fertile is None else mine.self_fertile,
            theirs.pollen_ok if mine.pollen_ok is None else mine.pollen_ok,
            theirs.partly_self_fertile if mine.self_fertile is None else mine.partly_self_fertile,
        )
        for mine, theirs in product(own, parent)
    )


def fuller(own: Genotype | None, other: Genotype | None) -> Genotype | None:
    """A sport's genotype, or its parent's where that tells more and fits."""
    if own is None or (other and not own.complete and set(own.alleles) <= set(other.alleles)):
        return other
    return own


def settled_by(fertility: Fertility, told: Mapping[str, Any]) -> Fertility:
    """A variety of which some fields are told by its grower: what is told ends its dispute.

    Of several alternatives those stay that agree with what is told; where none does, it is told
    of all.
    """
    several = fertility.alternatives
    if not several:
        return fertility
    for name, value in told.items():
        several = tuple(one for one in several if getattr(one, name) == value) or tuple(
            replace(one, **{name: value}) for one in several
        )
    return with_alternatives(fertility, several)
