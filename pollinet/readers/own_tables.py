"""The grower's own tables: found beside a plan, and added to without touching what stands there.

New rows are first tried in a copy of the folder, read as the program reads it. Only when nothing
is wrong are the changed tables written, each to a temporary file that is then renamed.
"""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from pollinet.catalogue_files import catalogue_root
from pollinet.domain import Catalogue
from pollinet.files import OWN_FOLDER, reason_of, write_all
from pollinet.findings import Finding, has_errors
from pollinet.messages import say
from pollinet.readers.catalogue import load_catalogue, own_files
from pollinet.readers.text_tables import schema_of

DESCRIPTION = "datapackage.json"
"""File that describes the shipped tables as a whole."""


@dataclass(frozen=True)
class NewRow:
    """A row to be added. `place`: what the grower typed it as, for findings on it."""

    path: str
    cells: Mapping[str, str]
    place: str = ""


def own_folder_beside(folder: Path) -> Path | None:
    """The folder of own tables in `folder`; None where there is none, or it is the shipped one."""
    own = folder / OWN_FOLDER
    return own if own.is_dir() and not is_shipped(own) else None


def is_shipped(folder: Path) -> bool:
    """Whether this is the folder that came with the program, or a checkout's: nobody's own."""
    shipped, described = catalogue_root(), folder / DESCRIPTION
    if isinstance(shipped, Path) and folder.resolve() == shipped.resolve():
        return True
    # The description of the whole package stands in no grower's folder.
    return described.is_file() and described.read_bytes() == (shipped / DESCRIPTION).read_bytes()


def add_rows(
    folder: Path, fruit: str, rows: Sequence[NewRow], *, dry: bool = False
) -> tuple[Catalogue | None, tuple[Finding, ...]]:
    """Add rows to the own tables of one fruit, all of them or none; `dry`: only try them.

    Returns
    -------
    The catalogue with the new rows in it; or None with what is wrong, and nothing written. A
    warning on a new row counts as an error: such a row would not be read.
    """
    try:
        with tempfile.TemporaryDirectory() as name:
            trial = Path(name)
            _copy_tables(folder, trial)
            lines = _append(trial, rows)
            catalogue, findings = load_catalogue([fruit], trial)
            found = tuple(
                _as_typed(finding, trial, folder, lines)
                for finding in findings
                # Whoever adds a row is told of names near it before; such a row is read all right.
                if finding.code != "near-name"
            )
            if has_errors(found):
                return None, found
            if not dry:
                changed = {(folder / path).resolve(): trial / path for path, _ in lines}
                for file in changed:
                    file.parent.mkdir(parents=True, exist_ok=True)
                write_all({file: tried.read_bytes() for file, tried in changed.items()})
    except OSError as problem:
        message = say("The tables cannot be written: {reason}.", reason=reason_of(problem))
        return None, (Finding("error", "cannot-write", message, f"{folder}"),)
    return catalogue, found


def _copy_tables(folder: Path, trial: Path) -> None:
    for file in (one for one in own_files(folder) if one.suffix == ".csv" and one.is_file()):
        copy = trial / file.relative_to(folder)
        copy.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, copy)


def _append(folder: Path, rows: Iterable[NewRow]) -> dict[tuple[str, int], NewRow]:
    """Add rows to the ends of tables, which are made where missing; rows by path and line."""
    lines = {}
    for row in rows:
        file = folder / row.path
        file.parent.mkdir(parents=True, exist_ok=True)
        old = file.read_bytes() if file.exists() else b""
        new = _with_row(old, schema_of(row.path).columns, row.cells)
        file.write_bytes(new)
        lines[row.path, len(new.splitlines())] = row
    return lines


def _with_row(old: bytes, header: Sequence[str], cells: Mapping[str, str]) -> bytes:
    """A table with one more row, in the order and with the line ends of its own header.

    header : what a table that has none yet begins with.
    """
    text = old.decode("utf-8-sig", errors="replace")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n" if "\r\n" in text else "\n")
    written = [line for line in text.splitlines() if line and not line.startswith("#")]
    if written:
        header = [name.strip() for name in next(csv.reader(written))]
        if not text.endswith("\n"):
            out.write("\r\n" if "\r\n" in text else "\n")
    else:
        writer.writerow(header)
    writer.writerow([cells.get(column, "") for column in header])
    return old + out.getvalue().encode()


def _as_typed(
    finding: Finding, trial: Path, folder: Path, lines: Mapping[tuple[str, int], NewRow]
) -> Finding:
    """A finding on a new row as one on what was typed; on an old row, as one on its own file."""
    path = finding.file.removeprefix(f"{trial}/")
    row = lines.get((path, finding.line or 0))
    if row is None:
        return replace(finding, file=f"{folder}/{path}" if path != finding.file else finding.file)
    # What stands in the table already is named; what was only typed stands in no file.
    where = f"{folder}/{path}" if finding.code in ("duplicate", "contradiction") else ""
    # A note is on a row that is read all right.
    if finding.severity != "note":
        finding = replace(finding, severity="error")
    return replace(finding, file=where, place=row.place, line=None)
