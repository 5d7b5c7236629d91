"""`pollinet cross`: may one variety pollinate another, allele by allele."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

import click

from pollinet.answers.cross import cross_of, verdicts_between
from pollinet.answers.cross_file import CrossFile, cross_file_of
from pollinet.cli.common import (
    FilePath,
    csv_option,
    give,
    json_option,
    new_table,
    print_lines,
    print_table,
    show_findings,
    stop,
)
from pollinet.compatibility.verdict import with_selfing
from pollinet.domain import Catalogue, Fertility, VarietyId, Verdict
from pollinet.findings import has_errors
from pollinet.readers.names import ON_NAMES
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.pairs import read_pairs
from pollinet.summary.varieties import find_varieties, typed_names
from pollinet.wording.verdicts import (
    fertility_lines,
    share_words,
    typed_lines,
    verdict_answer,
)


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
    type=FilePath(),
    metavar="CSV",
    help="Judge the pairs of this table; columns species, female (receiver) and male (donor).",
)
@json_option
@csv_option
def cross(
    donor: str | None,
    receiver: str | None,
    species: str | None,
    file: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Say whether DONOR's pollen serves RECEIVER's flowers, and the other way round."""
    if file is not None:
        if donor is not None or species is not None:
            raise click.UsageError("Give either two varieties or --file, not both.")
        return _cross_file(file, as_json, csv)
    if donor is None or receiver is None:
        raise click.UsageError("Give a donor and a receiver, or --file with a table of pairs.")
    return _cross_pair(donor, receiver, species, as_json, csv)


# --- one pair --------------------------------------------------------------------------------


def _cross_pair(
    donor: str, receiver: str, species: str | None, as_json: bool, csv: Path | None
) -> int:
    names = (donor, receiver)
    catalogue, ids, findings = find_varieties(names, species, own_folder_beside(Path()))
    if len(ids) < 2 or has_errors(findings):
        stop(findings, as_json)
    one, other = (catalogue.varieties[name].fertility for name in ids)
    verdicts = verdicts_between(ids, catalogue)
    typed = typed_names(names, ids)

    def show() -> None:
        show_findings(f for f in findings if f.code not in ON_NAMES)
        _show_pair(verdicts, (one, other), catalogue, typed)

    return give(cross_of(verdicts, catalogue, findings, typed), show, as_json=as_json, csv=csv)


def _show_pair(
    verdicts: Sequence[Verdict],
    pair: Iterable[Fertility],
    catalogue: Catalogue,
    typed: Mapping[VarietyId, str],
) -> None:
    print_lines([f"{verdict_answer(verdict)}." for verdict in verdicts])
    print_lines(typed_lines((name, variety) for variety, name in typed.items()))
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
    """How far crosses between kinds of fruit are counted on, and what their sources say."""
    ways = {(verdict.donor.species, verdict.receiver.species) for verdict in verdicts}
    for rule in catalogue.rules.crossings:
        if (rule.donor, rule.receiver) in ways:
            told = "; ".join(filter(None, (rule.strength, rule.note)))
            yield f"{rule.donor.capitalize()} pollen on {rule.receiver}: {told}."


# --- a table of pairs ------------------------------------------------------------------------


def _cross_file(file: Path, as_json: bool, csv: Path | None) -> int:
    rows, findings = read_pairs(file)
    if findings:
        stop(findings, as_json)
    answer, warnings = cross_file_of(rows, file.name, own_folder_beside(Path()))
    # A bare list has no place for them.
    show_findings(warnings)
    return give(answer, lambda: _show_pairs(answer), as_json=as_json, csv=csv)


def _show_pairs(answer: CrossFile) -> None:
    print_lines([answer.answer, ""])
    table = new_table(
        ("Fruit", {}), ("Pollen of", {}), ("on", {}), ("Answer", {}), ("Why", {"ratio": 1})
    )
    for pair in answer.pairs:
        table.add_row(pair.species, pair.male, pair.female, pair.verdict, pair.reason)
    print_table(table)
