"""Chill of whole winters against sums made another way."""

from __future__ import annotations

from datetime import date

import numpy as np

from pollinet.days import SEASON_DAYS
from pollinet.domain import Winters
from pollinet.phenology.adequacy import CHILL_DAYS
from pollinet.phenology.supply import chill_supply


def winters(*courses: np.ndarray) -> Winters:
    years = tuple(range(2001, 2001 + len(courses)))
    return Winters(years, tuple(date(y - 1, 10, 1) for y in years), np.stack(courses))


def test_a_constant_winter_by_hand() -> None:
    hours = np.full(24 * SEASON_DAYS, 5.0)
    supply = chill_supply(winters(hours))
    counted = 24 * CHILL_DAYS
    assert supply.hours[0] == supply.hours_above_0[0] == counted
    # Utah: 2.5 to 9.1 °C is one unit an hour (Richardson, Seeley & Walker 1974).
    assert supply.utah[0] == supply.positive_utah[0] == counted


def test_utah_units_count_from_their_lowest_point() -> None:
    course = np.full(24 * SEASON_DAYS, 5.0)
    course[: 24 * 10] = 20.0  # ten warm days, one negative unit an hour
    supply = chill_supply(winters(course))
    assert supply.utah[0] == 24 * (CHILL_DAYS - 10)
    assert supply.positive_utah[0] == 24 * (CHILL_DAYS - 10)


def test_frost_counts_as_hours_but_not_from_zero_up() -> None:
    course = np.full(24 * SEASON_DAYS, -2.0)
    supply = chill_supply(winters(course))
    assert supply.hours[0] == 24 * CHILL_DAYS
    assert supply.hours_above_0[0] == 0
    assert supply.utah[0] == 0


def test_chill_after_the_end_does_not_count() -> None:
    course = np.full(24 * SEASON_DAYS, 15.0)
    course[24 * CHILL_DAYS :] = 5.0
    supply = chill_supply(winters(course))
    assert supply.portions[0] == supply.hours[0] == 0
