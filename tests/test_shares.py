"""Whether a share reaches a level, against exact fractions."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pollinet.shares import reaches, scenarios_needed

LEVELS = st.decimals(0, 1, places=4)


@given(count=st.integers(0, 4000), more=st.integers(0, 4000), level=LEVELS)
def test_a_share_reaches_a_level_as_exact_numbers_do(count: int, more: int, level: object) -> None:
    scenarios = max(count + more, 1)
    exact = Fraction(count, scenarios) >= Fraction(str(level))
    typed = float(str(level))
    assert reaches(count / scenarios, typed) is exact
    assert reaches(float(np.mean(np.arange(scenarios) < count)), typed) is exact
    assert (count >= scenarios_needed(typed, scenarios)) is exact


def test_what_rounding_would_have_refused() -> None:
    # 0.1 + 0.2 in binary is a little more than 0.3; one scenario too few is no rounding.
    assert reaches(0.3, 0.1 + 0.2)
    assert not reaches(95_999 / 320_000, 0.3)
