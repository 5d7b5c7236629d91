"""Exceptions for broken promises inside the program.

Problems in what a person typed or supplied are not exceptions: they are values, see
`pollinet.findings`. Only the command line catches `PollinetError`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


class PollinetError(Exception):
    """Root of all errors that Pollinet raises itself."""


class ShapeError(PollinetError):
    """Arrays handed to a stage do not fit together."""


class CatalogueMissing(PollinetError):
    """The catalogues that ship with the program are not where they must be."""


class Unfit(PollinetError):
    """Something that was asked for cannot be, and the person can put it right.

    findings : all that is wrong, as `pollinet.findings.Finding`.
    """

    def __init__(self, findings: Sequence[Any]) -> None:
        super().__init__("\n".join(_line(found) for found in findings))
        self.findings = tuple(findings)


def _line(found: Any) -> str:
    cure = f"\n    {found.cure}" if found.cure else ""
    return f"{found.where}: {found.message}{cure}" if found.where else f"{found.message}{cure}"


class BadPlan(Unfit):
    """A plan, or a file that it names, must be put right before it can be computed with."""


class BadQuestion(Unfit):
    """A question names something that is not there, or asks for what cannot be."""


class WrongChange(Unfit):
    """A change that the plan file could not hold."""


class Busy(Unfit):
    """Another edit of the same garden is running."""


class SolverFailure(PollinetError):
    """The solver stopped without an answer and without a reason we can pass on."""
