"""When varieties ripen here, in which order, and the weeks without fruit.

Varieties keep their order of ripening and, within a week or so, the days between them from place to
place; what a place does to all alike follows the warmth of its growing season. So all that is known
of a fruit's harvests is joined: days at trial places, carried by that warmth, days after another
variety, times of picking elsewhere, days after full bloom. Each variety gets the day that fits its
evidence best, and each list the shift that fits the varieties it shares with others. A time of
picking in the grower's own garden goes before all, and helps to place the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from pollinet.days import is_southern
from pollinet.domain import Fact, FloatArray, PickWindow, Status, Variety, VarietyId
from pollinet.linear import product, solved
from pollinet.messages import Message, listing, say

HARVEST_SD_DAYS = 11.0
"""How far an estimate may be off, root mean square. [days] Measured on apples: days at eight places
(`tests/validation/harvest.csv`), each foretold from the other seven: 7 to 16. Not measured for
other fruits."""

EARLIER_PER_C = 4.0
"""By how much earlier all harvests are for each degree of the growing season, April to August.
[days per °C] Own estimate from apples at eight places with seasons of 13 to 23 °C (five panels
2018-2023, Brogdale, Kentville, Raleigh): the day of a place left out is foretold within 6 days, by
days after full bloom within 10. Other fruits borrow it."""

SEASON_MONTHS = (3, 4, 5, 6, 7)
"""April to August, counted from 0; in the south October to February."""

BLOOM_SHARE = 0.6
"""Share of a difference in full bloom that is left at harvest; used where no temperature is known.
Own estimate from the same places."""

PLACE_SD_DAYS, AFTER_SHIFT_SD_DAYS = 6.0, 10.0
"""How far the days of a place, and all days after bloom, are off here for all alike. [days] Own
estimates from the same places."""

OWN_SD_DAYS, LIST_SD_DAYS, AFTER_SD_DAYS = 9.0, 6.0, 9.0
"""How far a variety's day at a place, its days after a reference variety and its days after bloom
are off on their own. [days] Own estimates from the same places: 6 to 12, most where the season ends
before the latest are ripe; recalled days after bloom missed Raleigh by 9."""

OWN_GARDEN_SD_DAYS = 3.0
"""How far the first picks that a grower notes are off from the usual ones, each on its own and all
alike. Own convention. [days]"""

GAP_DAYS = 14
"""For so long after its first pick a variety has ripe fruit; longer without another pick is a gap.
Own convention. [days]"""

_HALF_YEAR = 182.5
_ROUNDS, _FAR_SDS = 8, 2.0
# Repetitions of the fit, and how far off a day is that counts half (Cauchy weights): a last day of
# the season in place of a harvest, or a mislabelled tree, then hardly moves the variety. To read
# late days as lower bounds was tried on the eight places and foretells none better.


@dataclass(frozen=True)
class Harvest:
    """Estimated first pick here.

    day : day of the year, may run over 365 into the next year where bloom is late in it.
    """

    variety: VarietyId
    day: float
    rests_on: str
    status: Status


@dataclass(frozen=True)
class Summer:
    """Warmth of a place.

    means_c : mean temperature of the twelve months, January first; NaN where not known. [°C]
    """

    latitude: float
    means_c: tuple[float, ...]


def carried_day(day: float, there: Summer, here: Summer) -> float:
    """Day of harvest here of what is ripe there on `day`; NaN where no month of both is known.

    In the south a day may run over 365, so that the harvest comes after the bloom.
    """
    seasons = []
    for place in (there, here):
        months = np.asarray(place.means_c)
        seasons.append(np.roll(months, 6) if is_southern(place.latitude) else months)
    warmer = (seasons[1] - seasons[0])[list(SEASON_MONTHS)]
    if np.isnan(warmer).all():
        return float("nan")
    if is_southern(there.latitude):
        day = (day - _HALF_YEAR) % 365
    here_later = _HALF_YEAR if is_southern(here.latitude) else 0.0
    return day - EARLIER_PER_C * float(np.nanmean(warmer)) + here_later


class Told(NamedTuple):
    """One piece of evidence on a harvest here.

    source : the list that it comes from; all of a list may be off alike.
    day : by this evidence alone; of a list of offsets, days after its zero.
    sd_days : of its own. shift_sd : of the list; infinite: its zero is not known.
    """

    variety: VarietyId
    source: str
    day: float
    sd_days: float
    shift_sd: float


def dates_bloom_to_harvest(variety: Variety) -> bool:
    """Whether the harvest of a variety is told from its full bloom."""
    return bool(_facts(variety, "days_bloom_to_harvest"))


def harvests(
    varieties: Sequence[Variety],
    full_bloom: Mapping[VarietyId, float],
    peers: Sequence[Variety] = (),
    *,
    here: Summer | None = None,
    places: Mapping[str, Summer] | None = None,
) -> dict[VarietyId, Harvest]:
    """Estimated harvest here of every variety that can be placed.

    Parameters
    ----------
    full_bloom : usual full bloom here, of those of which it is known. [day of year]
    peers : other varieties of the same fruits, by which lists are set against each other.
    here : the garden's warmth; None: not known, and harvest days are carried by bloom alone.
    places : warmth of the trial places, by their name.
    """
    known = list({v.id: v for v in (*varieties, *peers)}.values())
    told = [piece for v in known for piece in _told(v, full_bloom.get(v.id), here, places or {})]
    days: dict[VarietyId, float] = {}
    for species in sorted({v.id.species for v in varieties}):
        days |= joined_days([piece for piece in told if piece.variety.species == species])
    found = {
        v.id: Harvest(v.id, days[v.id], _rests_on(v, told), _status(v))
        for v in varieties
        if v.id in days
    }
    for variety in varieties:
        if (own := own_picking(variety)) is not None:
            day = _after_bloom(own.first, full_bloom.get(variety.id), here)
            text = f"picked then in your garden ({own.source})"
            found[variety.id] = Harvest(variety.id, day, text, own.status)
    return found


def own_picking(variety: Variety) -> PickWindow | None:
    """When it is picked in the grower's own garden, where that is told."""
    return next((window for window in variety.picking if window.here), None)


def listed_picking(variety: Variety) -> list[PickWindow]:
    """Times of picking elsewhere, but for those of a source that tells its harvest day or its place
    in an order, too: what is said twice counts once."""
    others = (*_facts(variety, "harvest_day"), *_facts(variety, "harvest_offset_days"))
    told = {fact.source for fact in others}
    return [window for window in variety.picking if not window.here and window.source not in told]


def _after_bloom(day: float, full: float | None, here: Summer | None) -> float:
    """A day of the year in this garden, over 365 where the harvest is in the year after bloom."""
    southern = here is not None and is_southern(here.latitude)
    start = full if full is not None else _HALF_YEAR if southern else 0.0
    return day + 365 if day < start else day


def _told(
    variety: Variety, full: float | None, here: Summer | None, places: Mapping[str, Summer]
) -> Iterator[Told]:
    """All evidence on the harvest of one variety, carried here."""
    for fact in _facts(variety, "days_bloom_to_harvest"):
        if full is not None:
            day = full + float(fact.value)
            yield Told(variety.id, "", day, AFTER_SD_DAYS, AFTER_SHIFT_SD_DAYS)
    for fact in _facts(variety, "harvest_day"):
        day = float("nan")
        if here is not None and fact.context in places:
            day = carried_day(float(fact.value), places[fact.context], here)
        if np.isnan(day) and full is not None:
            day = float(fact.value) + BLOOM_SHARE * (full - _full_bloom(variety, fact.context))
        if np.isfinite(day):
            yield Told(variety.id, fact.context, day, OWN_SD_DAYS, PLACE_SD_DAYS)
    for fact in _facts(variety, "harvest_offset_days"):
        yield Told(variety.id, fact.context, float(fact.value), LIST_SD_DAYS, np.inf)
    for window in listed_picking(variety):
        yield Told(variety.id, _picked(window), window.first, LIST_SD_DAYS, np.inf)
    if (own := own_picking(variety)) is not None:
        day = _after_bloom(own.first, full, here)
        yield Told(variety.id, _picked(own), day, OWN_GARDEN_SD_DAYS, OWN_GARDEN_SD_DAYS)


def _picked(window: PickWindow) -> str:
    """Name of the list of first picks of one place: other days there may be off otherwise."""
    return f"first pick, {'own garden' if window.here else window.context}"


def joined_days(told: Sequence[Told]) -> dict[VarietyId, float]:
    """The day of each variety that fits all evidence best, and the shifts of the lists with them.

    Least squares of `day + shift of the list - day of the variety`, the shifts drawn to 0 by their
    SD, in rounds in which what lies far off counts less. Varieties that no chain of lists ties to
    one whose zero is known are left out.
    """
    told = _tied(told)
    if not told:
        return {}
    names = {name: row for row, name in enumerate(sorted({piece.variety for piece in told}))}
    lists = {each: column for column, each in enumerate(sorted({piece.source for piece in told}))}
    row = np.array([names[piece.variety] for piece in told])
    column = np.array([lists[piece.source] for piece in told])
    day, sd = (np.array([piece[i] for piece in told]) for i in (2, 3))
    shift_sd = {piece.source: piece.shift_sd for piece in told}
    prior = np.array([shift_sd[each] ** -2.0 for each in lists])
    left = np.zeros(len(told))
    for _ in range(_ROUNDS):
        weight = 1 / (sd**2 * (1 + (left / (_FAR_SDS * sd)) ** 2))
        shift, fitted = _solved(row, column, day, weight, prior)
        left = day + shift[column] - fitted[row]
    return dict(zip(names, fitted.tolist(), strict=True))


def _solved(
    row: np.ndarray, column: np.ndarray, day: FloatArray, weight: FloatArray, prior: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Shifts of the lists, shape (J,), and days of the varieties, shape (I,), by these weights.

    row, column : shape (E,), variety and list of each piece. prior : shape (J,), precisions.
    """
    share = np.zeros((row.max() + 1, prior.size))
    np.add.at(share, (row, column), weight)
    whole = share.sum(axis=1)
    mean = np.bincount(row, weights=weight * day) / whole
    pull = np.bincount(column, weights=weight * day)
    system = np.diag(share.sum(axis=0) + prior) - product(share.T, share / whole[:, None])
    shift, _ = solved(system, product(share.T, mean) - pull)
    return shift, mean + product(share, shift) / whole


def _tied(told: Sequence[Told]) -> list[Told]:
    """The pieces that hang together with one whose list has a zero that is known."""
    lists = {piece.source for piece in told if np.isfinite(piece.shift_sd)}
    while True:
        names = {piece.variety for piece in told if piece.source in lists}
        more = {piece.source for piece in told if piece.variety in names}
        if more <= lists:
            return [piece for piece in told if piece.source in lists]
        lists |= more


def _full_bloom(variety: Variety, place: str) -> float:
    """Full bloom of a variety at a trial place; NaN: not known."""
    days = [e.day for e in variety.bloom if (e.place, e.stage) == (place, "full")]
    return float(np.mean(days)) if days else float("nan")


def _rests_on(variety: Variety, told: Iterable[Told]) -> Message:
    """What the harvest of a variety comes from, in words."""
    lists = {piece.source for piece in told if piece.variety == variety.id}
    parts: list[Message] = []
    if after := [f for f in _facts(variety, "days_bloom_to_harvest") if "" in lists]:
        days = float(np.median([float(fact.value) for fact in after]))
        text = say("{days} days after full bloom ({sources})", days=f"{days:.0f}",
                   sources=_sources(after))  # fmt: skip
        parts.append(text)
    if at := [f for f in _facts(variety, "harvest_day") if f.context in lists]:
        where = ", ".join(sorted({fact.context for fact in at}))
        text = say("picked at {where} ({sources}), carried by the warmth of the season",
                   where=where, sources=_sources(at))  # fmt: skip
        parts.append(text)
    if listed := [f for f in _facts(variety, "harvest_offset_days") if f.context in lists]:
        order = ", ".join(sorted({fact.context for fact in listed}))
        text = say("placed by its days in {order} ({sources})", order=order,
                   sources=_sources(listed))  # fmt: skip
        parts.append(text)
    if picked := [window for window in listed_picking(variety) if _picked(window) in lists]:
        order = ", ".join(sorted({window.context for window in picked}))
        sources = ", ".join(sorted({window.source for window in picked}))
        text = say("placed by its first pick in {order} ({sources})", order=order, sources=sources)
        parts.append(text)
    return listing(parts, "; ")


def _status(variety: Variety) -> Status:
    """`memory` where all evidence is recalled; `published` for days after bloom that were."""
    facts = [fact for fact in variety.facts if fact.property in PROPERTIES]
    picked = listed_picking(variety)
    statuses = {*(fact.status for fact in facts), *(window.status for window in picked)}
    if statuses <= {"memory"}:
        return "memory"
    only_bloom = not picked and all(fact.property == "days_bloom_to_harvest" for fact in facts)
    return "published" if only_bloom else "inferred"


PROPERTIES = ("days_bloom_to_harvest", "harvest_day", "harvest_offset_days")
"""What tells of a harvest."""


def gaps(
    harvest_days: Mapping[str, float], ripe_days: float = GAP_DAYS
) -> list[tuple[str, str, float]]:
    """Neighbours in the order of harvest between which there are days without ripe fruit.

    Parameters
    ----------
    ripe_days : for so long after its first pick a variety has ripe fruit.

    Returns
    -------
    (name of the earlier, name of the later, days without fruit), in order; of one day or more, by
    whole days.
    """
    order = sorted(harvest_days, key=lambda name: (harvest_days[name], name))
    found = [(a, b, harvest_days[b] - harvest_days[a] - ripe_days) for a, b in pairwise(order)]
    return [gap for gap in found if round(gap[2]) >= 1]


def _facts(variety: Variety, name: str) -> list[Fact]:
    return [fact for fact in variety.facts if fact.property == name]


def _sources(facts: Iterable[Fact]) -> str:
    return ", ".join(sorted({fact.source for fact in facts}))
