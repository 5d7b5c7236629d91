"""`pollinet variety`: all that is known of one variety, on one page."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pollinet.answers.variety import (
    SHOWN_CROSSES,
    KnownFact,
    KnownVariety,
    VarietyPage,
    look_at_variety,
    variety_page_of,
)
from pollinet.cli.common import (
    TOLD_IN_TEXT,
    WIDTH,
    csv_option,
    give,
    json_option,
    new_table,
    print_lines,
    print_table,
    show_findings,
    stop,
)
from pollinet.cli.variety_add import add, folder_option
from pollinet.domain import Catalogue
from pollinet.findings import has_errors
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.shared_tables import read_shared
from pollinet.summary.varieties import find_varieties, typed_names
from pollinet.wording.varieties import (
    LABELS,
    cross_line,
    dispute_line,
    fact_words,
    names_words,
    sharing_line,
)
from pollinet.wording.verdicts import typed_lines

if TYPE_CHECKING:
    from rich.table import Table


class _ShowOrAdd(click.Group):
    """`variety NAME` shows a variety, without a word for it; `variety add NAME` adds one."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put the word `show` in where the first word is none of the commands."""
        if args and args[0] not in (*self.commands, "--help"):
            args = ["show", *args]
        return super().parse_args(ctx, args)


@click.group(
    cls=_ShowOrAdd,
    subcommand_metavar="NAME | add NAME ...",
    epilog="Examples: pollinet variety Conference; pollinet variety Williams --species pear; "
    'pollinet variety add "Old Garden Pear" --species pear --bloom "with Conference". '
    "A variety whose name is `add` or `show`: pollinet variety show NAME.",
)
def variety() -> None:
    """Show what is known of a variety (pollinet variety NAME), or add one of your own."""


variety.add_command(add)


@variety.command(epilog="Example: pollinet variety Conference. Exit codes: 0 a page, 2 bad input.")
@click.argument("name", nargs=-1, required=True)
@click.option("--species", metavar="FRUIT", help="Kind of fruit, where several have the name.")
@folder_option
@json_option
@csv_option
def show(
    name: tuple[str, ...],
    species: str | None,
    folder: Path | None,
    as_json: bool,
    csv: Path | None,
) -> int:
    """Show all that is known of a variety, with sources, and what is missing."""
    own_folder = folder or own_folder_beside(Path())
    names = (" ".join(name),)
    catalogue, ids, findings = find_varieties(names, species, own_folder)
    if not ids or has_errors(findings):
        stop(findings, as_json)
    grounds = read_shared(own_folder, []).grounds
    known = look_at_variety(catalogue.varieties[ids[0]], catalogue, grounds)
    typed = typed_names(names, ids)
    answer = variety_page_of(known, catalogue, findings, typed.get(ids[0]))

    def show_page() -> None:
        show_findings(f for f in findings if f.code not in TOLD_IN_TEXT)
        _show_page(answer, known, catalogue)

    return give(answer, show_page, as_json=as_json, csv=csv)


# --- the page --------------------------------------------------------------------------------


def _show_page(answer: VarietyPage, known: KnownVariety, catalogue: Catalogue) -> None:
    """Print the page: the answer, the values, company, what is missing, the sources."""
    fruit = catalogue.rules.fruits[answer.species]
    print_lines([answer.answer, f"Fruit: {fruit.name} ({fruit.latin})."])
    print_lines([*typed_lines([(answer.typed or answer.variety, known.variety.id)]), ""])
    if known.facts:
        print_table(_facts_table(known.facts))
        print()
    print_lines(_company(answer, known))
    print_lines(["Missing, and how to find out:", *(f"- {line}" for line in answer.missing)])
    print_lines(["Sources:"])
    for source, citation in answer.sources.items():
        line = f"- {source}: {citation or 'typed by the grower'}"
        print(textwrap.shorten(line, WIDTH, placeholder=" …"))


def _facts_table(facts: Iterable[KnownFact]) -> Table:
    table = new_table(
        ("What", {}),
        ("Value", {"ratio": 1}),
        ("Where and when", {"ratio": 1}),
        ("Source", {}),
        ("Status", {}),
    )
    for known in facts:
        fact, context = known.fact, known.context
        reference = context.reference_variety if context else ""
        table.add_row(
            LABELS.get(fact.property, fact.property),
            fact_words(fact, known.evidence, reference),
            fact.context + (" (not used for dates)" if known.unused else ""),
            fact.source,
            _status(known),
        )
    return table


def _status(known: KnownFact) -> str:
    """Status of a value, and that of the date made of it where a part of the date is weaker."""
    if known.evidence is None or known.evidence.status == known.fact.status:
        return known.fact.status
    return f"{known.fact.status} (date: {known.evidence.status})"


def _company(answer: VarietyPage, known: KnownVariety) -> list[str]:
    lines = [f"Disputed: {dispute_line(dispute)}" for dispute in known.variety.disputes]
    if answer.other_names:
        lines.append(f"Other names: {', '.join(answer.other_names)}.")
    if answer.sports:
        lines.append(f"Its sports and clones, {names_words(answer.sports)}.")
    if answer.s_alleles_complete:
        lines.append(sharing_line(known.variety, answer.same_s_alleles))
    lines += [f"Published: {cross_line(pair)}." for pair in known.crosses[:SHOWN_CROSSES]]
    if (more := len(known.crosses) - SHOWN_CROSSES) > 0:
        lines.append(f"Published: {more} more crosses (in the JSON).")
    told = f"Rests on memory, to be confirmed: {', '.join(answer.rests_on_memory)}."
    return [*lines, told] if answer.rests_on_memory else lines
