"""Bloom of every variety in every scenario: (draw, winter).

Errors are added in days and come apart by whom they are shared: all varieties of a species share
one site error a draw and one season error a draw and winter, which cancel in overlap; each
variety has a position error a draw and an error of its own a draw and winter, which do not. The
length of bloom has errors that all varieties share, too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import cache
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
from pollinet.phenology.climate import Climate, days_into_season
from pollinet.phenology.length import at_days
from pollinet.phenology.positions import (
    MORNING,
    TYPED_SD_DAYS,
    Family,
    Position,
    families,
    solve_positions,
)
from pollinet.phenology.records import NOTE_SD_DAYS, Errors, Note, learn
from pollinet.phenology.streams import shuffled_normals, stream
from pollinet.phenology.sums import SeasonSums

FULL_SHARE = 0.4
"""Share of a typed interval that lies before full bloom: 5 of 12 to 14 days in the median of
three cherry trial sites (Wenden et al. 2016, Scientific Data 3:160108)."""

_NOTHING = "nothing known of its bloom"


class Known(NamedTuple):
    """A family whose bloom is known, with its position and the source of its own draws."""

    group: Family
    position: Position
    rng: np.random.Generator


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
        V varieties, in any order. Clones of one variety pool their evidence and share all draws.
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
        The grower's own dates: they move the error of the site and the positions of varieties.
    outlook
        The same winters made warmer: what is known was observed in `here`, bloom is told for
        these.

    Returns
    -------
    Bloom
        NaN where a variety has no evidence, or where a winter is too short of heat.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    groups = families(ordered)
    home = Climate(here)
    told = home if outlook is None else Climate(outlook)
    climates = {place: Climate(sums) for place, sums in sites.items()}
    positions = solve_positions(groups, home, climates, timing, families(peers))
    rows = {variety.id: row for row, variety in enumerate(ordered)}
    hours = np.empty((3, len(ordered), draws, len(here.starts)))
    rests_on = [_NOTHING] * len(ordered)
    noted = tuple(records)
    for species in dict.fromkeys(group.species for group in groups):
        known = [
            Known(group, position, stream(seed, *group[:2]))
            for group, position in zip(groups, positions, strict=True)
            if group.species == species and position is not None
        ]
        rng = stream(seed, species)
        drawn = _species_days(known, home, told, timing[species], draws, latitude, rng, noted)
        for each, days in zip(known, drawn, strict=True):
            for variety in each.group.members:
                np.multiply(days, 24, out=hours[:, rows[variety.id]])
                rests_on[rows[variety.id]] = each.position.rests_on
    hours[:, [words == _NOTHING for words in rests_on]] = np.nan
    return _bloom(ordered, hours, here.starts, rests_on)


def typed_bloom(varieties: Sequence[Variety], *, draws: int, latitude: float, seed: int) -> Bloom:
    """Bloom without any weather, from dates that the grower typed.

    Each typed interval stands for one spring; where all spreads are 0 a single draw tells all.

    Raises
    ------
    ShapeError
        Varieties have intervals for different numbers of springs.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    groups = families(ordered)
    typed = [group.typed for group in groups if group.typed is not None]
    springs = {len(bloom.intervals) for bloom in typed} or {1}
    if len(springs) > 1:
        raise ShapeError(f"typed bloom of {sorted(springs)} springs in one plan")
    exact = all(bloom.sd_days == 0 for bloom in typed)
    starts = (season_start(latitude, NOMINAL_YEAR),) * springs.pop()
    rows = {variety.id: row for row, variety in enumerate(ordered)}
    hours = np.full((3, len(ordered), 1 if exact else draws, len(starts)), np.nan)
    rests_on = [_NOTHING] * len(ordered)
    for group in groups:
        if group.typed is None:
            continue
        sd_days = TYPED_SD_DAYS if group.typed.sd_days is None else group.typed.sd_days
        rng = stream(seed, *group[:2], "typed")
        error = shuffled_normals(hours.shape[2], rng, len(starts))
        for variety in group.members:
            row = rows[variety.id]
            days = _exact_days(group.typed, starts, latitude)[:, None, :] + sd_days * error
            np.multiply(days, 24, out=hours[:, row])
            rests_on[row] = "dates typed by the grower"
    return _bloom(ordered, hours, starts, rests_on)


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
    stretch = _shared_stretch(timing, draws, len(starts), rng)
    notes = _notes(known, parts, timing, home.sums, latitude, records)
    if notes:
        errors = _learned(known, errors, notes, timing, rng)
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
        yield _drawn_days(position, followed, shift[:, None] + season, timing, own_rng)


def position_sd(position: Position, timing: Timing) -> float:
    """Error of a variety's position here: that of its evidence, and that of carrying it."""
    return float(np.hypot(position.sd_days, timing.carried_sd_days * position.carried))


def _shared_stretch(
    timing: Timing, draws: int, winters: int, rng: np.random.Generator
) -> Callable[[float], FloatArray]:
    """Error of the length of bloom that varieties share, by the share that was carried: (K, W)."""
    site = timing.length_site_log_sd * shuffled_normals(draws, rng)[:, None]
    season = timing.length_season_log_sd * shuffled_normals(draws, rng, winters)
    return cache(lambda carried: np.exp(carried * site + season))


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
    rng: np.random.Generator,
) -> FloatArray:
    """Days of start, full bloom and end, shape (3, K, W).

    parts : shape (3, K, W), as `usual_parts`; changed in place.
    shift : shape (K, W), error that does not belong to this variety and winter alone. [days]
    """
    lead, full, tail = parts
    full += shift
    full += timing.own_sd_days * rng.standard_normal(full.shape)
    if position.length is None:
        spread = timing.length_log_sd * shuffled_normals(len(full), rng)
        parts[::2] *= np.exp(spread)[:, None]
    np.subtract(full, lead, out=lead)
    tail += full
    return parts


def _notes(
    known: Sequence[Known],
    parts: FloatArray,
    timing: Timing,
    here: SeasonSums,
    latitude: float,
    records: Sequence[BloomRecord],
) -> list[Note]:
    """The grower's dates as misses of the rules, one for each variety and spring.

    A spring outside the weather record is compared with the mean winter, and counts less.
    """
    index = {v.id: i for i, each in enumerate(known) for v in each.group.members}
    misses: dict[tuple[int, int], list[tuple[FloatArray, float]]] = {}
    for record in sorted(records, key=lambda r: (r.variety, r.harvest_year, r.stage, r.day)):
        if record.variety not in index:
            continue
        i = index[record.variety]
        lead, full, tail = parts[:, i]
        days = {"start": full - lead, "full": full, "end": full + tail}[record.stage]
        start = season_start(latitude, record.harvest_year)
        noted = days_into_season(start, record.day, latitude) + MORNING[record.stage]
        sd_days = NOTE_SD_DAYS if record.sd_days is None else record.sd_days
        variance = sd_days**2 + timing.own_sd_days**2
        winter = here.winter_of(record.harvest_year)
        if winter is not None:
            expected = days[:, winter]
        else:
            expected = np.nanmean(days, axis=1)
            variance += float(np.nanvar(days, axis=1).mean())
        if np.isfinite(expected).all():
            misses.setdefault((i, record.harvest_year), []).append((noted - expected, variance))
    return [
        # Stages of one spring share its error, so that several are one note.
        Note(i, year, np.mean([m for m, _ in found], axis=0), min(v for _, v in found))
        for (i, year), found in sorted(misses.items())
    ]


def _learned(
    known: Sequence[Known],
    errors: Errors,
    notes: Sequence[Note],
    timing: Timing,
    rng: np.random.Generator,
) -> Errors:
    return learn(
        errors,
        notes,
        np.array([rule.weight for rule in timing.rules]),
        np.array([timing.site_sd_days * each.position.carried for each in known]),
        timing.season_sd_days,
        np.array([position_sd(each.position, timing) for each in known]),
        rng,
    )


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
) -> Bloom:
    return Bloom(
        varieties=tuple(variety.id for variety in ordered),
        start_h=hours[0],
        full_h=hours[1],
        end_h=hours[2],
        starts=starts,
        sd_days=np.array([_spread(full) / 24 for full in hours[1]]),
        rests_on=tuple(rests_on),
    )


def _spread(hours: FloatArray) -> float:
    """Standard deviation over all scenarios in which there is bloom; NaN: there is none."""
    known = hours.ravel()
    if not np.isfinite(known.sum()):
        known = known[np.isfinite(known)]
    if not known.size:
        return float("nan")
    mean = known.sum() / known.size
    return float(np.sqrt(max(known @ known / known.size - mean**2, 0.0)))
