"""Distance weights against the distances that the cited guides name."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pollinet.domain import Aim
from pollinet.network.proximity import FAR_SHARE, proximity


def test_guides_agree_with_the_ends() -> None:
    # 18 m: garden guideline (RHS). 100 m at most: Kraut & Rüben.
    assert proximity(18.0, Aim()) == 1
    assert proximity(100.0, Aim()) == FAR_SHARE
    assert proximity(101.0, Aim()) == 0


def test_a_donor_at_25_m_counts_less_than_one_at_5_m() -> None:
    # NIAB (Mišić 1994; Free & Spencer-Booth 1964): efficiency falls above 15–20 m.
    assert proximity(25.0, Aim()) < proximity(5.0, Aim())


@given(st.lists(st.floats(0, 500), min_size=2, max_size=20))
def test_never_rises_with_distance(distances: list[float]) -> None:
    weights = proximity(np.sort(distances), Aim())
    assert (np.diff(weights) <= 0).all()
    assert ((weights >= 0) & (weights <= 1)).all()
