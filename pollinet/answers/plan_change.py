"""That the plan file was changed, and what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.findings import Finding


@dataclass(frozen=True, repr=False)
class PlanChange(Answer):
    """A change of the plan file."""

    NAME: ClassVar[str] = "plan"

    answer: Told
    notes: Annotated[tuple[str, ...], About("What to mind.")]
    file: Annotated[str, About("The plan.")]
    findings: Findings


def plan_change_of(told: Sequence[str], file: Path, findings: Sequence[Finding]) -> PlanChange:
    """The answer, from what `wording.edits` tells of the change."""
    answer, *notes = told
    return PlanChange(answer, tuple(notes), str(file), tuple(findings))
