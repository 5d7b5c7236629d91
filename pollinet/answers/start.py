"""That a new plan was written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, ClassVar

from pollinet.answers.base import WHEN_ASKED, About, Answer, Findings, Told
from pollinet.answers.parts import Stations, stations_of
from pollinet.domain import Plan
from pollinet.findings import Finding
from pollinet.weather.station_climate import StationClimate
from pollinet.wording.sentences import count


@dataclass(frozen=True, repr=False)
class NewPlan(Answer):
    """A new plan."""

    NAME: ClassVar[str] = "start"

    answer: Told
    file: Annotated[str, About("The plan.")]
    findings: Findings
    stations: Stations = field(default=None, metadata=WHEN_ASKED)


def new_plan_of(
    plan: Plan, file: Path, findings: Sequence[Finding], climate: StationClimate | None
) -> NewPlan:
    """The answer, from the plan as it was written into the file.

    climate : what stations tell, where winters will be made from them.
    """
    told = f"A plan with {count(len(plan.limbs), 'limb')} is in {file}."
    return NewPlan(told, str(file), tuple(findings), stations_of(climate))
