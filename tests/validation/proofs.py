"""What the proofs that are run by hand have in common: their options, and the table they write."""

from __future__ import annotations

import argparse
import csv
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any


def proven(
    doc: str | None, prove: Callable[[Path], Iterable[Sequence[Any]]], table: Path,
    headings: Sequence[str],
) -> tuple[Path, list[Any]]:  # fmt: skip
    """Prove on the folder of `--cultivars`, print the rows, and write them where asked.

    Returns the folder, and the rows.
    """
    options = argparse.ArgumentParser(description=doc)
    options.add_argument("--cultivars", type=Path, required=True)
    options.add_argument("--write", action="store_true")
    given = options.parse_args()
    rows = list(prove(given.cultivars))
    for row in rows:
        print(*row)
    if given.write:
        write_table(table, headings, rows)
    return given.cultivars, rows


def write_table(file: Path, headings: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Write a table of figures."""
    with file.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, lineterminator="\n").writerows([headings, *rows])
