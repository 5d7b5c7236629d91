"""`pollinet chart`: pictures in a folder, by kind, format and wish."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import awkward_gardens
import pytest

from pollinet.demo import demo_files, write_demo

Run = Callable[..., Any]

BEGINS = {"svg": b"<?xml", "png": b"\x89PNG\r\n", "pdf": b"%PDF-"}


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    return awkward_gardens.written("southern new year", tmp_path)


@pytest.mark.parametrize("suffix", BEGINS)
def test_pictures_of_each_format(suffix: str, plan: Path, tmp_path: Path, pollinet: Run) -> None:
    out = tmp_path / "pictures"
    answer = pollinet("chart", plan, "calendar", "network", "--out", out, "--format", suffix)
    assert answer.code == 0
    names = sorted(file.name for file in out.iterdir())
    assert names == [f"calendar.{suffix}", f"network-apple.{suffix}"]
    for name in names:
        assert name in answer.out
        assert (out / name).read_bytes().startswith(BEGINS[suffix])


def test_every_kind_without_a_kind(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("chart", plan, "--out", tmp_path / "all")
    assert answer.code == 0
    assert "No chill: the bloom dates are typed" in answer.out
    assert "No warming: the bloom dates are typed" in answer.out
    assert "No harvest: nobody has published" in answer.out
    stems = {file.stem.split("-")[0] for file in (tmp_path / "all").iterdir()}
    # Typed dates have no winters to count chill in or to warm; nobody published their harvest.
    assert stems == {"calendar", "network", "matrix", "winters", "tradeoff", "tree"}


def test_charts_speak_german(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    out = tmp_path / "bilder"
    answer = pollinet("chart", plan, "network", "chill", "--out", out, "--language", "de")
    assert "1 Schaubild zu far south" in answer.out
    assert "die Blütedaten sind eingetippt" in answer.out
    assert "Wer wen bestäubt: Apfel" in (out / "network-apple.svg").read_text("utf-8")


def test_one_winter_against_one_limb(tmp_path: Path, pollinet: Run) -> None:
    plan = write_demo(tmp_path, demo_files())
    answer = pollinet(
        "chart", plan, "calendar", "--winter", 2010, "--against", "C-mid", "--out", tmp_path
    )
    assert answer.code == 0
    root = ElementTree.parse(tmp_path / "calendar-2010-c-mid.svg").getroot()
    title = root.findtext("{http://www.w3.org/2000/svg}title") or ""
    assert "2010" in title
    assert "C-mid" in title


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--against", "low-X"), 'no limb "low-X"'),
        (("--winter", "1066"), "no winter"),
        (("nonsense",), "nonsense"),
        (("--format", "gif"), "gif"),
    ],
)
def test_mistakes_write_nothing(
    words: tuple[str, ...], said: str, plan: Path, tmp_path: Path, pollinet: Run
) -> None:
    out = tmp_path / "none"
    answer = pollinet("chart", plan, *words, "--out", out)
    assert answer.code == 2
    assert said in answer.err
    assert not out.exists()


def test_a_file_in_the_way_is_kept(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    out = tmp_path / "taken"
    out.write_text("mine", encoding="utf-8")
    assert pollinet("chart", plan, "--out", out).code == 2
    assert out.read_text("utf-8") == "mine"
