"""That a variety of one's own was described, and what is known of it now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, ClassVar

from pollinet.answers.base import About, Answer, Findings, Told
from pollinet.answers.parts import Fruit as FruitName
from pollinet.domain import Fruit, Variety
from pollinet.findings import Finding
from pollinet.wording.varieties import variety_answer


@dataclass(frozen=True, repr=False)
class AddedVariety(Answer):
    """A variety of one's own."""

    NAME: ClassVar[str] = "variety-add"

    answer: Told
    variety: str
    species: FruitName
    folder: Annotated[str, About("Where the own tables stand.")]
    findings: Findings


def added_variety_of(
    variety: Variety, fruit: Fruit, folder: Path, findings: Sequence[Finding]
) -> AddedVariety:
    """The answer, from the variety as the catalogue has it now."""
    told, name = variety_answer(variety, fruit), variety.id
    return AddedVariety(told, name.name, name.species, str(folder), tuple(findings))
