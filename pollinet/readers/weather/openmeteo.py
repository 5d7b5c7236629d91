"""Open-Meteo: daily or hourly archive answers, CSV or JSON.

Both begin with the place and the offset of their times from UTC. Daily values are cut by the
service in the time zone that was asked for; hourly ones are cut here, in local solar time.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np

from pollinet.domain import DailyWeather
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.weather.broken import broken_json
from pollinet.readers.weather.cells import number_or_none
from pollinet.readers.weather.delimited import Columns, columns_of, table_samples
from pollinet.readers.weather.folding import by_entry
from pollinet.readers.weather.record import blank
from pollinet.readers.weather.samples import Outcome, from_samples, within_days
from pollinet.readers.weather.table import Table, delimiter_of, even, read_table, split, table_of

NAME = "Open-Meteo"
_PREAMBLE = "latitude,longitude,elevation,utc_offset_seconds"


def recognise(head: str) -> bool:
    """Whether the file begins as the service's answers do."""
    start = head.lstrip()
    if start.startswith("{"):
        return '"utc_offset_seconds"' in head or ('"error"' in head and '"reason"' in head)
    return start.startswith(_PREAMBLE)


def read(text: str, file: str) -> Outcome:
    """Read the daily values, or the hourly ones where there are no daily ones."""
    return _read_json(text, file) if text.lstrip().startswith("{") else _read_csv(text, file)


def _read_csv(text: str, file: str) -> Outcome:
    lines = [*text.splitlines(), ""]
    place = dict(zip(split(lines[0], ","), split(lines[1], ","), strict=False))
    starts = [i + 1 for i in range(2, len(lines) - 1) if not lines[i].strip()]
    headings = {i: columns_of(split(lines[i], delimiter_of(lines[i]))) for i in starts}
    usable = [i for i in starts if _has_temperature(headings[i])]
    if not usable:
        return None, (_no_temperature(file),)
    start = next((i for i in usable if "low" in headings[i]), usable[0])
    end = next((i for i in range(start, len(lines)) if not lines[i].strip()), len(lines))
    table, findings = read_table("\n".join(lines[:end]), file, start)
    return _outcome(table, file, headings[start], place, findings)


def _read_json(text: str, file: str) -> Outcome:
    try:
        content: Any = json.loads(text)
        if content.get("error"):
            return None, (_refusal(str(content.get("reason") or say("no reason given")), file),)
        for part in ("daily", "hourly"):
            units = content.get(f"{part}_units", {})
            lists = content.get(part, {})
            table = table_of(even({_headed(k, units): v for k, v in lists.items()}))
            columns = columns_of(list(table.names))
            if _has_temperature(columns):
                record, findings = _outcome(table, file, columns, content, ())
                return record, by_entry(findings)
    except (ValueError, AttributeError, TypeError, RecursionError) as problem:
        return None, (broken_json(problem, file),)
    return None, (_no_temperature(file),)


def _outcome(
    table: Table,
    file: str,
    columns: Columns,
    place: dict[str, Any],
    findings: tuple[Finding, ...],
) -> Outcome:
    samples, findings = table_samples(table, file, columns, findings)
    if samples is None:
        return None, findings
    if within_days(samples.times):
        offset = np.timedelta64(
            int(number_or_none(place.get("utc_offset_seconds")) or 0) // 60, "m"
        )
        samples = replace(samples, times=samples.times - offset, utc=True)
    return from_samples(samples, file, _about(file, place), findings)


def _headed(name: str, units: dict[str, str]) -> str:
    """Name and unit of a list as a heading of a table would have them."""
    return f"{name} ({units[name]})" if name in units else name


def _has_temperature(columns: Columns) -> bool:
    return "date" in columns and not {"low", "high", "air"}.isdisjoint(columns)


def _about(file: str, place: dict[str, Any]) -> DailyWeather:
    return blank(
        f"{file} (Open-Meteo)",
        latitude=number_or_none(place.get("latitude")),
        longitude=number_or_none(place.get("longitude")),
        elevation_m=number_or_none(place.get("elevation")),
    )


def _no_temperature(file: str) -> Finding:
    return Finding(
        "error",
        "missing-column",
        say("The answer holds no temperatures."),
        file,
        cure=say("Ask for temperature_2m_max and temperature_2m_min, daily."),
    )


def _refusal(reason: str, file: str) -> Finding:
    message = say("The service answered: {reason}.", reason=reason)
    cure = say("Ask the service again, with what it wants.")
    return Finding("error", "service-refused", message, file, cure=cure)
