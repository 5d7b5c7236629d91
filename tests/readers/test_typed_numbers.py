"""Numbers as people type them: decimal commas, degrees with minutes, directions."""

from __future__ import annotations

import pytest

from pollinet.readers.typed_numbers import EAST, NORTH, degrees, number, whole

ANYWHERE = (-180, 180)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("47.2", 47.2),
        (" 47,2 ", 47.2),
        ("-47,2", -47.2),
        ("−47.2", -47.2),
        ("47.2°", 47.2),
        ("47.2 N", 47.2),
        ("S 33,75", -33.75),
        ("33.75 S", -33.75),
        ("-33.75 S", -33.75),
        ("47° 12' N", 47.2),
        ("47°12′N", 47.2),
        ("47° 12,5' N", 47.20833),
        ("47° 12' 36\" N", 47.21),
        ("47º12'36''S", -47.21),
        ("47 12 36 Nord", 47.21),
        ("47 12 36 south", -47.21),
        ("0", 0),
    ],
)
def test_a_latitude(text: str, value: float) -> None:
    """Sixty minutes are a degree and sixty seconds a minute (ISO 6709)."""
    assert degrees(text, ANYWHERE, NORTH) == (pytest.approx(value), None)


@pytest.mark.parametrize(
    ("text", "value"), [("8° 30' E", 8.5), ("8,5 O", 8.5), ("8.5 Ost", 8.5), ("8.5 West", -8.5)]
)
def test_a_longitude_in_english_and_german(text: str, value: float) -> None:
    assert degrees(text, ANYWHERE, EAST) == (value, None)


@pytest.mark.parametrize(
    "text",
    ["", "north", "47.2 E", "N 47 N", "-47 N", "4 7 2 1", "47..2", "nan", "1e3", "47°°", "4" * 400],
)
def test_what_is_no_latitude(text: str) -> None:
    found, problem = degrees(text, (-66, 70), NORTH)
    assert found is None and problem is not None and problem.severity == "error"


def test_minutes_end_at_sixty_and_bounds_hold() -> None:
    assert degrees("47° 60'", ANYWHERE, NORTH)[0] is None
    assert degrees("47 0 60", ANYWHERE, NORTH)[0] is None
    assert degrees("70.1", (-66, 70), NORTH)[0] is None
    assert degrees("70", (-66, 70), NORTH) == (70, None)


@pytest.mark.parametrize("text", ["", "x", "nan", "inf", "1.2.3", "1,2,3", "0x10", "1 2"])
def test_what_is_no_number(text: str) -> None:
    found, problem = number(text, (0, 10))
    assert found is None and problem is not None and "is no number" in problem.message


def test_numbers_and_whole_numbers() -> None:
    assert number("2,5", (0, 10)) == (2.5, None)
    assert number("10.1", (0, 10))[0] is None
    assert whole("7", (0, 10)) == (7, None)
    found, problem = whole("7,5", (0, 10))
    assert found is None and problem is not None and "whole number" in problem.message
    assert whole("11", (0, 10))[0] is None
