"""Pollinizer rows; scenario O7 was worked out by hand outside the program."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.advice.rows import layout, layouts


def test_o7_every_third_row_beats_two_to_four_on_the_same_land() -> None:
    found = {one.name: one for one in layouts(18, 4.5)}
    third, pairs = found["every third row"], found["two rows to four"]
    assert third.drawing == "MPM" * 6  # rows 2, 5, 8, 11, 14, 17
    assert (third.share, third.adjacent, third.farthest_m) == (6 / 18, 1.0, 4.5)
    assert pairs.drawing == "MMPPMM" * 3
    assert (pairs.share, pairs.adjacent, pairs.farthest_m) == (6 / 18, 0.5, 9.0)
    assert layouts(18, 4.5)[0] is not pairs


def test_o7_beginning_at_row_three_leaves_row_one_two_rows_away() -> None:
    shifted = layout("shifted", [i % 3 == 2 for i in range(18)], 4.5)
    assert shifted.farthest_m == 9.0
    assert shifted.adjacent < 1


@given(st.lists(st.booleans(), min_size=2, max_size=40))
def test_distances_are_those_of_counting(rows: list[bool]) -> None:
    if all(rows) or not any(rows):
        return
    judged = layout("any", rows, 5.0)
    # Counted another way: walk out from each main row until a pollinizer row is met.
    ways = []
    for i, pollinizer in enumerate(rows):
        if not pollinizer:
            way = 1
            while True not in rows[max(i - way, 0) : i + way + 1]:
                way += 1
            ways.append(way)
    assert judged.farthest_m == pytest.approx(5.0 * max(ways))
    assert judged.adjacent == pytest.approx(ways.count(1) / len(ways))


def test_one_row_has_no_pattern_and_two_have_those_that_leave_a_row_of_each() -> None:
    assert layouts(1, 4.0) == () == layouts(0, 4.0)
    for one in layouts(2, 4.0):
        assert sorted(one.rows) == [False, True]
