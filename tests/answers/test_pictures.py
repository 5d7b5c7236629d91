"""What a notebook shows of a garden and of its answers: strips that need nothing else."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest
from gardens import HILL, O1, written

import pollinet

STRANGE = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Any:
    plan = tmp_path_factory.mktemp("garden") / "plan.toml"
    limb = f'[[tree.limb]]\nid = "{STRANGE}"\nvariety = "Regina"\n'
    plan.write_text(HILL + limb)
    return pollinet.open(plan)


@pytest.mark.parametrize("ask", ["check", "bloom", "donors", "garden"])
def test_it_shows_a_strip_with_its_style(garden: Any, ask: str) -> None:
    asked = {
        "check": lambda: garden.check(),
        "bloom": lambda: garden.bloom(),
        "donors": lambda: garden.donors("known"),
        "garden": lambda: garden,
    }
    shown = asked[ask]()._repr_html_()
    assert shown.count("<style>") == 1
    assert '<div class="strip' in shown.partition("</style>")[2]
    assert "<svg" in shown
    # Its colours hold for nothing else in the notebook, and it asks for nothing from elsewhere.
    assert ":root" not in shown
    assert not re.search(r"<script|\bsrc=|url\(|@import|https?://(?!www\.w3\.org)", shown)
    assert STRANGE not in shown


def test_rows_are_still_there(garden: Any) -> None:
    shown = garden.check()._repr_html_()
    assert shown.index("<svg") < shown.index("<details>") < shown.index("<table")


def test_answers_without_a_picture_show_their_rows(garden: Any) -> None:
    shown = garden.chill()._repr_html_()
    assert "<table" in shown
    assert "<svg" not in shown
    assert html.escape(STRANGE) in shown


def test_a_picture_is_no_part_of_the_answer(garden: Any) -> None:
    told = garden.check()
    again = type(told).from_json(told.to_json())
    assert again == told
    assert again.to_json() == told.to_json()
    assert "<svg" not in again._repr_html_()


def test_a_garden_with_typed_dates_has_its_calendar(tmp_path: Path) -> None:
    assert "<svg" in pollinet.open(written(tmp_path, *O1))._repr_html_()
