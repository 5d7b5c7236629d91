"""`pollinet chart`: pictures in a folder, by kind, format and wish."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import awkward_gardens
import pytest
from gardens import MONTHS

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


@pytest.mark.parametrize(
    ("words", "wide_in"), [((), 8.27), (("--for", "paper"), 6.9), (("--for", "telephone"), 3.4)]
)
def test_charts_are_drawn_for_what_shows_them(
    words: tuple[str, ...], wide_in: float, plan: Path, tmp_path: Path, pollinet: Run
) -> None:
    answer = pollinet("chart", plan, "winters", *words, "--out", tmp_path / "p")
    assert answer.code == 0
    root = ElementTree.parse(tmp_path / "p" / "winters.svg").getroot()
    # Matplotlib's own unit, a point, is one of 72 to the inch.
    assert float((root.get("width") or "").removesuffix("pt")) == pytest.approx(72 * wide_in)
    greys = re.findall(r"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})\b",
                       (tmp_path / "p" / "winters.svg").read_text("utf-8"))  # fmt: skip
    assert all(r == g == b for r, g, b in greys) == (words == ("--for", "paper"))


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


HAZELS = f"""
[site]
name = "hedge"
latitude = 47
{MONTHS}[aim]
draws = 8
[[tree]]
id = "hedge"
species = "hazelnut"
[[tree.limb]]
id = "H1"
variety = "One"
[[tree.limb]]
id = "H2"
variety = "Two"
[[variety]]
species = "hazelnut"
name = "One"
bloom = ["01-30", "02-20"]
pollen_shed = ["02-05", "02-28"]
[[variety]]
species = "hazelnut"
name = "Two"
bloom = ["02-10", "02-28"]
pollen_shed = ["01-20", "02-12"]
"""


def test_catkins_have_rows_of_their_own(tmp_path: Path, pollinet: Run) -> None:
    (tmp_path / "plan.toml").write_text(HAZELS, "utf-8")
    words = ("calendar", "--winter", 2010, "--against", "H1")
    answer = pollinet("chart", tmp_path / "plan.toml", *words, "--out", tmp_path)
    assert answer.code == 0
    root = ElementTree.parse(tmp_path / "calendar-2010-h1.svg").getroot()
    said = ["".join(text.itertext()) for text in root.iter("{http://www.w3.org/2000/svg}text")]
    # A limb has the mark of its verdict before it, a row of pollen has none.
    rows = [re.sub("^[●◐?✕] ", "* ", text) for text in said]
    assert {"* One · H1", "One · H1, pollen", "* Two · H2", "Two · H2, pollen"} <= set(rows)
    # The flowers of H1 are compared with the pollen of H2, with nothing of its own.
    assert sum(text.endswith(" d") for text in said) == 1
    # The wind carries it: bees are of no account.
    assert not any("bee" in text for text in said)


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


def test_a_file_is_no_folder_for_charts(plan: Path, tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("chart", plan, "network", "--out", tmp_path / "x.png")
    assert answer.code == 2
    assert "--out is a folder" in answer.findings and "--format png" in answer.findings
    assert not (tmp_path / "x.png").exists()
