"""One finding for a mistake that repeats on many lines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from pollinet.findings import Finding, Severity

SHOWN = 3
"""Lines named in a folded finding; the rest is counted. Own convention."""


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
    if len(ordered) > 1:
        named = ", ".join(str(line) for line in ordered[:SHOWN])
        rest = len(ordered) - SHOWN
        more = f" and {rest} more" if rest > 0 else ""
        message = f"{message} ({len(ordered)} lines: {named}{more})"
    return (Finding(severity, code, f"{message}.", file, place, ordered[0], cure),)


def by_entry(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The same findings for a format that has entries in lists instead of lines."""
    return tuple(
        replace(
            finding,
            message=finding.message.replace(" lines: ", " entries: "),
            place=f"{finding.place} entry {finding.line}".strip(),
            line=None,
        )
        if finding.line is not None
        else finding
        for finding in findings
    )
