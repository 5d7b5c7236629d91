"""From a plan file and all that it names to a `Study`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from pollinet.domain import Catalogue, DailyWeather, Plan
from pollinet.findings import Finding, has_errors, in_order
from pollinet.messages import say
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.plan import read_plan
from pollinet.readers.records import FILE_NAME as RECORDS_NAME
from pollinet.readers.records import read_records
from pollinet.readers.weather import read_weather
from pollinet.study.garden import Study
from pollinet.study.trial_sites import FIRST_GENERATED_YEAR
from pollinet.weather.generated import generate_daily
from pollinet.weather.plausibility import plausible

GENERATED_WINTERS = 30
"""Winters made from twelve monthly means: the usual length of a climate normal (30 years, WMO)."""


@dataclass(frozen=True)
class Opened:
    """What came of opening a plan: a study, or None where an error stands in the way."""

    study: Study | None
    findings: tuple[Finding, ...]


def open_plan(
    path: Path, text: str | None = None
) -> tuple[Plan | None, Catalogue | None, tuple[Finding, ...]]:
    """Read a plan with its names resolved, and the catalogues it needs; no weather, no log.

    text : what the file would hold, to be checked before it is written.
    """
    return read_plan(path, text)


def open_study(path: Path, *, weather: Path | None = None) -> Opened:
    """Read a plan and all it names, and check it.

    Parameters
    ----------
    path : the plan file; `records.csv` and a folder `catalogues` beside it are read too.
    weather : a weather file to use in place of the plan's own.
    """
    plan, catalogue, findings = open_plan(path)
    if plan is None or catalogue is None:
        return Opened(None, findings)
    records, log_findings = read_records(path.parent / RECORDS_NAME, plan)
    record, weather_findings = _weather(plan, path.parent, weather)
    findings = in_order(findings + log_findings + weather_findings)
    if has_errors(findings):
        return Opened(None, findings)
    own = own_folder_beside(path.parent)
    study = Study(plan, catalogue, record, records=records, own_folder=own)
    findings = in_order(findings + study.gaps)
    return Opened(None if has_errors(findings) else replace(study, findings=findings), findings)


def _weather(
    plan: Plan, folder: Path, given: Path | None
) -> tuple[DailyWeather | None, tuple[Finding, ...]]:
    """The record a plan runs on: the file given, its own file, generated winters, or none."""
    file = given or (folder / plan.weather_file if plan.weather_file else None)
    if file is None and plan.site.normals is None:
        return None, ()
    if not plan.site.latitude_known:
        return None, (
            Finding(
                "error", "missing-key", say('"{key}" is missing', key="latitude"), plan.file,
                "site",
                cure=say("add a line: latitude = 46.5 (south of the equator: negative); "
                         "the length of the days is computed from it"),
            ),
        )  # fmt: skip
    if file is None:
        return _generated(plan), ()
    record, findings = read_weather(file, latitude=plan.site.latitude)
    if record is not None:
        doubts = plausible(record, plan.site)
        findings += tuple(replace(doubt, file=file.name) for doubt in doubts)
    return record, findings


def _generated(plan: Plan) -> DailyWeather:
    assert plan.site.normals is not None
    return generate_daily(
        plan.site.normals,
        first_harvest_year=FIRST_GENERATED_YEAR,
        winters=GENERATED_WINTERS,
        latitude=plan.site.latitude,
        seed=plan.aim.seed,
    )
