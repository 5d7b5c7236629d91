"""Spring heat as a running sum; time is the last axis, temperatures in °C.

References
----------
Richardson, E. A., Seeley, S. D., Walker, D. R., Anderson, J. L., Ashcroft, G. L. 1975.
Pheno-climatography of spring peach bud development. HortScience 10:236-237 (linear degree hours).
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
