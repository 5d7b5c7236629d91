"""Days, spans of days and dates as a person types them → days of the year, and dates."""

from __future__ import annotations

import re
from datetime import date

from pollinet.days import MONTHS, day_of_year

_LONGEST = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_SPAN = re.compile(r"\s+(?:-|to|until)\s+|\s*(?:–|\.\.)\s*")
_PARTS = re.compile(r"(\d{4}|\d{1,2})\s*([./-])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{1,2})")
_DAY = re.compile(r"(\d{1,2})\s*([./-])\s*(\d{1,2})\s*\.?")
_SHORT_SPAN = re.compile(r"(\d{1,2})\s*[-–]\s*(\d{1,2})\s+([A-Za-z]+)\.?")


def dates_meant(text: str) -> tuple[date, ...]:
    """The dates that a text may mean: `8.10.2024`, `8/10/24`, `2024/10/8`; none where it is none.

    Between slashes and hyphens the day may stand first or the month: then both, day first.
    Years of two digits are of this century.
    """
    found = _PARTS.fullmatch(text.strip())
    if found is None:
        return ()
    first, sign, second, third = found[1], found[2], int(found[3]), found[4]
    if len(first) == 4:
        ways = [(int(first), second, int(third))]
    else:
        year = int(third) + (2000 if len(third) <= 2 else 0)
        ways = [(year, second, int(first))]
        ways += [(year, int(first), second)] if sign != "." else []
    return tuple(dict.fromkeys(day for way in ways for day in _date(*way)))


def _date(year: int, month: int, day: int) -> tuple[date, ...]:
    """The date, if there is one."""
    try:
        return (date(year, month, day),)
    except ValueError:
        return ()


def days_meant(text: str) -> tuple[tuple[int, int], ...]:
    """Months and days that a text may mean: `12.05.`, `12 May`, `5/12`, `2026-05-12`.

    Where the day may stand first or the month, both. A day may be one that its month lacks.
    """
    if found := _PARTS.fullmatch(text.strip()):
        first, sign, second, third = found[1], found[2], int(found[3]), found[4]
        ways = [(second, int(third))] if len(first) == 4 else [(second, int(first))]
        ways += [(int(first), second)] if len(first) < 4 and sign != "." else []
    elif found := _DAY.fullmatch(text.strip()):
        first, sign, second = int(found[1]), found[2], int(found[3])
        ways = [(second, first)] if sign == "." else [(first, second), (second, first)]
    else:
        words = text.replace(".", " ").split()
        day, name = sorted(words, key=str.isalpha) if len(words) == 2 else ("", "")
        ways = [(_month(name), int(day))] if day.isdecimal() else []
    fit = (way for way in ways if 1 <= way[0] <= 12 and 1 <= way[1] <= 31)
    return tuple(dict.fromkeys(fit))


def last_day(month: int) -> int:
    """The last day of a month, of February in a leap year."""
    return _LONGEST[month - 1]


def parse_day(text: str) -> int | None:
    """Day of the year of `04-10`, `10 Apr`, `April 10` or `100`; None if it is none of them."""
    words = text.strip().rstrip(".").replace(".", " ").split()
    if len(words) == 1:
        if words[0].isdecimal():
            return int(words[0]) if 1 <= int(words[0]) <= 365 else None
        return day_of_month(words[0])
    if len(words) != 2:
        return None
    day, name = words if words[0].isdecimal() else reversed(words)
    return _day(_month(name), day)


def day_of_month(text: str) -> int | None:
    """Day of the year of `04-10`; None if it is none."""
    month, _, day = text.partition("-")
    return _day(int(month), day) if month.isdecimal() else None


def parse_span(text: str) -> tuple[int, int] | None:
    """First and last day of `8–18 Apr`, `8 Apr - 2 May`, `04-08..04-18`; None if it is none."""
    if short := _SHORT_SPAN.fullmatch(text.strip()):
        first, last, month = short.groups()
        ends = [f"{first} {month}", f"{last} {month}"]
    else:
        ends = _SPAN.split(text.strip())
    days = [parse_day(end) for end in ends]
    if len(days) != 2 or days[0] is None or days[1] is None:
        return None
    return days[0], days[1]


def _month(name: str) -> int:
    short = name[:3].title()
    return MONTHS.index(short) + 1 if len(name) > 2 and short in MONTHS else 0


def _day(month: int, day: str) -> int | None:
    fits = 1 <= month <= 12 and day.isdecimal() and 1 <= int(day) <= _LONGEST[month - 1]
    return day_of_year(month, int(day)) if fits else None
