"""Where a variety stands in its species' timing, from all evidence on when it blooms.

A variety's position h is solved so that the rule puts each observed stage on its day in the
mean of the seasons of the place where it was observed. Several observations are weighted by
1 / SD²; where they disagree by more than they admit, the spread is widened by the root of their
mean squared disagreement (Birge, R. T. 1932. Physical Review 40:207-227). Stages dated at one
place share one weight: they repeat each other's error.

A rule carries all varieties of a trial site a few days too early or too late together. Taken as
it comes, that would set two varieties apart only because they were tried in different places. So
the places are first brought in line with each other over all varieties that were tried in several
(`place_shifts`), and only then is a variety's evidence pooled.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.days import season_day
from pollinet.domain import (
    BloomEvidence,
    FloatArray,
    Stage,
    Status,
    Timing,
    TypedBloom,
    Variety,
)
from pollinet.linear import product, solved
from pollinet.messages import Message, listing, mark, say
from pollinet.phenology.climate import Climate

HERE = "here"
"""Place of evidence from the grower's own site."""

TYPED_SD_DAYS = 2.5
"""Error of typed usual dates where none is given: about as much as the difference of two varieties
varies over the winters of three cherry sites (SD 2.2-2.8; Wenden et al. 2016, Scientific Data
3:160108). [days]"""

FORCING_MARGIN_DAYS = 20.0
"""Heat counts from at least this many days before the usual date observed: very early fruits would
else bloom before their heat counts. Own convention; of the records that the rules were fitted to
it touches the earliest almonds alone. [days]"""

_FORCING_STEP_DAYS = 5.0
_LEAST_SD_DAYS = 0.1
MORNING: dict[Stage, float] = {"start": 0.0, "full": 0.5, "end": 1.0}
"""When a stage is on its day: a start in the morning, an end in the evening. [days]"""


class Family(NamedTuple):
    """Clones of one variety that rest on the same evidence, and so bloom alike.

    Families of one clone draw the same errors, so that clones are never taken for independent.

    sheds : whether the dates of the members are those of their pollen shed, see `shed_families`.
    """

    species: str
    clone: str
    members: tuple[Variety, ...]
    sheds: bool = False

    @property
    def typed(self) -> TypedBloom | None:
        """Bloom dates that the grower typed for any of them."""
        return next((v.typed_bloom for v in self.members if v.typed_bloom is not None), None)

    @property
    def stream(self) -> tuple[str, ...]:
        """What its own draws are named by; catkins and flowers of a variety err independently."""
        return (self.species, self.clone, *(["pollen shed"] if self.sheds else []))

    @property
    def evidence(self) -> Hashable:
        """What it rests on, whoever its members are: families are told apart by this."""
        return (self.sheds, *_evidence(self.members[0]))


LEAST_PEERS = 10
"""Fewer dated varieties of a fruit than these say too little of their spread (from ten normal
values it is known to a quarter of itself). Own convention. [varieties]"""

LEAST_KEPT = 0.75
"""Share of a variety's distance from the others that is kept at least: stated errors are careful
ones. Own convention; at five cherry places left out, 0.8 to 0.9 of what the others had measured was
seen, and 0.8 gave the truest chances of shared bloom. [1]"""


class Spread(NamedTuple):
    """How the varieties of a fruit are spread about their mean day at a place. [days]"""

    mean: float
    sd: float


Spreads = Mapping[tuple[str, Stage], Spread]
"""Of dated stages by place, where enough varieties were dated there."""


class Date(NamedTuple):
    """One observation, in days of the season at its place."""

    family: int
    place: str
    stage: Stage
    day: float
    sd_days: float
    status: Status


@dataclass(frozen=True, eq=False)
class Position:
    """Where one family stands.

    h, forcing_day : shape (R,), one for each rule of the species.
    sd_days : error of the position. [days]
    carried : share of its weight that comes from other sites, whose shared error it takes over.
    length : length of bloom against the species'; None: not known.
    rests_on : what it comes from, in a few words.
    own : whether that is evidence on the variety itself; False: the run of its fruit.
    """

    h: FloatArray
    forcing_day: FloatArray
    sd_days: float
    carried: float
    length: float | None
    rests_on: Message
    own: bool = True


def families(varieties: Iterable[Variety]) -> tuple[Family, ...]:
    """Clones of one variety that rest on the same evidence, sorted.

    A clone with bloom of its own is a family of its own: no variety's dates change with those
    that happen to be looked at beside it.
    """
    groups: dict[Hashable, list[Variety]] = {}
    for own in sorted(varieties, key=lambda v: v.id):
        groups.setdefault(_evidence(own), []).append(own)
    found = [Family(m[0].id.species, m[0].fertility.clone, tuple(m)) for m in groups.values()]
    return tuple(sorted(found, key=lambda f: (f.species, f.clone, f.members[0].id)))


def _evidence(own: Variety) -> tuple[Hashable, ...]:
    known = (own.bloom, own.typed_bloom, own.bloom_length_days)
    return (own.id.species, own.fertility.clone, known)


def shed_families(varieties: Iterable[Variety], *, known_only: bool = True) -> tuple[Family, ...]:
    """Families of varieties by their pollen shed, with its dates in bloom's place.

    The length of shed is never known by itself: that of bloom says nothing about catkins.

    known_only : whether those are left out whose pollen shed is not known apart.
    """
    catkins = [
        replace(v, bloom=v.shed, typed_bloom=v.typed_shed, bloom_length_days=None)
        for v in varieties
        if v.sheds_apart or not known_only
    ]
    return tuple(family._replace(sheds=True) for family in families(catkins))


@dataclass(frozen=True, eq=False)
class Dated:
    """Dates of some families with all that hangs on no site but those where they were observed.

    dates : D of them. of : shape (D,), the place of each one's family among those that are dated.
    weight : shape (D,), see `_weights`. begin : shape (R, D), day from which heat counts by each
        rule. h : shape (R, D), position that a date alone gives; NaN for dates from here.
    here : places among the dates of those from here.
    alike : for each rule its days of `begin`, each with the places of its dates.
    """

    dates: tuple[Date, ...]
    of: NDArray[np.int64]
    weight: FloatArray
    begin: FloatArray
    h: FloatArray
    here: tuple[int, ...] = ()
    alike: tuple[tuple[tuple[float, NDArray[np.intp]], ...], ...] = ()

    @cached_property
    def families(self) -> Mapping[int, Sequence[Date]]:
        """Dates of each family that has any, by its place among the families, in their order."""
        found: dict[int, list[Date]] = {}
        for date in sorted(self.dates, key=lambda date: date.family):
            found.setdefault(date.family, []).append(date)
        return found

    @cached_property
    def places(self) -> NDArray[np.int64]:
        """At how many places each of these families was dated."""
        each = [len({date.place for date in dates}) for dates in self.families.values()]
        return np.array(each, dtype=np.int64)

    @cached_property
    def trials(self) -> Trials:
        """What the equations of the trial sites have of the dates, see `place_shifts`."""
        return _trials(self)


class Trials(NamedTuple):
    """Trial sites P against each other, with the days of the varieties eliminated.

    places : their names. total : weight of each dated family.
    design : shape (D, P), whether a date is of a place, less the mean of its family.
    normal : shape (P, P).
    """

    places: tuple[str, ...]
    total: FloatArray
    design: FloatArray
    normal: FloatArray


def dated(
    groups: Sequence[Family],
    hemisphere: float,
    sites: Mapping[str, Climate],
    timing: Timing,
    spreads: Spreads = MappingProxyType({}),
) -> Dated:
    """All dates of some families of one species that can be used.

    Evidence from a place that is not in `sites` cannot be carried and is left out. A measured date
    is drawn towards the mean of the varieties that were dated at its place, by its error's share of
    their variance (regression to the mean: Galton, F. 1886. Journal of the Anthropological
    Institute 15:246-263).

    hemisphere : a latitude of the sign of the site's own.
    spreads : as from `species_spreads`; empty: dates are taken as they are.
    """
    dates = tuple(
        date
        for i, group in enumerate(groups)
        for date in _dates(i, group, hemisphere, sites, timing, spreads)
    )
    shape = len(timing.rules), len(dates)
    begin, h = np.empty(shape), np.full(shape, np.nan)
    if not dates:
        return Dated((), np.zeros(0, dtype=np.int64), np.zeros(0), begin, h)
    _, of = _numbered([date.family for date in dates])
    latest = _latest_forcing(dates, of)
    days = np.array([date.day for date in dates])
    for r, rule in enumerate(timing.rules):
        begin[r] = np.minimum(latest, rule.forcing_day)[of]
        alike: dict[tuple[str, Stage, float], list[int]] = {}
        for i, (date, first) in enumerate(zip(dates, begin[r].tolist(), strict=True)):
            alike.setdefault((date.place, date.stage, first), []).append(i)
        for (place, stage, first), rows in alike.items():
            if place != HERE:
                h[r, rows] = sites[place].position(stage, first, rule.k, timing, days[rows])
    firsts = tuple(
        tuple((first, np.flatnonzero(row == first)) for first in dict.fromkeys(row.tolist()))
        for row in begin
    )
    home = tuple(i for i, date in enumerate(dates) if date.place == HERE)
    return Dated(dates, of, _weights(dates), begin, h, home, firsts)


def species_spreads(peers: Sequence[Family], sites: Mapping[str, Climate]) -> dict[
    tuple[str, Stage], Spread
]:  # fmt: skip
    """How the varieties of a species that were dated at the trial sites are spread there.

    peers : they should not depend on the plan, lest one variety's dates change with another's
        presence.
    """
    days: dict[tuple[str, Stage], list[float]] = {}
    for peer in peers:
        for evidence in _measured(peer):
            if evidence.place in sites:
                day = season_day(sites[evidence.place].hemisphere, evidence.day)
                days.setdefault((evidence.place, evidence.stage), []).append(day)
    return {
        key: Spread(float(np.mean(each)), float(np.std(each, ddof=1)))
        for key, each in days.items()
        if len(each) >= LEAST_PEERS
    }


def _measured(family: Family) -> Iterator[BloomEvidence]:
    """Dates that were read at a place: what stands out there does so by chance in part.

    Classes and the offsets of panels are means of their kind, or were evened out by their source.
    """
    evidence = dict.fromkeys(e for variety in family.members for e in variety.bloom)
    return (each for each in evidence if each.kind == "date")


def family_positions(
    groups: Sequence[Family],
    here: Climate,
    sites: Mapping[str, Climate],
    timing: Timing,
    shifts: Mapping[tuple[str, int], float],
    spreads: Spreads = MappingProxyType({}),
) -> tuple[Position | None, ...]:
    """Position of every family of a species; None where nothing is known of its bloom.

    Their dates are as from `dated`. The position of a family is the same whatever the others.

    shifts : as from `place_shifts`. spreads : as from `species_spreads`.
    """
    told = dated(groups, here.hemisphere, sites, timing, spreads)
    solved = dict(_solved(groups, told, {**sites, HERE: here}, timing, shifts))
    return tuple(solved.get(i) for i in range(len(groups)))


def _dates(
    index: int,
    family: Family,
    hemisphere: float,
    sites: Mapping[str, Climate],
    timing: Timing,
    spreads: Spreads,
) -> Iterator[Date]:
    """Observations of a family; bloom that the grower typed stands in place of all others."""
    if family.typed is not None:
        first, last = family.typed.intervals[0]
        lead = timing.lead_days / (timing.lead_days + timing.tail_days)
        day = season_day(hemisphere, first) + _length(first, last) * lead
        sd = TYPED_SD_DAYS if family.typed.sd_days is None else family.typed.sd_days
        yield Date(index, HERE, "full", day, sd, "plan")
        return
    for evidence in dict.fromkeys(e for variety in family.members for e in variety.bloom):
        if evidence.place in sites or evidence.place == HERE:
            there = hemisphere if evidence.place == HERE else sites[evidence.place].hemisphere
            day = season_day(there, evidence.day)
            spread = spreads.get((evidence.place, evidence.stage))
            sd_days = evidence.sd_days
            if spread is not None and evidence.kind == "date":
                day, sd_days = _regressed(day, sd_days, spread)
            yield Date(
                index,
                evidence.place,
                evidence.stage,
                day + MORNING[evidence.stage],
                sd_days,
                evidence.status,
            )


def _regressed(day: float, sd_days: float, spread: Spread) -> tuple[float, float]:
    """A measured day with its SD, drawn towards the mean of the varieties of its place."""
    kept = max(1 - sd_days**2 / spread.sd**2, LEAST_KEPT) if spread.sd > 0 else 1.0
    return spread.mean + kept * (day - spread.mean), sd_days * float(np.sqrt(kept))


@dataclass(frozen=True, eq=False)
class Placed:
    """Where the N dated families of one species stand at a site.

    h, forcing_day : shape (N, R), as in `Position`. sd_days, carried : shape (N,).
    """

    h: FloatArray
    forcing_day: FloatArray
    sd_days: FloatArray
    carried: FloatArray


def placed(
    told: Dated, here: Climate, timing: Timing, shifts: Mapping[tuple[str, int], float]
) -> Placed:
    """Where the families of `Dated.families` stand at a site, in their order.

    shifts : as from `place_shifts`.
    """
    dates, of, weight = told.dates, told.of, told.weight
    total = np.bincount(of, weight)
    h, begin = np.empty((2, total.size, len(timing.rules)))
    disagreement = np.zeros(total.size)
    for r, rule in enumerate(timing.rules):
        begin[of, r] = told.begin[r]
        day_here = _days_here(told, r, here, timing)
        day_here -= np.array([shifts.get((date.place, r), 0.0) for date in dates])
        each = _positions_here(day_here, told.begin[r], rule.k, here, timing)
        h[:, r] = np.bincount(of, weight * each) / total
        mean_day = np.bincount(of, weight * day_here) / total
        disagreement += rule.weight * np.bincount(of, weight * (day_here - mean_day[of]) ** 2)
    from_here = np.array([date.place == HERE for date in dates], dtype=bool)
    widen = np.sqrt(np.maximum(1.0, disagreement / np.maximum(told.places - 1, 1)))
    return Placed(
        h, begin, widen / np.sqrt(total), 1 - np.bincount(of, weight * from_here) / total
    )  # fmt: skip


def _solved(
    groups: Sequence[Family],
    told: Dated,
    climates: Mapping[str, Climate],
    timing: Timing,
    shifts: Mapping[tuple[str, int], float],
) -> Iterator[tuple[int, Position]]:
    if not told.dates:
        return
    stand = placed(told, climates[HERE], timing, shifts)
    for i, (index, mine) in enumerate(told.families.items()):
        h, begin = stand.h[i], stand.forcing_day[i]
        length = relative_length(groups[index], climates[mine[0].place], h, begin, timing)
        words = _rests_on(groups[index], mine, timing)
        error, carried = float(stand.sd_days[i]), float(stand.carried[i])
        yield index, Position(h, begin, error, carried, length, words)


def _numbered(families: Sequence[int]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The different ones, sorted, and the place of each among these."""
    # `numpy.unique` does the same and imports the masked arrays for it.
    used = np.array(sorted(set(families)))
    return used, np.searchsorted(used, families)


def _weights(dates: Sequence[Date]) -> FloatArray:
    """Weight of each date: 1 / SD², divided between the stages dated at one place."""
    stages: dict[tuple[int, str], int] = {}
    for date in dates:
        stages[date.family, date.place] = stages.get((date.family, date.place), 0) + 1
    shared = np.array([stages[date.family, date.place] for date in dates])
    sd_days = np.array([max(date.sd_days, _LEAST_SD_DAYS) for date in dates])
    return np.asarray(1 / (shared * sd_days**2))


def _latest_forcing(dates: Sequence[Date], of: np.ndarray) -> FloatArray:
    """Day of the season from which heat must count at the latest, for each family."""
    days = np.array([date.day for date in dates])
    latest = np.full(of.max() + 1, np.inf)
    np.minimum.at(latest, of, days - FORCING_MARGIN_DAYS)
    return np.maximum(np.floor(latest / _FORCING_STEP_DAYS) * _FORCING_STEP_DAYS, 0.0)


def place_shifts(told: Dated, here: Climate, timing: Timing) -> dict[tuple[str, int], float]:
    """By how many days each trial site puts all varieties too late here, for each rule.

    Least squares over all dates of day here = day of the variety + shift of the place, with the
    shifts held near 0 by the error that a carried site is known to have (`site_sd_days`); dates
    from here have no shift. Places that share no variety with another keep 0. Where a site is said
    to carry no error, there is no shift either, whatever the dates say.

    told : dates as they are of families that should not depend on the plan, lest one variety's
        dates change with another's presence.

    Returns
    -------
    (place, index of the rule) → shift. [days]
    """
    if not told.dates or not told.trials.places or timing.site_sd_days == 0:
        return {}
    places = told.trials.places
    found = {}
    for r in range(len(timing.rules)):
        shifts = _shifts(_days_here(told, r, here, timing), told, timing.site_sd_days)
        found.update({(place, r): float(shifts[p]) for p, place in enumerate(places)})
    return found


def _trials(told: Dated) -> Trials:
    places = tuple(sorted({date.place for date in told.dates} - {HERE}))
    number = {place: column for column, place in enumerate(places)}
    column = np.array([number.get(date.place, -1) for date in told.dates])
    design = (column[:, None] == np.arange(len(places))).astype(float)
    total: FloatArray = np.bincount(told.of, told.weight).astype(float)
    mean_design = np.zeros((total.size, len(places)))
    np.add.at(mean_design, told.of, told.weight[:, None] * design)
    centred = design - (mean_design / total[:, None])[told.of]
    return Trials(places, total, centred, product(centred.T, told.weight[:, None] * centred))


def _shifts(days: FloatArray, told: Dated, sd_days: float) -> FloatArray:
    """Shift of each trial site, by the usual days here that the dates give, shape (P,)."""
    places, total, design, normal = told.trials
    mean_day = np.bincount(told.of, told.weight * days) / total
    right = product(design.T, told.weight * (days - mean_day[told.of]))
    return solved(normal + np.eye(len(places)) / sd_days**2, right)[0]


def _days_here(told: Dated, rule: int, here: Climate, timing: Timing) -> FloatArray:
    """The usual full bloom day here that each date alone gives by a rule, shape (D,)."""
    begin, k = told.begin[rule], timing.rules[rule].k
    days = np.empty(begin.size)
    for first, rows in told.alike[rule]:
        days[rows] = here.usual_day("full", first, k, timing, told.h[rule, rows])
    for i in told.here:
        date, first = told.dates[i], float(begin[i])
        h = here.position(date.stage, first, k, timing, np.array([date.day]))
        days[i] = here.usual_day("full", first, k, timing, h)[0]
    return days


def _positions_here(
    days: FloatArray, forcing_day: FloatArray, k: float, here: Climate, timing: Timing
) -> FloatArray:
    """Positions whose full bloom falls on these usual days here, shape (dates,)."""
    h = np.empty(days.size)
    for begin in dict.fromkeys(forcing_day.tolist()):
        same = forcing_day == begin
        h[same] = here.position("full", float(begin), k, timing, days[same])
    return h


def _length(first: float, last: float) -> float:
    """Days of a typed interval, both ends counted."""
    return (last - first) % 365 + 1


def relative_length(
    family: Family, climate: Climate, h: FloatArray, forcing_day: FloatArray, timing: Timing
) -> float | None:
    """Length of bloom that is known of a family, against the species' in the same seasons."""
    if family.typed is not None:
        days: float | None = _length(*family.typed.intervals[0])
    else:
        known = (v.bloom_length_days for v in family.members)
        days = next((length for length in known if length is not None), None)
    if days is None:
        return None
    heaviest = int(np.argmax([rule.weight for rule in timing.rules]))
    rule = timing.rules[heaviest]
    full = climate.full_days(float(forcing_day[heaviest]), rule.k, h[heaviest, None])[0]
    return days / climate.mean_length(full, timing)


def _rests_on(family: Family, dates: Sequence[Date], timing: Timing) -> Message:
    if family.typed is not None:
        return say("dates typed by the grower")
    memory = any(date.status == "memory" for date in dates)
    return _words(frozenset(date.place for date in dates), memory, timing.borrowed)


@cache
def _words(places: frozenset[str], memory: bool, borrowed: bool) -> Message:
    if borrowed:
        pattern = (
            mark("bloom at {places} (from memory), timing borrowed")
            if memory
            else mark("bloom at {places}, timing borrowed")
        )
    else:
        pattern = mark("bloom at {places} (from memory)") if memory else mark("bloom at {places}")
    return say(pattern, places=listing(sorted(places)))
