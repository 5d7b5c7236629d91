"""Bloom of every variety in every scenario: (draw, winter).

Errors are added in days and come apart by whom they are shared: all varieties of a species share
one site error a draw and one season error a draw and winter, which cancel in overlap; each
variety has a position error a draw and an error of its own a draw and winter, which do not. The
length of bloom has errors that all varieties share, too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import cache, partial
from typing import NamedTuple

import numpy as np

from pollinet.days import NOMINAL_YEAR, season_start
from pollinet.domain import (
    Bloom,
    BloomRecord,
    FloatArray,
    Timing,
    TypedBloom,
    Variety,
)
from pollinet.errors import ShapeError
from pollinet.messages import say
from pollinet.phenology.climate import Climate, days_into_season
from pollinet.phenology.length import at_days
from pollinet.phenology.notes import day_notes, length_notes, noted_springs, usual_length
from pollinet.phenology.positions import (
    TYPED_SD_DAYS,
    Family,
    Position,
    families,
    shed_families,
    solve_positions,
)
from pollinet.phenology.records import Errors, Note, learn
from pollinet.phenology.streams import shuffled_normals, stream
from pollinet.phenology.sums import SeasonSums

FULL_SHARE = 0.4
"""Share of a typed interval that lies before full bloom: 5 of 12 to 14 days in the median of
three cherry trial sites (Wenden et al. 2016, Scientific Data 3:160108)."""

_NOTHING = say("nothing known of its bloom")


class Known(NamedTuple):
    """A family whose bloom is known, with its position and the source of its own draws."""

    group: Family
    position: Position
    rng: np.random.Generator


class LengthErrors(NamedTuple):
    """Drawn errors of the logarithm of the length of bloom.

    site : shape (K,), shared by all families that are carried here, in SDs of 1.
    season : shape (K, W), shared by all families.
    own : shape (K,) for each family whose length the grower noted.
    """

    site: FloatArray
    season: FloatArray
    own: Mapping[int, FloatArray]


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
        `positions.place_shifts`; take all that the catalogue has.
    records
        The grower's own dates: they move the error of the site, the positions of varieties and,
        where two stages of a spring were noted, how long they bloom.
    outlook
        The same winters made warmer: what is known was observed in `here`, bloom is told for
        these.

    Returns
    -------
    Bloom
        NaN where a variety has no evidence, or where a winter is too short of heat.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    groups = (*families(ordered), *shed_families(ordered))
    home = Climate(here)
    told = home if outlook is None else Climate(outlook)
    climates = {place: Climate(sums) for place, sums in sites.items()}
    positions = solve_positions(groups, home, climates, timing, families(peers))
    rows = {variety.id: row for row, variety in enumerate(ordered)}
    hours = np.empty((3, len(ordered), draws, len(here.starts)))
    rests_on = [_NOTHING] * len(ordered)
    shed: dict[int, FloatArray] = {}
    noted = tuple(records)
    for species in dict.fromkeys(group.species for group in groups):
        known = [
            Known(group, position, stream(seed, *group.stream))
            for group, position in zip(groups, positions, strict=True)
            if group.species == species and position is not None
        ]
        rng = stream(seed, species)
        drawn = _species_days(known, home, told, timing[species], draws, latitude, rng, noted)
        for each, days in zip(known, drawn, strict=True):
            for variety in each.group.members:
                row = rows[variety.id]
                if each.group.sheds:
                    shed[row] = days[::2] * 24
                else:
                    np.multiply(days, 24, out=hours[:, row])
                    rests_on[row] = each.position.rests_on
    hours[:, [words == _NOTHING for words in rests_on]] = np.nan
    return _bloom(ordered, hours, here.starts, rests_on, shed)


def typed_bloom(varieties: Sequence[Variety], *, draws: int, latitude: float, seed: int) -> Bloom:
    """Bloom without any weather, from dates that the grower typed.

    Each typed interval stands for one spring; where all spreads are 0 a single draw tells all.

    Raises
    ------
    ShapeError
        Varieties have intervals for different numbers of springs.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    groups = (*families(ordered), *shed_families(ordered))
    typed = [group.typed for group in groups if group.typed is not None]
    springs = {len(bloom.intervals) for bloom in typed} or {1}
    if len(springs) > 1:
        raise ShapeError(f"typed bloom of {sorted(springs)} springs in one plan")
    exact = all(bloom.sd_days == 0 for bloom in typed)
    starts = (season_start(latitude, NOMINAL_YEAR),) * springs.pop()
    rows = {variety.id: row for row, variety in enumerate(ordered)}
    hours = np.full((3, len(ordered), 1 if exact else draws, len(starts)), np.nan)
    rests_on = [_NOTHING] * len(ordered)
    shed: dict[int, FloatArray] = {}
    for group in groups:
        if group.typed is None:
            continue
        sd_days = TYPED_SD_DAYS if group.typed.sd_days is None else group.typed.sd_days
        rng = stream(seed, *group.stream, "typed")
        error = shuffled_normals(hours.shape[2], rng, len(starts))
        days = _exact_days(group.typed, starts, latitude)[:, None, :] + sd_days * error
        for row in (rows[variety.id] for variety in group.members):
            if group.sheds:
                shed[row] = days[::2] * 24
            else:
                np.multiply(days, 24, out=hours[:, row])
                rests_on[row] = say("dates typed by the grower")
    return _bloom(ordered, hours, starts, rests_on, shed)


def usual_parts(positions: Sequence[Position], home: Climate, timing: Timing) -> FloatArray:
    """What the rules alone say, without errors.

    Returns shape (3, N, R, W): days of bloom before full bloom, its day, days of bloom after it.
    """
    full = np.full((len(positions), len(timing.rules), len(home.sums.starts)), np.nan)
    for r, rule in enumerate(timing.rules):
        c0 = np.array([position.c0_portions[r] for position in positions])
        h = np.array([position.h[r] for position in positions])
        for value in np.unique(c0):
            same = c0 == value
            full[same, r] = home.full_days(float(value), rule.k, h[same])
    length = np.array([position.length or 1.0 for position in positions])[:, None, None]
    lead = timing.lead_days * length * at_days(home.lead_stretch, full)
    return np.stack((lead, full, timing.tail_days * length * at_days(home.tail_stretch, full)))


def _species_days(
    known: Sequence[Known],
    home: Climate,
    told: Climate,
    timing: Timing,
    draws: int,
    latitude: float,
    rng: np.random.Generator,
    records: Sequence[BloomRecord],
) -> Iterator[FloatArray]:
    """Days of start, full bloom and end of each family of a species, shape (3, K, W)."""
    starts = home.sums.starts
    parts = usual_parts([each.position for each in known], home, timing)
    season = timing.season_sd_days * shuffled_normals(draws, rng, len(starts))
    errors = _drawn_errors(known, timing, draws, rng)
    lengths = _drawn_lengths(timing, draws, len(starts), rng)
    # What a grower notes of bloom is about the flowers.
    flowers = ((i, each) for i, each in enumerate(known) if not each.group.sheds)
    index = {v.id: i for i, each in flowers for v in each.group.members}
    if springs := noted_springs(records, index, latitude):
        errors = _learned(known, errors, day_notes(springs, parts, timing, home), timing, rng)
        own = [each.position.length for each in known]
        notes = length_notes(springs, own, timing, home)
        lengths = _learned_lengths(known, lengths, notes, timing, rng)
    stretch = cache(partial(_shared_stretch, lengths, timing))
    if told is not home:
        parts = usual_parts([each.position for each in known], told, timing)
    for i, (group, position, own_rng) in enumerate(known):
        if group.typed is not None and group.typed.sd_days == 0:
            yield _exact_days(group.typed, starts, latitude)[:, None, :]
            continue
        shift = position_sd(position, timing) * errors.positions[i]
        shift += timing.site_sd_days * position.carried * errors.site
        followed = parts[:, i].take(errors.rules, axis=1)
        followed[::2] *= stretch(position.carried)
        shift = shift[:, None] + season
        yield _drawn_days(position, followed, shift, timing, lengths.own.get(i), own_rng)


def position_sd(position: Position, timing: Timing) -> float:
    """Error of a variety's position here: that of its evidence, and that of carrying it."""
    return float(np.hypot(position.sd_days, timing.carried_sd_days * position.carried))


def _drawn_lengths(
    timing: Timing, draws: int, winters: int, rng: np.random.Generator
) -> LengthErrors:
    site = shuffled_normals(draws, rng)
    return LengthErrors(
        site, timing.length_season_log_sd * shuffled_normals(draws, rng, winters), {}
    )


def _shared_stretch(lengths: LengthErrors, timing: Timing, carried: float) -> FloatArray:
    """Error of the length of bloom that varieties share, by the share that was carried: (K, W)."""
    site = timing.length_site_log_sd * lengths.site[:, None]
    return np.exp(carried * site + lengths.season)


def _drawn_errors(
    known: Sequence[Known], timing: Timing, draws: int, rng: np.random.Generator
) -> Errors:
    """Rule, site error and position errors of every draw; rules by weight, errors of SD 1."""
    borders = np.cumsum([rule.weight for rule in timing.rules])
    share = (np.arange(draws) + 0.5) / draws * borders[-1]
    rules = rng.permutation(np.searchsorted(borders, share))
    site = shuffled_normals(draws, rng)
    positions = [shuffled_normals(draws, each.rng) for each in known]
    return Errors(rules, site, np.array(positions).reshape(len(known), draws))


def _drawn_days(
    position: Position,
    parts: FloatArray,
    shift: FloatArray,
    timing: Timing,
    length_error: FloatArray | None,
    rng: np.random.Generator,
) -> FloatArray:
    """Days of start, full bloom and end, shape (3, K, W).

    parts : shape (3, K, W), as `usual_parts`; changed in place.
    shift : shape (K, W), error that does not belong to this variety and winter alone. [days]
    length_error : shape (K,), of the logarithm of the length, as learnt; None: nothing learnt.
    """
    lead, full, tail = parts
    full += shift
    full += timing.own_sd_days * rng.standard_normal(full.shape)
    if length_error is None and position.length is None:
        length_error = timing.length_log_sd * shuffled_normals(len(full), rng)
    if length_error is not None:
        parts[::2] *= np.exp(length_error)[:, None]
    np.subtract(full, lead, out=lead)
    tail += full
    return parts


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
    lengths: LengthErrors,
    notes: Sequence[Note],
    timing: Timing,
    rng: np.random.Generator,
) -> LengthErrors:
    """Errors of length given the notes; they are the same for all rules."""
    if not notes:
        return lengths
    draws = lengths.site.size
    noted = {note.group for note in notes}
    prior = Errors(
        np.zeros(draws, dtype=int),
        lengths.site,
        np.array(
            [
                shuffled_normals(draws, each.rng) if i in noted else np.zeros(draws)
                for i, each in enumerate(known)
            ]
        ),
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
    )
    return lengths._replace(
        site=learnt.site, own={i: own_sd[i] * learnt.positions[i] for i in sorted(noted)}
    )


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


def _bloom(
    ordered: Sequence[Variety],
    hours: FloatArray,
    starts: tuple[date, ...],
    rests_on: Sequence[str],
    shed: Mapping[int, FloatArray],
) -> Bloom:
    """Hours of bloom, shape (3, V, K, W), and of pollen shed by row, shape (2, K, W)."""
    sheds = hours[::2].copy() if shed else None
    if sheds is not None:
        for row, own in shed.items():
            sheds[:, row] = own
    return Bloom(
        varieties=tuple(variety.id for variety in ordered),
        start_h=hours[0],
        full_h=hours[1],
        end_h=hours[2],
        starts=starts,
        sd_days=_spreads(hours[1]) / 24,
        rests_on=tuple(rests_on),
        shed_start_h=None if sheds is None else sheds[0],
        shed_end_h=None if sheds is None else sheds[1],
    )


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
