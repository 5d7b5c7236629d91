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


class WrongChange(PollinetError):
    """A change that the plan file could not hold.

    findings : all that is wrong with it, as `pollinet.findings.Finding`.
    """

    def __init__(self, findings: Sequence[Any]) -> None:
        super().__init__("; ".join(f"{found.message}" for found in findings))
        self.findings = tuple(findings)


class SolverFailure(PollinetError):
    """The solver stopped without an answer and without a reason we can pass on."""
