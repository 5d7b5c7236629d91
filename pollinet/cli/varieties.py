"""`pollinet varieties`: list the varieties of a fruit, and filter them by what is known."""

from __future__ import annotations

import csv
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from pollinet.answers.varieties import Varieties, varieties_of
from pollinet.cli.common import (
    give,
    json_option,
    new_table,
    print_lines,
    print_table,
    show_findings,
    stop,
)
from pollinet.cli.variety_add import folder_option
from pollinet.findings import has_errors
from pollinet.readers.conditions import DERIVED
from pollinet.readers.own_tables import own_folder_beside
from pollinet.summary.limbs import memory_words
from pollinet.summary.varieties import ListedVariety, either, search, yes_no
from pollinet.wording.sentences import count
from pollinet.wording.verdicts import genotype_words

SHOWN_ROWS = 40
"""Rows of a table without --all: what two screens hold."""


EPILOG = (
    "A condition is PROPERTY [@PLACE] OPERATOR VALUE with the operators = != < <= > >=, ~ (has), "
    "!~ (has not), and the value `unknown` for what nobody has told. Examples: "
    'pollinet varieties apple --where ploidy=3; pollinet varieties "sweet cherry" --where '
    '"s_genotype~S3" --where "full_bloom_day@Etoile<5 Apr"; pollinet varieties almond --where '
    '"chill_portions<40" --where bloom=late --csv. '
    f"Besides those of the catalogue there are the properties {', '.join(DERIVED)}. "
    "Exit codes: 0 an answer, also an empty one; 2 bad input."
)


@click.command(epilog=EPILOG)
@click.argument("species")
@click.option(
    "--where", multiple=True, metavar="CONDITION", help="Only those that meet it; all must hold."
)
@click.option("--sort", type=click.Choice(["name", "bloom"]), default="name", show_default=True)
@click.option("--all", "show_all", is_flag=True, help=f"Show more than {SHOWN_ROWS} rows.")
@click.option("--csv", "as_csv", is_flag=True, help="Give the list as CSV.")
@folder_option
@json_option
def varieties(
    species: str,
    where: tuple[str, ...],
    sort: str,
    show_all: bool,
    as_csv: bool,
    folder: Path | None,
    as_json: bool,
) -> int:
    """List the varieties of SPECIES of which the catalogue knows something, or some of them."""
    if as_csv and as_json:
        raise click.UsageError("Give either --csv or --json, not both.")
    found = search(species, where, sort=sort, own_folder=folder or own_folder_beside(Path()))
    if has_errors(found.findings):
        stop(found.findings, as_json)
    answer = varieties_of(found, where)

    def show() -> None:
        show_findings(found.findings)
        if as_csv:
            _print_csv(answer)
        else:
            _show(found.rows, answer.answer, len(found.rows) if show_all else SHOWN_ROWS)

    return give(answer, show, as_json=as_json)


# --- showing ---------------------------------------------------------------------------------


def _print_csv(answer: Varieties) -> None:
    writer = csv.writer(sys.stdout, lineterminator="\n")
    for number, row in enumerate(answer.rows()):
        if number == 0:
            writer.writerow(row)
        writer.writerow([_cell(value) for value in row.values()])


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return yes_no(value)
    return value


def _show(rows: Sequence[ListedVariety], answer: str, shown: int) -> None:
    print_lines([answer, ""])
    if not rows:
        return
    table = new_table(
        ("Variety", {"ratio": 1}),
        ("S-alleles", {}),
        ("Sets", {"justify": "right"}),
        ("Own pollen", {}),
        ("Bloom", {"no_wrap": True}),
        ("Chill portions", {}),
    )
    for row in rows[:shown]:
        table.add_row(*_cells(row))
    print_table(table)
    notes = ["", "Bloom: days after (+) or before (−) the middle variety of this fruit."]
    if any(memory_words(row.variety) for row in rows[:shown]):
        notes.append("*: recalled and not confirmed.")
    if any(row.variety.fertility.alternatives for row in rows[:shown]):
        notes.append("or: sources disagree, the likelier value first.")
    if len(rows) > shown:
        more = count(len(rows) - shown, "more row")
        notes.append(f"{more}: narrow with --where, or give --all, --csv or --json.")
    print_lines(notes)


def _signed(days: float) -> str:
    whole = round(days)
    return f"{whole:+d}".replace("-", "−") if whole else "0"


def _cells(row: ListedVariety) -> tuple[str, ...]:
    variety, fertility = row.variety, row.variety.fertility
    memory = {field for field, _ in memory_words(variety)}

    def told(text: str, field: str) -> str:
        return f"{text}*" if text and field in memory else text

    days = "" if row.relative_days is None else _signed(row.relative_days)
    portions = ", ".join(dict.fromkeys(f"{one.portions:g}" for one in variety.chill))
    return (
        variety.id.name,
        told(either(fertility, "genotype", genotype_words), "S-genotype"),
        told(either(fertility, "ploidy", str), "ploidy"),
        told(either(fertility, "self_fertile", yes_no), "self-fertility"),
        told(f"{days} {row.bloom}".strip(), "bloom"),
        told(portions, "chill requirement"),
    )
