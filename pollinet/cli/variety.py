"""`pollinet variety`: all that is known of one variety, on one page."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path

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
    TextTable,
    csv_option,
    give,
    json_option,
    new_table,
    print_lines,
    print_table,
    show_findings,
    stop,
    table_width,
)
from pollinet.cli.variety_add import add, folder_option
from pollinet.domain import Catalogue
from pollinet.findings import has_errors
from pollinet.phenology.adequacy import of_one_method
from pollinet.readers.names import ON_NAMES
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.shared_tables import read_shared
from pollinet.summary.varieties import find_varieties, typed_names
from pollinet.wording.sentences import crab_note
from pollinet.wording.varieties import (
    HARDINESS_CAUTION,
    LABELS,
    OF_STUDIES,
    chill_line,
    cross_line,
    descent_line,
    dispute_line,
    fact_words,
    names_words,
    picking_line,
    sharing_line,
    studies_words,
)
from pollinet.wording.verdicts import typed_lines


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
        show_findings(f for f in findings if f.code not in ON_NAMES)
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
    if answer.missing:
        print_lines(["Missing, and how to find out:", *(f"- {line}" for line in answer.missing)])
    print_lines(["Sources:"])
    studies = {one.fact.source for one in known.facts if one.fact.context in STUDIED}
    if studies:
        print_lines([f"- Studies of chill and heat: {', '.join(sorted(studies))}."])
    for source, citation in answer.sources.items():
        if source in studies:
            continue
        line = f"- {source}: {citation or 'typed by the grower'}"
        print(textwrap.shorten(line, table_width(), placeholder=" …"))


STUDIED = ("Forced shoots", "Fitted on bloom")
"""Contexts of the studies of chill and heat, whose citations stand in the JSON."""


def _facts_table(facts: Iterable[KnownFact]) -> TextTable:
    table = new_table(
        ("What", {}),
        ("Value", {"ratio": 1}),
        ("Where and when", {"ratio": 1}),
        ("Source", {}),
        ("Status", {}),
    )
    for told in _by_study(facts):
        known, fact, context = told[0], told[0].fact, told[0].context
        reference = context.reference_variety if context else ""
        words = fact_words(fact, known.evidence, reference)
        table.add_row(
            LABELS.get(fact.property, fact.property),
            studies_words([one.fact for one in told]) if _of_shoots_or_fits(told) else words,
            fact.context + (" (not used for dates)" if known.unused else ""),
            fact.source if len(told) == 1 else f"{len(told)} studies",
            _status(known),
        )
    return table


def _of_shoots_or_fits(told: Sequence[KnownFact]) -> bool:
    """Whether these are requirements whose notes only tell how one study's places differ."""
    return len(told) > 1 or told[0].fact.note.startswith("median of")


def _by_study(facts: Iterable[KnownFact]) -> list[list[KnownFact]]:
    """Facts one by one, but requirements of several studies together; their spreads stand in the
    JSON."""
    found: dict[tuple[str, ...], list[KnownFact]] = {}
    for known in facts:
        fact = known.fact
        if fact.property in OF_STUDIES:
            found.setdefault((fact.property, fact.context), []).append(known)
        elif fact.property != "chill_portions_sd":
            found[fact.property, fact.context, fact.source] = [known]
    return list(found.values())


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
    descent = known.variety.fertility.descent
    if descent is not None and not answer.s_alleles_complete:
        lines.append(descent_line(descent))
    if answer.parent_of:
        lines.append(f"A parent of {names_words(answer.parent_of)}.")
    if picking := picking_line(known.variety):
        lines.append(picking)
    if answer.chill is not None:
        need = answer.chill.portions, answer.chill.sd_portions
        taken = len(of_one_method(known.variety.chill))
        others = len(known.variety.chill) - taken
        lines.append(chill_line(need, answer.chill.method, len(answer.chill.studies), others))
    if answer.crab:
        lines.append(crab_note(answer.variety))
    if answer.hardiness_zone is not None:
        lines.append(HARDINESS_CAUTION)
    if answer.s_alleles_complete:
        lines.append(sharing_line(known.variety, answer.same_s_alleles))
    lines += [f"Published: {cross_line(pair)}." for pair in known.crosses[:SHOWN_CROSSES]]
    if (more := len(known.crosses) - SHOWN_CROSSES) > 0:
        lines.append(f"Published: {more} more crosses (in the JSON).")
    told = f"Rests on memory, to be confirmed: {', '.join(answer.rests_on_memory)}."
    return [*lines, told] if answer.rests_on_memory else lines
