"""The shipped tables against their own open description.

The rules checked are those of the Frictionless Data Package, Tabular Data Resource and Table
Schema specifications (https://specs.frictionlessdata.io): types, `required`, `enum`, `minimum`,
`maximum`, `primaryKey`, `foreignKeys`.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from pollinet.readers.catalogue import fruits, tables_of
from pollinet.readers.shared_tables import SHARED
from pollinet.readers.text_tables import schema_of

CATALOGUES = Path(__file__).resolve().parents[2] / "catalogues"
PACKAGE = json.loads((CATALOGUES / "datapackage.json").read_text(encoding="utf-8"))
RESOURCES: dict[str, dict[str, Any]] = {r["name"]: r for r in PACKAGE["resources"]}
TYPES = {"string": str, "number": float, "integer": int}


def schema_of_resource(name: str) -> dict[str, Any]:
    text = (CATALOGUES / RESOURCES[name]["schema"]).read_text(encoding="utf-8")
    return dict(json.loads(text))


def rows_of(name: str) -> list[dict[str, str]]:
    with (CATALOGUES / RESOURCES[name]["path"]).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def problems(name: str) -> list[str]:
    """All breaches of the schema in one table."""
    schema, rows = schema_of_resource(name), rows_of(name)
    found = [
        f"{name}, row {number}, {field['name']}: {row[field['name']]!r}"
        for number, row in enumerate(rows, 2)
        for field in schema["fields"]
        if not cell_is_valid(row[field["name"]], field)
    ]
    if key := schema.get("primaryKey"):
        keys = [tuple(row[column] for column in key) for row in rows]
        found += [f"{name}: key {k} twice" for k in {k for k in keys if keys.count(k) > 1}]
    for link in schema.get("foreignKeys", ()):
        target = link["reference"]
        allowed = {row[target["fields"]] for row in rows_of(target["resource"])}
        column = link["fields"]
        values = {row[column] for row in rows} - allowed - {""}
        found += [f"{name}, {column}: {value!r} is not in {target['resource']}" for value in values]
    return found


def cell_is_valid(cell: str, field: dict[str, Any]) -> bool:
    rules = field.get("constraints", {})
    if not cell:
        return not rules.get("required")
    try:
        value = TYPES[field["type"]](cell)
    except ValueError:
        return False
    return (
        ("enum" not in rules or cell in rules["enum"])
        and ("minimum" not in rules or value >= rules["minimum"])
        and ("maximum" not in rules or value <= rules["maximum"])
    )


@pytest.mark.parametrize("name", RESOURCES)
def test_table_keeps_to_its_schema(name: str) -> None:
    assert problems(name) == []


@pytest.mark.parametrize("name", RESOURCES)
def test_header_is_that_of_the_schema(name: str) -> None:
    with (CATALOGUES / RESOURCES[name]["path"]).open(encoding="utf-8", newline="") as file:
        header = next(csv.reader(file))
    assert header == [field["name"] for field in schema_of_resource(name)["fields"]]


def test_every_fruit_has_its_tables_in_the_package() -> None:
    paths = {resource["path"] for resource in PACKAGE["resources"]}
    wanted = {path for fruit in fruits().values() for path in tables_of(fruit)}
    assert wanted | set(SHARED) | {"fruits.csv", "properties.csv"} <= paths
    folders = {path.parent.name for path in CATALOGUES.glob("*/facts.csv")}
    assert folders == {fruit.folder for fruit in fruits().values()}


def test_every_table_is_in_the_package() -> None:
    """All but the tables of the advice, which are described where they are read."""
    paths = {resource["path"] for resource in PACKAGE["resources"]}
    tables_there = {path.relative_to(CATALOGUES).as_posix() for path in CATALOGUES.rglob("*.csv")}
    assert {path for path in tables_there if not path.startswith("advice/")} == paths


def test_rules_of_a_fruit_share_all_draws() -> None:
    weights: dict[str, float] = {}
    for row in rows_of("timing"):
        weights[row["fruit"]] = weights.get(row["fruit"], 0) + float(row["weight"])
    assert weights == pytest.approx(dict.fromkeys(weights, 1), abs=2e-3)


def test_more_flowers_die_in_a_harder_frost() -> None:
    assert all(float(row["kill_90_c"]) < float(row["kill_10_c"]) for row in rows_of("frost"))


@pytest.mark.parametrize("path", [resource["path"] for resource in RESOURCES.values()])
def test_reader_and_schema_agree(path: str) -> None:
    name = next(name for name, resource in RESOURCES.items() if resource["path"] == path)
    read, fields = schema_of(path), schema_of_resource(name)["fields"]
    assert read.columns == tuple(field["name"] for field in fields)
    for column, field in zip(read.fields, fields, strict=True):
        rules = field.get("constraints", {})
        assert column.required == rules.get("required", False)
        assert column.allowed == frozenset(rules.get("enum", ()))
        assert column.minimum == rules.get("minimum", float("-inf"))
        assert column.maximum == rules.get("maximum", float("inf"))


def test_validator_sees_breaches() -> None:
    number = {"name": "day", "type": "number", "constraints": {"required": True, "maximum": 366}}
    assert cell_is_valid("12.5", number)
    assert not any(cell_is_valid(cell, number) for cell in ("", "soon", "367"))
    word = {"name": "status", "type": "string", "constraints": {"enum": ["published"]}}
    assert cell_is_valid("published", word) and cell_is_valid("", word)
    assert not cell_is_valid("Published", word)
