"""Every finding is made of marked messages, so that it can be said in any language."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import pollinet

PACKAGE = Path(pollinet.__file__).parent
MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.name != "findings.py")
PLACES = {"message": 2, "cure": 6}
"""Where a `Finding` takes its texts, when not by name."""
NOT_MESSAGES = {"str", "repr", "format", "ascii"}

Function = ast.FunctionDef | ast.Lambda


class Module:
    """A module's syntax tree, in which a text can be followed to where it is made."""

    def __init__(self, text: str) -> None:
        self.tree = ast.parse(text)
        self.inside: dict[ast.AST, list[ast.FunctionDef]] = {}
        self._descend(self.tree, [])

    def _descend(self, node: ast.AST, functions: list[ast.FunctionDef]) -> None:
        self.inside[node] = functions
        deeper = [*functions, node] if isinstance(node, ast.FunctionDef) else functions
        for child in ast.iter_child_nodes(node):
            self._descend(child, deeper)

    def calls(self, name: str) -> Iterator[ast.Call]:
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Call) and name in (
                getattr(node.func, "id", ""),
                getattr(node.func, "attr", ""),
            ):
                yield node

    def faults(self, node: ast.expr | None, seen: frozenset[str] = frozenset()) -> Iterator[str]:
        """Places at which a text is made that no catalogue can know."""
        if node is None or (isinstance(node, ast.Constant) and not node.value):
            return
        if isinstance(node, ast.Constant | ast.JoinedStr | ast.BinOp | ast.Subscript):
            yield f"line {node.lineno}: {ast.unparse(node)}"
        elif isinstance(node, ast.IfExp | ast.BoolOp):
            for part in [node.body, node.orelse] if isinstance(node, ast.IfExp) else node.values:
                yield from self.faults(part, seen)
        elif isinstance(node, ast.Call):
            method = isinstance(node.func, ast.Attribute) and isinstance(
                node.func.value, ast.Constant
            )
            if method or getattr(node.func, "id", "") in NOT_MESSAGES:
                yield f"line {node.lineno}: {ast.unparse(node)}"
        elif isinstance(node, ast.Name) and node.id not in seen:
            for made in self.makings(node):
                yield from self.faults(made, seen | {node.id})

    def makings(self, name: ast.Name) -> Iterator[ast.expr | None]:
        """What a name stands for: what is assigned to it, or handed in for it."""
        functions = self.inside[name]
        for function in reversed(functions):
            parameters = [*function.args.posonlyargs, *function.args.args]
            names = [parameter.arg for parameter in parameters]
            only = [parameter.arg for parameter in function.args.kwonlyargs]
            if name.id in (*names, *only):
                place = names.index(name.id) if name.id in names else None
                for call in self.calls(function.name):
                    yield argument(call, name.id, place)
                return
            assigned = list(assignments(function, name.id))
            if assigned:
                yield from assigned
                return
        yield from assignments(self.tree, name.id)


def assignments(inside: ast.AST, name: str) -> Iterator[ast.expr]:
    for node in ast.walk(inside):
        if isinstance(node, ast.AugAssign) and getattr(node.target, "id", "") == name:
            yield node.value
        if isinstance(node, ast.AnnAssign) and getattr(node.target, "id", "") == name:
            if node.value is not None:
                yield node.value
        elif isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name) and target.id == name:
                    yield node.value
                elif isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                    pairs = zip(target.elts, node.value.elts, strict=True)
                    yield from (value for one, value in pairs if getattr(one, "id", "") == name)


def argument(call: ast.Call, name: str, place: int | None) -> ast.expr | None:
    for keyword in call.keywords:
        if keyword.arg == name:
            return keyword.value
    return call.args[place] if place is not None and place < len(call.args) else None


def wrong_findings(text: str) -> list[str]:
    module = Module(text)
    return [
        fault
        for call in module.calls("Finding")
        for name, place in PLACES.items()
        for fault in module.faults(argument(call, name, place))
    ]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_findings_are_made_of_marked_messages(path: Path) -> None:
    assert wrong_findings(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    "text",
    [
        'Finding("error", "x", "plain words")',
        'Finding("error", "x", f"found {value}")',
        'Finding("error", "x", say("fine"), cure="do " + what)',
        'def f():\n    message = "plain"\n    return Finding("error", "x", message)',
        'def f(message):\n    return Finding("error", "x", message)\ndef g():\n    f(", ".join(a))',
        'def f(*, cure=""):\n    return Finding("error", "x", say("y"), cure=cure)\nf(cure="do")',
    ],
)
def test_plain_texts_are_seen(text: str) -> None:
    assert len(wrong_findings(text)) == 1


@pytest.mark.parametrize(
    "text",
    [
        'Finding("error", "x", say("found {value}", value=3), cure=NOTHING)',
        'Finding("error", "x", say("a") if b else say_number("a", "b", 3))',
        'def f():\n    one, two = say("a"), say("b")\n    Finding("error", "x", one, cure=two)',
        'Finding("error", "x", problem.message)',
    ],
)
def test_messages_are_left_in_peace(text: str) -> None:
    assert wrong_findings(text) == []
