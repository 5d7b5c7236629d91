"""PVGIS: hourly series and typical years of the European Union's solar service, CSV or JSON.

Times are UTC. The CSV has a preamble with the place and a legend after an empty line.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pollinet.domain import DailyWeather
from pollinet.messages import say
from pollinet.readers.weather.broken import broken_json
from pollinet.readers.weather.cells import number_or_none
from pollinet.readers.weather.delimited import Columns, columns_of, find_heading, table_samples
from pollinet.readers.weather.folding import by_entry
from pollinet.readers.weather.headed import place_in
from pollinet.readers.weather.record import blank
from pollinet.readers.weather.samples import Outcome, from_samples
from pollinet.readers.weather.table import Table, read_table, table_of
from pollinet.readers.weather.typical import typical_season

NAME = "PVGIS"
_PLACE = ("latitude", "longitude", "elevation")


def recognise(head: str) -> bool:
    """Whether the preamble of the CSV or the head of the JSON is that of PVGIS."""
    if head.lstrip().startswith("{"):
        return '"meteo_data"' in head and '"T2m"' in head
    heading = find_heading(head)
    return (
        heading is not None
        and head.lstrip().startswith("Latitude (decimal degrees)")
        and "T2m" in head.splitlines()[heading.line]
    )


def read(text: str, file: str) -> Outcome:
    """Read a series of years, or the one season that a typical year holds."""
    return _read_json(text, file) if text.lstrip().startswith("{") else _read_csv(text, file)


def _read_csv(text: str, file: str) -> Outcome:
    heading = find_heading(text)
    if heading is None:
        raise ValueError("read is for text that recognise accepts")
    lines = text.splitlines()
    body = lines[heading.line :]
    end = next((i for i, line in enumerate(body) if not line.strip()), len(body))
    table, findings = read_table("\n".join(lines[: heading.line + end]), file, heading.line)
    typical = "month,year" in lines[: heading.line]
    place = place_in(lines[: heading.line])
    return _outcome(table, file, heading.columns, place, typical, findings)


def _read_json(text: str, file: str) -> Outcome:
    try:
        content: Any = json.loads(text)
        outputs, place = content["outputs"], content["inputs"]["location"]
        typical = "tmy_hourly" in outputs
        hours: list[dict[str, Any]] = outputs["tmy_hourly" if typical else "hourly"]
        table = table_of({name: [hour[name] for hour in hours] for name in hours[0]})
        place = {key: number_or_none(place.get(key)) for key in _PLACE}
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError) as problem:
        return None, (broken_json(problem, file),)
    columns = columns_of(list(table.names))
    record, findings = _outcome(table, file, columns, place, typical, ())
    return record, by_entry(findings)


def _outcome(
    table: Table,
    file: str,
    columns: Columns,
    place: Mapping[str, float | None],
    typical: bool,
    findings: tuple[Any, ...],
) -> Outcome:
    samples, findings = table_samples(table, file, columns, findings)
    if samples is None:
        return None, findings
    about = _about(file, place, typical)
    finish = typical_season if typical else from_samples
    return finish(replace(samples, utc=True), file, about, findings)


def _about(file: str, place: Mapping[str, float | None], typical: bool) -> DailyWeather:
    return blank(
        say("{file} (PVGIS, © European Union, typical year)", file=file)
        if typical
        else f"{file} (PVGIS, © European Union)",
        latitude=place.get("latitude"),
        longitude=place.get("longitude"),
        elevation_m=place.get("elevation"),
    )
