"""Varieties of which sources disagree: what they are on each side of the dispute, and the verdict
on a pair that comes of all sides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import product
from typing import Final, Literal, NamedTuple

from pollinet.compatibility.likeness import same_variety
from pollinet.domain import Fertility, Verdict

DISPUTED: Final = frozenset({"disputed", "disputed-self-fertility"})
"""Codes of verdicts that hang on what sources disagree about."""


class Side(NamedTuple):
    """One way in which the disputes about a pair may be settled, with its chance.

    giving, taking : which alternative it is of the donor, and of the receiver.
    """

    chance: float
    giving: int
    taking: int
    donor: Fertility
    receiver: Fertility


def settled(own: Fertility) -> tuple[tuple[float, Fertility], ...]:
    """A variety on each side of what is disputed, with its chance; itself where nothing is."""
    return _settled(own) if own.alternatives else ((1.0, own),)


@lru_cache(maxsize=1024)
def _settled(own: Fertility) -> tuple[tuple[float, Fertility], ...]:
    return tuple(
        (one.weight, replace(own, alternatives=(), **one.told)) for one in own.alternatives
    )


def sides(donor: Fertility, receiver: Fertility) -> tuple[Side, ...]:
    """All ways in which the disputes about a pair may be settled.

    One variety and its sports are on one side of a dispute that they share.
    """
    giving, taking = settled(donor), settled(receiver)
    alike = same_variety(donor, receiver) and len(giving) == len(taking)
    return tuple(
        Side(of_donor if alike else of_donor * of_receiver, i, j, one, other)
        for (i, (of_donor, one)), (j, (of_receiver, other)) in product(
            enumerate(giving), enumerate(taking)
        )
        if not alike or i == j
    )


def joined_verdict(
    donor: Fertility, receiver: Fertility, several: Sequence[tuple[float, Verdict]]
) -> Verdict:
    """One verdict out of those on all sides, each with its chance.

    Known where all sides agree that some of the pollen is accepted, or none; else unknown, with
    the chance that any is.
    """
    likeliest = max(several, key=lambda one: one[0])[1]
    verdicts = [verdict for _, verdict in several]
    told = {verdict.answer for verdict in verdicts}
    joined = replace(
        likeliest,
        donor=donor.id,
        receiver=receiver.id,
        sources=tuple(dict.fromkeys(source for one in verdicts for source in one.sources)),
        memory=any(verdict.memory for verdict in verdicts),
        inferred=any(verdict.inferred for verdict in verdicts),
    )
    if told <= {"yes", "half"}:
        least = min(verdicts, key=lambda verdict: verdict.fraction or 0.0)
        return replace(
            joined, answer=least.answer, fraction=least.fraction, code=least.code,
            accepted=least.accepted, refused=least.refused,
        )  # fmt: skip
    if told == {"no"}:
        return joined
    codes = {verdict.code for verdict in verdicts}
    own = same_variety(donor, receiver)
    disputed = "disputed-self-fertility" if own else "disputed"
    return replace(
        joined,
        answer="unknown",
        fraction=None,
        probability=sum(chance * verdict.probability for chance, verdict in several),
        code=codes.pop() if len(codes) == 1 else disputed,
        # What one side rests on is no more doubtful than the other side makes it.
        memory=all(verdict.memory for verdict in verdicts),
        inferred=all(verdict.inferred for verdict in verdicts),
        accepted=(),
        refused=(),
        untold=_untold(donor, receiver, verdicts),
    )


def _untold(
    donor: Fertility, receiver: Fertility, verdicts: Sequence[Verdict]
) -> tuple[Literal["donor", "receiver"], ...]:
    """The sides that are disputed, or of which not all S-alleles are known."""
    named = {side for verdict in verdicts for side in verdict.untold}
    if donor.alternatives:
        named.add("donor")
    if receiver.alternatives:
        named.add("receiver")
    return tuple(sorted(named))
