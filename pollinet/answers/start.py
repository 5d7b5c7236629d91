"""That a new plan was written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.domain import Plan
from pollinet.findings import Finding
from pollinet.wording.sentences import count


@dataclass(frozen=True, repr=False)
class NewPlan(Answer):
    """A new plan."""

    NAME: ClassVar[str] = "start"

    answer: Told
    file: Annotated[str, About("The plan.")]
    findings: Findings


def new_plan_of(plan: Plan, file: Path, findings: Sequence[Finding]) -> NewPlan:
    """The answer, from the plan as it was written into the file."""
    told = f"A plan with {count(len(plan.limbs), 'limb')} is in {file}."
    return NewPlan(told, str(file), tuple(findings))
