"""Distance weights against the distances that the cited guides name."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pollinet.domain import Aim
from pollinet.network.proximity import FAR_SHARE, proximity, reach
from pollinet.readers.shared_tables import fruits

BEES = reach(fruits()["apple"], Aim())


def test_guides_agree_with_the_ends() -> None:
    # 18 m: garden guideline (RHS). 100 m at most: Kraut & Rüben.
    assert proximity(18.0, *BEES) == 1
    assert proximity(100.0, *BEES) == FAR_SHARE
    assert proximity(101.0, *BEES) == 0


def test_a_donor_at_25_m_counts_less_than_one_at_5_m() -> None:
    # NIAB (Mišić 1994; Free & Spencer-Booth 1964): efficiency falls above 15–20 m.
    assert proximity(25.0, *BEES) < proximity(5.0, *BEES)


def test_wind_carries_pollen_farther_than_bees() -> None:
    kinds = fruits()
    by_wind = {name for name, fruit in kinds.items() if fruit.pollen_by == "wind"}
    assert by_wind == {"hazelnut"}
    near, far = reach(kinds["hazelnut"], Aim())
    assert near > BEES[0] and far > BEES[1]
    assert all(reach(kinds[name], Aim()) == BEES for name in kinds.keys() - by_wind)


def test_what_the_plan_says_goes_before_what_is_usual() -> None:
    hazelnut = fruits()["hazelnut"]
    assert reach(hazelnut, Aim(near_m=10, far_m=30)) == (10, 30)
    # A far distance alone never lies before the near one.
    assert reach(hazelnut, Aim(far_m=30)) == (15, 30)


@given(st.lists(st.floats(0, 500), min_size=2, max_size=20))
def test_never_rises_with_distance(distances: list[float]) -> None:
    weights = proximity(np.sort(distances), *BEES)
    assert (np.diff(weights) <= 0).all()
    assert ((weights >= 0) & (weights <= 1)).all()
