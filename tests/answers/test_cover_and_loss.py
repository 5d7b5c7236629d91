"""Rows, exit codes and language of the answers on a cover and on losses."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from gardens import O1, O2, O3, O8, neighbour, written

import pollinet as package
from pollinet.answers.cover import Wishes, cover_of, searched

Run = Callable[..., Any]

GARDENS = {"O1": O1, "O2": O2, "O3": O3, "O8": O8, "O8 and N": (*O8, neighbour("N", 14))}


@pytest.fixture(params=GARDENS)
def plan(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    return written(tmp_path, *GARDENS[request.param])


def test_rows_of_a_cover_are_the_sets_of_its_json(plan: Path) -> None:
    answer = package.open(plan).cover()
    sets = [list(rows) for _, rows in answer.to_frame().groupby("set")["variety"]]
    assert sets == [list(names) for names in answer.alternatives if names]


def test_the_set_that_covers_most_is_told_where_none_covers_all(tmp_path: Path) -> None:
    answer = package.open(written(tmp_path, *O8)).cover(never=["X1", "X2"])
    assert answer.partial and not answer.alternatives
    assert answer.rows() == [{"set": 1, "variety": name} for name in answer.partial]


def test_an_answer_ends_the_command_as_it_says(plan: Path, pollinet: Run) -> None:
    garden = package.open(plan)
    assert pollinet("without", plan).code == garden.without().exit_code
    assert pollinet("cover", plan).code == garden.cover().exit_code
    assert pollinet("triploids", plan).code == garden.triploids().exit_code


def test_a_loss_tells_who_lacks_cover_as_it_is(tmp_path: Path) -> None:
    """O8, by hand: none of the three is covered once the neighbour's tree is felled."""
    answer = package.open(written(tmp_path, *O8)).without()
    assert (answer.uncovered, answer.exit_code) == (("A", "B", "C"), 1)


def test_wrong_names_are_told_in_the_language_of_the_answer(tmp_path: Path, pollinet: Run) -> None:
    said = pollinet("cover", written(tmp_path, *O8), "--must", "X9", "--language", "de")
    assert said.code == 2 and "Fehler" in said.err


def test_where_no_set_was_found_the_json_has_no_infinity(tmp_path: Path) -> None:
    study, wishes = package.open(written(tmp_path, *O8)).study, Wishes()
    found = searched(study, wishes)
    endless = replace(found.answer.proof, bound=float("inf"), gap=float("inf"))
    none = replace(found, answer=replace(found.answer, proof=endless))
    told = json.loads(cover_of(study, none, wishes).to_json(), parse_constant=pytest.fail)
    assert (told["proof"]["bound"], told["proof"]["gap"]) == (None, None)
