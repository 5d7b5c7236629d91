"""The set-up commands of the README, and what the packages hold."""

from __future__ import annotations

import re
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest


def shell_blocks(text: str) -> list[str]:
    return re.findall(r"```sh\n(.*?)```", text, flags=re.S)


def test_the_readme_starts_with_two_commands_of_one_line(checkout: Path) -> None:
    text = (checkout / "README.md").read_text(encoding="utf-8")
    first, second = shell_blocks(text)[:2]
    for command in (first, second):
        assert len(command.strip().splitlines()) == 1
        assert command.startswith("python3 -m venv .venv && ")
    assert first.strip().endswith("pollinet demo")
    assert second.strip().endswith("pytest")


def test_the_top_level_holds_what_it_should(checkout: Path) -> None:
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=checkout, capture_output=True, text=True, check=False
    ).stdout.split("\n")
    if not any(tracked):
        pytest.skip("not a git checkout")
    assert {name.split("/")[0] for name in tracked if name} == {
        ".ci",
        ".gitignore",
        "DEFAULTS.md",
        "DEVELOPERS.md",
        "LICENSE",
        "README.md",
        "catalogues",
        "figures",
        "pollinet",
        "pyproject.toml",
        "tests",
    }


def test_the_wheel_holds_every_table(checkout: Path, tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(tmp_path), str(checkout)],
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    tables = sorted((checkout / "catalogues").rglob("*.*"))
    assert tables
    for table in tables:
        assert f"pollinet/{table.relative_to(checkout).as_posix()}" in names
    assert "pollinet/demo_plan.toml" in names
    assert "pollinet/locale/de/LC_MESSAGES/pollinet.mo" in names
    assert "pollinet/py.typed" in names
