"""TOML in words: values as they would be typed, and what keeps a text from being read."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any

from pollinet.letters import shortened
from pollinet.messages import NOTHING, Message, joined, listing, mark, say
from pollinet.readers.typed_numbers import EAST, NORTH, degrees, value_of

LONGEST_LIST = 3
"""Lists up to this length are shown in full; of a longer one only its length. Own convention."""

TOO_LARGE = 10**30
"""Whole numbers from here on are not written out. Own convention."""


def shown(value: Any) -> str:
    """A value as typed: `"text"`, `true`, `[1, 300]`, a date; in words where that would be long."""
    if isinstance(value, list):
        if len(value) > LONGEST_LIST:
            return say("a list of {number} values", number=len(value))
        return listing(["[", listing([shown(one) for one in value]), "]"], "")
    if isinstance(value, dict):
        return say("a table")
    if isinstance(value, str):
        return f'"{shortened(value)}"'
    if isinstance(value, date | time):
        return _date(value)
    if isinstance(value, int) and abs(value) >= TOO_LARGE:
        return say("a number that is far too large")
    return str(value).lower()


def _date(value: date | time) -> Message:
    text = value.isoformat(" ") if isinstance(value, datetime) else value.isoformat()
    return say("the date {date} without quotes", date=text)


MOST_DOTS = 1000
"""No line of a plan has more; the standard library's reader takes four times as long for twice as
many names in a row. Own convention."""

_QUOTED = re.compile(r"\"[^\"\n]*\"|'[^'\n]*'")


def too_many_dots(text: str) -> int | None:
    """The first line with dots beyond reason, counted from 1, outside of texts and remarks."""
    for number, line in enumerate(text.splitlines(), 1):
        if line.count(".") > MOST_DOTS:
            bare = _QUOTED.sub("", line).partition("#")[0]
            if bare.count(".") > MOST_DOTS:
                return number
    return None


_NOT_CLOSED = mark("a text in quotes is not closed")
_TWICE = mark("it stands there for the second time")
_FAULTS: Mapping[str, str] = {
    "Unterminated string": _NOT_CLOSED,
    "Illegal character '\\n'": _NOT_CLOSED,
    "Unclosed array": mark("a list is not closed with ]"),
    "Unclosed inline table": mark("a table in braces is not closed"),
    "Cannot overwrite": _TWICE,
    "Cannot declare": _TWICE,
    "Duplicate inline table key": _TWICE,
    "Expected '='": mark("there is no = after the key"),
    "Expected ']'": mark("a heading is not closed with ]"),
    "Expected ']]'": mark("a heading is not closed with ]]"),
    "Expected newline": mark("the line goes on after the value"),
    "Invalid value": mark("the value is no text in quotes, number, true or false"),
    "Invalid statement": mark("it begins with no key and no [heading]"),
    "Unescaped": mark("a backslash in a text must be written twice"),
}
"""How the texts of the standard library's reader begin, and what they mean to a grower."""


_NUMBER_LINE = re.compile(r"\s*([\w-]+)\s*=\s*([^#]*?)\s*(?:#.*)?")
_THOUSANDS = re.compile(r"\d{1,3}(,\d{3})+")
_ANGLES = {"latitude": NORTH, "longitude": EAST}


def number_meant(text: str, problem: tomllib.TOMLDecodeError) -> Message:
    """How to write the line that cannot be read, where a number was meant; else nothing.

    `52,2` has a comma, which may stand between thousands, too; `41.2S` a direction for a sign.
    """
    lines, at = text.split("\n"), re.search(r"at line (\d+)", str(problem))
    number = int(at[1]) if at else len(lines)
    found = _NUMBER_LINE.fullmatch(lines[number - 1]) if 1 <= number <= len(lines) else None
    if found is None:
        return NOTHING
    key, typed = found.groups()
    if key in _ANGLES:
        value, _ = degrees(typed, (-180, 180), _ANGLES[key])
        if value is None:
            return NOTHING
        return say("use a point; south and west are negative: {line}", line=f"{key} = {value:.10g}")
    if value_of(typed) is None:
        return NOTHING
    ways = [f"{key} = {typed.replace(',', '.').replace('−', '-')}"]
    ways += [f"{key} = {typed.replace(',', '')}"] if _THOUSANDS.fullmatch(typed) else []
    return say("write it with a point: {lines}", lines=joined(ways, "or"))


def toml_fault(problem: tomllib.TOMLDecodeError) -> Message:
    """Why a text is not valid TOML, and where."""
    parts = re.fullmatch(r"(.*) \(at line (\d+), column \d+\)", str(problem), re.DOTALL)
    told = parts[1] if parts else str(problem).removesuffix(" (at end of document)")
    known = next((words for start, words in _FAULTS.items() if told.startswith(start)), None)
    reason = say(known) if known else told
    if parts:
        return say("this is not valid TOML in line {line}: {reason}", line=parts[2], reason=reason)
    return say("this is not valid TOML at its end: {reason}", reason=reason)
