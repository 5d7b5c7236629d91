"""How even a tree looks in spring, against counting hour by hour and against what must hold."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.advice.look import (
    EVEN_SHARE,
    bloom_look,
    hours_in_flower,
    leafing_look,
    likeliest,
    nearly_all,
    shares_together,
)

WORDS = ("lopsided", "somewhat lopsided", "even")

blooms = st.lists(
    st.lists(st.tuples(st.integers(0, 120), st.integers(1, 60)), min_size=3, max_size=3),
    min_size=2,
    max_size=7,
)
"""First hour and length of every limb's bloom in three scenarios. [h]"""


def arrays(limbs) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    start, length = np.moveaxis(np.array(limbs, dtype=float), -1, 0)
    return start, start + length / 2, start + length


def names(limbs) -> list[str]:
    return [f"limb-{i}" for i in range(len(limbs))]


def look(limbs):
    return bloom_look(names(limbs), *arrays(limbs))


@given(blooms, st.integers(1, 7))
def test_hours_are_those_counted_one_by_one(limbs, least: int) -> None:
    start, _, end = arrays(limbs)
    hours = np.arange(200)[:, None, None]
    in_flower = ((start <= hours) & (hours < end)).sum(axis=1)
    assert (hours_in_flower(start, end, least) == (in_flower >= least).sum(axis=0)).all()


def test_by_hand() -> None:
    # Ten days each: two together, the third five days later. All three: 5 of 15 days.
    day = 24.0
    start = np.array([[100], [100], [105]]) * day
    found = bloom_look(["a", "b", "c"], start, start + 5 * day, start + 10 * day)
    assert found.together == pytest.approx(5 / 15)
    assert (found.word, found.even_share) == ("somewhat lopsided", 0.0)
    assert found.lags == {"a": 0, "b": 0, "c": 5}


def test_one_limb_in_five_may_stand_apart() -> None:
    assert [nearly_all(n) for n in (2, 3, 4, 5, 6, 10)] == [2, 3, 4, 4, 5, 8]


@given(st.integers(2, 7), st.tuples(st.integers(0, 120), st.integers(1, 60)))
def test_equal_limbs_are_even(count: int, bloom) -> None:
    found = look([[bloom] * 3] * count)
    assert (found.word, found.together, found.even_share) == ("even", 1.0, 1.0)
    assert set(found.lags.values()) == {0.0}


@given(blooms, st.integers(0, 100))
def test_moving_the_last_limb_away_never_makes_a_tree_more_even(limbs, hours: int) -> None:
    start, _, end = arrays(limbs)
    # The last limb begins and ends last.
    start[-1], end[-1] = start.max(axis=0), end.max(axis=0)
    before = shares_together(start, end)
    start[-1], end[-1] = start[-1] + hours, end[-1] + hours
    assert (shares_together(start, end) <= before + 1e-12).all()


@given(blooms, st.randoms(use_true_random=False))
def test_the_order_of_limbs_changes_nothing(limbs, random) -> None:
    order = list(range(len(limbs)))
    random.shuffle(order)
    start, full, end = arrays(limbs)
    found = bloom_look(names(limbs), start, full, end)
    other = bloom_look([names(limbs)[i] for i in order], start[order], full[order], end[order])
    assert (found.word, found.together, found.lags) == (other.word, other.together, other.lags)


@given(blooms, st.lists(st.integers(-500, 500), min_size=3, max_size=3))
def test_what_all_limbs_share_cancels(limbs, shift: list[int]) -> None:
    start, full, end = arrays(limbs)
    found = look(limbs)
    other = bloom_look(names(limbs), start + shift, full + shift, end + shift)
    assert other.together == pytest.approx(found.together)
    assert list(other.lags.values()) == pytest.approx(list(found.lags.values()))


@given(blooms)
def test_unknown_bloom_is_left_out_and_named(limbs) -> None:
    start, full, end = arrays(limbs)
    nothing = np.full((1, 3), np.nan)
    with_one = [np.vstack([values, nothing]) for values in (start, full, end)]
    found, other = look(limbs), bloom_look([*names(limbs), "x"], *with_one)
    assert other.lags == found.lags
    # It is judged as long as nearly all limbs are known: four in five.
    enough = len(limbs) >= 0.8 * (len(limbs) + 1)
    judged = (found.word, found.together) if enough else (None, None)
    assert (other.word, other.together) == judged
    assert (found.unknown, other.unknown) == ((), ("x",))
    assert bloom_look(["a", "x"], *[v[[0, -1]] for v in with_one]).word is None


@given(blooms)
def test_a_limb_without_bloom_in_a_scenario_is_bare_then(limbs) -> None:
    start, full, end = arrays(limbs)
    for values in (start, full, end):
        values[0, 0] = np.nan
    least, least_hours = nearly_all(len(limbs)), hours_in_flower(start, end, 1)[0]
    together = hours_in_flower(start[1:, :1], end[1:, :1], least)[0] / least_hours
    assert shares_together(start, end)[0] == pytest.approx(together)
    assert len(limbs) > 4 or together == 0
    # A scenario in which nothing blooms tells nothing.
    for values in (start, full, end):
        values[:, 0] = np.nan
    rest = bloom_look(names(limbs), start[:, 1:], full[:, 1:], end[:, 1:])
    assert bloom_look(names(limbs), start, full, end) == rest


@given(blooms)
def test_the_word_follows_the_share(limbs) -> None:
    found = look(limbs)
    assert WORDS.index(found.word) == (found.together >= 0.25) + (found.together >= EVEN_SHARE)


# --- leafing ---------------------------------------------------------------------------------

springs = st.lists(st.lists(st.integers(80, 130), min_size=4, max_size=4), min_size=1, max_size=4)


def noted(rows) -> dict[int, dict[str, float]]:
    return {2020 + i: dict(zip("abcd", row, strict=True)) for i, row in enumerate(rows)}


@given(springs)
def test_the_window_holds_nearly_all_and_none_is_shorter(rows) -> None:
    found = leafing_look("abcd", noted(rows))
    windows = [
        min(max(some) - min(some) for some in combinations(row, nearly_all(4))) for row in rows
    ]
    assert found.window_days == np.median(windows)
    assert found.springs == len(rows)


def test_leafing_by_hand() -> None:
    found = leafing_look(["a", "b", "c"], {2025: {"a": 90, "b": 92}, 2026: {"a": 88, "x": 60}})
    assert (found.word, found.window_days, found.springs) == ("even", 2, 1)
    assert found.lags == {"a": -1, "b": 1}
    assert found.unknown == ("c",)
    assert leafing_look(["a", "b"], {2025: {"a": 90, "b": 99}}).word == "lopsided"


@given(springs, st.integers(0, 40))
def test_a_limb_moved_away_never_makes_leafing_more_even(rows, days: int) -> None:
    before, after = (
        leafing_look("abcd", noted([[*row[:3], max(row) + more] for row in rows])).window_days
        for more in (0, days)
    )
    assert after >= before


@pytest.mark.parametrize("days", [{}, {2025: {"a": 90}}, {2025: {"a": 90}, 2026: {"b": 90}}])
def test_what_is_not_noted_is_never_even(days) -> None:
    found = leafing_look(["a", "b"], days)
    assert (found.word, found.window_days, found.unknown) == (None, None, ("a", "b"))


def test_the_likeliest_dates_are_the_middle_draw_of_each_winter() -> None:
    nothing = np.nan
    hours = np.array([[[1.0, 7], [2, nothing], [9, nothing]]])
    found = likeliest(hours)
    assert found[0, 0] == 2
    assert np.isnan(found[0, 1])
