"""Days of the year and seasons, against the standard library's calendar."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.days import (
    calendar_day_of_year,
    coming_spring,
    day_of_year,
    month_and_day,
    season_day,
    season_start,
)
from pollinet.language import short_date

common_days = st.dates(date(2001, 1, 1), date(2001, 12, 31))


@given(common_days)
def test_days_of_a_common_year_agree_with_the_calendar(day: date) -> None:
    number = day.timetuple().tm_yday
    assert day_of_year(day.month, day.day) == number
    assert month_and_day(number) == (day.month, day.day)


@given(common_days, st.sampled_from([46.0, -34.0]))
def test_a_day_keeps_its_date_through_the_season(day: date, latitude: float) -> None:
    number = day.timetuple().tm_yday
    start = season_start(latitude, 2002)
    assert calendar_day_of_year(start, 24 * season_day(latitude, number)) == number


def test_leap_day_counts_as_the_first_of_march() -> None:
    assert day_of_year(2, 29) == day_of_year(3, 1)


def test_seasons_of_both_hemispheres() -> None:
    assert season_start(46, 2020) == date(2019, 10, 1)
    assert season_start(-34, 2020) == date(2020, 4, 1)
    assert season_start(46, 2020) + timedelta(days=season_day(46, 1)) == date(2020, 1, 1)


def test_a_date_as_a_grower_writes_it() -> None:
    assert short_date(100) == "10 Apr"


@pytest.mark.parametrize(
    ("latitude", "today", "spring"),
    [
        (47.0, date(2026, 11, 25), 2027),
        (47.0, date(2027, 4, 1), 2027),
        (47.0, date(2027, 6, 1), 2028),
        (-41.0, date(2026, 7, 15), 2026),
        (-41.0, date(2026, 11, 30), 2026),
        (-41.0, date(2026, 12, 1), 2027),
    ],
)
def test_the_coming_spring_of_each_hemisphere(latitude: float, today: date, spring: int) -> None:
    """Meteorological springs: March to May, September to November south of the equator."""
    assert coming_spring(latitude, today) == spring
