"""The report that was written: where it is, and what tells it from another."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings, Sha256, Told
from pollinet.study import Study
from pollinet.wording.check import garden_answer


@dataclass(frozen=True, repr=False)
class WrittenReport(Answer):
    """A report that was written."""

    NAME: ClassVar[str] = "report"

    answer: Told
    file: Annotated[str, About("The report.")]
    sha256: Sha256
    findings: Findings


def written_report_of(study: Study, file: Path, content: bytes) -> WrittenReport:
    """What is told of a report; `content` : its bytes."""
    digest = hashlib.sha256(content).hexdigest()
    return WrittenReport(garden_answer(study), str(file), digest, study.findings)
