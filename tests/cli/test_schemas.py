"""Every answer in JSON against its schema, judged by the library `jsonschema`."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from pollinet.answers import kind_of
from pollinet.cli.schema import schema_names, schema_of
from pollinet.demo import demo_files, write_demo

Run = Callable[..., Any]

NOTES = (
    ("--stage", "full", "--date", "2024-04-12"),
    ("--diameter", "31", "--date", "2024-04-12"),
    ("--clusters", "0", "--year", "2024"),
)
LINES: tuple[tuple[str, Sequence[str]], ...] = (
    ("bad-input", ("check", "nowhere.toml")),
    ("balance", ("balance", "plan.toml")),
    ("check", ("check", "plan.toml", "--warmer", "2")),
    ("chill", ("chill", "plan.toml", "--warmer", "2")),
    ("collection", ("collection", "gardens")),
    ("cover", ("cover", "plan.toml", "--years", "--trade-off", "--warmer", "2")),
    ("cover", ("cover", "plan.toml", "--never", "Sam", "--never", "Kordia", "--level", "0.99")),
    ("cross", ("cross", "Stella", "Bing")),
    ("cross", ("cross", "Lapins", "Lapins")),
    ("cross-file", ("cross", "--file", "pairs.csv")),
    ("diagnose", ("diagnose", "plan.toml", "A-top", "--year", "2024")),
    ("donors", ("donors", "plan.toml", "C-mid")),
    ("fit", ("fit", "plan.toml")),
    ("graph", ("graph", "plan.toml")),
    ("lost-label", ("lost-label", "plan.toml", "A-top", "--picked", "09-20")),
    ("pollinizer", ("pollinizer", "plan.toml")),
    ("record", ("record", "plan.toml", "C-top", "--fruits", "12", "--year", "2024")),
    ("record-log", ("record", "plan.toml")),
    ("report", ("report", "plan.toml", "--out", "report.html")),
    ("rows", ("rows", "18")),
    ("scions", ("scions", "plan.toml")),
    ("season", ("season", "plan.toml", "--max", "1")),
    (
        "sites",
        ("sites", "plan.toml", "--grid", "46", "7", "46", "7", "--elevation", "500", "--out", "r"),
    ),
    ("start", ("start", "new", "--latitude", "46", "--tree", "a:apple", "--limb", "a:x:Gala")),
    ("suits", ("suits", "plan.toml", "Kordia", "Van", "--species", "sweet cherry")),
    ("triploids", ("triploids", "plan.toml")),
    ("varieties", ("varieties", "apple", "--all")),
    ("variety", ("variety", "Conference")),
    ("variety", ("variety", "Golden Delicious")),
    ("variety-add", ("variety", "add", "Old Pear", "--species", "pear", "--ploidy", "2")),
    ("verify", ("verify", "check.json")),
    ("weather", ("weather", "plan.toml")),
    ("without", ("without", "plan.toml", "neighbour-1")),
    ("without-each", ("without", "plan.toml")),
    ("work", ("work", "plan.toml", "--from", "2026-01-01")),
    ("plan", ("plan", "rename", "plan.toml", "A-top", "summit")),
)


def strict(part: Any) -> Any:
    """A schema that allows no keys but those it describes: an answer must have no others."""
    if isinstance(part, list):
        return [strict(inner) for inner in part]
    if not isinstance(part, dict):
        return part
    closed = {key: strict(inner) for key, inner in part.items()}
    return {**closed, "additionalProperties": False} if _is_object(part) else closed


def _is_object(part: dict[str, Any]) -> bool:
    return isinstance(part.get("properties"), dict) and "type" in part


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("garden")
    write_demo(made, demo_files())
    for name, longitude in (("one", "7.2004"), ("two", "7.2010")):
        write_demo(made / "gardens" / name, demo_files())
        plan = made / "gardens" / name / "plan.toml"
        text = plan.read_text(encoding="utf-8").replace(
            "longitude = 7.2", f"longitude = {longitude}"
        )
        plan.write_text(text, encoding="utf-8")
    (made / "pairs.csv").write_text(
        "species,female,male\nsweet cherry,Bing,Lambert\napple,Gala,No Such Apple\n"
    )
    return made


@pytest.fixture
def garden(folder: Path, monkeypatch: pytest.MonkeyPatch, pollinet: Run) -> Path:
    monkeypatch.chdir(folder)
    if not (folder / "records.csv").exists():
        for note in NOTES:
            assert pollinet("record", "plan.toml", "A-top", *note).code == 0
        said = pollinet("check", "plan.toml", "--json")
        (folder / "check.json").write_text(said.out, encoding="utf-8")
    return folder


@pytest.mark.parametrize(("name", "line"), LINES, ids=lambda value: str(value)[:40])
def test_answers_are_as_described(
    name: str, line: Sequence[str], garden: Path, pollinet: Run
) -> None:
    said = pollinet(*line, "--json")
    data = said.data
    if name != "cross-file":
        assert data["schema"] == f"pollinet/{name}/1"
        assert next(iter(data)) == "schema"
    problems = Draft202012Validator(strict(schema_of(name))).iter_errors(data)
    assert [f"{list(one.absolute_path)}: {one.message}" for one in problems] == []
    read = kind_of(name).from_json(said.out)
    assert read.to_json() == said.out
    assert list(read.to_frame().columns) == read.columns()


@pytest.mark.parametrize("name", schema_names())
def test_schemas_are_valid_and_whole(name: str) -> None:
    made = schema_of(name)
    Draft202012Validator.check_schema(made)
    text = json.dumps(made)
    used = {part.split('"')[0] for part in text.split('"#/$defs/')[1:]}
    assert used == set(made["$defs"])
    assert made["title"].startswith("pollinet ")


def test_every_schema_is_tried() -> None:
    # Bloom by winter is given in Python alone; see tests/answers.
    assert {name for name, _ in LINES} == set(schema_names()) - {"bloom"}


def test_the_validator_sees_a_key_that_is_not_described() -> None:
    answer = {"schema": "pollinet/start/1", "answer": "x", "file": "y", "findings": []}
    judge = Draft202012Validator(strict(schema_of("start")))
    assert judge.is_valid(answer)
    assert not judge.is_valid({**answer, "more": 1})
    assert not judge.is_valid({**answer, "schema": "pollinet/check/1"})


def test_the_command_prints_a_schema(pollinet: Run) -> None:
    assert json.loads(pollinet("schema", "check").out) == schema_of("check")
    assert "cross-file" in pollinet("schema").out
    said = pollinet("schema", "chek")
    assert said.code == 2 and "nearest: check" in said.err
