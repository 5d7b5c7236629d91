"""Odd options: every option and argument of every command, told by its type, made odd.

The commands are asked what options they have, so that a new one is tried as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import click
from oddities import Case, Expect

from pollinet.cli import COMMANDS, load

SKIPPED = ("page", "start", "completion")
"""Commands that serve, ask or print a script: tried in processes of their own."""

NEEDED: dict[str, tuple[str, ...]] = {
    "calendar": ("--out", "OUT/x.svg"),
    "chart": ("--out", "OUT"),
    "report": ("--out", "OUT/x.html"),
    "labels": ("--out", "OUT/x.pdf"),
    "demo": ("--out", "OUT"),
    "plan add-limb": ("--tree=cherry", "--id=new", "--variety=Van"),
    "plan move": ("--to=cherry",),
    "plan add-neighbour": ("--species=sweet cherry", "--variety=Van", "--metres=20"),
    "plan add-scion": ("--species=sweet cherry", "--variety=Van"),
    "variety add": ("--species=sour cherry", "--folder", "FOLDER"),
}
"""What a command cannot do without, beside its arguments."""

ARGUMENTS: dict[str, tuple[str, ...]] = {
    "plan": ("PLAN",),
    "limb": ("low",),
    "name": ("Van",),
    "donor": ("Van",),
    "receiver": ("Regina",),
    "species": ("sour cherry",),
    "variety": ("Van",),
    "old": ("low",),
    "new": ("lowest limb",),
    "neighbour": ("fence",),
    "answer": ("check",),
    "names": ("low",),
    "kinds": ("calendar",),
}

ODD_NUMBERS = (
    "x",
    "",
    "nan",
    "inf",
    "-inf",
    "1e400",
    "-1e9",
    "1e12",
    "9" * 400,
    "1,5",
    "½",
    "1_0x",
    "--json",
    "\x1b[31m",
)
ODD_TEXTS = (
    "",
    " ",
    "\x1b[31m",
    "a\u202eb",
    "nobody at all",
    "x" * 5000,
    "=1+1",
    "../../x",
    "a\nb",
    "\x9b31m",
    "all",
)
ODD_CHOICES = ("", "nonsense", "\x1b[31m", "x" * 5000, "1")
ODD_FILES = ("", "/dev/zero", "/dev/full", "no/such/place/x", "\x1b[31m", "x" * 5000)


def commands() -> Iterator[tuple[str, click.Command]]:
    """Every command and part of one, by its words."""
    for name in COMMANDS:
        if name in SKIPPED:
            continue
        command = load(name)
        if isinstance(command, click.Group):
            context = click.Context(command)
            for part in command.list_commands(context):
                found = command.get_command(context, part)
                assert found is not None
                yield f"{name} {part}", found
        else:
            yield name, command


def line_of(name: str, command: click.Command) -> list[str]:
    """A command line without its options."""
    words = name.split()
    for parameter in command.params:
        if isinstance(parameter, click.Argument) and parameter.required:
            words += ARGUMENTS.get(parameter.name or "", ("low",))
    return words


def odd_values(option: click.Option) -> tuple[Sequence[str], Expect]:
    """Values that an option of such a type cannot have."""
    kind = option.type
    if isinstance(kind, click.types.IntRange | click.types.IntParamType):
        return (*ODD_NUMBERS, "1.5"), "refused"
    if isinstance(kind, click.FloatRange | click.types.FloatParamType):
        return ODD_NUMBERS, "refused"
    if isinstance(kind, click.Choice):
        return ODD_CHOICES, "refused"
    if isinstance(kind, click.Path):
        return ODD_FILES, "any"
    return ODD_TEXTS, "any"


def cases() -> list[Case]:
    """All odd options."""
    return [*options(), *arguments(), *lines()]


def options() -> Iterator[Case]:
    """Each option of each command."""
    for name, command in commands():
        for option in command.params:
            if not isinstance(option, click.Option) or option.is_flag or option.name == "help":
                continue
            flag = max(option.opts, key=len)
            needed = [word for word in NEEDED.get(name, ()) if not word.startswith(f"{flag}=")]
            if flag in needed:
                place = needed.index(flag)
                del needed[place : place + 2]
            values, expect = odd_values(option)
            for value in values:
                if option.nargs == 2:
                    more: tuple[str, ...] = (flag, value, "0")
                else:
                    more = (f"{flag}={value}",)
                words = (*line_of(name, command), *needed, *more)
                named = flag if expect == "refused" else ""
                if name.startswith("plan add"):
                    # Told with all that is wrong in the changed plan, by the plan's own keys.
                    named = ""
                if isinstance(option.type, click.Path) and name != "fetch":
                    # These make the folder that they are told.
                    makes = flag == "--out" and name in ("demo", "chart") and value[:2] == "no"
                    told: Expect = "any" if makes else "refused"
                    yield Case("file option", f"{name} {flag} {value}", told, words)
                elif name != "fetch" or expect == "refused":
                    kind = {"refused": "typed option"}.get(expect, "text option")
                    yield Case(kind, f"{name} {flag} {value}", expect, words, named=named)


def arguments() -> Iterator[Case]:
    """Each argument of each command."""
    for name, command in commands():
        if name == "fetch":
            continue
        for parameter in command.params:
            if not isinstance(parameter, click.Argument):
                continue
            key = parameter.name or ""
            for value in ODD_FILES if key == "plan" else ODD_TEXTS:
                words = line_of(name, command)
                if not parameter.required:
                    words.append(value)
                else:
                    right = ARGUMENTS.get(key, ("low",))[0]
                    words[words.index(right)] = value
                new = key in ("new",) and value in ("all", "=1+1", "../../x", "nobody at all")
                free = (key in ("name",) and name == "variety add") or key == "answer"
                expect: Expect = "any" if new or free else "refused"
                line = (*words, *NEEDED.get(name, ()))
                if name == "variety add":
                    line = (*line, "--ploidy=4")
                yield Case("argument", f"{name} {key} {value}", expect, line)
        words = line_of(name, command)
        yield Case("argument", f"{name} too many", "any", (*words, *["surplus"] * 3))
        yield Case("argument", f"{name} none", "any", tuple(name.split()))
        yield Case(
            "argument",
            f"{name} unknown option",
            "refused",
            (*words, "--no-such"),
            named="--no-such",
        )


def lines() -> Iterator[Case]:
    """Command lines that are none."""
    for word in (
        "chekc",
        "",
        "-",
        "--",
        "\x1b[31m",
        "x" * 5000,
        "Check",
        "--no-such",
        "a\u202eb",
        "plan.toml",
        "=1",
        "../check",
        "cli",
        "common",
        "__init__",
    ):
        yield Case("line", f"command {word}", "refused", (word,))
    for option in ("--level", "--never", "--must"):
        yield Case("line", f"option at the end {option}", "refused", ("cover", "PLAN", option))
    for name, words in {
        "wanted and refused": ("cover", "PLAN", "--must=Stella", "--never=Stella"),
        "a thousand options": ("cover", "PLAN", *["--never=Nobody"] * 1000),
        "a thousand names": ("suits", "PLAN", *["Nobody"] * 1000),
        "no file": ("check", "nothing.toml"),
        "a folder": ("check", "/"),
        "own text for a picture": ("calendar", "PLAN", "--out", "PLAN"),
        "over the log": ("check", "PLAN", "--csv", "LOG"),
        "over the plan": ("record", "PLAN", "--sheet", "PLAN"),
        "a sheet over the log": ("record", "PLAN", "--sheet", "LOG"),
        "the log into the log": ("record", "PLAN", "--from", "PLAN"),
    }.items():
        yield Case("line", name, "refused", words)
