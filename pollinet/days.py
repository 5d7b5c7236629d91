"""Day and season arithmetic.

A *season* is the span in which one bloom is made: from 1 October in the north and 1 April in
the south (settable), long enough to end after the last bloom. Inside the program every time is
a number of hours since the start of its season; calendar dates appear only at the edges.
"""

from __future__ import annotations

from datetime import date, timedelta

SEASON_DAYS = 304
"""Length of a season [days]: 1 October to 31 July (one day less in a leap year). Own convention:
the last bloom in the catalogues (hazelnut to late apple, 60° N) ends in June."""

NOMINAL_YEAR = 2001
"""A year without leap day, for dates typed without a year."""

_DAYS_BEFORE_MONTH = (0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334)

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


TROPIC_DEGREES = 23.4
"""Nearer to the equator trees may bloom in any month."""


def is_southern(latitude: float) -> bool:
    """Whether a latitude [degrees] lies in the southern hemisphere."""
    return latitude < 0


def season_start(latitude: float, harvest_year: int) -> date:
    """First day of the season that blooms in `harvest_year`.

    North: 1 October of the year before. South: 1 April of the same year.
    """
    return date(harvest_year, 4, 1) if is_southern(latitude) else date(harvest_year - 1, 10, 1)


def coming_spring(latitude: float, today: date) -> int:
    """Year of the spring that lies ahead or is not over: to the end of May, or of November."""
    return today.year + (today.month > (11 if is_southern(latitude) else 5))


def out_of_spring(month: int, latitude: float) -> bool:
    """Whether no fruit tree is in bloom or comes into leaf: July to November in the north.

    In the south January to May; never in the tropics. Own convention.
    """
    if abs(latitude) < TROPIC_DEGREES:
        return False
    return month in (range(1, 6) if is_southern(latitude) else range(7, 12))


def day_of_year(month: int, day: int) -> int:
    """Day of a year without leap day, 1 to 365; 29 February counts as 1 March."""
    return _DAYS_BEFORE_MONTH[month - 1] + day


def month_and_day(day: int) -> tuple[int, int]:
    """Month and day of a day number in a year without leap day; numbers wrap round the year."""
    wrapped = (day - 1) % 365 + 1
    month = max(m for m in range(12) if _DAYS_BEFORE_MONTH[m] < wrapped) + 1
    return month, wrapped - _DAYS_BEFORE_MONTH[month - 1]


def season_day(latitude: float, day: float) -> float:
    """Days from the season's start to the start of a day of the year (no leap day).

    `season_day(45, 1)` is 92: 1 January begins 92 days after 1 October began. Days before the
    season's first day belong to its end.
    """
    first = day_of_year(4, 1) if is_southern(latitude) else day_of_year(10, 1)
    return (day - first) % 365


def calendar_day(start: date, hours: float) -> date:
    """The calendar date on which an hour of the season falls."""
    return start + timedelta(hours=float(hours))


def calendar_day_of_year(start: date, hours: float) -> int:
    """Day of a year without leap day (1–365) on which an hour of the season falls."""
    day = calendar_day(start, hours)
    return day_of_year(day.month, day.day)
