"""What decides between sets of varieties that serve equally well: vigour, then harvest.

Penalties of single candidates, added up over a set: an approximation, since two new limbs could
match each other better or worse than the old ones. They break ties only.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pollinet.advice.balance import VIGOUR, vigour_of
from pollinet.domain import Variety

UNKNOWN_STEPS = 1.0
"""Penalty of a candidate whose vigour, or whose neighbours' vigour, is not known: one class, the
usual mismatch. Own convention. [vigour classes]"""

FULL_SPREAD_DAYS = 30.0
"""A harvest this far from all others on the tree spreads enough. Own convention. [days]"""


def preferences(
    candidates: Mapping[int, Variety], limbs: Sequence[Variety]
) -> tuple[dict[int, float], dict[int, float]]:
    """Penalties by candidate for `smallest_cover`: vigour mismatch, harvest bunching.

    Parameters
    ----------
    candidates : varieties by node. limbs : varieties that stand; only those of the candidate's
        fruit count.
    """
    beside = {
        node: [limb for limb in limbs if limb.id.species == variety.id.species]
        for node, variety in candidates.items()
    }
    return (
        {node: vigour_mismatch(v, beside[node]) for node, v in candidates.items()},
        {node: harvest_bunching(v, beside[node]) for node, v in candidates.items()},
    )


def vigour_mismatch(variety: Variety, beside: Sequence[Variety]) -> float:
    """Classes between a variety's vigour and the mean of the limbs beside it. [vigour classes]"""
    own = vigour_of(variety)
    known = [VIGOUR.index(v) for v in map(vigour_of, beside) if v is not None]
    if own is None or not known:
        return UNKNOWN_STEPS
    return abs(VIGOUR.index(own) - sum(known) / len(known))


def harvest_bunching(variety: Variety, beside: Sequence[Variety]) -> float:
    """Days by which a harvest falls short of standing well apart from those beside it.

    Only dates of one context are compared: days at two places are not the same days. Where there
    are none, the variety counts as bunched. [days]
    """
    own = _harvests(variety)
    gaps = [
        abs(own[context] - day)
        for limb in beside
        for context, day in _harvests(limb).items()
        if context in own
    ]
    return max(0.0, FULL_SPREAD_DAYS - min(gaps)) if gaps else FULL_SPREAD_DAYS


def _harvests(variety: Variety) -> dict[tuple[str, str], float]:
    names = ("harvest_day", "harvest_offset_days")
    told = {
        (fact.property, fact.context): float(fact.value)
        for fact in variety.facts
        if fact.property in names and fact.context
    }
    return told | {("picking", window.context): window.first for window in variety.picking}
