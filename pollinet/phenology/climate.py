"""The seasons of one place, with what the timing rules make of them, computed once."""

from __future__ import annotations

from calendar import isleap
from datetime import date
from functools import cache, cached_property

import numpy as np

from pollinet.days import is_southern, season_day
from pollinet.domain import FloatArray, Stage, Timing
from pollinet.phenology.length import at_days, lead_stretch, tail_stretch
from pollinet.phenology.sums import SeasonSums
from pollinet.phenology.timing import bloom_days, progress

_GRID = np.linspace(0.0, 14.0, 561)  # positions; e^14 GDH is more heat than a year has


_MARCH = 151  # from this day of a northern season on, a leap day lies behind


def days_into_season(start: date, day_of_year: float, latitude: float) -> float:
    """Days from one season's start to a day of the year, the season's leap day counted."""
    day = season_day(latitude, day_of_year)
    has_leap_day = not is_southern(latitude) and isleap(start.year + 1)
    return day + (has_leap_day and day >= _MARCH)


class Climate:
    """Seasons of a place; answers when a position blooms and which position blooms when."""

    def __init__(self, sums: SeasonSums) -> None:
        self.sums = sums
        self.progress = cache(self._progress)
        self._usual_days = cache(self._compute_usual_days)

    @property
    def hemisphere(self) -> float:
        """A latitude of the right sign: southern seasons start in April."""
        return -1.0 if self.sums.starts[0].month == 4 else 1.0

    @cached_property
    def lead_stretch(self) -> FloatArray:
        """Stretch of the part of bloom before full bloom, shape (W, D + 1)."""
        return lead_stretch(self.sums)

    @cached_property
    def tail_stretch(self) -> FloatArray:
        """Stretch of the part of bloom after full bloom, shape (W, D + 1)."""
        return tail_stretch(self.sums)

    def full_days(self, forcing_day: float, k: float, positions: FloatArray) -> FloatArray:
        """Day of full bloom of each position in each season, shape (N, W); NaN: never."""
        return bloom_days(self.progress(forcing_day, k), positions)

    def usual_day(
        self, stage: Stage, forcing_day: float, k: float, timing: Timing, positions: FloatArray
    ) -> FloatArray:
        """Mean day of a stage over the seasons, shape (N,)."""
        return np.interp(positions, _GRID, self._usual(stage, forcing_day, k, timing))

    def position(
        self, stage: Stage, forcing_day: float, k: float, timing: Timing, days: FloatArray
    ) -> FloatArray:
        """Positions whose stage falls on these days in the mean of the seasons, shape (N,)."""
        return np.interp(days, self._usual(stage, forcing_day, k, timing), _GRID)

    def mean_length(self, full: FloatArray, timing: Timing) -> float:
        """Mean days from the start of bloom to petal fall, for full bloom on these days, (W,)."""
        lead = timing.lead_days * at_days(self.lead_stretch, full)
        length = lead + timing.tail_days * at_days(self.tail_stretch, full)
        # Where it never blooms no season stretches or shortens it.
        if not np.isfinite(length).any():
            return timing.lead_days + timing.tail_days
        return float(np.nanmean(length))

    def _progress(self, forcing_day: float, k: float) -> FloatArray:
        return progress(self.sums, forcing_day, k)

    def _usual(self, stage: Stage, forcing_day: float, k: float, timing: Timing) -> FloatArray:
        # Of the timing all that it hangs on: how sure a site is differs from record to record.
        away = {"start": -timing.lead_days, "end": timing.tail_days}.get(stage, 0.0)
        return self._usual_days(stage, forcing_day, k, away)

    def _compute_usual_days(
        self, stage: Stage, forcing_day: float, k: float, away_days: float
    ) -> FloatArray:
        """Mean day of a stage for every position of the grid; it never falls.

        away_days : from full bloom to the stage, in usual weather; negative: before it.
        """
        days = self.full_days(forcing_day, k, _GRID)
        if stage == "start":
            days = days + away_days * at_days(self.lead_stretch, days)
        elif stage == "end":
            days = days + away_days * at_days(self.tail_stretch, days)
        never = float(self.sums.portions.shape[1])
        return np.maximum.accumulate(np.nan_to_num(days, nan=never).mean(axis=1))
