"""`pollinet schema`: what the JSON of a command's answer looks like, as JSON Schema 2020-12."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

import click

from pollinet.answers import KINDS, kind_of
from pollinet.answers.base import DIALECT
from pollinet.cli.common import print_lines, schema_title, stop
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.names import one_of


def schema_names() -> list[str]:
    """Names of all answers in JSON, sorted."""
    return sorted({*KINDS, *_untyped_names()})


def schema_of(name: str) -> dict[str, Any]:
    """One schema, whole in itself; `name` is one of `schema_names()`."""
    return kind_of(name).schema() if name in KINDS else _untyped_schema(name)


@click.command(
    epilog='Example: pollinet schema check. Each answer names its schema: "schema": '
    '"pollinet/check/1". The number grows when a program that reads the answer would have to '
    "change; new keys alone do not count. `bad-input` is what any command says with exit code 2."
)
@click.argument("command", required=False)
def schema(command: str | None) -> int:
    """Print the JSON schema of what COMMAND answers with --json; without it: list all."""
    names = schema_names()
    if command is None:
        print_lines([f"Schemas: {', '.join(names)}."])
        return 0
    if command not in names:
        message = say('"{command}" has no answer in JSON', command=command)
        problem = Finding("error", "unknown-schema", message, place="COMMAND",
                          cure=one_of(command, names))  # fmt: skip
        stop([problem], as_json=False)
    print(json.dumps(schema_of(command), ensure_ascii=False, indent=2))
    return 0


# --- answers that have no type yet; all from here on goes with the last file in `schemas` --------

FOLDER = files("pollinet.cli").joinpath("schemas")
"""Where their schemas stand, one file each."""

SHARED = "_shared"
"""The parts that several of them have in common."""


def _untyped_names() -> set[str]:
    found = FOLDER.iterdir() if FOLDER.is_dir() else ()
    return {file.name.removesuffix(".json") for file in found} - {SHARED}


def _untyped_schema(name: str) -> dict[str, Any]:
    """A schema from its file, with its name, its key in the answer, and the shared parts."""
    body, title = _file(name), schema_title(name)
    key = {"const": title, "description": "Name and version of this schema."}
    body["properties"] = {"schema": key, **body["properties"]}
    body["required"] = ["schema", *body["required"]]
    head = {"$schema": DIALECT, "$id": f"urn:{title}"}
    return {**head, **body, "$defs": _used(body, _file(SHARED)["$defs"])}


def _file(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(FOLDER.joinpath(f"{name}.json").read_text(encoding="utf-8"))
    return data


def _used(part: Any, shared: dict[str, Any]) -> dict[str, Any]:
    """The shared parts that a part of a schema refers to, and those that these refer to."""
    if isinstance(part, list):
        part = dict(enumerate(part))
    if not isinstance(part, dict):
        return {}
    found: dict[str, Any] = {}
    if isinstance(target := part.get("$ref"), str):
        name = target.rpartition("/")[2]
        found = {name: shared[name], **_used(shared[name], shared)}
    for inner in part.values():
        found |= _used(inner, shared)
    return dict(sorted(found.items()))
