"""When two varieties are one, and when they behave alike."""

from __future__ import annotations

from dataclasses import replace

from pollinet.domain import Fertility, VarietyId


def same_variety(donor: Fertility, receiver: Fertility) -> bool:
    """Whether two varieties are one, or clones or sports of one."""
    return donor.id.species == receiver.id.species and donor.clone == receiver.clone


def nameless(fertility: Fertility) -> Fertility:
    """A variety's fertility without its name: equal for all varieties that behave alike."""
    return replace(fertility, id=VarietyId(fertility.id.species, ""), clone="")
