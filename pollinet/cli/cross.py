"""`pollinet cross`: may one variety pollinate another, allele by allele."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from pollinet import messages
from pollinet.answers.cross import cross_of, verdicts_between
from pollinet.cli.common import (
    give,
    json_option,
    new_table,
    print_json,
    print_lines,
    print_table,
    show_findings,
    stop,
)
from pollinet.compatibility.verdict import cross_verdict, with_selfing
from pollinet.domain import Catalogue, Fertility, VarietyId, Verdict
from pollinet.findings import Finding, has_errors
from pollinet.messages import listing, say
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.files import unreadable
from pollinet.readers.names import resolve_fruit, resolve_variety
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.records import SAVE_AS_CSV
from pollinet.readers.shared_tables import fruits
from pollinet.summary.varieties import find_varieties
from pollinet.wording.sentences import count
from pollinet.wording.verdicts import (
    fertility_lines,
    share_words,
    verdict_answer,
    verdict_sentence,
)

COLUMNS = ("species", "female", "male")
"""Columns that a file of pairs must have; `female` receives the pollen, `male` gives it."""


@click.command(
    epilog="Examples: pollinet cross Stella Bing; pollinet cross --file pairs.csv --json. "
    "Exit codes: 0 an answer, whatever it is; 2 bad input."
)
@click.argument("donor", required=False)
@click.argument("receiver", required=False)
@click.option(
    "--species", metavar="FRUIT", help="Kind of fruit, where the names alone leave doubt."
)
@click.option(
    "--file",
    type=click.Path(path_type=Path),
    metavar="CSV",
    help="Judge the pairs of this table; columns species, female (receiver) and male (donor).",
)
@json_option
def cross(
    donor: str | None,
    receiver: str | None,
    species: str | None,
    file: Path | None,
    as_json: bool,
) -> int:
    """Say whether DONOR's pollen serves RECEIVER's flowers, and the other way round."""
    if file is not None:
        if donor is not None or species is not None:
            raise click.UsageError("Give either two varieties or --file, not both.")
        return _cross_file(file, as_json)
    if donor is None or receiver is None:
        raise click.UsageError("Give a donor and a receiver, or --file with a table of pairs.")
    return _cross_pair(donor, receiver, species, as_json)


# --- one pair --------------------------------------------------------------------------------


def _cross_pair(donor: str, receiver: str, species: str | None, as_json: bool) -> int:
    names = (donor, receiver)
    catalogue, ids, findings = find_varieties(names, species, own_folder_beside(Path()))
    if len(ids) < 2 or has_errors(findings):
        stop(findings, as_json)
    one, other = (catalogue.varieties[name].fertility for name in ids)
    verdicts = verdicts_between(ids, catalogue)

    def show() -> None:
        show_findings(findings)
        _show_pair(verdicts, (one, other), catalogue)

    return give(cross_of(verdicts, catalogue, findings), show, as_json=as_json)


def _show_pair(
    verdicts: Sequence[Verdict], pair: Iterable[Fertility], catalogue: Catalogue
) -> None:
    print_lines([f"{verdict_answer(verdict)}." for verdict in verdicts])
    print()
    table = new_table(
        ("Pollen of", {}),
        ("on", {}),
        ("Answer", {}),
        ("Share", {}),
        ("Accepted", {}),
        ("Refused", {}),
    )
    for verdict in verdicts:
        table.add_row(
            verdict.donor.name,
            verdict.receiver.name,
            verdict.answer,
            share_words(verdict.fraction),
            " ".join(verdict.accepted),
            ("part of " if verdict.code == "some-grains-refused" else "")
            + " ".join(verdict.refused),
        )
    print_table(table)
    print()
    both = dict.fromkeys(with_selfing(fertility, catalogue.rules) for fertility in pair)
    kinds = catalogue.rules.fruits
    print_lines(line for each in both for line in fertility_lines(each, kinds[each.id.species]))
    for verdict in verdicts:
        print_lines(
            f"Published on {verdict.donor.name} pollen on {verdict.receiver.name}: {line}."
            for line in verdict.measured
        )
    print_lines(_notes_between_fruits(verdicts, catalogue))
    named = [*(verdict.sources for verdict in verdicts), *(each.sources for each in both)]
    sources = dict.fromkeys(source for some in named for source in some if source)
    if sources:
        print_lines(["Sources:"])
        print_lines(f"- {source}: {catalogue.sources.get(source, '')}" for source in sources)


def _notes_between_fruits(verdicts: Iterable[Verdict], catalogue: Catalogue) -> Iterator[str]:
    """What the sources of crosses between kinds of fruit say beside yes and no."""
    ways = {(verdict.donor.species, verdict.receiver.species) for verdict in verdicts}
    for rule in catalogue.rules.crossings:
        if rule.note and (rule.donor, rule.receiver) in ways:
            yield f"{rule.donor.capitalize()} pollen on {rule.receiver}: {rule.note}."


# --- a table of pairs ------------------------------------------------------------------------


@dataclass(frozen=True)
class JudgedRow:
    """One row of a file with its verdict; None with the finding that says why there is none."""

    row: dict[str, str]
    verdict: Verdict | None
    finding: Finding | None = None

    @property
    def reason(self) -> str:
        """Why the answer is what it is."""
        if self.verdict is not None:
            return verdict_sentence(self.verdict)
        return self.finding.message if self.finding else ""

    @property
    def answer(self) -> str:
        """`unknown` for a name that nobody knows."""
        return self.verdict.answer if self.verdict else "unknown"


def _cross_file(file: Path, as_json: bool) -> int:
    rows, findings = read_pairs(file)
    if findings:
        stop(findings, as_json)
    judged = judge_rows(rows, file.name)
    show_findings(row.finding for row in judged if row.finding is not None)
    if as_json:
        print_json([_row_data(row) for row in judged], schema="cross-file")
    else:
        _show_rows(judged)
    return 0


def read_pairs(file: Path) -> tuple[list[tuple[int, dict[str, str]]], tuple[Finding, ...]]:
    """The rows of a file of pairs with their line numbers; error findings where it has none."""
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as problem:
        return [], (unreadable(problem, str(file), cure=SAVE_AS_CSV),)
    reader = csv.DictReader(text.splitlines())
    missing = [column for column in COLUMNS if column not in (reader.fieldnames or ())]
    if missing:
        message = say("There is no column {columns}.", columns=messages.joined(missing))
        cure = say("The first line must name the columns {columns}.", columns=listing(COLUMNS))
        return [], (Finding("error", "missing-column", message, file.name, line=1, cure=cure),)
    rows = [(reader.line_num, {c: (row[c] or "").strip() for c in COLUMNS}) for row in reader]
    if not rows:
        return [], (Finding("error", "empty-file", say("The file has no pairs."), file.name),)
    return rows, ()


def judge_rows(rows: Iterable[tuple[int, dict[str, str]]], file: str) -> list[JudgedRow]:
    """A verdict for each row; a name that is not known is an answer too: unknown."""
    numbered = list(rows)
    species = {row["species"] for _, row in numbered}
    known = {text: resolve_fruit(text, fruits(), file=file, place="species") for text in species}
    named = {fruit for fruit, _ in known.values() if fruit is not None}
    catalogue, _ = load_catalogue(named, own_folder_beside(Path()))
    return [_judged(line, row, known[row["species"]], catalogue, file) for line, row in numbered]


def _judged(
    line: int,
    row: dict[str, str],
    fruit: tuple[str | None, tuple[Finding, ...]],
    catalogue: Catalogue,
    file: str,
) -> JudgedRow:
    name, findings = fruit
    ids: list[VarietyId] = []
    if name is not None:
        for sex in ("male", "female"):
            found, more = resolve_variety(row[sex], name, catalogue, file=file, place=sex)
            findings += more
            ids += [found] if found is not None else []
    if len(ids) == 2:
        donor, receiver = (catalogue.varieties[found_id].fertility for found_id in ids)
        return JudgedRow(row, cross_verdict(donor, receiver, catalogue.rules))
    problem = next(finding for finding in findings if finding.severity == "error")
    warning = Finding(
        "warning", problem.code, problem.message, file, problem.place, line, problem.cure
    )
    return JudgedRow(row, None, warning)


def _row_data(row: JudgedRow) -> dict[str, Any]:
    return {
        **row.row,
        "verdict": row.answer,
        "fraction": row.verdict.fraction if row.verdict else None,
        "reason": row.reason,
        "sources": list(row.verdict.sources) if row.verdict else [],
    }


def _show_rows(judged: Sequence[JudgedRow]) -> None:
    answers = [row.answer for row in judged]
    told = ", ".join(f"{answers.count(a)} {a}" for a in ("yes", "half", "no", "unknown"))
    print_lines([f"{count(len(judged), 'pair')}: {told}.", ""])
    table = new_table(
        ("Fruit", {}), ("Pollen of", {}), ("on", {}), ("Answer", {}), ("Why", {"ratio": 1})
    )
    for row in judged:
        table.add_row(
            row.row["species"], row.row["male"], row.row["female"], row.answer, row.reason
        )
    print_table(table)
