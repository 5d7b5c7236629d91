"""Numbers as a person types them into a question or a form: with a decimal comma, or as an angle.

Each function gives the value, or what is wrong with the text.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import isfinite

from pollinet.findings import Finding
from pollinet.messages import say

Bounds = tuple[float, float]

NORTH: Mapping[str, int] = {"n": 1, "s": -1}
EAST: Mapping[str, int] = {"e": 1, "o": 1, "w": -1}
"""Directions by their first letter, in English and German (`Ost`), and their sign."""

_ANGLE = re.compile(
    r"""(?P<before>[nsewo][a-zü]*)?\s*
        (?P<sign>[-+−])?\s*(?P<degrees>\d+(?:[.,]\d+)?)\s*[°º]?
        (?:\s*(?P<minutes>\d+(?:[.,]\d+)?)\s*['′’]?
           (?:\s*(?P<seconds>\d+(?:[.,]\d+)?)\s*(?:["″”]|'')?)?)?
        \s*(?P<after>[nsewo][a-zü]*)?""",
    re.VERBOSE | re.IGNORECASE,
)


def number(text: str, bounds: Bounds) -> tuple[float | None, Finding | None]:
    """A number within bounds: `12`, `12.5`, `12,5`."""
    value = value_of(text)
    return (None, _no_number(text)) if value is None else _within(value, bounds)


def whole(text: str, bounds: Bounds) -> tuple[int | None, Finding | None]:
    """A whole number within bounds."""
    value = value_of(text)
    if value is not None and not value.is_integer():
        return None, Finding("error", "wrong-value", say("a whole number, please"))
    value, problem = number(text, bounds)
    return None if value is None else int(value), problem


def value_of(text: str) -> float | None:
    """A number as it is typed, by whatever bounds; None: it is none, or not finite."""
    try:
        value = float(text.strip().replace(",", ".").replace("−", "-"))
    except ValueError:
        return None
    return value if isfinite(value) else None


def degrees(
    text: str, bounds: Bounds, directions: Mapping[str, int]
) -> tuple[float | None, Finding | None]:
    """An angle on the globe: `47.2`, `-47,2`, `47.2° N`, `47° 12' 30" N`. [degrees]

    directions : `NORTH` or `EAST`.
    """
    found = _ANGLE.fullmatch(text.strip())
    sign = _sign(found, directions) if found else None
    if found is None or sign is None:
        cure = say("for example {examples}", examples="47.2; 47,2; 47° 12' N")
        message = say('"{text}" is no angle in degrees', text=text)
        return None, Finding("error", "no-number", message, cure=cure)
    whole_part, minutes, seconds = (
        float((found[name] or "0").replace(",", ".")) for name in ("degrees", "minutes", "seconds")
    )
    if max(minutes, seconds) >= 60:
        message = say("minutes and seconds are below 60")
        return None, Finding("error", "wrong-value", message)
    # A garden is told to some ten metres: more digits say nothing.
    return _within(sign * round(whole_part + minutes / 60 + seconds / 3600, 5), bounds)


def _sign(found: re.Match[str], directions: Mapping[str, int]) -> int | None:
    """1 or -1 by a minus or by a direction; None where they contradict each other."""
    letters = [word[0].lower() for word in (found["before"], found["after"]) if word]
    if len(letters) > 1 or any(letter not in directions for letter in letters):
        return None
    minus = found["sign"] in ("-", "−")
    told = directions[letters[0]] if letters else None
    if minus and told == 1:
        return None
    return -1 if minus else told or 1


def _within(value: float, bounds: Bounds) -> tuple[float | None, Finding | None]:
    low, high = bounds
    if low <= value <= high:
        return value, None
    message = say("allowed is {low:g} to {high:g}", low=low, high=high)
    return None, Finding("error", "out-of-bounds", message)


def _no_number(text: str) -> Finding:
    return Finding("error", "no-number", say('"{text}" is no number', text=text))
