"""A plan file in TOML → checked tables, with every problem in it as a finding.

The first of two steps: names can only be resolved against catalogues (`readers.plan_names`), and
which catalogues are needed stands in the file. Mistakes in one place do not hide mistakes in
another: what cannot be used is left out and the rest is checked all the same.
"""

from __future__ import annotations

import copy
import difflib
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from pollinet.findings import Finding
from pollinet.messages import listing, mark, say
from pollinet.readers.files import reason_of
from pollinet.readers.plan_schema import ROOMS, NormalsTable, PlanTable
from pollinet.readers.toml_words import shown, toml_fault

Place = Sequence[str | int]


# --- the file itself ---------------------------------------------------------------------------


def read_plan_table(
    path: Path, text: str | None = None
) -> tuple[PlanTable | None, tuple[Finding, ...]]:
    """Read a plan file and check all that can be checked without a catalogue.

    text : what the file would hold, to be checked in place of what it holds.

    Returns
    -------
    table : what could be read, even where there are errors; None if nothing could.
    findings : all problems; where one is an error, the table must not be computed with.
    """
    if text is None:
        text, unreadable = _text_of(path)
        if text is None:
            return None, unreadable
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        return None, (
            Finding(
                "error",
                "broken-toml",
                toml_fault(problem),
                file=path.name,
                cure=say(
                    "text stands in double quotes, tables in [brackets], dates as 04-10 in quotes"
                ),
            ),
        )
    table, findings = checked_data(data, path.name)
    if table is not None:
        findings += _own_checks(table, path.name)
    return table, findings


def _text_of(path: Path) -> tuple[str | None, tuple[Finding, ...]]:
    cure = say("give the path of a plan file; `pollinet demo` writes one to start from")
    try:
        return path.read_text(encoding="utf-8-sig"), ()
    except IsADirectoryError:
        message: str = say("this is a folder, not a plan file")
    except (OSError, UnicodeDecodeError) as problem:
        message = reason_of(problem)
    return None, (Finding("error", "missing-file", message, file=str(path), cure=cure),)


def checked_data(data: dict[str, Any], file: str) -> tuple[PlanTable | None, tuple[Finding, ...]]:
    """Validate against the schema, leaving out what does not fit until the rest does."""
    findings: tuple[Finding, ...] = ()
    remaining = copy.deepcopy(data)
    for _ in range(4):
        try:
            return PlanTable.model_validate(remaining), findings
        except ValidationError as problem:
            errors = problem.errors(include_url=False)
            if not findings:
                findings = tuple(_schema_finding(data, error, file) for error in errors)
            _leave_out(remaining, [error["loc"] for error in errors], errors)
    return None, findings


def _leave_out(data: dict[str, Any], places: list[Place], errors: Sequence[Any]) -> None:
    """Remove the values that do not fit; an entry that lacks something goes as a whole."""
    doomed = {
        tuple(place[:-1] if error["type"] == "missing" else place)
        for place, error in zip(places, errors, strict=True)
    }
    # Back to front, so that the numbers of earlier list entries stay right.
    for place in sorted(doomed, key=lambda p: [str(part).zfill(6) for part in p], reverse=True):
        holder: Any = data
        try:
            for part in place[:-1]:
                holder = holder[part]
            del holder[place[-1]]
        except (KeyError, IndexError, TypeError):
            continue


def _schema_finding(data: Mapping[str, Any], error: Any, file: str) -> Finding:
    place = error["loc"]
    kind, context = error["type"], error.get("ctx", {})
    key = str(place[-1])
    if kind == "extra_forbidden":
        allowed = sorted(_allowed_keys(place[:-1]))
        near = difflib.get_close_matches(key, allowed, n=1)
        cure = (
            say('did you mean "{name}"?', name=near[0])
            if near
            else say("allowed here: {names}", names=listing(allowed))
        )
        message = say('"{key}" is not a key here', key=key)
        return Finding("error", "unknown-key", message, file, _words(data, place), cure=cure)
    if kind == "missing":
        return Finding(
            "error", "missing-key", say('"{key}" is missing', key=key), file,
            _words(data, place[:-1]), cure=say("add a line: {key} = …", key=key),
        )  # fmt: skip
    allowed_words = say(_EXPECTED.get(kind, error["msg"]), **context)
    return Finding(
        "error",
        "wrong-value",
        say(
            "found {found}, allowed is {allowed}",
            found=shown(error["input"]),
            allowed=allowed_words,
        ),
        file,
        _words(data, place),
    )


_EXPECTED = {
    "float_type": mark("a number"),
    "finite_number": mark("a finite number"),
    "int_type": mark("a whole number"),
    "int_from_float": mark("a whole number"),
    "bool_type": mark("true or false"),
    "string_type": mark('text in quotes, such as "name"'),
    "string_pattern_mismatch": mark("a name in one line"),
    "list_type": mark("a list in [brackets]"),
    "model_type": mark("a table of keys and values"),
    "model_attributes_type": mark("a table of keys and values"),
    "greater_than": mark("a number above {gt}"),
    "greater_than_equal": mark("a number of at least {ge}"),
    "less_than": mark("a number below {lt}"),
    "less_than_equal": mark("a number of at most {le}"),
    "too_short": mark("a list of {min_length} values"),
    "too_long": mark("a list of {max_length} values"),
}


def _allowed_keys(place: Place) -> Iterable[str]:
    room = ".".join(part for part in place if isinstance(part, str))
    return ROOMS[room].model_fields if room in ROOMS else ()


def _words(data: Any, place: Place) -> str:
    """A place in the file in words: `tree "old-apple", limb "n1", variety`."""
    words: list[str] = []
    for part in place:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            data = None
        if isinstance(part, int):
            name = _own_name(data)
            words[-1] += f' "{name}"' if name else f" {part + 1}"
        else:
            words.append(part)
    return ", ".join(words)


def _own_name(entry: Any) -> str:
    if not isinstance(entry, dict):
        return ""
    return str(entry.get("id") or entry.get("name") or entry.get("variety") or "")


# --- checks inside the file --------------------------------------------------------------------


def _own_checks(table: PlanTable, file: str) -> tuple[Finding, ...]:
    findings = [*_repeated_ids(table, file), *_empty_places(table, file)]
    if table.site.normals is not None:
        findings += _normals_checks(table.site.normals, file)
    if table.aim.far_m <= table.aim.near_m:
        findings.append(
            Finding(
                "error", "wrong-value",
                say("far_m is {far:g} and must be more than near_m, {near:g}",
                    far=table.aim.far_m, near=table.aim.near_m),
                file, "aim, far_m",
            )
        )  # fmt: skip
    named = Counter((entry.species, entry.name) for entry in table.variety)
    findings += [
        Finding("error", "repeated-variety",
                say('"{name}" is described {number} times', name=name, number=n), file, "variety",
                cure=say("keep one [[variety]] for it"))
        for (_, name), n in named.items() if n > 1
    ]  # fmt: skip
    return tuple(findings)


def neighbour_ids(table: PlanTable) -> list[str]:
    """Ids of the neighbours' trees; one without an id is called by its place in the plan."""
    numbered = enumerate(table.neighbour, start=1)
    return [entry.id or f"neighbour-{number}" for number, entry in numbered]


def _repeated_ids(table: PlanTable, file: str) -> list[Finding]:
    limbs = [limb for tree in table.tree for limb in tree.limb]
    # The log knows former and lost ids too: none of them may come to mean something else.
    former = [name for limb in limbs for name in limb.former_ids]
    former += [name for tree in table.neighbour for name in tree.former_ids]
    lost = [name for tree in table.tree for name in tree.lost_limbs] + table.site.lost_neighbours
    kinds = {
        "limb": [*(limb.id for limb in limbs), *neighbour_ids(table), *former, *lost],
        "tree": [tree.id for tree in table.tree],
    }
    return [
        repeated_id(name, count, kind, file)
        for kind, names in kinds.items()
        for name, count in Counter(names).items()
        if count > 1
    ]


def repeated_id(name: str, count: int, kind: str, file: str) -> Finding:
    """That an id stands for several entries."""
    return Finding(
        "error", "repeated-id",
        say('the id "{name}" stands {number} times', name=name, number=count), file, kind,
        cure=say("give every tree, limb and neighbour an id of its own; former and lost ones "
                 "count"),
    )  # fmt: skip


def _empty_places(table: PlanTable, file: str) -> list[Finding]:
    findings = [empty_tree(tree.id, file) for tree in table.tree if not tree.limb]
    if not table.tree:
        findings.append(
            Finding("error", "no-tree", say("the plan has no tree"), file,
                    cure=say("add a [[tree]] with id and species, and its limbs as [[tree.limb]]"))
        )  # fmt: skip
    return findings


def empty_tree(name: str, file: str) -> Finding:
    """That a tree stands without a limb."""
    return Finding(
        "error", "empty-tree", say("this tree has no limb"), file, f'tree "{name}"',
        cure=say("add a [[tree.limb]] with id and variety; the tree's own variety is a limb "
                 "too"),
    )  # fmt: skip


def _normals_checks(normals: NormalsTable, file: str) -> list[Finding]:
    findings = []
    pairs = list(zip(normals.tmin_c, normals.tmax_c, strict=True))
    crossed = [month + 1 for month, (low, high) in enumerate(pairs) if low >= high]
    if crossed:
        findings.append(
            Finding("error", "tmin-above-tmax",
                    say("tmin_c is not below tmax_c in month {months}", months=listing(crossed)),
                    file, "site, normals")
        )  # fmt: skip
    # No month anywhere has a mean maximum above 50 °C: typed Fahrenheit, most likely.
    hot = [value for pair in pairs for value in pair if value > 50 or value < -60]
    if hot:
        findings.append(
            Finding("error", "wrong-unit",
                    say("{value:g} cannot be a monthly mean in °C", value=hot[0]), file,
                    "site, normals", cure=say("give degrees Celsius: (°F − 32) / 1.8"))
        )  # fmt: skip
    return findings
