"""What small trials can show, against scipy and the published decision table."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from pollinet.advice.trials import at_most, fisher_p, least_to_judge, least_to_show

sides = st.integers(1, 40).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(sides, sides)
def test_fisher_is_that_of_scipy(first: tuple[int, int], second: tuple[int, int]) -> None:
    table = [[first[0], first[1] - first[0]], [second[0], second[1] - second[0]]]
    expected = stats.fisher_exact(table, alternative="two-sided").pvalue
    assert fisher_p(*first, *second) == pytest.approx(expected, rel=1e-9)


@given(sides, st.floats(0.01, 0.99))
def test_binomial_is_that_of_scipy(side: tuple[int, int], chance: float) -> None:
    assert at_most(*side, chance) == pytest.approx(stats.binom.cdf(*side, chance), rel=1e-9)


@pytest.mark.parametrize(("left_open", "by_hand"), [(0, 5), (2, 9), (4, 11), (6, 14), (8, 16)])
def test_decision_table_of_twenty_against_twenty(left_open: int, by_hand: int) -> None:
    # The table was computed outside the program, with scipy; here scipy is asked again.
    assert least_to_show(left_open) == by_hand

    def p(hand: int) -> float:
        table = [[hand, 20 - hand], [left_open, 20 - left_open]]
        return float(stats.fisher_exact(table).pvalue)

    assert p(by_hand) < 0.05 <= p(by_hand - 1)


def test_nothing_can_be_shown_where_all_open_clusters_bear() -> None:
    assert least_to_show(20) is None


def test_clusters_needed_to_judge() -> None:
    # 0.8 ** 13 = 0.055, 0.8 ** 14 = 0.044
    assert least_to_judge(0.2) == 14
