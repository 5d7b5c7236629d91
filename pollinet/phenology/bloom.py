"""Bloom of every variety in every scenario: (draw, winter).

Errors are added in days and come apart by whom they are shared: all varieties of a species share
one site error a draw and one season error a draw and winter, which cancel in overlap; each
variety has a position error a draw and an error of its own a draw and winter, which do not.
"""

from __future__ import annotations

from calendar import isleap
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

import numpy as np

from pollinet.days import NOMINAL_YEAR, is_southern, season_day, season_start
from pollinet.domain import (
    Bloom,
    BloomRecord,
    FloatArray,
    Timing,
    TimingRule,
    TypedBloom,
    Variety,
)
from pollinet.errors import ShapeError
from pollinet.phenology.climate import Climate
from pollinet.phenology.length import at_days
from pollinet.phenology.positions import (
    TYPED_SD_DAYS,
    Family,
    Position,
    families,
    solve_positions,
)
from pollinet.phenology.streams import shuffled_normals, stream
from pollinet.phenology.sums import SeasonSums

FULL_SHARE = 0.4
"""Share of a typed interval that lies before full bloom: 5 of 12 to 14 days in the median of
three cherry trial sites (Wenden et al. 2016, Scientific Data 3:160108)."""

_MARCH = 151  # from this day of a northern season on, a leap day lies behind
_NOTHING = "nothing known of its bloom"


class Shared(NamedTuple):
    """What all varieties of a species share.

    rules : shape (K,), index of the rule that each draw follows.
    site, season : shapes (K,) and (K, W), errors in SDs of 1.
    """

    rules: np.ndarray
    site: FloatArray
    season: FloatArray


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

    Returns
    -------
    Bloom
        NaN where a variety has no evidence, or where a winter is too short of heat.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    groups = families(ordered)
    home = Climate(here)
    positions = solve_positions(groups, home, {p: Climate(s) for p, s in sites.items()}, timing)
    rows = {variety.id: row for row, variety in enumerate(ordered)}
    hours = np.empty((3, len(ordered), draws, len(here.starts)))
    rests_on = [_NOTHING] * len(ordered)
    for species in dict.fromkeys(group.species for group in groups):
        own = timing[species]
        known = [
            (group, position)
            for group, position in zip(groups, positions, strict=True)
            if group.species == species and position is not None
        ]
        shared = shared_draws(species, own.rules, draws, len(here.starts), seed)
        parts = usual_parts([position for _, position in known], home, own)
        for i, (group, position) in enumerate(known):
            if group.typed is not None and group.typed.sd_days == 0:
                drawn = _exact_days(group.typed, here.starts, latitude)[:, None, :]
            else:
                drawn = _drawn_days(group, position, parts[:, i], own, shared, seed)
            for variety in group.members:
                np.multiply(drawn, 24, out=hours[:, rows[variety.id]])
                rests_on[rows[variety.id]] = position.rests_on
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
        error = np.stack([shuffled_normals(hours.shape[2], rng) for _ in starts], axis=1)
        for variety in group.members:
            row = rows[variety.id]
            days = _exact_days(group.typed, starts, latitude)[:, None, :] + sd_days * error
            np.multiply(days, 24, out=hours[:, row])
            rests_on[row] = "dates typed by the grower"
    return _bloom(ordered, hours, starts, rests_on)


def shared_draws(
    species: str, rules: Sequence[TimingRule], draws: int, winters: int, seed: int
) -> Shared:
    """What the draws of a species have in common; rules get draws in proportion to weight."""
    rng = stream(seed, species)
    borders = np.cumsum([rule.weight for rule in rules])
    share = (np.arange(draws) + 0.5) / draws * borders[-1]
    return Shared(
        rng.permutation(np.searchsorted(borders, share)),
        shuffled_normals(draws, rng),
        rng.standard_normal((draws, winters)),
    )


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


def _drawn_days(
    group: Family, position: Position, parts: FloatArray, timing: Timing, shared: Shared, seed: int
) -> FloatArray:
    """Days of start, full bloom and end, shape (3, K, W); parts: shape (3, R, W)."""
    draws = shared.rules.size
    rng = stream(seed, group.species, group.clone)
    shift = shuffled_normals(draws, rng) * position.sd_days
    shift += shared.site * (timing.site_sd_days * position.carried)
    length_sd = timing.length_log_sd if position.length is None else 0.0
    stretched = np.exp(length_sd * shuffled_normals(draws, rng))[:, None]
    days = parts[:, shared.rules]
    lead, full, tail = days
    full += shift[:, None]
    full += timing.season_sd_days * shared.season
    full += timing.own_sd_days * rng.standard_normal(full.shape)
    days[::2] *= stretched
    np.subtract(full, lead, out=lead)
    tail += full
    return days


def _exact_days(typed: TypedBloom, starts: Sequence[date], latitude: float) -> FloatArray:
    """Days of start, full bloom and end as typed, shape (3, W); one interval serves all."""
    repeat = len(starts) // len(typed.intervals)
    spans = typed.intervals * repeat
    first = np.array(
        [_day(start, day, latitude) for start, (day, _) in zip(starts, spans, strict=True)]
    )
    length = np.array([(last - day) % 365 + 1 for day, last in spans])
    return np.stack((first, first + FULL_SHARE * length, first + length))


def _day(start: date, day_of_year: float, latitude: float) -> float:
    """Days from a season's start to a day of the year, the season's leap day counted."""
    day = season_day(latitude, day_of_year)
    has_leap_day = not is_southern(latitude) and isleap(start.year + 1)
    return day + (has_leap_day and day >= _MARCH)


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
    spread = float(hours.std())
    if np.isfinite(spread):
        return spread
    known = hours[np.isfinite(hours)]
    return float(known.std()) if known.size else float("nan")
