"""`pollinet schema`: what the JSON of a command's answer looks like, as JSON Schema 2020-12."""

from __future__ import annotations

import json
from typing import Any

import click

from pollinet.answers import KINDS, kind_of
from pollinet.cli.common import print_lines, stop
from pollinet.cli.plain import print_json
from pollinet.findings import Finding
from pollinet.messages import say
from pollinet.readers.names import one_of


def schema_names() -> list[str]:
    """Names of all answers in JSON, sorted."""
    return sorted(KINDS)


def schema_of(name: str) -> dict[str, Any]:
    """One schema, whole in itself; `name` is one of `schema_names()`."""
    return kind_of(name).schema()


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
    print_json(json.dumps(schema_of(command), ensure_ascii=False, indent=2), end="\n")
    return 0
