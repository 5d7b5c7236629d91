"""The examples at the foot of every command's help, run as they stand in the demo garden."""

from __future__ import annotations

import re
import shlex
import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import click
import pytest

from pollinet.cli import COMMANDS, common, load
from pollinet.demo import demo_files, write_demo
from pollinet.study import Study

Run = Callable[..., Any]

LINE = re.compile(r"(?<!`)pollinet ([a-z].*?)(?=;|\.(?: |$)|, (?:after|and) |$)")
"""A command line in an epilog; one in `backquotes` is spoken of, not an example."""


def commands() -> Iterator[tuple[str, click.Command]]:
    """All commands with those below them."""
    for name in COMMANDS:
        command: click.Command = load(name)
        yield name, command
        if isinstance(command, click.Group):
            yield from ((f"{name} {one}", inner) for one, inner in command.commands.items())


def examples(command: click.Command) -> list[str]:
    """Command lines in an epilog, without their `pollinet`."""
    text = command.epilog or ""
    start = re.search(r"Examples?: ", text)
    return [found.strip() for found in LINE.findall(text[start.end() :])] if start else []


ALL = [(name, line) for name, command in commands() for line in examples(command)]

NETWORK = ("fetch",)
ANSWERS_FIRST = ("donors", "pollinizer", "triploids", "without", "graph", "cover")
"""Commands whose first sentence is the answer, in words and in JSON."""

PLACEHOLDERS = ("show NAME", "pollinet.fish", ">>")
"""Not lines to run: what stands for a name, and what writes into the reader's own settings."""


def fill_in(folder: Path) -> None:
    """What the words around an example ask for: a sheet that was filled in."""
    sheet = folder / "spring.csv"
    rows = sheet.read_text(encoding="utf-8").splitlines()
    sheet.write_text("\n".join([rows[0], "2026-04-12" + rows[1]]) + "\n", encoding="utf-8")


def second_tree(folder: Path) -> None:
    text = (folder / "plan.toml").read_text(encoding="utf-8")
    tree = '[[tree]]\nid = "apple-2"\nspecies = "apple"\n[[tree.limb]]\nid = "B"\nvariety = "Gala"'
    mark = "# --- next door"
    (folder / "plan.toml").write_text(text.replace(mark, f"{tree}\n\n{mark}"), encoding="utf-8")


@pytest.fixture
def garden(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    write_demo(tmp_path, demo_files())
    (tmp_path / "pairs.csv").write_text("species,female,male\nsweet cherry,Bing,Lambert\n")
    monkeypatch.chdir(tmp_path)

    class Later(date):
        """The examples speak of April 2026, whenever they are run."""

        @classmethod
        def today(cls) -> Later:
            return cls(2026, 9, 30)

    monkeypatch.setattr("pollinet.cli.record.date", Later)
    return tmp_path


@pytest.fixture
def few_varieties(monkeypatch: pytest.MonkeyPatch) -> None:
    """A twentieth of the catalogue to choose from."""
    every = Study.catalogue_scions
    monkeypatch.setattr(Study, "catalogue_scions", lambda study: every(study)[::20])


def runnable(line: str) -> bool:
    words = line.split()
    if words[0] == "page" and "--take-along" not in words:
        return False  # it answers until it is stopped: tests/page/test_server.py
    return words[0] not in NETWORK and not any(word in line for word in PLACEHOLDERS)


@pytest.mark.parametrize(("name", "line"), [one for one in ALL if runnable(one[1])])
def test_examples_run_as_they_stand(
    name: str, line: str, garden: Path, pollinet: Run, request: pytest.FixtureRequest
) -> None:
    words = shlex.split(line)
    if "catalogue" in words and name != "cover":  # one command shows what the whole of it takes
        request.getfixturevalue("few_varieties")
    if "--from" in words and "spring.csv" in words:
        assert pollinet("record", "plan.toml", "--sheet", "spring.csv").code == 0
        fill_in(garden)
    if "notes.txt" in words:
        note = "p9x2 | 2026-04-12 | C-mid | stage | full |"
        text = f"Pollinet notes 1: the garden on the hill\n{note}\n"
        (garden / "notes.txt").write_text(text, encoding="utf-8")
    if name == "verify":
        (garden / "check.json").write_text(pollinet("check", "plan.toml", "--json").out, "utf-8")
    if "apple-2" in words:
        second_tree(garden)
    if name == "collection":
        write_demo(garden / "gardens" / "hill", demo_files())
    if name in ("diagnose", "fit"):
        note = ("--stage", "full", "--date", "2026-04-12")
        assert pollinet("record", "plan.toml", "A-top", *note).code == 0
    if line.startswith("start") and "--yes" not in words:
        # Without a terminal it asks nothing and says what is missing.
        assert "--latitude is missing" in pollinet(*words).err
        return
    said = pollinet(*words)
    assert said.code in (0, 1), said.err
    if words[0] not in ("schema", "completion") and "--csv" not in words:
        assert max(map(len, said.out.splitlines())) <= 100
    if name in ANSWERS_FIRST:
        data = pollinet(*words, "--json").data
        assert data["answer"].split()[:4] == said.out.split()[:4]


@pytest.mark.parametrize(
    ("name", "command"), list(commands()), ids=lambda x: x if isinstance(x, str) else ""
)
def test_help_has_an_example_of_the_command_and_fits(
    name: str, command: click.Command, pollinet: Run
) -> None:
    lines = examples(command)
    beginning = name.removesuffix(" show")
    assert any(line.startswith(beginning) for line in lines)
    said = pollinet(*name.split(), "--help")
    assert said.code == 0 and "\x1b" not in said.out
    assert max(map(len, said.out.splitlines())) <= 100


@pytest.mark.parametrize(("terminal", "seconds"), [(True, 0.2), (True, 0.0), (False, 0.2)])
def test_only_slow_work_on_a_terminal_is_told(
    terminal: bool, seconds: float, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    monkeypatch.setattr(common, "PATIENCE_S", 0.05)
    monkeypatch.setattr(common.sys.stderr, "isatty", lambda: terminal, raising=False)
    with common.working("Searching"):
        time.sleep(seconds)
    time.sleep(0.1)
    said = capsys.readouterr()
    assert said.err == ("Searching …\n" if terminal and seconds else "")
    assert said.out == ""


def test_the_pattern_finds_lines_and_leaves_what_is_spoken_of() -> None:
    text = "Examples: pollinet a x.toml --y 2.5; pollinet b z.svg. See `pollinet c`. Codes: 0."
    assert examples(click.Command("x", epilog=text)) == ["a x.toml --y 2.5", "b z.svg"]
