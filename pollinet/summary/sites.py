"""Where the garden of a plan would do: how it stands in each of many places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray
from pollinet.shares import reaches

PlaceStanding = Literal["not known", "has pollen", "lacks pollen"]
STANDINGS: tuple[PlaceStanding, ...] = get_args(PlaceStanding)
"""Whether each limb that is to crop has a donor in enough winters. Not known where a place has no
weather, and where the stations around tell its climate weakly."""


@dataclass(frozen=True, eq=False)
class SitesSeen:
    """How a garden stands in P places and C climates.

    latitude, longitude : shape (P,); NaN: nobody told. [degrees]
    standing : indices into `STANDINGS`, shape (P, C).
    chill : share of winters in which the limb that gets it least often has all its chill, shape
        (P, C); NaN: not known.
    level : share of winters that the plan asks for.
    warmer_c : shape (C,). [°C]
    step : between the points of a grid; None: the places are none. [degrees]
    names : of the places; empty: they have none.
    """

    latitude: FloatArray
    longitude: FloatArray
    standing: NDArray[np.int8]
    chill: FloatArray
    level: float
    warmer_c: tuple[float, ...]
    step: float | None = None
    names: tuple[str, ...] = ()

    def count(self, standing: PlaceStanding, climate: int) -> int:
        """In how many places it stands so."""
        return int((self.standing[:, climate] == STANDINGS.index(standing)).sum())

    def short_of_chill(self, climate: int) -> int:
        """In how many places with pollen some limb has all its chill in too few winters."""
        pollen = self.standing[:, climate] == STANDINGS.index("has pollen")
        known = self.chill[pollen, climate]
        return sum(not reaches(share, self.level) for share in known[np.isfinite(known)].tolist())

    def lacking(self, climate: int) -> list[int]:
        """Places that lack pollen and have a name of their own, by their rows."""
        if not self.names or self.step is not None:
            return []
        bare = self.standing[:, climate] == STANDINGS.index("lacks pollen")
        return [int(row) for row in np.flatnonzero(bare)]
