"""The tables of the advice: causes, evidence, tests, cautions, thresholds, work. Text to rows."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from pollinet.readers.bearing import known_fruits, load_bearing
from pollinet.readers.text_tables import shipped_texts

Rows = tuple[Mapping[str, str], ...]

TABLES = (
    *("causes", "evidence", "stages", "questions", "tests", "test_outcomes", "cautions"),
    *("frost", "set", "load", "shoots", "work", "grafting_windows", "remedies"),
    *("grafts", "rootstocks", "takes"),
)


@cache
def advice_tables() -> Mapping[str, Rows]:
    """Every table of the folder `advice` by its name, its rows in the order of the file.

    `bearing`: years from planting to bearing of the fruits that have a figure of their own.
    """
    return {name: shipped_texts(f"advice/{name}.csv") for name in TABLES} | {"bearing": _bearing()}


def _bearing() -> Rows:
    method = "young tree"
    ages = load_bearing(known_fruits(method), method)
    return tuple(
        {"fruit": fruit, "first_year": f"{age.first}", "late_year": f"{age.late}"}
        for fruit, age in ages.items()
    )
