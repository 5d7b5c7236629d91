"""Why a limb does not crop: what is asked as a form, the causes, and what would tell them apart."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from flask import Blueprint, abort, flash, redirect, render_template, request
from werkzeug.wrappers import Response

from pollinet.answers.diagnose import diagnose_of, look_at_limb
from pollinet.domain import Limb, Observation, Plan
from pollinet.errors import WrongChange
from pollinet.files import LOG_NAME, garden_locked
from pollinet.findings import Finding, has_errors
from pollinet.language import _
from pollinet.noting import note_down
from pollinet.page.links import current_study, desk, to
from pollinet.page.paragraphs import parts_of
from pollinet.page.questions import number_of, question_of
from pollinet.readers.observations import Kind, kinds
from pollinet.readers.plan_bounds import YEARS
from pollinet.readers.records import COLUMNS, records_of, with_more
from pollinet.study import Study
from pollinet.summary.advice import diagnosis_year
from pollinet.summary.named import limb_named
from pollinet.wording.advice import diagnosis_reasons
from pollinet.wording.notes import KINDS, UNITS, VALUES

screen = Blueprint("diagnose", __name__)


@dataclass(frozen=True)
class Field:
    """One thing that can be told of the limb. asked : in words; told : what stands in it."""

    kind: Kind
    asked: str
    told: str

    @property
    def label(self) -> str:
        """What is asked, or what it is."""
        return _(self.asked) if self.asked else _(KINDS[self.kind.name])

    @property
    def unit(self) -> str:
        """Its unit; those of counts are in the words of their kind."""
        return _(UNITS[self.kind.unit]) if self.kind.unit in UNITS else ""

    @property
    def words(self) -> dict[str, str]:
        """What may be chosen, and how it is said; none where a number is typed."""
        return {word: _(VALUES[word]) for word in self.kind.allowed}


@screen.get("/diagnose/<path:limb>")
def show(limb: str) -> tuple[str, int]:
    """The diagnosis, with what this address tells beside what is noted; nothing is written."""
    study, found = current_study(), _limb(limb)
    year = _year(study, found)
    seen, problems = _with_told(study, found, year)
    view = look_at_limb(seen, _place(seen, found.id), year)
    told = diagnose_of(seen, view)
    questions: dict[str, str] = {}
    for one in told.questions:
        for kind in _kinds_in(one.option)[:1]:
            questions.setdefault(kind, one.question)
    fields = list(_fields(study, found, year, questions))
    page = render_template(
        "diagnose.html.j2",
        found=told,
        reasons=parts_of(diagnosis_reasons(view, questions=False)),
        problems=problems,
        year=year,
        first=[one for one in fields if one.asked],
        more_fields=[one for one in fields if not one.asked],
    )
    return page, 422 if problems else 200


@screen.post("/diagnose/<path:limb>")
def note(limb: str) -> Response:
    """Write what is told into the log, as `pollinet record` does."""
    study, found = current_study(), _limb(limb)
    year = _year(study, found)
    rows = [dict(zip(COLUMNS, cells, strict=True)) for cells in _rows(found, year)]
    if rows:
        folder = desk().plan.parent
        with garden_locked(desk().plan):
            findings = note_down(folder / LOG_NAME, rows, _written_plan(), date.today())
        if has_errors(findings):
            raise WrongChange([one for one in findings if one.severity == "error"])
        flash("noted")
    return redirect(to("diagnose.show", limb=found.id, year=year), 303)


def _written_plan() -> Plan:
    """The plan as its file has it: a limb that is only tried has no log."""
    study = desk().opened().study
    assert study is not None
    return study.plan


def _limb(name: str) -> Limb:
    study = current_study()
    place, problems = limb_named(study, name)
    if problems:
        abort(404)
    wanted = study.nodes()[place[0]].id
    return next(one for one in study.plan.limbs if one.id == wanted)


def _place(study: Study, name: str) -> int:
    return [node.id for node in study.nodes()].index(name)


def _year(study: Study, limb: Limb) -> int:
    """The year that is asked about; else that of the last notes; else this one."""
    told = number_of(question_of("year", request.values), "year", *YEARS)
    if told is not None:
        return round(told)
    return diagnosis_year(study, limb) or date.today().year


def _rows(limb: Limb, year: int) -> list[tuple[str, ...]]:
    """What is told in this request and not noted already, as rows of the log."""
    noted = _noted(current_study(), limb, year)
    told = {name: request.values.get(name, "").strip() for name in kinds()}
    return [
        (str(year), limb.id, name, value.replace(",", "."), "", "")
        for name, value in told.items()
        if value and not kinds()[name].dated and value != noted.get(name)
    ]


def _with_told(study: Study, limb: Limb, year: int) -> tuple[Study, tuple[Finding, ...]]:
    """The garden as if all that is told were noted; and what of it cannot be."""
    rows = [(None, dict(zip(COLUMNS, cells, strict=True))) for cells in _rows(limb, year)]
    if not rows:
        return study, ()
    seen, problems = with_more(study.records.observations, rows, study.plan)
    records = records_of(seen, study.plan, study.records.named)
    return replace(study, records=records), tuple(replace(one, place="") for one in problems)


def _noted(study: Study, limb: Limb, year: int) -> dict[str, str]:
    """What is noted of the limb in a year, as it would be typed; the last of each kind."""
    return {
        seen.kind: _typed(seen)
        for seen in study.records.observations
        if seen.limb == limb.id and seen.year == year
    }


def _typed(seen: Observation) -> str:
    if seen.number is None:
        return seen.word
    return f"{seen.number:g}" if seen.of is None else f"{seen.number:g}/{seen.of:g}"


def _kinds_in(option: str) -> list[str]:
    """Kinds of observations that an option of `pollinet record` names."""
    return [name for name in re.findall(r"--([a-z-]+)", option) if name in kinds()]


def _fields(study: Study, limb: Limb, year: int, questions: Mapping[str, str]) -> Iterator[Field]:
    """All that can be told without a day, what tells most first."""
    noted = _noted(study, limb, year)
    order = [*questions, *(name for name in kinds() if name not in questions)]
    for name in order:
        kind = kinds()[name]
        if not kind.dated:
            told = request.args.get(name, "").strip() or noted.get(name, "")
            yield Field(kind, questions.get(name, ""), told)
