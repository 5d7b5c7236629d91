"""`pollinet schema`: what the JSON of a command's answer looks like, as JSON Schema 2020-12."""

from __future__ import annotations

from importlib.resources import files

import click

from pollinet.cli.common import print_lines, stop
from pollinet.findings import Finding
from pollinet.readers.names import suggest


def schema_names() -> list[str]:
    """Names of all answers in JSON, sorted."""
    folder = files("pollinet.cli").joinpath("schemas")
    return sorted(file.name.removesuffix(".json") for file in folder.iterdir())


def schema_text(name: str) -> str:
    """Text of one schema; `name` is one of `schema_names()`."""
    return files("pollinet.cli").joinpath("schemas", f"{name}.json").read_text(encoding="utf-8")


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
        near = ", ".join(suggest(command, names, 3) or names)
        stop([Finding("error", "unknown-schema", f'"{command}" has no answer in JSON',
                      place="COMMAND", cure=f"nearest: {near}")], as_json=False)  # fmt: skip
    print(schema_text(command), end="")
    return 0
