"""Every command's text at the widths of a terminal: nothing too wide, no name broken, no colour."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any
from unicodedata import east_asian_width, normalize

import awkward_gardens
import pytest

import pollinet.study as pollinet_study
from pollinet.demo import demo_files, write_demo
from pollinet.study import open_study
from pollinet.wording.check import MARKS

Run = Callable[..., Any]

WIDTHS = (60, 80, 100, 140)

UNKNOWN = (
    "[site]\nlatitude = 47\n[site.normals]\n"
    "tmin_c = [-1.8, -1.2, 1.7, 4.8, 8.9, 12.3, 14.4, 14.0, 10.5, 6.9, 2.2, -0.7]\n"
    "tmax_c = [4.6, 6.7, 11.6, 15.8, 20.2, 24.0, 26.5, 25.8, 21.0, 15.2, 8.9, 5.3]\n"
    "[aim]\ndraws = 8\n"
    + awkward_gardens.tree([("by-the-gate", "Grandmother's"), ("B", "Ashmead's Kernel")])
    + awkward_gardens.neighbour("?", 15)
    + awkward_gardens.scion("Gala")
    + "[[variety]]\nspecies = 'apple'\nname = \"Grandmother's\"\n"
)
"""A garden of which hardly anything is known."""

GARDENS = {"demo": ("C-mid", "Jonagold"), "unknown": ("B", "Gala"),
           "forty limbs": ("A00-low", "Gala"), "foreign names": ("N-mid", "Gala")}  # fmt: skip
"""Gardens with a limb and a variety to ask about."""


def questions(plan: Path, limb: str, variety: str) -> Iterator[tuple[object, ...]]:
    for language in ("en", "de"):
        yield "check", plan, "--details", "--warmer", 1.5, "--language", language
        yield "cover", plan, "--trade-off", "--language", language
    yield "donors", plan, limb
    yield "pollinizer", plan
    yield "triploids", plan
    yield "without", plan, limb
    yield "without", plan
    yield "diagnose", plan, limb, "--year", 2025
    yield "suits", plan, variety
    for name in ("season", "work", "balance", "fit", "scions", "graph", "chill", "weather"):
        yield name, plan


def asked_once(plan: Path) -> Iterator[tuple[object, ...]]:
    """What hangs on no garden."""
    yield "variety", "Jonagold"
    yield "varieties", "apple", "--where", "ploidy=3"
    yield "cross", "--species", "apple", "Jonagold", "Golden Delicious"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("gardens")
    write_demo(home, demo_files())
    for name in GARDENS.keys() - {"demo"}:
        (home / name).mkdir()
        if name in awkward_gardens.GARDENS:
            awkward_gardens.written(name, home / name)
        else:
            (home / name / "plan.toml").write_text(UNKNOWN, encoding="utf-8")
    return home


@pytest.fixture(scope="module")
def opened_once() -> Callable[..., Any]:
    return cache(lambda plan, weather=None: open_study(plan, weather=weather))


def columns(line: str) -> int:
    """Columns of a terminal: two for a wide letter (Unicode, annex 11)."""
    return sum(1 + (east_asian_width(letter) in "WF") for letter in normalize("NFC", line))


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("garden", GARDENS)
def test_text_fits_and_breaks_no_name(
    garden: str,
    width: int,
    folder: Path,
    opened_once: Callable[..., Any],
    pollinet: Run,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(pollinet_study, "open_study", opened_once)
    monkeypatch.setenv("COLUMNS", str(width))
    # What asks for colour gets none: there is none, so that text can be piped and printed.
    monkeypatch.setenv("FORCE_COLOR", "1")
    for stream in (sys.stdout, sys.stderr):
        monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
    plan = folder / "plan.toml" if garden == "demo" else folder / garden / "plan.toml"
    limbs = [limb.id for limb in opened_once(plan).study.plan.limbs]
    commands = [*questions(plan, *GARDENS[garden])]
    commands += asked_once(plan) if garden == "demo" else []
    for words in commands:
        answer = pollinet(*words)
        assert answer.code in (0, 1), (words, answer.err)
        lines = answer.out.splitlines()
        assert max(map(columns, lines)) <= width, words
        assert "\x1b" not in answer.out + answer.err, words
        assert lines[0].strip(), words
        told = " ".join(answer.out.split())
        if words[0] == "check":
            assert all(limb in told for limb in limbs), words
        used = {
            mark for mark in MARKS.values() if f"\n{mark} " in answer.out or f" {mark} " in told
        }
        if used & {MARKS["sure"], MARKS["likely"], MARKS["lacking"]}:
            # A mark never stands without its words.
            assert any(
                f"{mark} {word}" in told
                for mark in used
                for word in ("sure", "likely", "lack", "sicher", "wahrscheinlich", "ohne")
            ), words
