"""Completion: the scripts as the shells themselves read them, and the words they are given."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import click
import pytest

from pollinet.cli import COMMANDS, load
from pollinet.cli.completion import SHELLS, _shell, script

Run = Callable[..., Any]


@pytest.fixture
def garden(garden: Path) -> Path:
    (garden / "notes").mkdir()
    return garden


def words_after(line: Sequence[str], typed: str) -> list[str]:
    """What could stand in place of `typed` after the words of a line without its `pollinet`."""
    return [str(item.value) for item in _shell("bash").get_completions(list(line), typed)]


def test_commands_are_completed_from_the_table() -> None:
    assert words_after([], "") == list(COMMANDS)
    assert words_after([], "cov") == ["cover"]
    assert "--version" in words_after([], "--")


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_is_offered(name: str) -> None:
    """Click's own list of a command's options, against the words that are offered."""
    command: click.Command = load(name)
    options = {word for one in command.params if isinstance(one, click.Option) for word in one.opts}
    offered = set(words_after([name], "--"))
    assert {word for word in options if word.startswith("--")} | {"--help"} == offered


@pytest.mark.parametrize(
    ("line", "typed", "words"),
    [
        (("check",), "", ["notes/", "plan.toml"]),
        (("check",), "p", ["plan.toml"]),
        (("donors", "plan.toml"), "C-", ["C-low", "C-mid", "C-top"]),
        (("diagnose", "plan.toml"), "A-t", ["A-top"]),
        (("record", "plan.toml"), "neigh", ["neighbour-1", "neighbour-2"]),
        (("without", "plan.toml", "A-top"), "C-t", ["C-top"]),
        (("plan",), "add", ["add-limb", "add-neighbour", "add-scion"]),
        (("plan", "move", "plan.toml"), "C-t", ["C-top"]),
        (("cover", "plan.toml", "--from"), "c", ["catalogue"]),
        (("donors", "nowhere.toml"), "C-", []),
    ],
)
def test_plans_ids_and_choices(
    garden: Path, line: tuple[str, ...], typed: str, words: list[str]
) -> None:
    assert words_after(line, typed) == words


def test_absolute_paths_and_folders(garden: Path) -> None:
    assert words_after(["check"], f"{garden}/pl") == [f"{garden}/plan.toml"]
    assert words_after(["check"], "nowhere/pl") == []


@pytest.mark.parametrize("shell", SHELLS)
def test_the_shell_can_read_its_script(shell: str, pollinet: Run) -> None:
    said = pollinet("completion", shell)
    assert said.code == 0 and said.out.strip() == script(shell).strip()
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not here")
    subprocess.run([shell, "-n"], input=script(shell), text=True, check=True, timeout=30)


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash")
def test_bash_completes_a_limb(garden: Path) -> None:
    """The whole way, in a real shell: script, question, answer."""
    program = (
        f'pollinet() {{ "{sys.executable}" -m pollinet "$@"; }}\n'
        f'env() {{ local -x "$1" "$2" "$3"; "$4"; }}\n{script("bash")}\n'
        "COMP_WORDS=(pollinet donors plan.toml C-m); COMP_CWORD=3\n"
        '_pollinet_completion pollinet; echo "${COMPREPLY[@]}"\n'
    )
    run = subprocess.run(
        ["bash", "--norc"], input=program, capture_output=True, text=True, timeout=60
    )
    assert run.stdout.split() == ["C-mid"], run.stderr


def test_an_unknown_shell_is_refused(monkeypatch: pytest.MonkeyPatch, pollinet: Run) -> None:
    assert pollinet("completion", "tcsh").code == 2
    monkeypatch.setenv("_POLLINET_COMPLETE", "tcsh_complete")
    assert pollinet("check").code == 2
