"""From a plan file and all that it names to a `Study`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from pollinet.domain import Catalogue, DailyWeather, Plan, Site
from pollinet.files import LOG_NAME
from pollinet.findings import Finding, has_errors, in_order
from pollinet.messages import say
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.plan import read_plan
from pollinet.readers.records import read_records
from pollinet.readers.stations import load_stations
from pollinet.readers.weather import read_weather
from pollinet.study.garden import Study
from pollinet.study.inputs import inputs_of, own_digests
from pollinet.study.station_winters import winters_from_normals
from pollinet.weather.level import at_height, at_normals, level_sd_c, off_level
from pollinet.weather.plausibility import LEVEL_DOUBTS, plausible, plausible_normals
from pollinet.weather.station_climate import station_climate

MOST_READS = 3
"""How often a garden that changes while it is read is read anew: own convention."""


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
    for _ in range(MOST_READS):
        digests = own_digests(path)
        opened = _read(path, digests, weather)
        if digests == own_digests(path):
            break
    return opened


def _read(path: Path, digests: tuple[str, str], weather: Path | None) -> Opened:
    plan, catalogue, findings = open_plan(path)
    if plan is None or catalogue is None:
        return Opened(None, findings)
    records, log_findings = read_records(path.parent / LOG_NAME, plan)
    own = own_folder_beside(path.parent)
    inputs = inputs_of(path, plan, digests, weather=weather, own_folder=own)
    study = Study(plan, catalogue, None, records=records, own_folder=own, inputs=inputs)
    study, weather_findings = _with_weather(study, path.parent, weather)
    findings = in_order(findings + log_findings + weather_findings)
    if has_errors(findings):
        return Opened(None, findings)
    findings = in_order(findings + study.gaps)
    return Opened(None if has_errors(findings) else replace(study, findings=findings), findings)


def _with_weather(
    bare: Study, folder: Path, given: Path | None
) -> tuple[Study, tuple[Finding, ...]]:
    """The study on its weather: of the file given, its own file, made up, or none."""
    plan = bare.plan
    file = given or (folder / plan.weather_file if plan.weather_file else None)
    if file is None and plan.site.normals is None:
        return bare.on_station_winters(), ()
    if not plan.site.latitude_known:
        return bare, (
            Finding(
                "error", "missing-key", say('"{key}" is missing', key="latitude"), plan.file,
                "site",
                cure=say("add a line: latitude = 46.5 (south of the equator: negative); "
                         "the length of the days is computed from it"),
            ),
        )  # fmt: skip
    if file is None:
        assert plan.site.normals is not None
        made = winters_from_normals(plan.site, plan.aim.seed)
        doubts = plausible_normals(plan.site.normals, made, plan.site)
        place = "site, normals"
        found = tuple(replace(doubt, file=plan.file, place=place) for doubt in doubts)
        return replace(bare, record=made), found
    record, findings = read_weather(file, latitude=plan.site.latitude)
    if record is None:
        return bare, findings
    study, doubts = on_record(bare, record, file.name)
    return study, findings + doubts


def on_record(bare: Study, record: DailyWeather, file: str) -> tuple[Study, tuple[Finding, ...]]:
    """The study on a record that was read, at the level of its site, and all doubts about it.

    file : what findings call the record.
    """
    levelled, doubts = _levelled(record, bare.plan.site)
    return replace(bare, record=levelled), tuple(replace(doubt, file=file) for doubt in doubts)


def _levelled(record: DailyWeather, site: Site) -> tuple[DailyWeather, tuple[Finding, ...]]:
    """A record at the temperature level of the site, and all doubts about it."""
    carried, findings = at_height(record, site)
    doubts = plausible(carried, site)
    if has_errors(doubts):
        return record, doubts
    if site.normals is not None:
        # What the record held before is known by it alone; its level is that of the normals.
        moved, told = at_normals(record, site.normals)
        level = (doubt for doubt in plausible(moved, site) if doubt.code in LEVEL_DOUBTS)
        return moved, (told, *(d for d in doubts if d.code not in LEVEL_DOUBTS), *level)
    findings += doubts
    if record.generated:
        return carried, findings
    if site.longitude is None:
        sd_c = level_sd_c(carried, None, site.latitude)
        return replace(carried, level_sd_c=sd_c), findings
    height = carried.elevation_m if site.elevation_m is None else site.elevation_m
    climate = station_climate(load_stations(), site.latitude, site.longitude, height)
    sd_c = level_sd_c(carried, climate, site.latitude)
    findings += off_level(carried, climate, site.latitude)
    return replace(carried, level_sd_c=sd_c), findings
