"""`pollinet variety`: all that is known of one variety, on one page."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import click

from pollinet.answers.base import plain
from pollinet.answers.cross import crossing
from pollinet.cli.common import (
    WIDTH,
    findings_data,
    json_option,
    new_table,
    print_json,
    print_lines,
    print_table,
    show_findings,
    stop,
)
from pollinet.cli.variety_add import add, folder_option
from pollinet.compatibility.verdict import cross_verdict, with_selfing
from pollinet.domain import (
    BloomEvidence,
    Catalogue,
    Fact,
    MeasuredPair,
    Variety,
    Verdict,
)
from pollinet.findings import has_errors
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.shared_tables import read_shared
from pollinet.readers.varieties import DATED, SHED_DATED, Context, Grounds, bloom_evidence
from pollinet.summary.limbs import memory_words
from pollinet.summary.varieties import find_varieties, relative_bloom
from pollinet.wording.varieties import (
    LABELS,
    cross_line,
    fact_words,
    missing_lines,
    names_words,
    sharing_line,
    variety_answer,
)

SHOWN_CROSSES = 5
"""Published crosses shown on the page; all of them are in the JSON."""

BLOOM = (*DATED, *SHED_DATED, "bloom_offset_days", "bloom_class")
"""Properties that say when a variety blooms or sheds its pollen."""


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
def show(name: tuple[str, ...], species: str | None, folder: Path | None, as_json: bool) -> int:
    """Show all that is known of a variety, with sources, and what is missing."""
    own_folder = folder or own_folder_beside(Path())
    catalogue, ids, findings = find_varieties((" ".join(name),), species, own_folder)
    if not ids or has_errors(findings):
        stop(findings, as_json)
    grounds = read_shared(own_folder, []).grounds
    page = page_of(catalogue.varieties[ids[0]], catalogue, grounds)
    if as_json:
        print_json(
            {**page_data(page, catalogue), "findings": findings_data(findings)}, schema="variety"
        )
    else:
        show_findings(findings)
        show_page(page, catalogue)
    return 0


# --- gathering -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Told:
    """One fact with the bloom date that comes of it, and the context it belongs to."""

    fact: Fact
    evidence: BloomEvidence | None
    context: Context | None


@dataclass(frozen=True)
class Page:
    """What is known of a variety.

    other_names : synonyms and registered names. sports : its own clones and sports.
    sharing : varieties with the same S-alleles, those with known bloom first.
    own_pollen : what its own pollen does, from all that is known.
    """

    variety: Variety
    relative_days: float | None
    told: tuple[Told, ...]
    other_names: tuple[str, ...]
    sports: tuple[str, ...]
    sharing: tuple[str, ...]
    crosses: tuple[MeasuredPair, ...]
    own_pollen: Verdict
    missing: tuple[str, ...]


def page_of(variety: Variety, catalogue: Catalogue, grounds: Grounds) -> Page:
    """Gather what is known of a variety."""
    name, rules = variety.id, catalogue.rules
    peers = [v for v in catalogue.varieties.values() if v.id.species == name.species]
    order = {word: number for number, word in enumerate(LABELS)}
    facts = sorted(variety.facts, key=lambda f: (order.get(f.property, 99), f.context))
    own_pollen = cross_verdict(variety.fertility, variety.fertility, rules)
    variety = replace(variety, fertility=with_selfing(variety.fertility, rules))
    return Page(
        variety,
        relative_bloom(peers).get(name),
        tuple(
            Told(fact, bloom_evidence(fact, grounds), grounds.contexts.get(fact.context))
            for fact in facts
        ),
        tuple(sorted(s.name for s, meant in catalogue.synonyms.items() if meant == name)),
        tuple(v.id.name for v in peers if v.fertility.clone == name.name and v.id != name),
        tuple(_sharing(variety, peers)),
        tuple(
            pair
            for pair in rules.pairs
            if pair.species == name.species and name.name in (pair.female, pair.male)
        ),
        own_pollen,
        tuple(missing_lines(variety, rules.fruits[name.species])),
    )


def _sharing(variety: Variety, peers: Iterable[Variety]) -> list[str]:
    genotype = variety.fertility.genotype
    if genotype is None or not genotype.complete:
        return []
    alike = [
        peer
        for peer in peers
        if peer.fertility.genotype is not None
        and peer.fertility.genotype.complete
        and peer.fertility.genotype.alleles == genotype.alleles
        and peer.fertility.clone == peer.id.name != variety.fertility.clone
    ]
    return [peer.id.name for peer in sorted(alike, key=lambda p: (not p.bloom, p.id))]


# --- the page --------------------------------------------------------------------------------


def show_page(page: Page, catalogue: Catalogue) -> None:
    """Print the page: the answer, the values, company, what is missing, the sources."""
    variety = page.variety
    fruit = catalogue.rules.fruits[variety.id.species]
    answer = variety_answer(variety, fruit, page.relative_days)
    print_lines([answer, f"Fruit: {fruit.name} ({fruit.latin}).", ""])
    if page.told:
        print_table(_facts_table(page))
        print()
    print_lines(_company(page))
    print_lines(["Missing, and how to find out:", *(f"- {line}" for line in page.missing)])
    print_lines(["Sources:"])
    for source in _sources(page):
        line = f"- {source}: {catalogue.sources.get(source, 'typed by the grower')}"
        print(textwrap.shorten(line, WIDTH, placeholder=" …"))


def _facts_table(page: Page) -> Any:
    table = new_table(
        ("What", {}),
        ("Value", {"ratio": 1}),
        ("Where and when", {"ratio": 1}),
        ("Source", {}),
        ("Status", {}),
    )
    for told in page.told:
        fact, context = told.fact, told.context
        reference = context.reference_variety if context else ""
        unused = fact.property in BLOOM and told.evidence is None
        if context is not None and context.place == "here":
            unused = False
        table.add_row(
            LABELS.get(fact.property, fact.property),
            fact_words(fact, told.evidence, reference),
            fact.context + (" (not used for dates)" if unused else ""),
            fact.source,
            _status(told),
        )
    return table


def _status(told: Told) -> str:
    """Status of a value, and that of the date made of it where a part of the date is weaker."""
    if told.evidence is None or told.evidence.status == told.fact.status:
        return told.fact.status
    return f"{told.fact.status} (date: {told.evidence.status})"


def _company(page: Page) -> list[str]:
    variety, lines = page.variety, []
    if page.other_names:
        lines.append(f"Other names: {', '.join(page.other_names)}.")
    if page.sports:
        lines.append(f"Its sports and clones, {names_words(page.sports)}.")
    genotype = variety.fertility.genotype
    if genotype is not None and genotype.complete:
        lines.append(sharing_line(variety, page.sharing))
    lines += [f"Published: {cross_line(pair)}." for pair in page.crosses[:SHOWN_CROSSES]]
    if (more := len(page.crosses) - SHOWN_CROSSES) > 0:
        lines.append(f"Published: {more} more crosses (in the JSON).")
    memory = [field for field, _ in memory_words(variety)]
    told = f"Rests on memory, to be confirmed: {', '.join(memory)}."
    return [*lines, told] if memory else lines


def _sources(page: Page) -> Sequence[str]:
    used = [told.fact.source for told in page.told]
    used += [pair.source for pair in page.crosses[:SHOWN_CROSSES]]
    return sorted({*used, *page.variety.fertility.sources, *page.own_pollen.sources})


def page_data(page: Page, catalogue: Catalogue) -> dict[str, Any]:
    """The page as plain data, with all names, crosses and whole citations."""
    variety, fertility = page.variety, page.variety.fertility
    genotype = fertility.genotype
    return {
        "answer": variety_answer(
            variety, catalogue.rules.fruits[variety.id.species], page.relative_days
        ),
        "species": variety.id.species,
        "variety": variety.id.name,
        "other_names": list(page.other_names),
        "clone_of": fertility.clone if fertility.clone != variety.id.name else None,
        "sports": list(page.sports),
        "s_alleles": None if genotype is None else list(genotype.alleles),
        "s_alleles_complete": None if genotype is None else genotype.complete,
        "ploidy": fertility.ploidy,
        "pollen_ok": fertility.pollen_ok,
        "self_fertile": fertility.self_fertile,
        "incompatibility_group": fertility.group,
        "own_pollen": plain(crossing(page.own_pollen, catalogue)),
        "same_s_alleles": list(page.sharing),
        "bloom_relative_days": page.relative_days,
        "facts": [_fact_data(told) for told in page.told],
        "crosses": [
            {
                "female": pair.female,
                "male": pair.male,
                "result": pair.result,
                "fruit_set_pct": pair.fruit_set_pct,
                "kind": pair.kind,
                "source": pair.source,
                "status": pair.status,
            }
            for pair in page.crosses
        ],
        "missing": list(page.missing),
        "rests_on_memory": [field for field, _ in memory_words(variety)],
        "sources": {source: catalogue.sources.get(source, "") for source in _sources(page)},
    }


def _fact_data(told: Told) -> dict[str, Any]:
    fact, evidence = told.fact, told.evidence
    return {
        "property": fact.property,
        "value": fact.value,
        "unit": fact.unit,
        "context": fact.context,
        "source": fact.source,
        "status": fact.status,
        "note": fact.note,
        "bloom": None
        if evidence is None
        else {
            "stage": evidence.stage,
            "day_of_year": round(evidence.day, 1),
            "sd_days": evidence.sd_days,
            "place": evidence.place,
            "status": evidence.status,
        },
    }
