"""Every command's text at the widths of a terminal: nothing too wide, no name broken, no colour."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any
from unicodedata import east_asian_width, normalize

import awkward_gardens
import pytest
from gardens import MONTHS

import pollinet.study as pollinet_study
from pollinet.cli import COMMANDS, common, main
from pollinet.demo import demo_files, write_demo
from pollinet.study import Study, open_study
from pollinet.wording.check import MARKS

WIDTHS = (60, 80, 100, 140)

UNKNOWN = (
    f"[site]\nlatitude = 47\n{MONTHS}[aim]\ndraws = 8\n"
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


def asked_once() -> Iterator[tuple[object, ...]]:
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


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch, capsys: Any) -> Callable[..., dict[int, str]]:
    """Run a command, and show its one answer at each of the widths."""
    texts: dict[int, str] = {}

    def give_at_all(_answer: Any, show: Callable[[], None], **_options: Any) -> int:
        for width in WIDTHS:
            monkeypatch.setenv("COLUMNS", str(width))
            capsys.readouterr()
            for stream in (sys.stdout, sys.stderr):
                monkeypatch.setattr(stream, "isatty", lambda: True, raising=False)
            show()
            texts[width] = capsys.readouterr().out
        return 0

    for name in COMMANDS:
        module = import_module(f"pollinet.cli.{name.replace('-', '_')}")
        if hasattr(module, "give"):
            monkeypatch.setattr(module, "give", give_at_all)

    def run(*words: object) -> dict[int, str]:
        texts.clear()
        assert main([str(word) for word in words]) in (0, 1), (words, capsys.readouterr().err)
        return dict(texts)

    return run


@pytest.mark.parametrize("garden", GARDENS)
def test_text_fits_and_breaks_no_name(
    garden: str,
    folder: Path,
    opened_once: Callable[..., Any],
    shown: Callable[..., dict[int, str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    every = Study.catalogue_scions
    monkeypatch.setattr(Study, "catalogue_scions", lambda study: every(study)[::100])
    monkeypatch.setattr(pollinet_study, "open_study", opened_once)
    # What asks for colour gets none: text can be piped and printed.
    monkeypatch.setenv("FORCE_COLOR", "1")
    plan = folder / "plan.toml" if garden == "demo" else folder / garden / "plan.toml"
    limbs = [limb.id for limb in opened_once(plan).study.plan.limbs]
    commands = [*questions(plan, *GARDENS[garden])]
    commands += asked_once() if garden == "demo" else []
    for words in commands:
        texts = shown(*words)
        assert set(texts) == set(WIDTHS), words
        for width, text in texts.items():
            check_text(text, width, words, limbs if words[0] == "check" else [])


def check_text(text: str, width: int, words: tuple[object, ...], names: Sequence[str]) -> None:
    lines = text.splitlines()
    assert max(map(columns, lines)) <= width, (words, width)
    assert "\x1b" not in text, words
    # The answer stands first.
    assert lines[0].strip(), words
    told = " ".join(text.split())
    assert all(name in told for name in names), (words, width)
    for mark, meanings in WORDS.items():
        if f" {mark} " in f" {told}":
            assert any(f"{mark} {word}" in told for word in meanings), (words, width, mark)


WORDS = {
    MARKS["sure"]: ("sure", "sicher"),
    MARKS["likely"]: ("likely", "wahrscheinlich"),
    MARKS["lacking"]: ("lack", "ohne"),
}
"""A mark never stands without its words."""


def test_a_table_that_would_break_words_tells_its_rows_in_lines(
    monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    table = common.new_table(("Donor", {}), ("Empty", {}), ("Why", {"ratio": 1}))
    table.add_row("Golden Delicious", "", "a reason of several words")
    for width, told in (
        (60, "Donor             Why\n"),
        (40, "Golden Delicious\n    Why: a reason of several words\n"),
    ):
        monkeypatch.setattr(common, "table_width", lambda _widest=100, width=width: width)
        monkeypatch.setattr(common, "TALL", 3 if width == 60 else 0)
        common.print_table(table)
        assert told in capsys.readouterr().out
    broken = common.new_table(("Limb", {}), ("Variety", {}))
    broken.add_row("a-limb-with-a-long-name-of-its-own", "Donaudampfschifffahrtsrenette")
    common.print_table(broken)
    out = capsys.readouterr().out
    assert out.split("\n", 1)[0] == "a-limb-with-a-long-name-of-its-own"
    assert " ".join(out.split()[1:]) == "Variety: Donaudampfschifffahrtsrenette"


def test_the_legend_of_check_explains_what_a_row_shows(
    folder: Path, shown: Callable[..., dict[int, str]]
) -> None:
    """On two lines a row has the headings of the table, by which the legend goes."""
    for text in shown("check", folder / "plan.toml").values():
        table, _blank, legend = text.partition("● sure")
        for heading in ("Others", "Of ten"):
            assert f"{heading}:" in " ".join(legend.split()) and heading in table
