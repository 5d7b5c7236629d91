"""A folder of plans, a garden each: which files these are, and what each garden is called."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from pollinet.files import reason_of
from pollinet.findings import Finding
from pollinet.messages import say

_HEADING = re.compile(r"^\s*\[{1,2}\s*(site|tree|neighbour|scion)\s*\]", re.MULTILINE)
"""What every plan has at least one of, and settings of other programs have not."""


def plan_files(folder: Path) -> tuple[dict[str, Path], tuple[Finding, ...]]:
    """The plans of a collection, by the name of their garden, sorted.

    They stand in the folder itself or in folders in it, not deeper; files of TOML that are no plan
    are passed over. A garden is called as its file, or as the folder that it has for itself.
    """
    cure = say("give a folder with a plan of each garden, best in a folder of its own each")
    try:
        inner = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError as problem:
        reason = reason_of(problem)
        return {}, (Finding("error", "no-folder", reason, str(folder), cure=cure),)
    found = {path.stem: path for path in _plans(inner)}
    for own in (path for path in inner if path.is_dir()):
        plans = list(_plans(_listed(own)))
        for path in plans:
            found[own.name if len(plans) == 1 else f"{own.name}/{path.stem}"] = path
    if not found:
        message = say("there is no plan in this folder, nor in a folder in it")
        return {}, (Finding("error", "no-plans", message, str(folder), cure=cure),)
    return dict(sorted(found.items())), ()


def _listed(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir())
    except OSError:
        return []


def _plans(paths: list[Path]) -> Iterator[Path]:
    for path in paths:
        if path.suffix == ".toml" and path.is_file() and _may_be_plan(path):
            yield path


def _may_be_plan(path: Path) -> bool:
    """Whether a file of TOML looks like a plan; what cannot be read is told when it is opened."""
    try:
        return bool(_HEADING.search(path.read_text(encoding="utf-8-sig")))
    except (OSError, UnicodeDecodeError):
        return True


def decimals(degrees: float) -> int:
    """With how many decimals a number of degrees was typed, at least."""
    text = repr(degrees)
    return 0 if "e" in text else len(text.partition(".")[2].rstrip("0"))
