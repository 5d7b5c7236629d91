"""`pollinet diagnose`: why a limb does not crop."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from pollinet.cli.common import (
    YEARS,
    BadInput,
    findings_data,
    json_option,
    opened,
    plan_argument,
    plan_ids,
    print_json,
    print_lines,
    weather_option,
)
from pollinet.domain import Limb
from pollinet.findings import Finding
from pollinet.messages import mark, say
from pollinet.readers.names import one_of
from pollinet.study import Study
from pollinet.summary.advice import LimbDiagnosis, diagnosis_year, limb_diagnosis
from pollinet.wording.advice import diagnosis_answer, diagnosis_lines


@click.command(
    epilog="Example: pollinet diagnose plan.toml A-top --year 2026. What is noted with "
    "`pollinet record` is the evidence. Exit codes: 0 an answer, 2 bad input."
)
@plan_argument
@click.argument("limb", shell_complete=plan_ids)
@click.option(
    "--year", type=YEARS, metavar="YYYY", help="Year of bloom; without it: the last noted."
)
@weather_option
@json_option
def diagnose(plan: Path, limb: str, year: int | None, weather: Path | None, as_json: bool) -> int:
    """Say which causes fit a limb that does not crop, and which test would tell them apart."""
    study = opened(plan, weather, as_json=as_json)
    place = find_limb(study, limb, as_json)
    asked = year or diagnosis_year(study, place) or _last_year(study, as_json)
    view = limb_diagnosis(study, place, asked)
    if as_json:
        print_json(diagnosis_data(view, study), schema="diagnose")
    else:
        print_lines(diagnosis_lines(view))
    return 0


def find_limb(study: Study, typed: str, as_json: bool) -> Limb:
    """The limb of that id; ends the command with the nearest ones where there is none."""
    limbs = {limb.id: limb for limb in study.plan.limbs}
    if typed in limbs:
        return limbs[typed]
    message, cure = (
        say('the plan has no limb "{limb}"', limb=typed),
        one_of(typed, limbs, mark("the limbs are: {names}")),
    )
    raise BadInput([Finding("error", "unknown-limb", message, study.plan.file, cure=cure)], as_json)


def _last_year(study: Study, as_json: bool) -> int:
    """The last winter of the record, where nothing is noted of the limb."""
    if study.winters is not None and not study.winters.generated:
        return study.winters.harvest_years[-1]
    message = say("nothing is noted of this limb, so the year is not known")
    cure = say(
        "add --year 2026, or note what you saw: pollinet record PLAN LIMB --clusters 0 --year 2026"
    )
    raise BadInput([Finding("error", "no-year", message, cure=cure)], as_json)


def diagnosis_data(view: LimbDiagnosis, study: Study) -> dict[str, Any]:
    """The diagnosis as data."""
    found = view.diagnosis
    return {
        "answer": diagnosis_answer(view),
        "limb": view.limb.id,
        "variety": view.limb.variety.name,
        "species": view.limb.variety.species,
        "year": view.year,
        "stages": list(found.stage.possible),
        "stage_decided": found.stage.decided,
        "full_crop": found.stage.sound,
        "pollination_judged": found.stage.decided
        and "C" in found.stage.possible
        and found.too_few is None,
        "too_few_clusters": None if found.too_few is None else list(found.too_few),
        "not_counted": [asdict(few) for few in found.not_counted],
        "cause": None if found.decided is None else found.decided.cause,
        "causes": [asdict(cause) for cause in found.causes],
        "questions": [{"question": q, "option": o} for q, o in found.questions],
        "test": None if found.test is None else asdict(found.test),
        "measures": {
            name: {"value": m.value, "sample": m.sample}
            for name, m in sorted(view.measures.items())
        },
        "fruits_to_leave": None if view.fruits is None else list(view.fruits),
        "dependants": list(view.dependants),
        "genotype_known": view.genotype_known,
        "findings": findings_data(study.findings),
    }
