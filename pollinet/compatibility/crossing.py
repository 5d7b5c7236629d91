"""Whether pollen of one kind of fruit sets another: sourced rules, by direction.

References
----------
Yoshida 1975 and Wakana 2006 (stone fruits; direction matters for plum and peach), Hauck et al.
2006 (sweet by sour cherry): the rules themselves stand in the catalogue, each with its source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from pollinet.compatibility.outcome import Outcome, known, unknown
from pollinet.domain import CrossingRule, CrossingStrength, Verdict

POSSIBLE: Final = 0.25
"""Chance that a cross between kinds of fruit which has been made sets a crop in a garden: own
convention, no source."""

NOT_RELIED_UPON: Final = 0.0
"""The same where sources advise against counting on it, and of related fruits of which nobody says
that one sets the other: such pollen is no donor, only possibly one. Own convention, no source."""


_STRENGTHS: Mapping[str, CrossingStrength | None] = {
    "other-fruit": "no",
    "species-cross-possible": "possible",
    "species-cross-not-relied-upon": "not relied upon",
    "unknown-fruit-cross": "unknown",
    "different-name-space": "unknown",
    "triploid-pollen": None,
    "sterile-pollen": None,
}


_NOT_RELIED_UPON: Final[tuple[CrossingStrength, ...]] = ("not relied upon", "unknown")


def is_relied_upon(verdict: Verdict) -> bool:
    """Whether growers count on a cross, so far as the kinds of fruit go."""
    return strength_of(verdict) not in _NOT_RELIED_UPON


def strength_of(verdict: Verdict) -> CrossingStrength | None:
    """How far a cross of two kinds of fruit is counted on; None: one kind, or bad pollen."""
    if verdict.donor.species == verdict.receiver.species:
        return None
    # Where the S-alleles were asked, the kinds of fruit set one another reliably.
    return _STRENGTHS.get(verdict.code, "reliable")


def crossing_outcome(
    rule: CrossingRule | None, *, same_genus: bool, same_name_space: bool
) -> Outcome | None:
    """What the kinds of fruit alone decide; None: the S-alleles of the pair must decide.

    Without a rule pollen of another genus does nothing (common practice, no source), and that of
    a related fruit is not known to do anything. Where a source calls the cross reliable
    and the fruits share a name space (sweet and sour cherry), the S-alleles have the last word;
    where they do not (European and Asian pears), the source's word is all there is.
    """
    if rule is None and same_genus:
        return unknown(NOT_RELIED_UPON, "unknown-fruit-cross")
    if rule is None or rule.strength == "no":
        return known(0.0, "other-fruit")
    if rule.strength == "unknown":
        code = "unknown-fruit-cross" if same_name_space else "different-name-space"
        return unknown(NOT_RELIED_UPON, code)
    if rule.strength == "possible":
        return unknown(POSSIBLE, "species-cross-possible")
    if rule.strength == "not relied upon":
        return unknown(NOT_RELIED_UPON, "species-cross-not-relied-upon")
    return None if same_name_space else known(1.0, "species-cross")
