"""`pollinet cross`: may one variety pollinate another, allele by allele."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from pollinet import messages
from pollinet.cli.common import (
    findings_data,
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
from pollinet.messages import NOTHING, listing, say
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.files import unreadable
from pollinet.readers.names import resolve_fruit, resolve_variety, suggest
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.records import SAVE_AS_CSV
from pollinet.readers.shared_tables import fruits
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
    ways = [(one, other)] if one.id == other.id else [(one, other), (other, one)]
    verdicts = [cross_verdict(*way, catalogue.rules) for way in ways]
    if as_json:
        one_way, *other_way = (verdict_data(verdict, catalogue) for verdict in verdicts)
        notes = findings_data(findings)
        print_json(
            {**one_way, "other_way": next(iter(other_way), None), "findings": notes}, schema="cross"
        )
    else:
        show_findings(findings)
        _show_pair(verdicts, (one, other), catalogue)
    return 0


def find_varieties(
    names: Sequence[str], species: str | None, own_folder: Path | None = None
) -> tuple[Catalogue, tuple[VarietyId, ...], tuple[Finding, ...]]:
    """The catalogue and the varieties that are meant; fewer than named with error findings.

    Without a species, the fruits that know all names are asked; where none does, each name may
    belong to a fruit of its own. A name of several fruits is never guessed.
    """
    if species is None:
        catalogue, problems = load_catalogue(fruits(), own_folder)
        ids, findings = _find_anywhere(names, catalogue)
        return catalogue, ids, (*problems, *findings)
    fruit, findings = resolve_fruit(species, fruits(), place="--species")
    if fruit is None:
        return load_catalogue(())[0], (), findings
    catalogue, problems = load_catalogue([fruit], own_folder)
    found = [resolve_variety(name, fruit, catalogue) for name in names]
    if any(name is None for name, _ in found):
        # Another kind of fruit may have the name: that can only be told with all of them at hand.
        everything, _ = load_catalogue(fruits(), own_folder)
        found = [resolve_variety(name, fruit, everything) for name in names]
    ids = tuple(name for name, _ in found if name is not None)
    return catalogue, ids, (*problems, *(finding for _, more in found for finding in more))


def _find_anywhere(
    names: Sequence[str], catalogue: Catalogue
) -> tuple[tuple[VarietyId, ...], tuple[Finding, ...]]:
    """All names in one fruit, or each in the only fruit that knows it."""
    meant = [
        {
            fruit: found
            for fruit in catalogue.rules.fruits
            if (found := resolve_variety(name, fruit, catalogue))[0] is not None
        }
        for name in names
    ]
    shared = [fruit for fruit in meant[0] if all(fruit in known for known in meant)]
    if len(shared) == 1:
        meant = [{shared[0]: known[shared[0]]} for known in meant]
    findings: list[Finding] = []
    ids: list[VarietyId] = []
    for name, known in zip(names, meant, strict=True):
        if len(known) == 1:
            [(variety, notes)] = known.values()
            ids += [variety] if variety is not None else []
            findings += notes
        else:
            findings.append(_doubtful(name, sorted(known), catalogue))
    return tuple(ids), tuple(findings)


def _doubtful(name: str, species: Sequence[str], catalogue: Catalogue) -> Finding:
    """A name that several fruits know, or none."""
    if species:
        message = say(
            "'{name}' is a variety of {fruits}.",
            name=name,
            fruits=messages.joined([say(fruit) for fruit in species]),
        )
        cure = say("Say which with --species.")
        return Finding("error", "ambiguous-variety", message, cure=cure)
    near = suggest(name, {known.name for known in (*catalogue.varieties, *catalogue.synonyms)})
    hint = say("Nearest: {names}.", names=listing(near)) if near else NOTHING
    message = say("'{name}' is no variety known here.", name=name)
    return Finding("error", "unknown-variety", message, cure=hint)


def verdict_data(verdict: Verdict, catalogue: Catalogue) -> dict[str, Any]:
    """A verdict as plain data."""
    return {
        "species": verdict.receiver.species,
        "female": verdict.receiver.name,
        "male": verdict.donor.name,
        "verdict": verdict.answer,
        "fraction": verdict.fraction,
        "probability": verdict.probability,
        "code": verdict.code,
        "reason": verdict_sentence(verdict),
        "accepted": list(verdict.accepted),
        "refused": list(verdict.refused),
        "measured": list(verdict.measured),
        "memory": verdict.memory,
        "sources": {source: catalogue.sources.get(source, "") for source in verdict.sources},
    }


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
