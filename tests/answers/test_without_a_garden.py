"""Answers that need no garden or change one: their rows, what they say, and what is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from pollinet.answers.bad_input import BadInput
from pollinet.answers.cross_file import CrossFile
from pollinet.answers.variety import VarietyPage

Run = Callable[..., Any]

PAIRS = (
    "species,female,male\nsweet cherry,Bing,Lambert\nPrunus avium,Regina,Kordia\n"
    "apple,Gala,No Such Apple\n"
)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pairs.csv").write_text(PAIRS)
    return tmp_path


def test_a_table_of_pairs_as_rows(here: Path, pollinet: Run) -> None:
    said = pollinet("cross", "--file", "pairs.csv", "--json", "--csv", "judged.csv")
    answer = CrossFile.from_json(said.out)
    assert answer.answer == "3 pairs: 0 yes, 1 half, 1 no, 1 unknown."
    rows = pd.read_csv(here / "judged.csv")
    assert list(rows["verdict"]) == [row["verdict"] for row in said.data]
    assert list(rows["species"]) == ["sweet cherry", "Prunus avium", "apple"]
    assert rows["sources"][0] == "SCHUSTER2020"


def test_a_cross_as_rows(here: Path, pollinet: Run) -> None:
    said = pollinet("cross", "Stella", "Bing", "--json", "--csv", "ways.csv")
    rows = pd.read_csv(here / "ways.csv")
    assert list(rows["male"]) == ["Stella", "Bing"]
    assert list(rows["fraction"]) == [said.data["fraction"], said.data["other_way"]["fraction"]]


def test_an_object_is_no_table_of_pairs() -> None:
    with pytest.raises(ValueError, match="list"):
        CrossFile.from_json('{"schema": "pollinet/cross-file/1", "pairs": []}')


def test_bad_input_is_an_answer_too(here: Path, pollinet: Run) -> None:
    said = pollinet("cross", "Stela", "Bing", "--json")
    answer = BadInput.from_json(said.out)
    assert said.code == answer.exit_code == 2
    assert answer.findings[0].severity == "error" and "Stela" in answer.findings[0].message
    assert list(answer.to_frame()["code"]) == [each["code"] for each in said.data["findings"]]
    assert "Stela" in answer._repr_html_() and "None" not in repr(answer)
    assert json.loads(answer.to_json())["answer"] is None


def test_the_facts_of_a_variety_as_rows(here: Path, pollinet: Run) -> None:
    said = pollinet("variety", "Rainier", "--json", "--csv", "facts.csv")
    answer = VarietyPage.from_json(said.out)
    rows = pd.read_csv(here / "facts.csv", dtype=str, keep_default_na=False)
    assert list(rows["value"]) == [fact["value"] for fact in said.data["facts"]]
    places = [(fact["bloom"] and fact["bloom"]["place"]) or "" for fact in said.data["facts"]]
    assert list(rows["bloom_place"]) == places
    assert set(rows["source"]) <= set(answer.sources)
