"""Verdicts and drawn crosses of one garden, kept from place to place: they hang on none.

Only of the garden as it stands: a search among candidates asks for ever other pairs.
"""

from __future__ import annotations

from collections.abc import Hashable

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.drawn import DrawnCrosses
from pollinet.compatibility.verdict_table import VerdictTable
from pollinet.domain import FloatArray, Verdict

Indices = NDArray[np.int64]


class KeptVerdicts(VerdictTable):
    """A table that remembers what it was asked."""

    def __getitem__(self, pair: tuple[int, int]) -> Verdict:
        kept: dict[tuple[int, int], Verdict] = self.__dict__.setdefault("_pairs_kept", {})
        if pair not in kept:
            kept[pair] = super().__getitem__(pair)
        return kept[pair]

    def of(self, donors: Indices, receivers: Indices) -> list[Verdict]:
        """The verdict on each of many pairs, as the table gives them."""
        kept: dict[Hashable, list[Verdict]] = self.__dict__.setdefault("_lists_kept", {})
        key = _key(donors, receivers)
        if key not in kept:
            kept[key] = super().of(donors, receivers)
        return kept[key]


class KeptCrosses(DrawnCrosses):
    """Drawn crosses that remember what they were asked."""

    def fractions(self, donors: Indices, receivers: Indices) -> FloatArray:
        """Share of the donor's pollen accepted in each draw, shape (P, K); not to be changed."""
        kept: dict[Hashable, FloatArray] = self.__dict__.setdefault("_fractions_kept", {})
        key = _key(donors, receivers)
        if key not in kept:
            kept[key] = super().fractions(donors, receivers)
            kept[key].flags.writeable = False
        return kept[key]


def _key(donors: Indices, receivers: Indices) -> Hashable:
    return donors.shape, donors.tobytes(), receivers.shape, receivers.tobytes()
