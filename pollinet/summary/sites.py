"""Where the garden of a plan would do: how it stands in each of many places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray

PlaceStanding = Literal["not known", "works", "needs attention"]
STANDINGS: tuple[PlaceStanding, ...] = get_args(PlaceStanding)
"""Whether each limb that is to crop has a donor in enough winters. Not known where a place has no
weather, and where the stations around tell its climate weakly."""


@dataclass(frozen=True, eq=False)
class SitesSeen:
    """How a garden stands in P places and C climates.

    latitude, longitude : shape (P,); NaN: nobody told. [degrees]
    standing : indices into `STANDINGS`, shape (P, C).
    warmer_c : shape (C,). [°C]
    step : between the points of a grid; None: the places are none. [degrees]
    """

    latitude: FloatArray
    longitude: FloatArray
    standing: NDArray[np.int8]
    warmer_c: tuple[float, ...]
    step: float | None = None

    def count(self, standing: PlaceStanding, climate: int) -> int:
        """In how many places it stands so."""
        return int((self.standing[:, climate] == STANDINGS.index(standing)).sum())
