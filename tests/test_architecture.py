"""Imports go one way, as the picture in DEVELOPERS.md has them; checked on the syntax tree."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import pollinet

PACKAGE = Path(pollinet.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))

BASE = (
    *("errors", "messages", "letters", "findings", "files", "days", "shares", "globe"),
    *("domain", "linear"),
)
STAGES = ("weather", "phenology", "compatibility", "network", "advice")
READERS = ("catalogue_files", "readers", "fetch")
JOIN = ("study",)
LANGUAGE = ("language",)
FACTS = ("summary", "wording", "answers")
SIDE = ("saving", "editing", "drafting", "noting", "demo")
SHOWN = {
    "charts": (),
    "strips": (),
    "report": ("charts", "strips"),
    "region": (),
    "notebook": ("answers", "charts", "strips"),
    "page": ("answers", "charts", "report", "strips", *SIDE),
    "cli": ("charts", "report", "region", "page", "fetch", *SIDE),
}
"""Rooms that show answers, and what each may import beside the facts and all before them."""

PRESENTATION = (*LANGUAGE, *FACTS, *SIDE, *SHOWN)
EVERY_ROOM = {*BASE, *STAGES, *READERS, *JOIN, *PRESENTATION}


def room(dotted: str) -> str:
    """The part of the package a module stands in: `pollinet.network.cover` → `network`."""
    return dotted.split(".")[1] if "." in dotted else ""


def allowed(importer: str) -> set[str]:
    """Rooms that a room may import from."""
    if importer in BASE:
        return set(BASE[: BASE.index(importer)])
    if importer in STAGES:
        return {*BASE, *STAGES[: STAGES.index(importer) + 1]}
    if importer in READERS:
        return {*BASE, *READERS}
    if importer in JOIN:
        return {*BASE, *STAGES, *READERS, *JOIN}
    before = {"", *BASE, *STAGES, *READERS, *JOIN} - {"fetch"}
    if importer in LANGUAGE:
        return {"", *BASE, *LANGUAGE}
    if importer in FACTS:
        return {*before, *LANGUAGE, *FACTS[: FACTS.index(importer) + 1]} - {""}
    if importer in SIDE:
        return {*before, *SIDE}
    return {*before, *LANGUAGE, *FACTS, importer, *SHOWN[importer]}


def imports(tree: ast.AST) -> list[tuple[int, str]]:
    """(line, module) of everything of ours that is imported anywhere in a module."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: imports are absolute"
            found.append((node.lineno, node.module or ""))
            if node.module == "pollinet":
                names = {alias.name for alias in node.names} & EVERY_ROOM
                found += [(node.lineno, f"pollinet.{name}") for name in sorted(names)]
    return [(line, name) for line, name in found if name.split(".")[0] == "pollinet"]


def dotted(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def wrong_imports(name: str, text: str) -> list[str]:
    """Imports of one module that go against the direction."""
    importer = room(name)
    if importer in ("", "__main__"):
        return []
    return [
        f"{name}, line {line}: {target}"
        for line, target in imports(ast.parse(text))
        if room(target) not in allowed(importer) and target != "pollinet"
    ]


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_imports_go_one_way(path: Path) -> None:
    assert wrong_imports(dotted(path), path.read_text(encoding="utf-8")) == []


def test_every_room_is_in_the_picture() -> None:
    rooms = {room(dotted(path)) for path in MODULES} - {"", "__main__"}
    assert rooms <= EVERY_ROOM


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("pollinet.phenology.chill", "from pollinet.network.cover import x"),
        ("pollinet.network.cover", "def f():\n    from pollinet.readers import plan"),
        ("pollinet.readers.plan", "import pollinet.wording.sentences"),
        ("pollinet.days", "from pollinet.domain import Site"),
        ("pollinet.wording.sentences", "from pollinet.answers.check import Check"),
        ("pollinet.report.content", "from pollinet.cli.check import check"),
        ("pollinet.charts.album", "from pollinet.report.content import report_of"),
        ("pollinet.notebook", "from pollinet.cli.common import opened"),
        ("pollinet.region.tables", "from pollinet.charts.sites import draw_sites"),
    ],
)
def test_the_guard_sees_a_wrong_import(name: str, text: str) -> None:
    assert wrong_imports(name, text) != []


TELLING = ("wording", "answers", *SHOWN)
"""Rooms that tell what was found: whether a share reaches the plan's level is decided before."""


def decisions(name: str, text: str) -> list[str]:
    """Where a module that only tells compares something with a level."""
    if room(name) not in TELLING:
        return []
    tree = ast.parse(text)
    found = [line for line, target in imports(tree) if room(target) == "shares"]
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare):
            sides = [part for side in (node.left, *node.comparators) for part in ast.walk(side)]
            words = {x.id for x in sides if isinstance(x, ast.Name)}
            words |= {x.attr for x in sides if isinstance(x, ast.Attribute)}
            found += [node.lineno] * bool(words & {"level", "LEVEL", "min_overlap_days"})
    return [f"{name}, line {line}" for line in found]


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_what_only_tells_compares_nothing_with_the_level(path: Path) -> None:
    assert decisions(dotted(path), path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("pollinet.wording.network", "from pollinet.shares import reaches"),
        ("pollinet.cli.check", "def f():\n    from pollinet import shares"),
        ("pollinet.charts.season", "dark = dot.reliability < level"),
        ("pollinet.report.content", "ok = row.reliability >= study.plan.aim.level"),
    ],
)
def test_the_guard_sees_a_comparison(name: str, text: str) -> None:
    assert decisions(name, text) != []


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_stages_touch_no_file_clock_or_terminal(path: Path) -> None:
    if room(dotted(path)) not in STAGES:
        return
    tree = ast.parse(path.read_text(encoding="utf-8"))
    named = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    imported = {
        alias.name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    } | {
        (node.module or "").split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
    }
    assert not named & {"open", "print", "input"}
    assert not imported & {"os", "sys", "pathlib", "time", "random", "click", "rich"}
    assert "pyplot" not in path.read_text(encoding="utf-8")
