"""What the commands share: opening a plan, showing findings, tables and JSON."""

from __future__ import annotations

import os
import shutil
import sys
import threading
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from functools import wraps
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn
from unicodedata import east_asian_width

import click

from pollinet import messages
from pollinet.cli.plain import output_letters, print_json
from pollinet.errors import Unfit
from pollinet.files import (
    LOG_NAME,
    cannot_write,
    garden_locked,
    made_by,
    no_formula,
    refusal,
    write_whole,
)
from pollinet.findings import Finding, has_errors
from pollinet.language import ENGLISH, LANGUAGES, chosen, ngettext, speaking
from pollinet.letters import hidden_in, seen
from pollinet.messages import say
from pollinet.readers import plan_bounds
from pollinet.readers.names import is_other_name, names_together
from pollinet.readers.typed_numbers import degrees, value_of
from pollinet.wording.sentences import bad_input_answer, finding_texts

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from pollinet.answers.base import Answer
    from pollinet.study import Study

WIDTH = 100
"""Widest table, in columns: what a terminal and a printed page can both hold."""

PATIENCE_S = 1.0
"""Work that is done sooner needs no word about it. [s]"""


def plan_files(context: click.Context, parameter: click.Parameter, typed: str) -> list[str]:
    """Folders and TOML files that begin as typed, for the completion of the shell."""
    head = typed[: typed.rfind("/") + 1]
    folder = Path(head or ".")
    found = sorted(folder.iterdir()) if folder.is_dir() else []
    return [
        f"{head}{path.name}{'/' * path.is_dir()}"
        for path in found
        if f"{head}{path.name}".startswith(typed) and (path.is_dir() or path.suffix == ".toml")
    ]


def plan_ids(context: click.Context, parameter: click.Parameter, typed: str) -> list[str]:
    """Ids of limbs and neighbours of the plan on the line, for the completion of the shell."""
    import tomllib

    from pollinet.editing import spots

    try:
        data = tomllib.loads(Path(context.params["plan"]).read_text(encoding="utf-8-sig"))
    except (KeyError, TypeError, OSError, ValueError, RecursionError):
        return []
    return [name for name, spot in spots(data) if spot.kind != "tree" and name.startswith(typed)]


class FilePath(click.Path):
    """The name of a file or folder; none is empty, or holds signs that steer a terminal."""

    def __init__(self, *, exists: bool = False, dir_okay: bool = True) -> None:
        super().__init__(exists=exists, dir_okay=dir_okay, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """The path; fails as any wrong option does."""
        if not os.fspath(value).strip():
            self.fail("the name of the file is empty.", param, ctx)
        if hidden_in(os.fspath(value)):
            self.fail(f"{seen(os.fspath(value))} is no name of a file.", param, ctx)
        return super().convert(value, param, ctx)


plan_argument = click.argument("plan", type=FilePath(), shell_complete=plan_files)
json_option = click.option("--json", "as_json", is_flag=True, help="Give the answer as JSON.")
csv_option = click.option(
    "--csv",
    type=FilePath(),
    metavar="FILE",
    help="Write the rows of the answer into this CSV file as well.",
)
weather_option = click.option(
    "--weather",
    type=FilePath(),
    metavar="FILE",
    help="Use this weather record in place of the plan's own.",
)

form_option = click.option(
    "--for", "form", type=click.Choice(["screen", "paper", "telephone"]),
    help="Colours and width: for a screen (usual), in greys for A4 paper (usual for a PDF), or "
    "for a telephone.",
)  # fmt: skip

FIRST_YEAR, LAST_YEAR = plan_bounds.YEARS
"""Years that a plan may speak of."""

YEARS = click.IntRange(FIRST_YEAR, LAST_YEAR)


class FiniteRange(click.FloatRange):
    """A number in a range; `nan` and `inf` are none."""

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The number; fails as any wrong option does."""
        # A comma may stand before decimals or between thousands: it is not guessed.
        if isinstance(value, str) and "," in value and value_of(value) is not None:
            self.fail(f"{value} has a comma: use a point, as in 52.2.", param, ctx)
        found: float = super().convert(value, param, ctx)
        if not isfinite(found):
            self.fail(f"{value} is not a finite number.", param, ctx)
        return found

    def _describe_range(self) -> str:
        """The range in the help; empty where any number will do."""
        bounded = self.min is not None or self.max is not None
        return super()._describe_range() if bounded else ""


class Degrees(FiniteRange):
    """An angle on the globe: `-41.2`, `41,2 S`, `41° 12' S`.

    directions : `NORTH` or `EAST`. Bounds are looked at with the plan.
    """

    name = "degrees"

    def __init__(self, directions: Mapping[str, int]) -> None:
        super().__init__()
        self.directions = directions

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The angle, negative in the south and west; fails as any wrong option does."""
        found, problem = degrees(str(value), (-360, 360), self.directions)
        if found is None or problem is not None:
            told = "use a point; south and west are negative, as in -41.2"
            self.fail(f"{value!r} is no angle in degrees: {told}.", param, ctx)
        return found


warmer_option = click.option(
    "--warmer",
    type=FiniteRange(-5, 10),
    default=0.0,
    metavar="DEGREES",
    help="Tell also how the answer changes with every hour of the record this much warmer (°C).",
)


def in_language(command: Callable[..., int]) -> Callable[..., int]:
    """A command with the option `--language`; its answer in JSON is English all the same.

    English unless asked for, whatever the system's locale, so that scripts read what they expect.
    """

    @click.option(
        "--language", type=click.Choice(LANGUAGES), default=ENGLISH, envvar="POLLINET_LANGUAGE",
        show_default=True, show_envvar=True, help="Language of the answer.",
    )  # fmt: skip
    @wraps(command)
    def spoken(*words: Any, language: str, **options: Any) -> int:
        as_json = bool(options.get("as_json"))
        with speaking(ENGLISH if as_json else language):
            try:
                return command(*words, **options)
            except Unfit as problem:
                # Told in the language that is spoken here, which the caller no longer knows.
                raise BadInput(problem.findings, as_json) from problem

    return spoken


class BadInput(click.ClickException):
    """Something in the input must be put right: shown as findings, exit code 2."""

    exit_code = 2

    def __init__(self, findings: Iterable[Finding], as_json: bool) -> None:
        super().__init__("bad input")
        self.findings = tuple(findings)
        self.as_json = as_json
        self.language = chosen()

    def show(self, file: Any = None) -> None:
        """Findings on standard error, or as JSON on standard output."""
        if self.as_json:
            from pollinet.answers.bad_input import BadInput as BadInputAnswer

            print_json(BadInputAnswer(None, self.findings).to_json())
            return
        # It is shown after the command has ended, and with it the language that it spoke.
        with speaking(self.language):
            print(bad_input_answer(self.findings), file=sys.stderr)
            show_findings(self.findings)


_ASKED = "pollinet.asked"


def asks(study: Study) -> Study:
    """Keep the study that a command asks, so that `give` can tell what its answer was made of."""
    click.get_current_context().meta[_ASKED] = study
    return study


def opened(
    plan: Path,
    weather: Path | None = None,
    *,
    as_json: bool = False,
    warmer_c: float = 0.0,
    tells_names: bool = False,
) -> Study:
    """The study of a plan; raises `BadInput` where there is none.

    warmer_c : what `--warmer` asks for; without weather it cannot be told, which is noted. [°C]
    tells_names : whether the text of the answer tells itself what other names mean.

    Notes and warnings go to standard error, or into the data of an answer in JSON.
    """
    from pollinet.readers.observations import notes_to_come
    from pollinet.readers.plan_checks import late_years
    from pollinet.study import open_study

    result = open_study(plan, weather=weather)
    if result.study is None or has_errors(result.findings):
        raise BadInput(result.findings, as_json)
    study = result.study
    more = late_years(study.plan, date.today().year)
    more += notes_to_come(study.records.observations, date.today(), LOG_NAME)
    if warmer_c and study.winters is None:
        message = say("without weather there is nothing that --warmer could make warmer")
        cure = say("name a daily record as weather under [site], or leave --warmer out")
        more += (Finding("note", "nothing-to-warm", message, study.plan.file, cure=cure),)
    if not as_json:
        every = (*result.findings, *more)
        show_findings(one for one in every if not (tells_names and is_other_name(one)))
    return asks(replace(study, findings=(*study.findings, *more)) if more else study)


def stop(findings: Iterable[Finding], as_json: bool) -> NoReturn:
    """End the command with findings."""
    raise BadInput(findings, as_json)


def out_problem(
    out: Path, suffixes: Sequence[str], own_mark: bytes | None = None
) -> Finding | None:
    """Why a file cannot be written; None where it can. own_mark : see `files.refusal`."""
    if out.suffix.lower() not in suffixes:
        message = say('cannot write "{suffix}"', suffix=out.suffix or out.name)
        cure = say(
            "end the name of the file in {suffixes}", suffixes=messages.joined(suffixes, "or")
        )
        return Finding("error", "wrong-suffix", message, str(out), cure=cure)
    return refusal(out, own_mark) if out.parent.is_dir() else no_folder(out)


def no_folder(out: Path) -> Finding:
    """That the folder of a file to be written does not exist."""
    return Finding("error", "missing-folder", say("this folder does not exist"), str(out.parent))


def put(
    out: Path, content: bytes | Callable[[], bytes], own_mark: bytes, *, as_json: bool = False
) -> None:
    """Write a file of an answer; ends the command where it may not or cannot be written."""
    if problem := refusal(out, own_mark):
        stop([problem], as_json)
    try:
        write_whole(out, content() if callable(content) else content)
    except OSError as fault:
        stop([cannot_write(fault)], as_json)


def put_picture(
    figure: Figure, out: Path, *, title: str, description: str, purpose: str, as_json: bool = False
) -> None:
    """Write a picture as its suffix says; ends the command where that may not or cannot be."""
    from pollinet.charts.style import picture_bytes

    suffix = out.suffix.lower()
    put(
        out,
        lambda: picture_bytes(figure, suffix, title, description, purpose),
        made_by(purpose).encode(),
        as_json=as_json,
    )


def hold_garden(file: Path) -> None:
    """Let no other edit of the garden go on until the command ends; see `files.garden_locked`."""
    click.get_current_context().with_resource(garden_locked(file))


def show_findings(findings: Iterable[Finding]) -> None:
    """Print findings on standard error, one paragraph each, no wider than the terminal.

    What other names mean is told in one paragraph, and so is what is found at several places.
    """
    width = WIDTH
    if sys.stderr.isatty():
        width = min(width, shutil.get_terminal_size((WIDTH, 24)).columns)
    every = finding_texts(names_together(findings))
    for text in every[:MOST_FINDINGS]:
        for line in text.splitlines():
            print(wrapped(line, width, "      " if line.startswith(" ") else "  "), file=sys.stderr)
    rest = len(every) - MOST_FINDINGS
    if rest > 0:
        more = ngettext("… and {number} more thing.", "… and {number} more things.", rest)
        print(more.format(number=rest), file=sys.stderr)


MOST_FINDINGS = 50
"""So many are told in words; a program gets them all. Own convention."""


def wrapped(line: str, width: int = WIDTH, hanging: str = "") -> str:
    """A line broken between words, the later ones after `hanging`; no word is broken.

    A space that must not be broken at, as in the name of a file, is written as U+00A0.
    """
    import textwrap

    words = textwrap.wrap(line, width, subsequent_indent=hanging, break_on_hyphens=False,
                          break_long_words=False)  # fmt: skip
    return "\n".join(words).replace("\N{NO-BREAK SPACE}", " ")


def give(
    answer: Answer, show: Callable[[], None], *, as_json: bool, csv: Path | None = None
) -> int:
    """Give an answer as JSON or as text, and its rows as CSV where asked; returns the exit code.

    show : prints the answer as text.
    """
    if csv is not None:
        write_rows(answer, csv, as_json=as_json)
    if as_json:
        print_json(_with_made_of(answer).to_json())
    else:
        show()
    return answer.exit_code


def _with_made_of(answer: Answer) -> Answer:
    """An answer about a plan with what it was made of; any other as it is."""
    context = click.get_current_context()
    study = context.meta.get(_ASKED)
    place = context.params.get("plan", context.params.get("folder"))
    if study is None or place is None:
        return answer
    from pollinet.answers.made_of import COMMANDS, made_of

    name = context.command.name or ""
    if name not in COMMANDS:
        return answer
    made = made_of(study, name, asked_words(context), str(place))
    return replace(answer, made_of=made)


NO_QUESTION = frozenset({"plan", "folder", "as_json", "csv", "out", "chart", "picture", "form"})
"""Parameters that change nothing in an answer."""


def asked_words(context: click.Context) -> tuple[str, ...]:
    """What was asked beside the plan, as words of a command line: what is not usual, in order."""
    words: list[str] = []
    named: list[str] = []
    for one in context.command.params:
        value = context.params.get(one.name or "")
        if one.name in NO_QUESTION or (one.name == "language" and context.command.name != "report"):
            continue
        if value in (None, (), "", False) and not (value is False and one.secondary_opts):
            continue
        if value == one.get_default(context):
            continue
        values = value if isinstance(value, tuple) else (value,)
        if isinstance(one, click.Argument):
            named += map(str, values)
        elif isinstance(value, bool):
            words += [one.opts[0] if value else one.secondary_opts[0]]
        else:
            words += [word for inner in values for word in (one.opts[0], str(inner))]
    return (*words, *named)


def write_rows(answer: Answer, out: Path, *, as_json: bool) -> None:
    """Write the rows of an answer as CSV; ends the command where that cannot be."""
    if problem := out_problem(out, [".csv"]):
        stop([problem], as_json)
    frame = answer.to_frame().map(no_formula)
    text = frame.to_csv(index=False, lineterminator="\n")
    head = text.partition("\n")[0] + "\n"
    put(out, text.encode(), head.encode(), as_json=as_json)


@contextmanager
def working(text: str) -> Iterator[None]:
    """Say on the terminal what is being done, once it has taken a second; else say nothing."""
    if not sys.stderr.isatty():
        yield
        return
    line = threading.Timer(PATIENCE_S, print, [f"{text} …"], {"file": sys.stderr, "flush": True})
    line.daemon = True
    line.start()
    try:
        yield
    finally:
        line.cancel()


@dataclass(frozen=True)
class TextTable:
    """A plain table without colour. columns : heading, and how rich is to draw the column."""

    columns: tuple[tuple[str, Mapping[str, Any]], ...]
    rows: list[tuple[str, ...]] = field(default_factory=list)

    def add_row(self, *cells: str) -> None:
        """One more row, a cell for each column."""
        self.rows.append(cells)

    @property
    def cells(self) -> list[str]:
        """All cells, row by row."""
        return [cell for row in self.rows for cell in row]


def new_table(*columns: tuple[str, dict[str, Any]]) -> TextTable:
    """An empty table with these headings, see `TextTable`."""
    return TextTable(columns)


def table_width(widest: int = WIDTH) -> int:
    """How wide a table may be: as the terminal, and no wider than told; 100 into a file."""
    # Closed (`>&-`), standard output is None.
    if sys.stdout and sys.stdout.isatty():
        return max(NARROWEST, min(widest, shutil.get_terminal_size((WIDTH, 24)).columns))
    return min(WIDTH, widest)


def print_limbs(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a table of limbs: a mark, an id that is never broken, and cells; last of all reasons.

    Reasons stand in a column where there is room, else below the table. Where the others do not
    fit, and on a narrow terminal, each row becomes two lines: what is short, below it what is long.
    """
    width = table_width(WIDEST)
    filled = [i for i in range(len(headings)) if not i or any(row[i] for row in rows)]
    reasons = len(headings) - 1
    # Two blanks stand between columns.
    least = sum(max(len(x[i]) for x in (headings, *rows)) + 2 for i in filled if i != reasons)
    if width < TWO_LINES or least > width:
        _print_on_two_lines(headings, rows, width)
        return
    beside = reasons in filled and _stand_beside([row[reasons] for row in rows], width - least)
    shown = [i for i in filled if beside or i != reasons]
    whole: dict[str, Any] = {"no_wrap": True}
    table = new_table(*((headings[i], {} if i == reasons else whole) for i in shown))
    for row in rows:
        table.add_row(*(row[i] for i in shown))
    print_table(table, WIDEST)
    if reasons in filled and not beside:
        told = [f"- {row[1]}: {row[reasons]}" for row in rows if row[reasons]]
        print_lines(["", *told], width=width)


def _stand_beside(reasons: Sequence[str], room: int) -> bool:
    """Whether reasons have room in a column of their own: no word broken, two lines at most."""
    import textwrap

    return room >= LEAST_WHY and all(len(textwrap.wrap(why, room)) <= 2 for why in reasons)


def _print_on_two_lines(headings: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> None:
    # With their headings, which the legend goes by.
    short = headings[4:-2]
    for mark, limb, variety, bloom, against, winters, *later, donors, why in rows:
        told_short = zip(short, (against, winters, *later), strict=True)
        figures = [bloom, *(f"{heading}: {cell}" for heading, cell in told_short if cell)]
        below = "; ".join(filter(None, [donors and f"{headings[-2]}: {donors}", why]))
        name = f"{limb} ({variety})" if variety else limb
        told = [f"{mark or ' '} {name}: {', '.join(filter(None, figures))}"]
        print_lines([*told, *([f"    {below}"] if below else [])], width=width, hanging="    ")


WIDEST = 140
"""Tables of limbs follow the terminal up to this width. Own convention. [columns]"""

LEAST_WHY = 22
"""Room for reasons below which names are broken before them. Own convention. [columns]"""

TWO_LINES = 80
"""Below this width a row of limbs is told on two lines. Own convention. [columns]"""

NARROWEST = 40
"""No table is made for a narrower terminal. Own convention. [columns]"""


def print_table(table: TextTable, widest: int = WIDTH) -> None:
    """Print a table no wider than the terminal and no wider than told.

    Columns without content vanish. Where words would be broken, or rows be tall, each row is told
    in a few lines.
    """
    width = table_width(widest)
    rows = table.rows
    kept = [i for i in range(len(table.columns)) if not i or any(row[i] for row in rows)]
    told = TextTable(
        tuple((output_letters(table.columns[i][0]), table.columns[i][1]) for i in kept),
        [tuple(output_letters(row[i]) for i in kept) for row in rows],
    )
    drawn = _drawn(told, width)
    if _is_squeezed(told, drawn):
        _print_rows_as_lines(told, width)
        return
    # Trailing blanks only make copied tables ragged.
    print("\n".join(line.rstrip() for line in drawn))


def _drawn(table: TextTable, width: int) -> list[str]:
    """The lines of a table with a rule under the headings."""
    import io

    from rich import box
    from rich.console import Console
    from rich.table import Table

    grid = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, 1, 0, 0))
    for heading, options in table.columns:
        grid.add_column(heading, **{"overflow": "fold", **options})
    for row in table.rows:
        grid.add_row(*row)
    # Not straight to standard output: rich would end the program where its reader has gone, and
    # glue bars to the words where the terminal has no lines.
    drawn = io.StringIO(newline="")
    Console(
        file=drawn, width=width, highlight=False, markup=False, emoji=False, no_color=True
    ).print(grid)
    return output_letters(drawn.getvalue()).splitlines()


TALL = 3
"""Lines a row, on average, beyond which a table is hard to read. Own convention."""


def _is_squeezed(table: TextTable, drawn: Sequence[str]) -> bool:
    """Whether words are broken to fit their columns, or rows are tall."""
    headings = tuple(heading for heading, options in table.columns)
    words = Counter(
        word for row in (headings, *table.rows) for cell in row for word in cell.split()
    )
    whole = Counter(word for line in drawn for word in line.split())
    return bool(words - whole) or len(drawn) > TALL * (len(table.rows) + 1)


def _print_rows_as_lines(table: TextTable, width: int) -> None:
    """The first cell of each row, and below it the others with their headings."""
    for row in table.rows:
        headings = (heading for heading, options in table.columns[1:])
        cells = zip(headings, row[1:], strict=True)
        below = "; ".join(f"{name}: {cell}" if name else cell for name, cell in cells if cell)
        print_lines([row[0], f"    {below}"], width=width, hanging="    ")


def print_lines(
    lines: Iterable[str],
    echo: Callable[[str], Any] = print,
    width: int | None = None,
    hanging: str | None = None,
) -> None:
    """Print lines, each wrapped to the width of a table, or as wide as told.

    hanging : what stands before all lines but the first; None: as the line begins, and what is
        listed (`- `) under its words.
    """
    import textwrap

    width = table_width() if width is None else width
    for line in lines:
        indent = " " * (len(line) - len(line.lstrip()))
        below = indent + ("  " if line.lstrip().startswith("- ") else "")
        below = below if hanging is None else hanging
        # A Chinese letter takes two columns: another stands beside it while lines are broken.
        wide = "".join(x + FILLER * (east_asian_width(x) in "WF") for x in seen(line))
        words = textwrap.wrap(wide, width, subsequent_indent=below, break_on_hyphens=False)
        echo("\n".join(words).replace(FILLER, ""))


FILLER = "\uffff"
"""No letter (Unicode), and so in no text."""
