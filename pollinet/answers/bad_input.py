"""What every command answers where something in the input must be put right."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer
from pollinet.findings import Finding


@dataclass(frozen=True, repr=False)
class BadInput(Answer):
    """What any command answers with exit code 2: the input must be put right."""

    NAME: ClassVar[str] = "bad-input"
    ROWS: ClassVar[str] = "findings"
    ROW: ClassVar[type] = Finding

    answer: Annotated[None, About("Always null: there is no answer.")]
    findings: Annotated[
        tuple[Finding, ...], About("What must be put right, and what was noted beside it.")
    ]

    @property
    def exit_code(self) -> int:
        """Bad input, whatever was asked."""
        return 2
