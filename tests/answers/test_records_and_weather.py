"""Answers on a garden with a log, and those that need no garden: read back, framed, as the command.

The log is of an invented garden; what the answers say of it is checked beside their commands.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from gardens import O1, written
from told import told_whole

import pollinet as package
from pollinet.advice.rows import layouts
from pollinet.answers.base import Answer
from pollinet.answers.fit import fit_of
from pollinet.answers.record import Record, record_log_of
from pollinet.answers.rows import rows_of
from pollinet.answers.scions import scions_of
from pollinet.answers.weather import weather_of
from pollinet.demo import demo_files, write_demo
from pollinet.files import LOG_NAME
from pollinet.notebook import Garden
from pollinet.readers.records import read_records
from pollinet.summary.fitting import fit_rows

Run = Callable[..., Any]

NOTES = (
    ("C-low", "--stage", "start", "--date", "2024-04-02"),
    ("C-low", "--stage", "full", "--date", "2025-04-09"),
    ("A-top", "--stage", "full", "--date", "2025-04-30"),
    ("A-top", "--set", "3/20", "--year", "2025"),
)


@pytest.fixture
def plan(tmp_path: Path, pollinet: Run) -> Path:
    made = write_demo(tmp_path, demo_files())
    for note in NOTES:
        assert pollinet("record", made, *note).code == 0
    return made


QUESTIONS: dict[str, Callable[[Garden], Answer]] = {
    "fit": lambda garden: fit_of(garden.study, fit_rows(garden.study)),
    "scions": lambda garden: scions_of(garden.study, *garden.study.cover()),
    "weather": lambda garden: weather_of(garden.study),
}


@pytest.mark.parametrize("command", QUESTIONS)
def test_an_answer_is_told_whole_and_as_by_its_command(
    command: str, plan: Path, pollinet: Run
) -> None:
    answer = QUESTIONS[command](package.open(plan))
    frame = told_whole(answer)
    assert len(frame) > 0
    file = plan.parent / f"rows-of-{command}.csv"
    said = pollinet(command, plan, "--json", "--csv", file)
    made_of = {"made_of": said.data["made_of"]}
    assert said.data == json.loads(answer.to_json()) | made_of
    assert said.code == answer.exit_code
    read = pd.read_csv(file)
    assert (list(read.columns), len(read)) == (list(frame.columns), len(frame))


def test_where_no_weather_is_used_nothing_is_told_of_it(tmp_path: Path) -> None:
    answer = weather_of(package.open(written(tmp_path, *O1)).study)
    assert told_whole(answer).empty
    assert list(json.loads(answer.to_json())) == ["schema", "answer", "findings"]


def test_rows_of_the_weather_are_numbered_months(plan: Path) -> None:
    answer = weather_of(package.open(plan).study)
    frame, months = answer.to_frame(), json.loads(answer.to_json())["months"]
    assert list(frame["month"]) == list(range(1, 13))
    assert frame.drop(columns="month").to_dict("records") == months


def test_the_log_and_what_is_added_to_it_are_told_whole(plan: Path, pollinet: Run) -> None:
    garden = package.open(plan).study.plan
    log = plan.parent / LOG_NAME
    records, findings = read_records(log, garden)
    answer = record_log_of(records.observations, str(log), findings)
    frame = told_whole(answer)
    # Each note as it was typed above, none of them taken back.
    assert set(zip(frame["date"], frame["limb"], frame["kind"], frame["value"], strict=True)) == {
        (words[-1], words[0], words[1].removeprefix("--"), words[2]) for words in NOTES
    }
    assert pollinet("record", plan, "--json").data == json.loads(answer.to_json())
    words = ("--fruits", "12", "--shoots", "30", "--year", "2024", "--note", "wet")
    said = pollinet("record", plan, "A-top", *words, "--json")
    added = Record.from_json(said.out)
    rows = [
        ("2024", "A-top", "fruits", "12", "", "wet"),
        ("2024", "A-top", "shoots", "30", "", "wet"),
    ]
    assert list(told_whole(added).itertuples(index=False, name=None)) == rows


@pytest.mark.parametrize("rows", [3, 18])
def test_layouts_of_rows_are_told_whole(rows: int, tmp_path: Path, pollinet: Run) -> None:
    answer = rows_of(layouts(rows, 3.25))
    frame = told_whole(answer)
    assert [set(drawing) for drawing in frame["drawing"]] == [{"M", "P"}] * len(frame)
    assert set(frame["drawing"].str.len()) == {rows}
    said = pollinet("rows", rows, "--spacing", 3.25, "--json", "--csv", tmp_path / "rows.csv")
    assert said.data == json.loads(answer.to_json())
    assert list(pd.read_csv(tmp_path / "rows.csv")["drawing"]) == list(frame["drawing"])
