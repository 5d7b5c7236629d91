"""Made-up seasons and varieties for the tests of bloom."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from pollinet.domain import (
    BloomEvidence,
    ChillRequirement,
    Fertility,
    Normals,
    Stage,
    Timing,
    TimingRule,
    TypedBloom,
    Variety,
    VarietyId,
    Winters,
)
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.weather.generated import generate_daily
from pollinet.weather.winters import split_winters

FRUIT = "sweet cherry"
TEMPERATE = Normals(
    (-1.0, 0, 2, 5, 9, 12, 14, 14, 10, 7, 3, 0), (5.0, 7, 12, 16, 20, 24, 26, 26, 21, 15, 9, 6)
)
NO_ERRORS = Timing((TimingRule(145.0, 0.0, 1.0),), 0.0, 0.0, 0.0, 5.0, 7.0, 0.0)
TIMING = Timing(
    (TimingRule(137.0, 0.005, 0.25), TimingRule(145.0, 0.0, 0.75)), 2.6, 3.7, 2.0, 5.0, 7.0, 0.1
)


@cache
def winters(
    warmer_c: float = 0.0, latitude: float = 47.0, count: int = 20, months: tuple[int, ...] = ()
) -> Winters:
    """Generated winters of a temperate site, some months (or all) warmer."""
    up = [warmer_c if not months or month in months else 0.0 for month in range(1, 13)]
    moved = Normals(
        tuple(c + more for c, more in zip(TEMPERATE.tmin_c, up, strict=True)),
        tuple(c + more for c, more in zip(TEMPERATE.tmax_c, up, strict=True)),
    )
    if latitude < 0:
        moved = Normals(moved.tmin_c[6:] + moved.tmin_c[:6], moved.tmax_c[6:] + moved.tmax_c[:6])
    daily = generate_daily(moved, first_harvest_year=2001, winters=count, latitude=latitude, seed=7)
    return split_winters(daily, latitude)[0]


@cache
def sums(
    warmer_c: float = 0.0, latitude: float = 47.0, count: int = 20, months: tuple[int, ...] = ()
) -> SeasonSums:
    """Chill and heat of these winters."""
    # They stand in for a record, so that notes of their years count.
    return replace(season_sums(winters(warmer_c, latitude, count, months)), generated=False)


def variety(
    name: str,
    day: float | None = 110.0,
    *,
    stage: Stage = "full",
    sd_days: float = 3.0,
    place: str = "trial",
    clone: str | None = None,
    typed: TypedBloom | None = None,
    length: float | None = None,
    chill: tuple[ChillRequirement, ...] = (),
    fruit: str = FRUIT,
) -> Variety:
    """A variety with one observation, or none."""
    own = VarietyId(fruit, name)
    dated = () if day is None else (BloomEvidence(stage, day, sd_days, place, "date", "test"),)
    return Variety(own, Fertility(own, clone or name), dated, length, chill, typed)
