"""Problems in a person's input, as values: what, where, and the cure.

A reader never raises for a mistake in a file. It returns what it could read together with a
tuple of findings, so that one run shows all mistakes at once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Severity = Literal["error", "warning", "note"]

_ORDER: dict[str, int] = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True)
class Finding:
    """One problem found in the input.

    severity : `error` stops the run (exit code 2), `warning` and `note` do not.
    code : short stable word for programs, such as `unknown-variety`.
    message : what was found and what is allowed, in one sentence; a `messages.Message`, where it is
        to be said in other languages.
    file : name of the file, as the person gave it.
    place : place in the file: a key (`tree[1].limb[2].variety`) or a column.
    line : line number counted from 1; None where a format has no useful lines.
    cure : what to do about it, in one sentence, likewise; empty where the message says it.
    """

    severity: Severity
    code: str
    message: str
    file: str = ""
    place: str = ""
    line: int | None = None
    cure: str = ""

    @property
    def where(self) -> str:
        """The place in words: `plan.toml, tree[1].species` or `weather.csv, line 12`."""
        parts = [self.file, f"line {self.line}" if self.line is not None else "", self.place]
        return ", ".join(part for part in parts if part)


def has_errors(findings: Iterable[Finding]) -> bool:
    """Whether any finding stops the run."""
    return any(finding.severity == "error" for finding in findings)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings without repeats: errors first, then by file, line and place."""
    unique = dict.fromkeys(findings)
    return tuple(
        sorted(
            unique,
            key=lambda f: (_ORDER[f.severity], f.file, f.line or 0, f.place, f.code, f.message),
        )
    )
