"""Bloom of every variety in every scenario: (draw, winter).

Errors are added in days and come apart by whom they are shared: all varieties of a species share
one site error a draw and one season error a draw and winter, which cancel in overlap; each
variety has a position error a draw and an error of its own a draw and winter, which do not. The
length of bloom has errors that all varieties share, too.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, cached_property, partial
from itertools import pairwise
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.days import NOMINAL_YEAR, season_start
from pollinet.domain import (
    Bloom,
    BloomRecord,
    FloatArray,
    Run,
    Timing,
    TypedBloom,
    Variety,
    VarietyId,
)
from pollinet.errors import ShapeError
from pollinet.messages import say
from pollinet.phenology.climate import Climate, days_into_season
from pollinet.phenology.length import at_days
from pollinet.phenology.notes import day_notes, length_notes, noted_springs, usual_length
from pollinet.phenology.positions import (
    TYPED_SD_DAYS,
    Dated,
    Family,
    Position,
    Spreads,
    dated,
    families,
    family_positions,
    place_shifts,
    shed_families,
    species_spreads,
)
from pollinet.phenology.records import AS_MEASURED, Errors, Note, learn
from pollinet.phenology.runs import in_run, run_position
from pollinet.phenology.streams import shuffled_normals, stream
from pollinet.phenology.sums import SeasonSums

FULL_SHARE = 0.4
"""Share of a typed interval that lies before full bloom: 5 of 12 to 14 days in the median of
three cherry trial sites (Wenden et al. 2016, Scientific Data 3:160108)."""

_NOTHING = say("nothing known of its bloom")


@dataclass(frozen=True, eq=False)
class Peers:
    """The varieties of a species by which trial sites are brought in line: the same at all sites.

    flowers, catkins : their families, without dates that a grower typed.
    dated, shed : dates of bloom and of pollen shed, by which they tell of the trial sites.
    spreads : how they are spread there, see `positions.species_spreads`.
    """

    flowers: tuple[Family, ...]
    catkins: tuple[Family, ...]
    dated: Dated
    shed: Dated
    spreads: Spreads


def peers_of(
    species: str,
    varieties: Iterable[Variety],
    hemisphere: float,
    sites: Mapping[str, Climate],
    timing: Timing,
) -> Peers:
    """The peers of a species; varieties of other species are passed over.

    hemisphere : a latitude of the sign of the site's own.
    timing : of it the rules count, and the lengths of bloom.
    """
    own = tuple(variety for variety in varieties if variety.id.species == species)
    flowers, catkins = (
        tuple(family for family in all_of if family.typed is None)
        for all_of in (families(own), shed_families(own))
    )
    bloom, shed = (dated(each, hemisphere, sites, timing) for each in (flowers, catkins))
    return Peers(flowers, catkins, bloom, shed, species_spreads(flowers, sites))


class Known(NamedTuple):
    """A family with its position."""

    group: Family
    position: Position


@dataclass(frozen=True, eq=False)
class Ground:
    """What bloom of one species hangs on at a site, but for the varieties and the notes.

    home, sites : seasons of the site, and of the trial sites by name.
    shifts : what brings the trial sites in line, see `positions.place_shifts`.
    peers, runs : families of the species, and rows of the table, that its run is taken from.
    """

    species: str
    timing: Timing
    home: Climate
    sites: Mapping[str, Climate]
    shifts: Mapping[tuple[str, int], float]
    draws: int
    latitude: float
    seed: int
    peers: Peers
    runs: tuple[Run, ...] = ()

    @cached_property
    def run(self) -> Position | None:
        """Where a variety without evidence of bloom stands; None: nothing is known of the fruit."""
        return self._run(self.peers.flowers, self.peers.dated, sheds=False)

    @cached_property
    def shed_run(self) -> Position | None:
        """`run` for catkins; None too where pollen is shed with bloom."""
        return self._run(self.peers.catkins, self.peers.shed, sheds=True)

    def _run(self, peers: Sequence[Family], told: Dated, *, sheds: bool) -> Position | None:
        runs = [run for run in self.runs if run.sheds == sheds]
        return run_position(peers, told, runs, self.home, self.sites, self.timing, self.shifts)


class Learnt(NamedTuple):
    """Drawn errors of one family that was noted: of its position in SDs of 1, shape (K,).

    length : of the logarithm of its length, shape (K,); None: its length was not noted.
    """

    position: FloatArray
    length: FloatArray | None


@dataclass(frozen=True, eq=False)
class SharedErrors:
    """Drawn errors that all varieties of a species share, and what the notes told of some.

    rules, site, scatter : shape (K,), as in `records.Errors`.
    season : shape (K, W). [days]
    length_site : shape (K,), in SDs of 1. length_season : shape (K, W). Both of the logarithm.
    learnt : by `Family.evidence`.
    """

    rules: NDArray[np.int64]
    site: FloatArray
    season: FloatArray
    length_site: FloatArray
    length_season: FloatArray
    learnt: Mapping[Hashable, Learnt]
    scatter: FloatArray


@dataclass(frozen=True, eq=False)
class BloomRow:
    """Bloom of one variety in every scenario, see `domain.Bloom`.

    hours : shape (3, K, W), start, full bloom and end.
    dated : whether bloom rests on evidence of the variety's own.
    shed : shape (2, K, W), start and end; None: pollen is shed with bloom.
    bulk_end_h : shape (K, W); None: there are no stragglers.
    shed_dated : `dated` for the pollen; the same where it is shed with bloom.
    """

    variety: VarietyId
    hours: FloatArray
    rests_on: str
    dated: bool
    shed_dated: bool
    shed: FloatArray | None = None
    bulk_end_h: FloatArray | None = None


def ground_of(
    species: str,
    home: Climate,
    sites: Mapping[str, Climate],
    timing: Timing,
    peers: Peers,
    *,
    draws: int,
    latitude: float,
    seed: int,
    runs: Iterable[Run] = (),
) -> Ground:
    """The ground of a species.

    peers : those of this species, in the hemisphere of the site.
    runs : rows of the table on this species.
    """
    shifts = place_shifts(peers.dated, home, timing)
    return Ground(
        species, timing, home, sites, shifts, draws, latitude, seed, peers, tuple(runs)
    )  # fmt: skip


def bloom_ensemble(
    varieties: Sequence[Variety],
    here: SeasonSums,
    sites: Mapping[str, SeasonSums],
    timing: Mapping[str, Timing],
    *,
    draws: int,
    latitude: float,
    seed: int,
    records: Iterable[BloomRecord] = (),
    peers: Sequence[Variety] = (),
    outlook: SeasonSums | None = None,
    runs: Mapping[str, Sequence[Run]] = MappingProxyType({}),
) -> Bloom:
    """Bloom of every variety in every draw and every winter of a site with weather.

    Parameters
    ----------
    varieties
        V varieties, in any order. Clones of one variety share their draws, and its evidence
        where they have none of their own. Where pollen is shed at another time than that of
        bloom, its dates are drawn beside those of bloom, under the same rule and shared errors.
    here, sites
        Seasons of the site and of the trial sites named in the evidence.
    timing
        For every species among the varieties.
    draws
        K, how many plausible sets of requirements.
    seed
        The draws of a variety depend on it and on the variety's name alone.
    peers
        Varieties of the same species by which trial sites are brought in line, see
        `positions.place_shifts`, and whose run those without evidence are taken to be in; take
        all that the catalogue has.
    records
        The grower's own dates: they move the error of the site, the positions of varieties and,
        where two stages of a spring were noted, how long they bloom.
    outlook
        The same winters made warmer: what is known was observed in `here`, bloom is told for
        these.
    runs
        For a species with few dated peers: when its varieties bloom at trial sites.

    Returns
    -------
    Bloom
        NaN where nothing is known of a variety nor of its fruit, or where a winter is too short
        of heat.
    """
    home = Climate(here)
    told = home if outlook is None else Climate(outlook)
    climates = {place: Climate(sums) for place, sums in sites.items()}
    noted = tuple(records)
    rows: list[BloomRow] = []
    for species in sorted({variety.id.species for variety in varieties}):
        own = [variety for variety in varieties if variety.id.species == species]
        others = peers_of(species, peers, home.hemisphere, climates, timing[species])
        ground = ground_of(
            species, home, climates, timing[species], others,
            draws=draws, latitude=latitude, seed=seed, runs=runs.get(species, ()),
        )  # fmt: skip
        rows += bloom_rows(own, ground, told, shared_errors(own, ground, noted))
    return stacked(rows, here.starts)


def shared_errors(
    varieties: Sequence[Variety], ground: Ground, records: Iterable[BloomRecord] = ()
) -> SharedErrors:
    """Draw what all varieties of a species share, and let the notes correct it.

    varieties : of the species; notes of others are left out, and without notes they are all one.
    """
    timing, draws, winters = ground.timing, ground.draws, len(ground.home.sums.starts)
    rng = stream(ground.seed, ground.species)
    season = timing.season_sd_days * shuffled_normals(draws, rng, winters)
    borders = np.cumsum([rule.weight for rule in timing.rules])
    share = (np.arange(draws) + 0.5) / draws * borders[-1]
    rules = rng.permutation(np.searchsorted(borders, share))
    site = shuffled_normals(draws, rng)
    length_site = shuffled_normals(draws, rng)
    length_season = timing.length_season_log_sd * shuffled_normals(draws, rng, winters)
    drawn = SharedErrors(rules, site, season, length_site, length_season, {}, np.ones(draws))
    names = {variety.id for variety in varieties}
    about = [record for record in records if record.variety in names]
    return _taught(varieties, ground, drawn, about, rng) if about else drawn


def bloom_rows(
    varieties: Sequence[Variety], ground: Ground, told: Climate, shared: SharedErrors
) -> list[BloomRow]:
    """Bloom of some varieties of one species, sorted; each row is the same whatever the others.

    told : the seasons that bloom is told for.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    places = {variety.id: place for place, variety in enumerate(ordered)}
    hours = np.empty((3, len(ordered), ground.draws, len(told.sums.starts)))
    words: dict[VarietyId, str] = {}
    shed: dict[VarietyId, FloatArray] = {}
    dated: set[tuple[VarietyId, bool]] = set()
    catkins = shed_families(ordered, known_only=ground.shed_run is None)
    known = _known((*families(ordered), *catkins), ground)
    for each, days in zip(known, _family_days(known, ground, told, shared), strict=True):
        group = each.group
        is_dated = each.position.own or _learnt(group, shared) is not None
        for variety in group.members:
            if group.sheds:
                shed[variety.id] = days[::2] * 24
            else:
                np.multiply(days, 24, out=hours[:, places[variety.id]])
                words[variety.id] = each.position.rests_on
            if is_dated:
                dated.add((variety.id, group.sheds))
    hours[:, [variety.id not in words for variety in ordered]] = np.nan
    return [
        BloomRow(
            name,
            hours[:, place],
            words.get(name, _NOTHING),
            (name, False) in dated,
            (name, name in shed) in dated,
            shed.get(name),
        )
        for name, place in places.items()
    ]


def stacked(rows: Sequence[BloomRow], starts: tuple[date, ...]) -> Bloom:
    """The rows of some varieties, sorted, as one; of equal numbers of draws and winters."""
    hours = _hours(rows, len(starts))
    bulk_end = None
    if any(row.bulk_end_h is not None for row in rows):
        bulk_end = np.stack([_bulk_end(row) for row in rows])
    shed = shed_dated = None
    if any(row.shed is not None for row in rows):
        shed_dated = np.array([row.shed_dated for row in rows])
        shed = np.stack(
            [np.stack((row.hours[0], _bulk_end(row))) if row.shed is None else row.shed
             for row in rows], axis=1,
        )  # fmt: skip
    return Bloom(
        varieties=tuple(row.variety for row in rows),
        start_h=hours[0],
        full_h=hours[1],
        end_h=hours[2],
        starts=starts,
        sd_days=_spreads(hours[1]) / 24,
        dated=np.array([row.dated for row in rows], dtype=bool),
        rests_on=tuple(row.rests_on for row in rows),
        shed_start_h=None if shed is None else shed[0],
        shed_end_h=None if shed is None else shed[1],
        bulk_end_h=bulk_end,
        shed_dated=shed_dated,
    )


def _hours(rows: Sequence[BloomRow], winters: int) -> FloatArray:
    """Hours of several rows, shape (3, V, K, W); rows made as one are not copied."""
    if not rows:
        return np.empty((3, 0, 0, winters))
    made = rows[0].hours.base
    if made is not None and made.shape[:2] == (3, len(rows)):
        # As many different rows as were made at once, in the same order: all of them.
        in_order = all(one.variety < other.variety for one, other in pairwise(rows))
        if in_order and all(row.hours.base is made for row in rows):
            return np.asarray(made)
    return np.stack([row.hours for row in rows], axis=1)


def _bulk_end(row: BloomRow) -> FloatArray:
    return row.hours[2] if row.bulk_end_h is None else row.bulk_end_h


def typed_scenarios(varieties: Sequence[Variety], draws: int) -> tuple[int, int]:
    """How many draws and springs bloom typed for these varieties has.

    Where all spreads are 0 a single draw tells all.

    Raises
    ------
    ShapeError
        Varieties have intervals for different numbers of springs.
    """
    groups = (*families(varieties), *shed_families(varieties))
    typed = [group.typed for group in groups if group.typed is not None]
    springs = {len(bloom.intervals) for bloom in typed} or {1}
    if len(springs) > 1:
        raise ShapeError(f"typed bloom of {sorted(springs)} springs in one plan")
    exact = all(bloom.sd_days == 0 for bloom in typed)
    return 1 if exact else draws, springs.pop()


def typed_bloom(varieties: Sequence[Variety], *, draws: int, latitude: float, seed: int) -> Bloom:
    """Bloom without any weather, from dates that the grower typed.

    Each typed interval stands for one spring; where all spreads are 0 a single draw tells all.

    Raises
    ------
    ShapeError
        Varieties have intervals for different numbers of springs.
    """
    scenarios = typed_scenarios(varieties, draws)
    ordered = sorted(varieties, key=lambda v: v.id)
    rows = [typed_row(own, *scenarios, latitude=latitude, seed=seed) for own in ordered]
    return stacked(rows, typed_starts(latitude, scenarios[1]))


def typed_starts(latitude: float, springs: int) -> tuple[date, ...]:
    """First day of the seasons that stand for typed springs."""
    return (season_start(latitude, NOMINAL_YEAR),) * springs


def typed_row(
    variety: Variety, draws: int, springs: int, *, latitude: float, seed: int
) -> BloomRow:
    """Typed bloom of one variety; draws and springs as from `typed_scenarios`."""
    hours, words, shed = np.full((3, draws, springs), np.nan), _NOTHING, None
    starts = typed_starts(latitude, springs)
    for group in (*families([variety]), *shed_families([variety])):
        if group.typed is None:
            continue
        sd_days = TYPED_SD_DAYS if group.typed.sd_days is None else group.typed.sd_days
        rng = stream(seed, *group.stream, "typed")
        error = shuffled_normals(draws, rng, springs)
        days = _exact_days(group.typed, starts, latitude)[:, None, :] + sd_days * error
        if group.sheds:
            shed = days[::2] * 24
        else:
            hours, words = days * 24, say("dates typed by the grower")
    dated = variety.typed_bloom is not None
    return BloomRow(variety.id, hours, words, dated, dated if shed is None else True, shed)


def usual_parts(positions: Sequence[Position], home: Climate, timing: Timing) -> FloatArray:
    """What the rules alone say, without errors.

    Returns shape (3, N, R, W): days of bloom before full bloom, its day, days of bloom after it.
    """
    full = np.full((len(positions), len(timing.rules), len(home.sums.starts)), np.nan)
    for r, rule in enumerate(timing.rules):
        begin = np.array([position.forcing_day[r] for position in positions])
        h = np.array([position.h[r] for position in positions])
        for value in dict.fromkeys(begin.tolist()):
            same = begin == value
            full[same, r] = home.full_days(float(value), rule.k, h[same])
    length = np.array([position.length or 1.0 for position in positions])[:, None, None]
    lead = timing.lead_days * length * at_days(home.lead_stretch, full)
    return np.stack((lead, full, timing.tail_days * length * at_days(home.tail_stretch, full)))


def _known(groups: Iterable[Family], ground: Ground) -> list[Known]:
    """Families with their positions: those of their own evidence, or in the run of the fruit."""
    groups = tuple(groups)
    positions = family_positions(
        groups, ground.home, ground.sites, ground.timing, ground.shifts, ground.peers.spreads
    )
    known = []
    for group, position in zip(groups, positions, strict=True):
        if position is None:
            run = ground.shed_run if group.sheds else ground.run
            if run is None:
                continue
            position = in_run(group, run, ground.home, ground.timing)
        known.append(Known(group, position))
    return known


def _family_days(
    known: Sequence[Known], ground: Ground, told: Climate, shared: SharedErrors
) -> Iterator[FloatArray]:
    """Days of start, full bloom and end of each family, shape (3, K, W)."""
    timing, draws, starts = ground.timing, ground.draws, told.sums.starts
    parts = usual_parts([each.position for each in known], told, timing)
    stretch = cache(partial(_shared_stretch, shared, timing))
    pace, middles = _pace(shared, timing), _middles(known, ground, told, shared)
    for i, (group, position) in enumerate(known):
        if group.typed is not None and group.typed.sd_days == 0:
            days = _exact_days(group.typed, starts, ground.latitude)[:, None, :]
            yield np.repeat(days, draws, axis=1)
            continue
        rng = stream(ground.seed, *group.stream)
        error, length_error = shuffled_normals(draws, rng), None
        learnt = _learnt(group, shared)
        if learnt is not None:
            error, length_error = learnt
            if length_error is not None:
                shuffled_normals(draws, rng)  # the draw that learning began with
        followed = parts[:, i].take(shared.rules, axis=1)
        followed[::2] *= stretch(position.carried)
        if (middle := middles.get(group.sheds)) is not None:
            followed[1] += (pace - 1) * np.nan_to_num(followed[1] - middle)
        shift = timing.site_sd_days * (position.carried * shared.site)[:, None] + shared.season
        shift += pace * (position_sd(position, timing) * error)[:, None]
        own_sd = timing.own_sd_days * pace * shared.scatter[:, None]
        yield _drawn_days(position, followed, shift, own_sd, timing, length_error, rng)


def _learnt(group: Family, shared: SharedErrors) -> Learnt | None:
    """What the grower's notes told of a family; of bloom, for they are about the flowers."""
    return None if group.sheds else shared.learnt.get(group.evidence)


def position_sd(position: Position, timing: Timing) -> float:
    """Error of a variety's position here: that of its evidence, and that of carrying it."""
    return float(np.hypot(position.sd_days, timing.carried_sd_days * position.carried))


def _pace(shared: SharedErrors, timing: Timing) -> FloatArray:
    """By how much each spring draws the varieties apart, of mean 1, shape (K, W)."""
    return np.asarray(np.exp(shared.length_season - timing.length_season_log_sd**2 / 2))


def _middles(
    known: Sequence[Known], ground: Ground, told: Climate, shared: SharedErrors
) -> dict[bool, FloatArray]:
    """Full bloom of the run of the fruit, shape (K, W), of flowers and of what is shed apart."""
    runs = {
        sheds: ground.shed_run if sheds else ground.run
        for sheds in {each.group.sheds for each in known}
    }
    return {
        sheds: usual_parts([run], told, ground.timing)[1, 0].take(shared.rules, axis=0)
        for sheds, run in runs.items()
        if run is not None
    }


def _shared_stretch(shared: SharedErrors, timing: Timing, carried: float) -> FloatArray:
    """Error of the length of bloom that varieties share, by the share that was carried: (K, W)."""
    site = timing.length_site_log_sd * shared.length_site[:, None]
    return np.exp(carried * site + shared.length_season)


def _drawn_days(
    position: Position,
    parts: FloatArray,
    shift: FloatArray,
    own_sd_days: FloatArray,
    timing: Timing,
    length_error: FloatArray | None,
    rng: np.random.Generator,
) -> FloatArray:
    """Days of start, full bloom and end, shape (3, K, W).

    parts : shape (3, K, W), as `usual_parts`; changed in place.
    shift : shape (K, W), error that does not belong to this variety and winter alone. [days]
    own_sd_days : shape (K, W), of the error that does.
    length_error : shape (K,), of the logarithm of the length, as learnt; None: nothing learnt.
    """
    lead, full, tail = parts
    full += shift
    full += own_sd_days * rng.standard_normal(full.shape)
    if length_error is None and position.length is None:
        length_error = timing.length_log_sd * shuffled_normals(len(full), rng)
    if length_error is not None:
        parts[::2] *= np.exp(length_error)[:, None]
    np.subtract(full, lead, out=lead)
    tail += full
    return parts


def _taught(
    varieties: Sequence[Variety],
    ground: Ground,
    drawn: SharedErrors,
    records: Sequence[BloomRecord],
    rng: np.random.Generator,
) -> SharedErrors:
    """Shared errors that agree with the grower's notes, with what these tell of each family."""
    timing, home = ground.timing, ground.home
    names = {record.variety for record in records}
    noted = [g for g in families(varieties) if any(v.id in names for v in g.members)]
    known = _known(noted, ground)
    index = {v.id: i for i, each in enumerate(known) for v in each.group.members}
    springs = noted_springs(records, index, ground.latitude)
    if not springs:
        return drawn
    streams = [stream(ground.seed, *each.group.stream) for each in known]
    positions = np.array([shuffled_normals(ground.draws, own) for own in streams])
    errors = Errors(drawn.rules, drawn.site, positions, drawn.scatter)
    parts = usual_parts([each.position for each in known], home, timing)
    errors = _learned(known, errors, day_notes(springs, parts, timing, home), timing, rng)
    own = [each.position.length for each in known]
    notes = length_notes(springs, own, timing, home)
    length_site, lengths = _learned_lengths(known, drawn.length_site, notes, timing, streams, rng)
    return replace(
        drawn,
        rules=errors.rules,
        site=errors.site,
        season=drawn.season * errors.scatter[:, None],
        length_site=length_site,
        learnt={
            each.group.evidence: Learnt(errors.positions[i], lengths.get(i))
            for i, each in enumerate(known)
        },
        scatter=errors.scatter,
    )


def _learned(
    known: Sequence[Known],
    errors: Errors,
    notes: Sequence[Note],
    timing: Timing,
    rng: np.random.Generator,
) -> Errors:
    if not notes:
        return errors
    return learn(
        errors,
        notes,
        np.array([rule.weight for rule in timing.rules]),
        np.array([timing.site_sd_days * each.position.carried for each in known]),
        timing.season_sd_days,
        np.array([position_sd(each.position, timing) for each in known]),
        rng,
    )


def _learned_lengths(
    known: Sequence[Known],
    site: FloatArray,
    notes: Sequence[Note],
    timing: Timing,
    streams: Sequence[np.random.Generator],
    rng: np.random.Generator,
) -> tuple[FloatArray, dict[int, FloatArray]]:
    """Errors of length given the notes: those that all share, and of each family noted.

    They are the same for all rules.
    """
    if not notes:
        return site, {}
    draws = site.size
    noted = {note.group for note in notes}
    prior = Errors(
        np.zeros(draws, dtype=int),
        site,
        np.array(
            [
                shuffled_normals(draws, own) if i in noted else np.zeros(draws)
                for i, own in enumerate(streams)
            ]
        ),
        np.ones(draws),
    )
    scale = usual_length(timing)
    own_sd = np.array([_own_length_sd(each.position, timing) for each in known])
    learnt = learn(
        prior,
        notes,
        np.ones(1),
        scale * timing.length_site_log_sd * np.array([each.position.carried for each in known]),
        scale * timing.length_season_log_sd,
        scale * own_sd,
        rng,
        # A variety under a false name blooms as long as most.
        scatters=AS_MEASURED,
        misnamed_sd=0.0,
    )
    return learnt.site, {i: own_sd[i] * learnt.positions[i] for i in sorted(noted)}


def _own_length_sd(position: Position, timing: Timing) -> float:
    """How far the logarithm of a variety's length may be off, before the notes.

    A length carried from another site is held as loosely as the species' mean: how far varieties
    change from site to site was not fitted, and they differ there by no more than among themselves.
    """
    return timing.length_log_sd * (1.0 if position.length is None else position.carried)


def _exact_days(typed: TypedBloom, starts: Sequence[date], latitude: float) -> FloatArray:
    """Days of start, full bloom and end as typed, shape (3, W); one interval serves all."""
    repeat = len(starts) // len(typed.intervals)
    spans = typed.intervals * repeat
    first = np.array(
        [
            days_into_season(start, day, latitude)
            for start, (day, _) in zip(starts, spans, strict=True)
        ]
    )
    length = np.array([(last - day) % 365 + 1 for day, last in spans])
    return np.stack((first, first + FULL_SHARE * length, first + length))


def _spreads(hours: FloatArray) -> FloatArray:
    """Standard deviation of each row over all scenarios with bloom; NaN: there is none. [h]"""
    flat = hours.reshape(len(hours), -1)
    mean = flat.mean(axis=1)
    squares = np.einsum("ij,ij->i", flat, flat) / flat.shape[1]
    spreads = np.sqrt(np.maximum(squares - mean**2, 0.0))
    for row in np.flatnonzero(np.isnan(mean)):
        known = flat[row, np.isfinite(flat[row])]
        spreads[row] = known.std() if known.size else np.nan
    return np.asarray(spreads)
