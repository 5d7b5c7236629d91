"""The examples at the foot of the help of the graph's commands, run as they stand."""

from __future__ import annotations

import re
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

COMMANDS = ("donors", "pollinizer", "triploids", "without", "graph", "cover")


def examples(name: str) -> list[list[str]]:
    """Command lines in an epilog, without their `pollinet`."""
    command = getattr(import_module(f"pollinet.cli.{name}"), name)
    found = re.findall(r"pollinet (\w+ plan\.toml.*?)(?:; |\. )", command.epilog)
    return [line.split() for line in found]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("garden")


@pytest.mark.parametrize("name", COMMANDS)
def test_examples_run_as_they_stand(
    name: str, folder: Path, monkeypatch: pytest.MonkeyPatch, pollinet: Run
) -> None:
    monkeypatch.chdir(folder)
    if not Path("plan.toml").exists():
        assert pollinet("demo", "--out", ".").code == 0
    lines = examples(name)
    assert lines, "the help has no example"
    for words in lines:
        assert words[0] == name
        text = pollinet(*words)
        assert text.code in (0, 1)
        assert max(map(len, text.out.splitlines())) <= 100
        assert text.out.splitlines()[0].split()[0] != "Limb", "the answer comes first"
        data = pollinet(*words, "--json").data
        assert {"answer", "findings"} <= set(data)
        assert data["answer"].split()[:4] == text.out.split()[:4]
