"""Days and spans as people write them, against the standard library's calendar."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.readers.day_words import dates_meant, days_meant, parse_day, parse_span

NO_LEAP = date(2001, 1, 1)


@given(
    st.integers(1, 365),
    st.sampled_from(["{0:%m-%d}", "{0.day} {0:%b}", "{0:%B} {0.day}", "{0.day:02} {0:%b}."]),
)
def test_day_in_any_writing(day: int, writing: str) -> None:
    assert parse_day(writing.format(NO_LEAP + timedelta(days=day - 1))) == day


@given(st.dates(date(2001, 1, 1), date(2099, 12, 31)))
def test_a_date_in_other_signs_is_among_those_meant(day: date) -> None:
    """Against the calendar's own writing; which stands first is not told between slashes."""
    assert dates_meant(f"{day.day}.{day.month}.{day.year}") == (day,)
    assert dates_meant(f"{day:%d. %m. %y}") == (day,)
    assert dates_meant(f"{day:%Y/%m/%d}") == (day,)
    british, american = dates_meant(f"{day:%d/%m/%Y}"), dates_meant(f"{day:%m/%d/%Y}")
    assert british[0] == day and day in american and set(british) == set(american)


@pytest.mark.parametrize("text", ["", "2024", "8/10", "31.2.2024", "8/10-2024", "13/13/2024", "x"])
def test_no_date_is_meant(text: str) -> None:
    assert dates_meant(text) == ()


@given(st.dates(date(2001, 1, 1), date(2099, 12, 31)))
def test_a_day_in_other_signs_is_among_those_meant(day: date) -> None:
    """Against the calendar's own writing; a day before a dot or a name of a month stands alone."""
    there = (day.month, day.day)
    for text in (f"{day:%d.%m.}", f"{day.day}.{day.month}", f"{day:%d %b}", f"{day:%B} {day.day}",
                 f"{day:%d.%m.%Y}", f"{day:%Y-%m-%d}"):  # fmt: skip
        assert days_meant(text) == (there,)
    for text in (f"{day:%d/%m}", f"{day:%m/%d}", f"{day:%d-%m}", f"{day:%m/%d/%y}"):
        assert there in days_meant(text)


@pytest.mark.parametrize(
    ("text", "days"),
    [("04-31", [(4, 31)]), ("31.4.", [(4, 31)]), ("31 Feb", [(2, 31)]), ("32 May", []), ("May", []),
     ("", []), ("soon", []), ("12 13 14", []), ("13/13", [])],
)  # fmt: skip
def test_a_day_may_be_meant_that_its_month_lacks(text: str, days: list[tuple[int, int]]) -> None:
    assert list(days_meant(text)) == days


@pytest.mark.parametrize(
    "text", ["", "soon", "31 Feb", "13-01", "4-31", "0", "366", "10 Ap", "10 Apr 2020", "-", "1-"]
)
def test_no_day(text: str) -> None:
    assert parse_day(text) is None


@pytest.mark.parametrize(
    "text",
    [
        "8 Apr - 18 Apr",
        "8–18 Apr",
        "8-18 April",
        "8 Apr to 18 Apr",
        "8 Apr – 18 Apr",
        "04-08..04-18",
        "04-08 - 04-18",
        "Apr 8 until Apr 18",
        "98 - 108",
    ],
)
def test_span(text: str) -> None:
    assert parse_span(text) == (98, 108)


@pytest.mark.parametrize("text", ["", "8 Apr", "8 Apr - ", "soon - later", "1 - 2 - 3"])
def test_no_span(text: str) -> None:
    assert parse_span(text) is None


@given(st.text(max_size=20))
def test_any_text(text: str) -> None:
    assert parse_day(text) is None or 1 <= parse_day(text) <= 365  # type: ignore[operator]
    parse_span(text)
