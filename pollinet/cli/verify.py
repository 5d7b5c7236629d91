"""`pollinet verify`: ask the question of an answer again, and say what differs."""

from __future__ import annotations

import io
import json
import shlex
import tempfile
from collections.abc import Mapping
from contextlib import redirect_stdout
from pathlib import Path
from typing import Any, NoReturn

import click

from pollinet import __version__
from pollinet.answers import KINDS, kind_of
from pollinet.answers.base import MadeOf
from pollinet.answers.made_of import COMMANDS, Difference, Verified, verified
from pollinet.cli import load
from pollinet.cli.common import (
    BadInput,
    FilePath,
    give,
    in_language,
    json_option,
    print_lines,
    stop,
)
from pollinet.files import read_whole
from pollinet.findings import Finding
from pollinet.language import _
from pollinet.messages import say
from pollinet.readers.files import unreadable

WRITTEN = ("out", "csv", "chart", "picture")
"""Options by which a command writes a file as well: nothing is written here."""

SHOWN = 12
"""Letters of a digest that are told: own convention."""


@click.command(
    epilog="Example: pollinet verify check.json, after `pollinet check plan.toml --json > "
    "check.json`. Exit codes: 0 the same, 1 something differs, 2 bad input."
)
@click.argument("file", type=FilePath())
@click.option(
    "--plan", type=FilePath(), metavar="PLAN",
    help="Where the plan is now, if it is not where it was.",
)  # fmt: skip
@json_option
@in_language
def verify(file: Path, plan: Path | None, as_json: bool) -> int:
    """Ask again what the answer in FILE was given to, and say whether it is the same.

    FILE is any answer about a plan that was given with --json. What differs is told: which input
    changed, which version, and which values. Nothing is written.
    """
    then, made = _answer_in(file, as_json)
    at = _plan_of(file, made, plan, as_json)
    now = _asked_again(then, made, at, file, as_json)
    line = shlex.join(["pollinet", made.command, str(at), *made.options])
    answer = verified(then, now, made, line)
    return give(answer, lambda: show_verified(answer), as_json=as_json)


def show_verified(answer: Verified) -> None:
    """Print whether it is the same, and what is not."""
    print_lines([answer.answer, f"$ {answer.asked}"])
    lines = [_digest_line(one) for one in answer.inputs]
    lines += [_line(_("version of {what}").format(what=one.what), one) for one in answer.versions]
    lines += [_line(one.what, one) for one in answer.values]
    more = answer.differing_values - len(answer.values)
    if more:
        lines.append(_("and {number} more values").format(number=more))
    if lines:
        print_lines(["", *(f"- {line}" for line in lines)])


def _line(what: str, one: Difference) -> str:
    return f"{what}: {one.then or '–'} → {one.now or '–'}"


def _digest_line(one: Difference) -> str:
    names = {
        "plan": _("the plan"),
        "log": _("the log"),
        "weather": _("the weather"),
        "catalogue": _("the shipped catalogue"),
        "seed": _("the seed"),
    }
    short = Difference(one.what, one.then[:SHOWN], one.now[:SHOWN])
    return _line(names.get(one.what, one.what), short)


# --- what was answered -------------------------------------------------------------------------


def _answer_in(file: Path, as_json: bool) -> tuple[dict[str, Any], MadeOf]:
    """The answer of before as plain data, with what it was made of."""
    try:
        text = read_whole(file).decode("utf-8-sig")
    except (OSError, UnicodeError) as problem:
        stop([unreadable(problem, str(file))], as_json)
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        data = None
    schema = data.get("schema") if isinstance(data, dict) else None
    parts = schema.split("/") if isinstance(schema, str) else []
    if len(parts) != 3 or parts[0] != "pollinet" or not parts[2].isdecimal():
        cure = say("give a file that holds what a command said with --json")
        _refuse(file, "not-an-answer", say("this is no answer of this program"), cure, as_json)
    assert isinstance(data, dict)
    told = data.get("made_of")
    if parts[1] not in KINDS or int(parts[2][:9]) > kind_of(parts[1]).VERSION or _is_newer(told):
        message = say("this answer was given by a newer version of this program")
        cure = say("renew the program: pip install --upgrade pollinet")
        _refuse(file, "newer-version", message, cure, as_json)
    if told is None:
        message = say("this answer does not tell what it was made of")
        cure = say("only what is asked of a plan can be asked again; ask it anew with --json")
        _refuse(file, "nothing-to-verify", message, cure, as_json)
    try:
        made = kind_of(parts[1]).from_data(data).made_of
    except ValueError:
        made = None
    if made is None or made.command not in COMMANDS:
        message = say("this answer is not as it was written")
        cure = say("ask anew with --json")
        _refuse(file, "changed-answer", message, cure, as_json)
    return data, made


def _is_newer(told: Any) -> bool:
    try:
        found = told["versions"]["pollinet"]
        return _numbers(found) > _numbers(str(__version__))
    except (TypeError, KeyError, ValueError):
        return False


def _numbers(version: str) -> tuple[int, ...]:
    """The numbers of a version, `1.20.3` as (1, 20, 3); ValueError for others."""
    return tuple(int(part[:9]) for part in version.split(".")[:3])


def _refuse(file: Path, code: str, message: str, cure: str, as_json: bool) -> NoReturn:
    stop([Finding("error", code, message, str(file), cure=cure)], as_json)


def _plan_of(file: Path, made: MadeOf, given: Path | None, as_json: bool) -> Path:
    """Where the plan is: as told, else as it was typed, from here or from where the answer is."""
    typed = Path(made.plan)
    places = [given] if given else [typed, file.parent / typed, file.parent / typed.name]
    folder = made.command == "collection"
    found = next((p for p in places if (p.is_dir() if folder else p.is_file())), None)
    if found is None:
        message = say("there is no such plan")
        cure = say("tell where it is now: pollinet verify {file} --plan PLAN", file=str(file))
        stop([Finding("error", "missing-plan", message, str(given or typed), cure=cure)], as_json)
    return found


# --- asked again -------------------------------------------------------------------------------


def _asked_again(
    then: Mapping[str, Any], made: MadeOf, plan: Path, file: Path, as_json: bool
) -> dict[str, Any]:
    """The answer that the same question is given now, as plain data."""
    command = load(made.command)
    name = f"./{plan}" if str(plan).startswith("-") else str(plan)
    said = io.StringIO()
    with tempfile.TemporaryDirectory() as aside:
        more = ["--json"]
        if made.command == "report":
            more += ["--out", str(Path(aside) / Path(str(then.get("file"))).name)]
        try:
            words = [name, *made.options, *more]
            with command.make_context(f"pollinet {made.command}", words) as context:
                if made.command != "report":
                    context.params |= {key: None for key in WRITTEN if key in context.params}
                if not Path(context.params.get("weather") or plan).exists():
                    context.params["weather"] = _beside(context.params["weather"], file, plan)
                with redirect_stdout(said):
                    command.invoke(context)
        except BadInput as problem:
            stop(problem.findings, as_json)
        except (click.ClickException, click.exceptions.Exit) as problem:
            reason = problem.message if isinstance(problem, click.ClickException) else "--help"
            message = say("its question cannot be asked again: {reason}", reason=reason)
            stop([Finding("error", "cannot-ask", message, str(file))], as_json)
    now: dict[str, Any] = json.loads(said.getvalue())
    if made.command == "report":
        now["file"] = then.get("file")
    return now


def _beside(weather: Path, file: Path, plan: Path) -> Path:
    """A weather file that is not where it was typed: beside the answer, or beside the plan."""
    places = (file.parent / weather, file.parent / weather.name, plan.parent / weather.name)
    return next((place for place in places if place.is_file()), weather)
