"""Why a limb does not crop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

from pollinet.advice.diagnosis import CauseAnswer, Confidence, Stage
from pollinet.advice.rules import Evidence
from pollinet.answers.base import About, Answer, Findings, flat
from pollinet.answers.parts import Fruit
from pollinet.errors import BadQuestion
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.study import Study
from pollinet.summary.advice import LimbDiagnosis, diagnosis_year, limb_diagnosis
from pollinet.wording.advice import diagnosis_answer


@dataclass(frozen=True)
class Cause:
    """One cause with what speaks for it and against it."""

    cause: str
    title: str
    stages: tuple[str, ...]
    points: Annotated[int, About("Evidence for less evidence against.")]
    confidence: Confidence
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]
    meaning: str
    remedy: str
    caution: Annotated[str, About("What danger there is; empty: none.")]
    source: str
    status: str


@dataclass(frozen=True)
class GardenTest:
    """A cheap test and what it would show."""

    test: str
    title: str
    how: str
    outcomes: Annotated[
        tuple[tuple[str, str], ...],
        About("Pairs: a cause, and what the test shows if it is the one."),
    ]
    caution: str
    source: str


@dataclass(frozen=True)
class NotCounted:
    """A test that was made and is no evidence."""

    title: Annotated[str, About("The garden test.")]
    counted: Annotated[int | None, About("On how many; null: no count.")]
    needed: Annotated[
        int | None,
        About("How many would do; null: what it showed speaks neither way."),
    ]


@dataclass(frozen=True)
class Question:
    """What was not noted yet."""

    question: str
    option: Annotated[str, About("How to note the answer.")]


@dataclass(frozen=True)
class Known:
    """What the rules were asked with."""

    value: float
    sample: Annotated[int | None, About("Out of how many; null: no count.")]


@dataclass(frozen=True, repr=False)
class Diagnose(Answer):
    """Why a limb does not crop."""

    NAME: ClassVar[str] = "diagnose"
    ROW: ClassVar[type] = Cause

    answer: Annotated[str, About("The answer in one or a few sentences.")]
    limb: Annotated[str, About("Id.")]
    variety: str
    species: Fruit
    year: Annotated[int, About("Year of bloom.")]
    stages: Annotated[
        tuple[Stage, ...],
        About(
            "Where the crop may have been lost: A no or few flowers, B dead or malformed flowers, "
            "C no set from sound flowers, D fruitlets lost after setting."
        ),
    ]
    stage_decided: Annotated[bool, About("Whether what was noted says so.")]
    full_crop: Annotated[bool, About("Whether what was noted is a full crop.")]
    pollination_judged: Annotated[
        bool, About("Whether a lack of set from sound flowers can be judged.")
    ]
    too_few_clusters: Annotated[
        tuple[int, int] | None,
        About("Clusters counted and clusters needed, where so few cannot show a lack of set."),
    ]
    not_counted: Annotated[
        tuple[NotCounted, ...], About("Tests that were made and are no evidence.")
    ]
    cause: Annotated[str | None, About("The cause, where the evidence decides.")]
    causes: Annotated[tuple[Cause, ...], About("Most likely first.")]
    questions: Annotated[tuple[Question, ...], About("What was not noted yet.")]
    test: Annotated[GardenTest | None, About("The garden test that tells most causes apart.")]
    measures: Annotated[dict[str, Known], About("What the rules were asked with.")]
    fruits_to_leave: Annotated[
        tuple[int, int] | None, About("Fewest and most fruits to leave on the limb.")
    ]
    dependants: Annotated[tuple[str, ...], About("Limbs that have this one as their only donor.")]
    genotype_known: bool
    findings: Findings

    def rows(self) -> list[dict[str, Any]]:
        """One row a cause, most likely first, with its evidence in words."""
        return [
            {
                **dict(flat(cause)),
                "evidence_for": "; ".join(piece.text for piece in cause.evidence_for),
                "evidence_against": "; ".join(piece.text for piece in cause.evidence_against),
            }
            for cause in self.causes
        ]


def look_at_limb(study: Study, place: int, year: int | None = None) -> LimbDiagnosis:
    """The diagnosis of the limb at a place among the nodes.

    year : of bloom; None: the last one noted of the limb, else the last of a measured record.
        Raises `BadQuestion` where there is neither.
    """
    name = study.nodes()[place].id
    limb = next(limb for limb in study.plan.limbs if limb.id == name)
    asked = year or diagnosis_year(study, limb)
    if asked is None:
        raise BadQuestion([_no_year()])
    return limb_diagnosis(study, limb, asked)


def _no_year() -> Finding:
    message = say("nothing is noted of this limb, so the year is not known")
    cure = say(
        "add --year 2026, or note what you saw: pollinet record PLAN LIMB --clusters 0 --year 2026"
    )
    return Finding("error", "no-year", message, cure=cure)


def diagnose_of(study: Study, view: LimbDiagnosis) -> Diagnose:
    """The answer on a limb, from what `look_at_limb` has found."""
    found, limb = view.diagnosis, view.limb
    stage, decided, test = found.stage, found.decided, found.test
    return Diagnose(
        answer=diagnosis_answer(view),
        limb=limb.id,
        variety=limb.variety.name,
        species=limb.variety.species,
        year=view.year,
        stages=stage.possible,
        stage_decided=stage.decided,
        full_crop=stage.sound,
        pollination_judged=stage.decided and "C" in stage.possible and found.too_few is None,
        too_few_clusters=found.too_few,
        not_counted=tuple(
            NotCounted(made.title, made.counted, made.needed) for made in found.not_counted
        ),
        cause=None if decided is None else decided.cause,
        causes=tuple(map(_cause, found.causes)),
        questions=tuple(Question(question, option) for question, option in found.questions),
        test=None
        if test is None
        else GardenTest(test.test, test.title, test.how, test.outcomes, test.caution, test.source),
        measures={
            name: Known(measure.value, measure.sample)
            for name, measure in sorted(view.measures.items())
        },
        fruits_to_leave=view.fruits,
        dependants=view.dependants,
        genotype_known=view.genotype_known,
        findings=study.findings,
    )


def _cause(cause: CauseAnswer) -> Cause:
    return Cause(
        cause.cause,
        cause.title,
        cause.stages,
        cause.points,
        cause.confidence,
        cause.evidence_for,
        cause.evidence_against,
        cause.meaning,
        cause.remedy,
        cause.caution,
        cause.source,
        cause.status,
    )
