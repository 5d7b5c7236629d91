"""Values of a plan in words, as they would be typed in TOML."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from pollinet.messages import Message, listing, say

LONGEST_LIST = 3
"""Lists up to this length are shown in full; of a longer one only its length. Own convention."""


def shown(value: Any) -> str:
    """A value as typed: `"text"`, `true`, `[1, 300]`, a date; in words where that would be long."""
    if isinstance(value, list):
        if len(value) > LONGEST_LIST:
            return say("a list of {number} values", number=len(value))
        return listing(["[", listing([shown(one) for one in value]), "]"], "")
    if isinstance(value, dict):
        return say("a table")
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, date | time):
        return _date(value)
    return str(value).lower()


def _date(value: date | time) -> Message:
    text = value.isoformat(" ") if isinstance(value, datetime) else value.isoformat()
    return say("the date {date} without quotes", date=text)
