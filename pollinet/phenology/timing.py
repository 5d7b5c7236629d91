"""When a season reaches a variety's position: the timing rule of a species.

Forcing starts when C0 chill portions are in, on 1 March at the latest, and full bloom comes when
`ln(heat since then) + k * (portions so far - 60)` reaches the position h of the variety: the heat
requirement falls exponentially as chill goes on (shape: Cannell, M. G. R., Smith, R. I. 1983.
Thermal time, chill days and prediction of budburst in Picea sitchensis. Journal of Applied
Ecology 20:951-963). C0 and k are fitted jointly over sites, see `tests/validation`.

Times are days since the season's start; fractions run linearly between midnights.
"""

from __future__ import annotations

import numpy as np

from pollinet.domain import FloatArray
from pollinet.phenology.sums import SeasonSums

REFERENCE_PORTIONS = 60.0
"""Portions at which the exponent of the trade-off is zero; it only shifts all positions."""

FULL_CHILL_SHARE = 0.9
"""Where a season has too little chill, forcing starts when nine tenths of its own are in: chill
has all but stopped then. Own convention; continuous with C0, and without effect where a season
has more than C0 / 0.9 portions."""

LATEST_FORCING_DAY = 151
"""Heat counts from this day of the season at the latest: 1 March in the north, 30 August in the
south. Frost makes no portions, so that after a hard winter C0 comes long after the buds have
begun to swell. That long days make up for missing chill is known of forest trees (Laube, J. et
al. 2014. Global Change Biology 20:170-182, from memory); the day is a fit to even years, see
`tests/validation/fit_timing.py`. [days]"""

_NO_HEAT_GDH = 1e-6


def progress(sums: SeasonSums, c0_portions: float, k: float) -> FloatArray:
    """Progress towards bloom at every midnight, shape (W, D + 1); it never falls.

    c0_portions : portions after which heat counts.
    k : fall of the logarithm of the heat requirement with each further portion.
    """
    start = np.minimum(c0_portions, FULL_CHILL_SHARE * sums.portions[:, -1])
    heat_at_start = [
        np.interp(*row) for row in zip(start, sums.portions, sums.heat_gdh, strict=True)
    ]
    in_march = sums.heat_gdh[:, min(LATEST_FORCING_DAY, sums.heat_gdh.shape[1] - 1)]
    since = sums.heat_gdh - np.minimum(heat_at_start, in_march)[:, None]
    trade = k * (sums.portions - REFERENCE_PORTIONS)
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
