"""Notes that the forecast cannot follow: said with what to look at, and not for one slip."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import HILL, saved, studied

from pollinet.domain import BloomRecord, Records, VarietyId
from pollinet.findings import Finding
from pollinet.study import Study

VAN = VarietyId("sweet cherry", "Van")


def on_the_hill(folder: Path) -> Path:
    return saved(folder, HILL)


@pytest.fixture(scope="module")
def hill(tmp_path_factory: pytest.TempPathFactory) -> Study:
    """The cherry tree on the hill, its winters taken for a record of real ones."""
    study = studied(on_the_hill(tmp_path_factory.mktemp("hill")))
    assert study.record is not None
    return replace(study, record=replace(study.record, generated=False))


def off_by(study: Study, misses: Sequence[float]) -> Study:
    """The garden with full bloom of Van noted so much later than foretold, spring by spring."""
    assert study.sums is not None
    full = study.bloom_of((study.known[VAN],), ()).full_h[0].mean(axis=0) / 24 - 0.5
    notes = tuple(
        # 1 October is day 274; notes leave leap days out.
        BloomRecord(VAN, year, "full", (day + miss - (year % 4 == 0) + 273) % 365 + 1)
        for year, day, miss in zip(study.sums.harvest_years, full, misses, strict=False)
    )
    return replace(study, records=Records(bloom=notes))


def doubts(study: Study) -> list[Finding]:
    return [found for found in study.gaps if found.code.startswith("notes-")]


@pytest.mark.parametrize(
    "misses",
    [
        [4.0],
        [8.0, 7.0, 9.0, 6.0],
        [-9.0, 2.0, 6.0, -3.0],
        [2.0, 1.0, -2.0, 60.0],
        [1.0, -40.0, 2.0, 45.0, -1.0],
    ],
)
def test_notes_that_can_be_followed_and_single_slips_are_passed_over(
    hill: Study, misses: list[float]
) -> None:
    assert doubts(off_by(hill, misses)) == []


@pytest.mark.parametrize(("misses", "days"), [([45.0], (10, 45)), ([25.0, -25.0] * 3, (20, 30))])
def test_notes_that_cannot_be_followed_are_said(
    hill: Study, misses: list[float], days: tuple[int, int]
) -> None:
    (doubt,) = doubts(off_by(hill, misses))
    assert (doubt.severity, doubt.code, doubt.file) == ("warning", "notes-far-off", "records.csv")
    (number,) = (int(word) for word in doubt.message.split() if word.isdigit())
    assert days[0] <= number <= days[1]
    assert "Van" in doubt.message
    assert all(word in doubt.cure for word in ("weather", "elevation", "Van"))


@pytest.mark.parametrize(("miss", "word"), [(35.0, "35 days later"), (-35.0, "35 days earlier")])
def test_a_variety_that_was_moved_far_is_said(hill: Study, miss: float, word: str) -> None:
    moved = off_by(hill, [miss] * 4)
    (doubt,) = doubts(moved)
    assert doubt.code == "notes-moved-far"
    assert word in doubt.message
    # The same in a warmer future: the notes are of the winters as they were.
    assert doubts(moved.warmer(2.0)) == [doubt]


def test_a_note_of_a_winter_that_is_not_recorded_is_compared_with_all(hill: Study) -> None:
    assert hill.record is not None
    usual = off_by(hill, [0.0] * 8)
    full = [note.day for note in usual.records.bloom]
    for day, expected in ((min(full), 0), (max(full), 0), (max(full) + 50, 1)):
        note = replace(usual.records.bloom[0], harvest_year=1950, day=float(day))
        assert len(doubts(replace(hill, records=Records(bloom=(note,))))) == expected
    assert np.ptp(full) > 8


def test_commands_say_it(tmp_path: Path, pollinet: Callable[..., Any]) -> None:
    plan = on_the_hill(tmp_path)
    for year in (2021, 2022, 2023):
        # Far off, and yet in spring: what is out of it is left out.
        day = f"{year}-06-25"
        assert pollinet("record", plan, "known", "--stage", "full", "--date", day).code == 0
    answer = pollinet("check", plan, "--json")
    assert any(found["code"].startswith("notes-") for found in answer.data["findings"])
    answer = pollinet("check", plan)
    assert "whether the tree is Van" in " ".join((answer.out + answer.err).split())
