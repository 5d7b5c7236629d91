"""When a season reaches a variety's position: the timing rule of a species.

Heat counts from one day of the season on, and full bloom comes when
`ln(heat since then) + k * (portions so far - 60)` reaches the position h of the variety: the heat
requirement falls exponentially as chill goes on (shape: Cannell, M. G. R., Smith, R. I. 1983.
Thermal time, chill days and prediction of budburst in Picea sitchensis. Journal of Applied
Ecology 20:951-963). Of the chill of a season, half counts as it is and half as it usually is at the
place by that day. The day and k are fitted jointly over places and years, see
`tests/validation/fit_timing.py`. A day does better there than a sum of chill, at every place from
frozen winters to those without frost: days that grow longer make up for chill that is missing
(Laube, J. et al. 2014. Global Change Biology 20:170-182, from memory). How well a flower bears
after too little chill is another question, see `adequacy`.

Times are days since the season's start; fractions run linearly between midnights.
"""

from __future__ import annotations

import numpy as np

from pollinet.domain import FloatArray
from pollinet.phenology.sums import SeasonSums

REFERENCE_PORTIONS = 60.0
"""Portions at which the exponent of the trade-off is zero; it only shifts all positions."""

YEARS_SHARE = 0.5
"""Share of a season's difference in chill from what is usual at the place that counts. At fourteen
cherry places left out one at a time, with day and k chosen at the others, the mean squared errors
at home and carried were 15.5 and 22.6 days² with all of it, 13.8 and 21.3 with half, 14.1 and 21.0
with nothing (`tests/validation/fit_timing.py`): between places more chill goes with less heat as
the rule has it, between the seasons of one place with half as little."""

_NO_HEAT_GDH = 1e-6


def progress(sums: SeasonSums, forcing_day: float, k: float) -> FloatArray:
    """Progress towards bloom at every midnight, shape (W, D + 1); it never falls.

    forcing_day : day of the season from whose beginning on heat counts, a whole one. [days]
    k : fall of the logarithm of the heat requirement with each further portion.
    """
    day = min(int(forcing_day), sums.heat_gdh.shape[1] - 1)
    since = sums.heat_gdh - sums.heat_gdh[:, day, None]
    usual = sums.portions.mean(axis=0)
    felt = usual + YEARS_SHARE * (sums.portions - usual)
    trade = k * (felt - REFERENCE_PORTIONS)
    return np.asarray(np.log(np.maximum(since, _NO_HEAT_GDH)) + trade)


def bloom_days(progress_by_day: FloatArray, positions: FloatArray) -> FloatArray:
    """Day on which each season's progress reaches each position.

    progress_by_day : shape (W, D + 1).
    positions : shape (N,).

    Returns shape (N, W); NaN where a season never gets there.
    """
    days = np.arange(progress_by_day.shape[1], dtype=float)
    reached = [np.interp(positions, row, days, right=np.nan) for row in progress_by_day]
    return np.array(reached).reshape(len(progress_by_day), positions.size).T
