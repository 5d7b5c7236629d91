"""Spring heat as running sums; time is the last axis, temperatures in °C.

References
----------
Richardson, E. A., Seeley, S. D., Walker, D. R., Anderson, J. L., Ashcroft, G. L. 1975.
Pheno-climatography of spring peach bud development. HortScience 10:236-237 (linear degree hours).
Anderson, J. L., Richardson, E. A., Kesner, C. D. 1986. Validation of chill unit and flower bud
phenology models for 'Montmorency' sour cherry. Acta Horticulturae 184:71-78 (asymmetric curve;
its equation and constants are from memory here).
"""

from __future__ import annotations

import numpy as np

from pollinet.domain import FloatArray

BASE_C, OPTIMUM_C = 4.5, 25.0
"""No heat below the base, no more above the optimum (Richardson et al. 1975). [°C]"""


def growing_degree_hours(temperature_c: FloatArray) -> FloatArray:
    """Running sum of linear growing degree hours: 0 at 4.5 °C, 20.5 from 25 °C on. [GDH]"""
    hourly = np.clip(temperature_c, BASE_C, OPTIMUM_C)
    hourly -= BASE_C
    return np.asarray(np.cumsum(hourly, axis=-1, out=hourly))


def asymmetric_growing_degree_hours(
    temperature_c: FloatArray, base_c: float = 4.0, optimum_c: float = 25.0, top_c: float = 36.0
) -> FloatArray:
    """Running sum of degree hours that fall again in great heat. [GDH]

    Equation and constants are from memory; nothing that Pollinet decides rests on this curve.
    """
    span = optimum_c - base_c
    rising = span / 2 * (1 + np.cos(np.pi + np.pi * (temperature_c - base_c) / span))
    share = (temperature_c - optimum_c) / (top_c - optimum_c)
    falling = span * (1 + np.cos(np.pi / 2 + np.pi / 2 * share))
    hourly = np.where(temperature_c <= optimum_c, rising, falling)
    outside = (temperature_c < base_c) | (temperature_c > top_c)
    return np.asarray(np.cumsum(np.where(outside, 0.0, hourly), axis=-1))


def growing_degree_days(
    tmin_c: FloatArray, tmax_c: FloatArray, base_c: float = 5.0, cap_c: float = 30.0
) -> FloatArray:
    """Running sum of daily means above a base, the mean capped. [degree days]"""
    mean = np.minimum((tmin_c + tmax_c) / 2, cap_c)
    return np.asarray(np.cumsum(np.maximum(mean - base_c, 0), axis=-1))
