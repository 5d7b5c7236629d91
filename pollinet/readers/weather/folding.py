"""One finding for a mistake that repeats on many lines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pollinet.findings import Finding, Severity
from pollinet.messages import Message, listing, mark, say

SHOWN = 3
"""Lines named in a folded finding; the rest is counted. Own convention."""

_ONE = mark("{fault}.")
_SOME = mark("{fault} ({number} lines: {lines}).")
_MANY = mark("{fault} ({number} lines: {lines} and {more} more).")
_ENTRIES = {
    _SOME: mark("{fault} ({number} entries: {lines})."),
    _MANY: mark("{fault} ({number} entries: {lines} and {more} more)."),
}


def folded(
    severity: Severity,
    code: str,
    message: str,
    file: str,
    lines: Iterable[int],
    *,
    place: str = "",
    cure: str = "",
) -> tuple[Finding, ...]:
    """Fold one mistake on many lines into one finding; none where there are no lines.

    Parameters
    ----------
    message : one sentence without its full stop; the count and the first lines are added to it.
    lines : line numbers counted from 1, in any order.
    """
    ordered = sorted({int(line) for line in lines})
    if not ordered:
        return ()
    said = say(
        _ONE if len(ordered) == 1 else _SOME if len(ordered) <= SHOWN else _MANY,
        fault=message,
        number=len(ordered),
        lines=listing(ordered[:SHOWN]),
        more=len(ordered) - SHOWN,
    )
    return (Finding(severity, code, said, file, place, ordered[0], cure),)


def _of_entries(message: str) -> str:
    if isinstance(message, Message) and message.pattern in _ENTRIES:
        return say(_ENTRIES[message.pattern], **message.values)
    return message


def _entry(place: str, number: int) -> Message:
    if place:
        return say("{place} entry {number}", place=place, number=number)
    return say("entry {number}", number=number)


def by_entry(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The same findings for a format that has entries in lists instead of lines."""
    return tuple(
        replace(
            finding,
            message=_of_entries(finding.message),
            place=_entry(finding.place, finding.line),
            line=None,
        )
        if finding.line is not None
        else finding
        for finding in findings
    )
