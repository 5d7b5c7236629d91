"""Arguments → study → output. Each command is a module of its own, loaded when it is called."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import click

COMPLETION = "_POLLINET_COMPLETE"
"""Variable by which a shell asks for words, see `pollinet.cli.completion`."""

NEW_OBJECTS = 200_000
"""How many objects a command makes between two searches for rings of those that nothing names any
more. Own convention: with Python's own 700 a short command takes a tenth longer."""

COMMANDS = {
    "demo": "write an invented garden and run the main job on it",
    "start": "write a plan of your own garden, asking for what it needs",
    "plan": "change the plan: add, move, rename or remove limbs, neighbours, scions",
    "check": "which limb has a viable pollen donor, in how many winters, and why not",
    "cover": "the smallest set of varieties to graft so that every limb has a donor",
    "calendar": "draw the bloom calendar of the garden",
    "donors": "all donors of one limb, present and possible, and why the others are none",
    "pollinizer": "the one variety to add, on which tree, and a stop-gap for this spring",
    "triploids": "each triploid, its donor, and who serves that donor",
    "without": "what is bare when a limb or a neighbour's tree is lost",
    "diagnose": "why a limb does not crop, and the test that tells the causes apart",
    "lost-label": "which varieties a limb without a label may be, and what would tell them apart",
    "suits": "how a variety would fare here: chill, bloom, pollen, harvest, frost",
    "season": "the order of ripening, and what a longer picking season costs in pollination",
    "work": "the work of the coming twelve months, also as a calendar file",
    "balance": "which limbs grow away from the others, and how even a tree looks in spring",
    "record": "write down what was seen on a limb: bloom dates, clusters, fruits",
    "fit": "what the own bloom dates changed, and how good the forecast is",
    "page": "the garden in the browser: look, try, note, write",
    "report": "everything on paper: a page to print, or to read on a telephone",
    "chart": "draw all charts: calendar, network, matrix, winters, chill, harvest, tree",
    "labels": "tags for limbs and bags of scions, with QR codes, on sheets",
    "scions": "which wood to cut or to order, and what to mind",
    "graph": "the donor graph as GraphML, JSON or a CSV matrix",
    "variety": "all that is known of a variety; `variety add` for one of your own",
    "varieties": "list the varieties of a fruit by bloom, alleles, chill, and filter them",
    "cross": "may one variety pollinate another, allele by allele",
    "chill": "winter chill of the site against what the varieties need",
    "weather": "the weather record at a glance",
    "fetch": "download the daily weather record of the plan's site",
    "collection": "many gardens in one folder: who serves whom across fences, and one set for all",
    "rows": "compare layouts of pollinizer rows in an orchard",
    "verify": "ask the question of an answer again, and say what differs",
    "sites": "the same questions for thousands of places at once, with a map",
    "schema": "the JSON schema of a command's answer",
    "completion": "the script that lets your shell complete commands and ids",
}
"""Every command with its line in the overview, in the order a newcomer needs them."""

OVERVIEW = """\
Usage: pollinet COMMAND [ARGUMENTS]

Which limb of a fruit tree has a viable pollen donor here, and what to graft so that all have.
The whole input is one plan file; `pollinet demo` writes one to start from.

Commands:
{commands}

`pollinet COMMAND --help` explains a command, with an example.
Exit codes: 0 an answer, 1 some limb is not covered, 2 something in the input must be put right,
70 a defect of the program itself (130 and 141: stopped by you, or by the reader of the output).
"""


def overview() -> str:
    """The text of `pollinet --help`; made without importing anything, so that it is instant."""
    width = max(map(len, COMMANDS))
    lines = (f"  {name:<{width}}  {line}" for name, line in COMMANDS.items())
    return OVERVIEW.format(commands="\n".join(lines))


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; returns the exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        if arguments is None:
            if words[:1] != ["page"]:  # which runs for hours
                gc.set_threshold(NEW_OBJECTS)
            _listen_for_stop()
            _fill_closed_streams()
            from pollinet.cli.plain import rewrite_output

            rewrite_output()
            _keep_answers_apart()
        code = _answered(words)
        print(end="", flush=True)
        if arguments is None:
            # The process ends: Python need not look for rings in what goes all at once.
            gc.disable()
        return code
    except OSError as problem:
        _drop_what_is_left()
        # The reader (`| head`) has seen enough: end quietly, as other programs do.
        return 141 if isinstance(problem, BrokenPipeError) else 2
    except KeyboardInterrupt:
        # Also while modules load.
        return 130
    finally:
        if arguments is None:
            _end_at_once()


_stops: list[int] = []
"""Whether Ctrl-C was pressed in this process."""


def _listen_for_stop() -> None:
    import signal

    def stop(number: int, frame: object) -> None:
        _stops.append(number)
        raise KeyboardInterrupt

    # Only the first thread may; where it is ignored (`nohup`), it stays so.
    with suppress(ValueError):
        if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
            signal.signal(signal.SIGINT, stop)


def _end_at_once() -> None:
    """Let Ctrl-C end the process without a word while Python tidies up after the last word."""
    import signal

    with suppress(ValueError):
        if signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
            signal.signal(signal.SIGINT, signal.SIG_DFL)


def _answered(words: list[str]) -> int:
    """Run a command and show what went wrong; a reader that has gone is left to `main`."""
    try:
        code = _run(words)
        print(end="", flush=True)
        return code
    except BrokenPipeError:
        raise
    except OSError as problem:
        return _unwritten(problem, as_json="--json" in words)
    except Exception:
        if _stops:
            # Libraries make faults of their own of it, such as that one of them cannot be loaded.
            return 130
        # 1 would be an answer: a defect must not pass for one.
        import traceback

        traceback.print_exc()
        return 70


def _fill_closed_streams() -> None:
    """Lead streams that were closed (`>&- 2>&-`) to nowhere.

    Else `print` would write errors among the answers, and a file that is opened next would take a
    closed stream's number, into which libraries in C write.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            # The lowest number that is free: this one.
            os.open(os.devnull, os.O_RDWR)
    for number, name in enumerate(("stdin", "stdout", "stderr")):
        if getattr(sys, name) is None:
            mode = "w" if number else "r"
            setattr(sys, name, open(number, mode, encoding="utf-8", closefd=False))  # noqa: SIM115


def _drop_what_is_left() -> None:
    """Lead a stream that takes nothing to nowhere, as Python flushes both once more at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            print(end="", file=stream, flush=True)
        except OSError:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, stream.fileno())
            os.close(nowhere)


def _keep_answers_apart() -> None:
    """Leave standard output to the answers alone, for as long as this process lives.

    Libraries in C write past `sys.stdout`. HiGHS 1.12 prints a line of its debugging, whatever its
    options say, when it has to repair a solution that its presolve or a heuristic found. So the
    answers get a way of their own to where standard output went, and what is written to the old
    way leads nowhere. Done once, before anything else runs, it needs no lock between threads.
    """
    old = sys.stdout
    try:
        if old.fileno() != 1:
            return
    except (AttributeError, OSError, ValueError):
        # Closed, or not a file.
        return
    old.flush()
    own = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.close(nowhere)
    sys.stdout = open(own, "w", encoding=old.encoding, errors=old.errors, closefd=False)  # noqa: SIM115


def load(name: str) -> click.Command:
    """The command of a name of the table; its module is imported now."""
    from importlib import import_module

    module = name.replace("-", "_")
    command: click.Command = getattr(import_module(f"pollinet.cli.{module}"), module)
    return command


def _run(words: list[str]) -> int:
    if asked := os.environ.get(COMPLETION):
        from pollinet.cli.completion import answer

        return answer(asked)
    if not words or words[0] in ("--help", "-h", "help"):
        print(overview(), end="")
        return 0 if words else 2
    if words[0] == "--version":
        from pollinet import __version__

        print(f"pollinet {__version__}")
        return 0
    if words[0] not in COMMANDS:
        print(_unknown(words[0]), file=sys.stderr)
        return 2
    return _command(words[0], words[1:])


def _command(name: str, words: list[str]) -> int:
    from io import StringIO

    import click

    from pollinet.cli.common import BadInput
    from pollinet.errors import Unfit
    from pollinet.letters import seen

    command = load(name)
    try:
        # Not `command.main`: it ends with 1 where the reader of the output has gone.
        # Its words are taken off the list one by one.
        with command.make_context(f"pollinet {name}", list(words)) as context:
            result = command.invoke(context)
    except click.exceptions.Exit as done:
        return done.exit_code
    except click.ClickException as problem:
        # What was typed stands in it.
        told = StringIO()
        problem.show(told)
        print(seen(told.getvalue()), end="", file=sys.stderr)
        return 2
    except Unfit as problem:
        BadInput(problem.findings, "--json" in words).show()
        return 2
    except (click.exceptions.Abort, KeyboardInterrupt, EOFError):
        return 130
    return result if isinstance(result, int) else 0


def _unwritten(problem: OSError, *, as_json: bool) -> int:
    """Show that a file cannot be written (readers find for themselves what cannot be read)."""
    from pollinet.cli.common import BadInput
    from pollinet.files import cannot_write

    BadInput([cannot_write(problem)], as_json).show()
    return 2


def _unknown(word: str) -> str:
    from pollinet.letters import shortened
    from pollinet.readers.names import LIKE_A_WORD, suggest

    near = suggest(word, COMMANDS, 1, least=LIKE_A_WORD)
    hint = f"did you mean `pollinet {near[0]}`?" if near else "see `pollinet --help`"
    return f'pollinet: there is no command "{shortened(word)}"; {hint}'
