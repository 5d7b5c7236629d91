"""How much a pollen source counts at a distance."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from pollinet.domain import Aim, FloatArray

FAR_SHARE = 0.05
"""Share left at the far distance: a low bonus, not a promise. Own estimate; sources differ."""


def proximity(distance_m: ArrayLike, aim: Aim) -> FloatArray:
    """Weight of a pollen source by its distance, 0 to 1.

    1 up to `aim.near_m`, falling straight to 0.05 at `aim.far_m`, 0 beyond. Any shape.

    References
    ----------
    A garden guideline gives 18 m as the distance to be really effective (Royal Horticultural
    Society, "Fruit pollination" beginner's guide); a growers' guide sees efficiency fall above
    15-20 m (NIAB, "Number of trees of a pollinating variety", citing Mišić 1994 and Free &
    Spencer-Booth 1964); a magazine allows up to 100 m (Kraut & Rüben, "Kernobst"). The straight
    line between the two is our own convention.
    """
    distance = np.asarray(distance_m, dtype=float)
    left = (aim.far_m - distance) / (aim.far_m - aim.near_m)
    falling = FAR_SHARE + (1 - FAR_SHARE) * left
    return np.where(distance <= aim.near_m, 1.0, np.where(distance <= aim.far_m, falling, 0.0))
