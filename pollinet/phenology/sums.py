"""What the timing rules need of a season: chill and heat so far, at every midnight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from pollinet.domain import FloatArray, Winters
from pollinet.phenology.chill import Recurrence, chill_portions, hour_by_hour
from pollinet.phenology.heat import growing_degree_hours


@dataclass(frozen=True, eq=False)
class SeasonSums:
    """Chill and heat of W seasons at their D + 1 midnights, the first one at the season's start.

    harvest_years, starts : length W, as in `Winters`.
    portions : shape (W, D + 1), chill portions so far.
    heat_gdh : shape (W, D + 1), linear growing degree hours so far. [GDH]
    generated : the winters were made up: their years are labels, and no note is of one of them.
    """

    harvest_years: tuple[int, ...]
    starts: tuple[date, ...]
    portions: FloatArray
    heat_gdh: FloatArray
    generated: bool = False

    def winter_of(self, harvest_year: int) -> int | None:
        """Index of the winter before the bloom of a year; None: not recorded."""
        if self.generated or harvest_year not in self.harvest_years:
            return None
        return self.harvest_years.index(harvest_year)


def season_sums(winters: Winters) -> SeasonSums:
    """Add up chill portions and heat over each winter, to every midnight."""
    return many_season_sums([winters])[0]


def many_season_sums(
    several: Sequence[Winters], recurrence: Recurrence = hour_by_hour
) -> list[SeasonSums]:
    """`season_sums` of several sites or climates at once: chill costs little more than of one.

    recurrence : how chill is added up, see `chill.chill_portions`.
    """
    ends = np.cumsum([len(winters.starts) for winters in several])[:-1]
    hourly = np.concatenate([winters.temperature_c for winters in several])
    chill = np.split(_at_midnights(chill_portions(hourly, recurrence)), ends)
    heat = np.split(_at_midnights(growing_degree_hours(hourly)), ends)
    return [
        SeasonSums(winters.harvest_years, winters.starts, portions, heat_gdh, winters.generated)
        for winters, portions, heat_gdh in zip(several, chill, heat, strict=True)
    ]


def _at_midnights(running: FloatArray) -> FloatArray:
    nothing_yet = np.zeros((*running.shape[:-1], 1))
    return np.concatenate((nothing_yet, running[..., 23::24]), axis=-1)
