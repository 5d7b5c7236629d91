"""DEFAULTS.md against the program and its tables: every value, and a source for each."""

from __future__ import annotations

import csv
import re
from dataclasses import fields
from importlib import import_module
from pathlib import Path

import pytest

from pollinet.domain import Aim
from pollinet.phenology.hardiness import zone_limit_c
from pollinet.readers.shared_tables import fruits

PAGE = (Path(__file__).parents[1] / "DEFAULTS.md").read_text(encoding="utf-8")
CATALOGUES = Path(__file__).parents[1] / "catalogues"

ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if line.startswith("|") and not set(line) <= set("|-")
]
"""The cells of every row of every table, headings among them."""

CODE = [row for row in ROWS if len(row) == 4 and row[2].startswith("`")]


def table(name: str) -> list[dict[str, str]]:
    with (CATALOGUES / name).open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def value_of(path: str) -> object:
    """A value of the program by its path: `domain.Aim.level`, `phenology.flight.CALM_KMH`."""
    module, *names = re.split(r"\.(?=[A-Z])", path)
    found: object = import_module(f"pollinet.{module}")
    for name in ".".join(names).split("."):
        found = getattr(found, name)
    return found


@pytest.mark.parametrize("row", CODE, ids=lambda row: row[2].strip("`"))
def test_values_are_those_of_the_program(row: list[str]) -> None:
    assert row[1] == str(value_of(row[2].strip("`")))


def test_every_row_has_a_source() -> None:
    assert len(CODE) >= 20
    assert all(row[-1] for row in ROWS)
    assert all(source["source"] for name in ("frost.csv", "bearing.csv") for source in table(name))


def test_every_default_of_the_aim_is_told() -> None:
    told = {row[2].strip("`").rpartition(".")[2] for row in CODE}
    assert {field.name for field in fields(Aim)} <= told


def test_frost_is_that_of_the_table() -> None:
    stages = {"start": 1, "full": 2}
    rows = {row[0]: row for row in ROWS if row[-1].endswith("-FROST")}
    kills = table("frost.csv")
    assert rows.keys() == {kill["fruit"] for kill in kills}
    for kill in kills:
        told = rows[kill["fruit"]]
        assert told[stages[kill["stage"]]] == f"{kill['kill_10_c']}, {kill['kill_90_c']}"
        assert told[3] == kill["source"]
    (without,) = re.findall(r"For (.*) no such table", PAGE)
    assert set(re.split(r", | and ", without)) == fruits().keys() - rows.keys()


def test_bearing_load_hardiness_and_reach_are_those_of_the_tables() -> None:
    for age in table("bearing.csv"):
        years = f"{age['first_year']} to {age['late_year']}"
        assert [age["fruit"], age["method"], years] in [row[:3] for row in ROWS]
    for load in table("advice/load.csv"):
        span = f"{load['low']} to {load['high']}" if load["low"] else "all"
        assert [load["fruit"], load["measure"], span, load["source"]] in ROWS
    hardy = {row["fruit"]: row for row in table("hardiness.csv")}
    assert hardy.keys() == fruits().keys()
    for name, row in hardy.items():
        zone = row["zone"]
        limit = f"{zone_limit_c(float(zone)):.1f}"
        source = f"{row['source']}: common practice, no source"
        assert [name, zone, limit, source] in ROWS
    for name, fruit in fruits().items():
        told = name if fruit.pollen_by == "wind" else "fruits that bees serve"
        assert [told, f"{fruit.near_m:g}", f"{fruit.far_m:g}"] in [row[:3] for row in ROWS]


def test_full_set_is_that_of_the_table() -> None:
    for row in table("advice/set.csv"):
        share = f"{100 * float(row['full_crop_share']):g}"
        assert [row["fruit"], share, row["source"]] in ROWS
