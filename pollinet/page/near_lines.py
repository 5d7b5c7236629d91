"""Where in the text of a plan a finding is about: its line, with those around it."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass

from pollinet.findings import Finding
from pollinet.messages import Message

AROUND = 2
"""Lines that are shown before and after."""

_NUMBERED = re.compile(r"(\w+) (\d+)")
_NAMED = re.compile(r'(\w+) "(.*)"', re.DOTALL)


@dataclass(frozen=True)
class Near:
    """A line, counted from 1, and the lines around it as (number, text)."""

    line: int
    around: tuple[tuple[int, str], ...]


def near_line(lines: Sequence[str], finding: Finding) -> Near | None:
    """The line that a finding is about; None where it is about the plan as a whole."""
    line = finding.line or _told_line(finding.message) or _line_of(lines, finding.place)
    if line is None or not 1 <= line <= len(lines):
        return None
    first, last = max(line - AROUND, 1), min(line + AROUND, len(lines))
    return Near(line, tuple((n, lines[n - 1]) for n in range(first, last + 1)))


def _told_line(message: str) -> int | None:
    """The line that a sentence itself tells, as that of a fault in the TOML does."""
    told = message.values.get("line") if isinstance(message, Message) else None
    return int(str(told)) if told is not None and str(told).isdecimal() else None


def _line_of(lines: Sequence[str], place: str) -> int | None:
    """The line of a place in words: `tree "old-apple", limb "n1", variety`."""
    found: int | None = None
    for part in re.split(r', (?=\w+(?: "| \d|,|$))', place) if place else ():
        named, numbered = _NAMED.fullmatch(part), _NUMBERED.fullmatch(part)
        start = found or 0
        if named:
            quoted = re.escape(json.dumps(named[2], ensure_ascii=False))
            plain = re.escape(f"'{named[2]}'")
            pattern, count = rf"\s*(?:id|name|variety)\s*=\s*(?:{quoted}|{plain})", 1
        elif numbered:
            pattern, count = rf"\s*\[\[(?:\w+\.)?{numbered[1]}\]\]", int(numbered[2])
        else:
            key = re.escape(part.rpartition(" ")[2])
            pattern, count = rf"\s*(?:\[+(?:\w+\.)*{key}\]+|{key}\s*=)", 1
        rows = [n for n in range(start, len(lines)) if re.match(pattern, lines[n])]
        if len(rows) < count:
            break
        found = rows[count - 1] + 1
    return found
