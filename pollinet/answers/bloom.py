"""When every variety blooms in every winter, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, ClassVar

import numpy as np

from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.answers.parts import Fruit
from pollinet.domain import Bloom, FloatArray
from pollinet.study import Study
from pollinet.summary.limbs import EARLY, LATE
from pollinet.wording.sentences import winters_text

BLOOM_BY = 240
"""Days into a season, of either half of the world, that fall into its year of bloom. [days]"""

Likeliest = Annotated[date | None, About("Median of the draws; null: no bloom is known.")]
Low = Annotated[date | None, About("One draw in ten is earlier.")]
High = Annotated[date | None, About("One draw in ten is later.")]


@dataclass(frozen=True)
class BloomInWinter:
    """Bloom of one variety after one winter: 10 % open, full bloom, petal fall."""

    species: Fruit
    variety: str
    harvest_year: Annotated[int, About("Year in which it blooms.")]
    start: Likeliest
    start_early: Low
    start_late: High
    full: Likeliest
    full_early: Low
    full_late: High
    end: Likeliest
    end_early: Low
    end_late: High


@dataclass(frozen=True, repr=False)
class BloomByWinter(Answer):
    """When every variety of the plan blooms, winter by winter."""

    NAME: ClassVar[str] = "bloom"
    ROWS: ClassVar[str] = "bloom"
    ROW: ClassVar[type] = BloomInWinter

    answer: Told
    bloom: Annotated[tuple[BloomInWinter, ...], About("By variety, then by winter.")]
    findings: Findings


POINTS = (EARLY, 0.5, LATE)
"""Points of the draws that are told: early, likeliest, late."""


def bloom_by_winter_of(study: Study) -> BloomByWinter:
    """Likeliest dates, and the 10 % and 90 % points over the draws, of every variety and winter."""
    bloom = study.bloom
    points = points_of_bloom(bloom)
    rows = [
        BloomInWinter(
            variety.species,
            variety.name,
            (start + timedelta(days=BLOOM_BY)).year,
            *(_day(start, point[quantile, row, winter])
              for point in points for quantile in (1, 0, 2)),
        )
        for row, variety in enumerate(bloom.varieties)
        for winter, start in enumerate(bloom.starts)
    ]  # fmt: skip
    named, told = len(bloom.varieties), winters_text(len(bloom.starts))
    words = f"Bloom of {named} varieties after {told}, 10 % open to petal fall."
    return BloomByWinter(words, tuple(rows), study.findings)


def points_of_bloom(bloom: Bloom) -> list[FloatArray]:
    """`POINTS` of start, full bloom and last day, hours of the season: three of shape (3, V, W)."""
    # The end is exclusive: the last day in bloom is the one that holds the moment before.
    return [_points(hours) for hours in (bloom.start_h, bloom.full_h, bloom.end_h - 0.01)]


def _points(hours: FloatArray) -> FloatArray:
    """10 %, 50 % and 90 % points over the draws: (V, K, W) to (3, V, W); NaN: never in bloom."""
    every = np.isfinite(hours).all(axis=1)
    found = np.full((3, *every.shape), np.nan)
    columns = np.moveaxis(hours, 1, 0)
    found[:, every] = np.quantile(columns[:, every], POINTS, axis=0)
    some = np.isfinite(hours).any(axis=1) & ~every
    # It goes column by column, and so many times as slow.
    found[:, some] = np.nanquantile(columns[:, some], POINTS, axis=0) if some.any() else np.nan
    return found


def _day(start: date, hours: float) -> date | None:
    return None if np.isnan(hours) else start + timedelta(days=int(hours // 24))
