"""Why a limb does not crop: told as if noted, written only when asked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from browsing import Browser, on_demo

from pollinet.page.paragraphs import parts_of

Run = Callable[..., Any]


@pytest.fixture
def garden(tmp_path: Path) -> Iterator[Browser]:
    with on_demo(tmp_path) as browser:
        yield browser


TOLD = "clusters=50&set=1/40&year=2025"


def test_telling_is_as_good_as_noting(garden: Browser, pollinet: Run) -> None:
    log = garden.plan.parent / "records.csv"
    before = log.read_bytes() if log.exists() else None
    told = garden.text(f"/diagnose/C-mid?{TOLD}")
    assert (log.read_bytes() if log.exists() else None) == before
    note = ("record", str(garden.plan), "C-mid", "--clusters", "50", "--set", "1/40")
    assert pollinet(*note, "--year", "2025").code == 0
    answer = pollinet("diagnose", str(garden.plan), "C-mid", "--year", "2025", "--json").data[
        "answer"
    ]
    assert answer in told
    assert answer in garden.text("/diagnose/C-mid?year=2025")


def test_what_is_noted_is_filled_in(garden: Browser, pollinet: Run) -> None:
    pollinet("record", str(garden.plan), "C-mid", "--set", "3/40", "--year", "2025")
    page = garden.get("/diagnose/C-mid?year=2025").text
    assert 'name="set"' in page and 'value="3/40"' in page
    # Another year is another bloom.
    assert 'value="3/40"' not in garden.get("/diagnose/C-mid?year=2024").text


def test_notes_are_written_when_asked_and_once(garden: Browser) -> None:
    log = garden.plan.parent / "records.csv"
    answer = garden.post("/diagnose/C-mid", year="2025", clusters="50", set="1/40", sun="")
    assert answer.status_code == 303
    lines = log.read_text().splitlines()
    assert [line for line in lines if "C-mid" in line][-2:] == [
        "2025,C-mid,clusters,50,,",
        "2025,C-mid,set,1/40,,",
    ]
    assert "Noted." in garden.text(answer.headers["Location"])
    garden.post("/diagnose/C-mid", year="2025", clusters="50", set="1/40")
    assert log.read_text().splitlines() == lines


@pytest.mark.parametrize(
    ("values", "word"),
    [({"set": "foo"}, "foo"), ({"set": "50/40"}, "50/40"), ({"clusters": "-1"}, "-1")],
)
def test_wrong_values_are_told_and_not_written(
    garden: Browser, values: dict[str, str], word: str
) -> None:
    query = "&".join(f"{name}={value}" for name, value in values.items())
    assert word in garden.text(f"/diagnose/C-mid?{query}", 422)
    answer = garden.post("/diagnose/C-mid", year="2025", **values)
    assert answer.status_code == 422
    log = garden.plan.parent / "records.csv"
    assert not log.exists() or word not in log.read_text()


def test_unknown_limbs_and_years(garden: Browser) -> None:
    assert garden.get("/diagnose/nowhere").status_code == 404
    assert "found 12" in garden.text("/diagnose/C-mid?year=12", 422)
    assert garden.post("/diagnose/C-mid", token="x", set="1/40").status_code == 403


def test_a_limb_that_is_only_tried_has_no_log(garden: Browser) -> None:
    tried = "try=graft:cherry:C-new:Sam"
    assert "C-new" in garden.text(f"/diagnose/C-new?{tried}")
    answer = garden.post(f"/diagnose/C-new?{tried}", year="2025", clusters="3")
    assert answer.status_code == 422
    assert "C-new" in answer.text


def test_lines_become_paragraphs_and_lists() -> None:
    found = parts_of(["Answer.", "", "Head:", "- one", "    for: it", "- two", "Last."])
    assert [part.text for part in found] == ["Answer.", "Head:", "Last."]
    assert [(item.text, item.more) for item in found[1].items] == [("one", ["for: it"]),
                                                                   ("two", [])]  # fmt: skip
    assert [part.text for part in parts_of(["- bare"])] == [""]
