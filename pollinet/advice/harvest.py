"""When varieties ripen here, in which order, and the weeks without fruit.

Harvest is carried from a trial as days after full bloom: a heuristic, as heat after bloom shortens
them. A variety that is known only by its days after a reference variety is placed beside others of
that list whose days after bloom are known; so is one of which only a time of picking elsewhere is
known. A time of picking in the grower's own garden goes before all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from pollinet.domain import Fact, Status, Variety, VarietyId

HARVEST_SD_DAYS = 21.0
"""How far an estimate may be off, root mean square; places of early bloom come out early. [days]

Measured on 18 apples: days after bloom at Kentville (ABC2021) and Brogdale (NFC-APPLES), carried
to Raleigh, against the harvest there (NCSU302: Delicious ripe on 1 September); 17 of the days are
too early for all alike.
Not measured for other fruits.
"""

GAP_DAYS = 14
"""For so long after its first pick a variety has ripe fruit; longer without another pick is a gap.
Own convention. [days]"""


@dataclass(frozen=True)
class Harvest:
    """Estimated first pick here.

    day : day of the year, may run over 365 into the next year where bloom is late in it.
    """

    variety: VarietyId
    day: float
    rests_on: str
    status: Status


def days_after_bloom(variety: Variety) -> tuple[float, str, Status] | None:
    """Days from full bloom to harvest, with what they rest on; None: not known.

    From a source that gives them, else from a harvest day and a full bloom at the same place.
    """
    told = _facts(variety, "days_bloom_to_harvest")
    if told:
        status: Status = "memory" if all(f.status == "memory" for f in told) else "published"
        return median(float(f.value) for f in told), _sources(told), status
    pairs = [
        (float(fact.value) - evidence.day, fact)
        for fact in _facts(variety, "harvest_day")
        for evidence in variety.bloom
        if evidence.place == fact.context and evidence.stage == "full"
    ]
    good = [(gap, fact) for gap, fact in pairs if gap > 0]
    if not good:
        return None
    return median(gap for gap, _ in good), _sources(fact for _, fact in good), "inferred"


def harvests(
    varieties: Sequence[Variety],
    full_bloom: Mapping[VarietyId, float],
    peers: Sequence[Variety] = (),
) -> dict[VarietyId, Harvest]:
    """Estimated harvest here of every variety that can be placed.

    Parameters
    ----------
    full_bloom : usual full bloom here; varieties and peers without it are not placed. [day of year]
    peers : varieties of the same fruits by which lists of offsets are placed.
    """
    placed: dict[VarietyId, Harvest] = {}
    for variety in {v.id: v for v in (*varieties, *peers)}.values():
        if (own := _own_picking(variety)) is not None:
            placed[variety.id] = own
            continue
        after = days_after_bloom(variety)
        if after is not None and variety.id in full_bloom:
            days, source, status = after
            text = f"{days:.0f} days after full bloom ({source})"
            placed[variety.id] = Harvest(variety.id, full_bloom[variety.id] + days, text, status)
    zero = _zero_days((*varieties, *peers), placed)
    found = {v.id: placed[v.id] for v in varieties if v.id in placed}
    for variety in varieties:
        for context, days_later, source in listed_days(variety):
            base = zero.get((variety.id.species, context))
            if variety.id not in found and base is not None:
                text = f"placed in the order of {context} ({source})"
                found[variety.id] = Harvest(variety.id, base + days_later, text, "inferred")
    return found


def listed_days(variety: Variety) -> list[tuple[str, float, str]]:
    """Its days in lists of ripening: (list, day counted from the list's own zero, source).

    A list of times of picking counts from the first of January, as days of the first pick.
    """
    offsets = _facts(variety, "harvest_offset_days")
    told = [(fact.context, float(fact.value), fact.source) for fact in offsets]
    return told + [(w.context, w.first, w.source) for w in variety.picking if not w.here]


def _own_picking(variety: Variety) -> Harvest | None:
    """First pick in the grower's own garden, where it is told."""
    own = next((window for window in variety.picking if window.here), None)
    if own is None:
        return None
    return Harvest(variety.id, own.first, f"picked then in your garden ({own.source})", own.status)


def _zero_days(
    varieties: Iterable[Variety], placed: Mapping[VarietyId, Harvest]
) -> dict[tuple[str, str], float]:
    """Day here on which the zero of each list of offsets falls, by fruit and list."""
    days: dict[tuple[str, str], list[float]] = {}
    for variety in {v.id: v for v in varieties}.values():
        for context, days_later, _ in listed_days(variety):
            if variety.id in placed:
                key = variety.id.species, context
                days.setdefault(key, []).append(placed[variety.id].day - days_later)
    return {key: median(values) for key, values in days.items()}


def gaps(
    harvest_days: Mapping[str, float], ripe_days: float = GAP_DAYS
) -> list[tuple[str, str, float]]:
    """Neighbours in the order of harvest between which there are days without ripe fruit.

    Parameters
    ----------
    ripe_days : for so long after its first pick a variety has ripe fruit.

    Returns
    -------
    (name of the earlier, name of the later, days without fruit), in order.
    """
    order = sorted(harvest_days, key=lambda name: (harvest_days[name], name))
    found = [(a, b, harvest_days[b] - harvest_days[a] - ripe_days) for a, b in pairwise(order)]
    return [gap for gap in found if gap[2] > 0]


def _facts(variety: Variety, name: str) -> list[Fact]:
    return [fact for fact in variety.facts if fact.property == name]


def _sources(facts: Iterable[Fact]) -> str:
    return ", ".join(sorted({fact.source for fact in facts}))
