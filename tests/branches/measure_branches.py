"""Measure which branches of the package no test takes, and keep what was judged of each.

    pip install pytest-cov
    python tests/branches/measure_branches.py

Runs the whole suite with branch coverage (an hour, two processes) and makes `branches.csv` anew: a
row for each branch that no test took. With `--report FILE` the suite is not run: FILE is what
`pytest --cov=pollinet --cov-branch --cov-report=json:FILE` left.

Only what runs in the processes of the tests themselves is counted: not what they start, nor what
numba compiled.

`line` is where a branch leaves, `to` where it would go (negative: out of the function that begins
there), `source` the first letters of the line that it leaves, `judgement` one of `JUDGEMENTS`, and
`why` a word on it; of a `process` the tests that take it. A new row has no judgement: read the
code, write a test where a wrong answer or lost data is possible, and judge the others. Judgements
of before are found again by file, function and source, so that lines may move.
"""

from __future__ import annotations

import argparse
import ast
import csv
import json
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, NamedTuple

HERE = Path(__file__).resolve().parent
CHECKOUT = HERE.parent.parent
TABLE = HERE / "branches.csv"
LETTERS = 80

JUDGEMENTS = {
    "process": "taken by tests, but in a process of its own: terminal, signals, a killed run",
    "wording": "chooses another sentence or mark of a kind that is tested; nothing is worked out",
    "defence": "no input leads there: a promise of the program's own, or the end of a full `match`",
    "platform": "another system, another library or a build script leads there",
    "time": "hangs on the clock or on a bound of work: the same answer later, or one that says so",
    "rare": "may happen and was read, not tested: the harm of a fault there would be small",
    "test": "a wrong answer or lost data is possible there: must be tested yet",
}
"""What a branch that no test takes may be; kept in `branches.csv` by these words."""


class Row(NamedTuple):
    """One branch that no test took."""

    file: str
    line: int
    to: int
    function: str
    source: str
    judgement: str = ""
    why: str = ""

    @property
    def key(self) -> tuple[str, str, str]:
        """By what it is found again."""
        return self.file, self.function, self.source


def shown(line: str) -> str:
    """The first letters of a line of source."""
    return line.strip()[:LETTERS].rstrip()


def functions(text: str) -> dict[int, str]:
    """The innermost function or class of each line, by its name with dots."""
    found: dict[int, str] = {}

    def visit(node: ast.AST, name: str) -> None:
        for child in ast.iter_child_nodes(node):
            here = name
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
                here = f"{name}.{child.name}".lstrip(".")
                found.update(dict.fromkeys(range(child.lineno, (child.end_lineno or 0) + 1), here))
            visit(child, here)

    visit(ast.parse(text), "")
    return found


def rows_of(report: Mapping[str, Any], checkout: Path) -> Iterator[Row]:
    """The branches not taken of a JSON report of coverage.py, by file and line."""
    for file, told in sorted(report["files"].items()):
        if not told["missing_branches"]:
            continue
        text = (checkout / file).read_text(encoding="utf-8")
        lines, names = text.splitlines(), functions(text)
        for line, to in sorted(told["missing_branches"]):
            yield Row(file, line, to, names.get(line, ""), shown(lines[line - 1]))


def judged(new: Iterable[Row], old: Iterable[Row]) -> Iterator[Row]:
    """New rows with what was judged before; lines that are alike in one function share it."""
    told: dict[tuple[str, str, str], set[tuple[str, str]]] = defaultdict(set)
    for row in old:
        told[row.key].add((row.judgement, row.why))
    for row in new:
        known = told.get(row.key, set())
        judgement, why = next(iter(known)) if len(known) == 1 else ("", "")
        yield row._replace(judgement=judgement, why=why)


def read_rows(table: Path) -> list[Row]:
    """The rows of a table; none where there is no table yet."""
    if not table.exists():
        return []
    with table.open(encoding="utf-8", newline="") as stream:
        return [
            Row(**{**row, "line": int(row["line"]), "to": int(row["to"])})
            for row in csv.DictReader(stream)
        ]


def write_rows(table: Path, rows: Iterable[Row]) -> None:
    """Write the table."""
    with table.open("w", encoding="utf-8", newline="") as stream:
        out = csv.writer(stream, lineterminator="\n")
        out.writerow(Row._fields)
        out.writerows(rows)


def measured(report: Path) -> None:
    """Run the suite with branch coverage; its report as JSON goes to a file."""
    command = [sys.executable, "-m", "pytest", "--cov=pollinet", "--cov-branch"]
    command += [f"--cov-report=json:{report}"]
    subprocess.run(command, cwd=CHECKOUT, check=True)


def main(words: Sequence[str] | None = None) -> int:
    """Make the table anew; returns the exit code."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--report", type=Path, help="a report that is there already")
    given = parser.parse_args(words).report
    with TemporaryDirectory() as folder:
        report = given or Path(folder) / "coverage.json"
        if given is None:
            measured(report)
        told = json.loads(report.read_text(encoding="utf-8"))
    rows = list(judged(rows_of(told, CHECKOUT), read_rows(TABLE)))
    write_rows(TABLE, rows)
    total = told["totals"]
    print(f"{total['missing_branches']} of {total['num_branches']} branches not taken, "
          f"{sum(not row.judgement for row in rows)} not judged")  # fmt: skip
    return 0


if __name__ == "__main__":
    sys.exit(main())
