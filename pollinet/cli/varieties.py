"""`pollinet varieties`: list the varieties of a fruit, and filter them by what is known."""

from __future__ import annotations

import csv
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import click
import numpy as np

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
from pollinet.cli.variety_add import folder_option
from pollinet.compatibility.verdict import with_selfing
from pollinet.domain import (
    Catalogue,
    FloatArray,
    Fruit,
    Genotype,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, has_errors
from pollinet.linear import product, solved
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.conditions import DERIVED, Condition, Value, bounds_of, parse_condition
from pollinet.readers.names import resolve_fruit
from pollinet.readers.own_tables import own_folder_beside
from pollinet.readers.shared_tables import SharedTables, fruits, read_shared
from pollinet.summary.limbs import memory_words
from pollinet.wording.sentences import count
from pollinet.wording.varieties import list_answer
from pollinet.wording.verdicts import genotype_words

SHOWN_ROWS = 40
"""Rows of a table without --all: what two screens hold."""

MID_DAYS = 2.0
"""How far from the middle a variety still counts as mid: about how far one variety strays from its
usual day in one winter (2.0 to 2.5 days, see timing_errors.csv). Own convention. [days]"""

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
    name, problems = resolve_fruit(species, fruits(), place="SPECIES")
    if name is None:
        stop(problems, as_json)
    fruit, own_folder = fruits()[name], folder or own_folder_beside(Path())
    catalogue, findings = load_catalogue([name], own_folder)
    shared = read_shared(own_folder, [])
    conditions, problems = parse_conditions(where, fruit, catalogue, shared)
    findings += problems
    if has_errors(findings):
        stop(findings, as_json)
    rows = listed(fruit, catalogue, shared, conditions, sort)
    answer = list_answer(len(rows), len(catalogue.varieties), name, where)
    if as_json:
        data = [row_data(row) for row in rows]
        print_json(
            {"answer": answer, "varieties": data, "findings": findings_data(findings)},
            schema="varieties",
        )
    elif as_csv:
        show_findings(findings)
        _print_csv(rows)
    else:
        show_findings(findings)
        _show(rows, answer, len(rows) if show_all else SHOWN_ROWS)
    return 0


# --- values ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class ListedVariety:
    """One row of the list; `relative_days` None: its bloom cannot be compared."""

    variety: Variety
    relative_days: float | None
    bloom: str


def relative_bloom(varieties: Iterable[Variety]) -> dict[VarietyId, float]:
    """Days by which each variety blooms after the middle one of its fruit.

    Least squares of day = variety + place and stage, so that a place at which only late
    varieties were seen makes none of them look early; places that share no variety with
    another are each taken from their own mean, and a variety seen alone is left out. A rough order
    for a list, not a forecast: how the order changes with the climate is left out.
    """
    known = [(v.id, (e.place, e.stage), e) for v in varieties for e in v.bloom]
    company = Counter(place for _, place in {(name, place) for name, place, _ in known})
    dates = [date for date in known if company[date[1]] > 1]
    if not dates:
        return {}
    names = sorted({name for name, _, _ in dates})
    column = {place: number for number, place in enumerate(sorted({date[1] for date in dates}))}
    row = {name: number for number, name in enumerate(names)}
    of = np.array([row[name] for name, _, _ in dates])
    day = np.array([e.day for _, _, e in dates], dtype=float)
    weight = np.array([1 / max(e.sd_days, 1.0) ** 2 for _, _, e in dates])
    design = np.zeros((day.size, len(column)))
    design[np.arange(day.size), [column[place] for _, place, _ in dates]] = 1
    day -= product(design, product(design.T, weight * day) / product(design.T, weight))
    total = np.bincount(of, weight)

    def without_variety(values: FloatArray) -> FloatArray:
        return np.asarray(values - (np.bincount(of, weight * values) / total)[of])

    centred = np.apply_along_axis(without_variety, 0, design)
    # The small addition holds places without a shared variety where they are.
    normal = product(centred.T, weight[:, None] * centred) + 1e-4 * np.eye(len(column))
    shift, _ = solved(normal, product(centred.T, weight * without_variety(day)))
    later = np.bincount(of, weight * (day - product(design, shift))) / total
    later -= np.median(later)
    return {name: round(float(days), 1) + 0.0 for name, days in zip(names, later, strict=True)}


def bloom_word(relative_days: float | None) -> str:
    """`early`, `mid` or `late` against the middle of the fruit; empty: not known."""
    if relative_days is None:
        return ""
    if abs(relative_days) <= MID_DAYS:
        return "mid"
    return "late" if relative_days > 0 else "early"


def values_of(row: ListedVariety, shared: SharedTables) -> dict[str, list[Value]]:
    """All that a condition can ask of a variety."""
    variety, fertility = row.variety, row.variety.fertility
    values: dict[str, list[Value]] = {}
    contexts = shared.grounds.contexts
    for fact in variety.facts:
        context = contexts.get(fact.context)
        places = tuple(filter(None, (fact.context, context.place if context else "")))
        values.setdefault(fact.property, []).append(Value(fact.value, places, bounds_of(fact)))
    # What follows from the facts (also those of the parent of a sport) goes before the raw facts.
    told = {
        "name": variety.id.name,
        "clone_of": fertility.clone if fertility.clone != variety.id.name else None,
        "s_genotype": _genotype_text(fertility.genotype),
        "ploidy": fertility.ploidy,
        "self_fertile": _yes_no(fertility.self_fertile),
        "pollen_ok": _yes_no(fertility.pollen_ok),
        "bloom": row.bloom or None,
        "bloom_relative_days": row.relative_days,
    }
    return values | {name: [Value(str(value))] for name, value in told.items() if value is not None}


def _genotype_text(genotype: Genotype | None) -> str | None:
    if genotype is None:
        return None
    return "".join(genotype.alleles) + ("" if genotype.complete else "S?")


def _yes_no(known: bool | None) -> str | None:
    return None if known is None else ("yes" if known else "no")


def parse_conditions(
    texts: Sequence[str], fruit: Fruit, catalogue: Catalogue, shared: SharedTables
) -> tuple[tuple[Condition, ...], tuple[Finding, ...]]:
    """All conditions, with the findings on those that cannot be read."""
    properties = {**shared.properties, **DERIVED}
    used = {fact.context for v in catalogue.varieties.values() for fact in v.facts} - {""}
    places = {*used, *(shared.grounds.contexts[name].place for name in used)} - {""}
    parsed = [parse_condition(text, properties, fruit, sorted(places)) for text in texts]
    conditions = tuple(condition for condition, _ in parsed if condition is not None)
    return conditions, tuple(finding for _, found in parsed for finding in found)


def listed(
    fruit: Fruit,
    catalogue: Catalogue,
    shared: SharedTables,
    conditions: Sequence[Condition] = (),
    sort: str = "name",
) -> list[ListedVariety]:
    """The varieties that meet all conditions, by name or by bloom (unknown bloom last)."""
    relative = relative_bloom(catalogue.varieties.values())
    rows = []
    for name, variety in sorted(catalogue.varieties.items()):
        days = relative.get(name)
        told = replace(variety, fertility=with_selfing(variety.fertility, catalogue.rules))
        rows.append(ListedVariety(told, days, bloom_word(days)))
    kept = []
    for row in rows:
        values = values_of(row, shared)
        if all(each.holds(values.get(each.property.name, ()), fruit) for each in conditions):
            kept.append(row)
    if sort == "bloom":
        kept.sort(key=lambda row: (row.relative_days is None, row.relative_days or 0.0))
    return kept


# --- showing ---------------------------------------------------------------------------------


def row_data(row: ListedVariety) -> dict[str, Any]:
    """One variety as plain data."""
    variety, fertility = row.variety, row.variety.fertility
    told = [fact.source for fact in variety.facts] + [e.source for e in variety.bloom]
    return {
        "species": variety.id.species,
        "variety": variety.id.name,
        "clone_of": fertility.clone if fertility.clone != variety.id.name else None,
        "s_genotype": _genotype_text(fertility.genotype),
        "incompatibility_group": fertility.group,
        "ploidy": fertility.ploidy,
        "pollen_ok": fertility.pollen_ok,
        "self_fertile": fertility.self_fertile,
        "bloom": row.bloom or None,
        "bloom_relative_days": row.relative_days,
        "bloom_places": sorted({evidence.place for evidence in variety.bloom}),
        "chill_portions": [requirement.portions for requirement in variety.chill],
        "rests_on_memory": [field for field, _ in memory_words(variety)],
        "sources": sorted({*told, *fertility.sources}),
    }


def _print_csv(rows: Sequence[ListedVariety]) -> None:
    writer = csv.writer(sys.stdout, lineterminator="\n")
    for number, row in enumerate(rows):
        data = row_data(row)
        if number == 0:
            writer.writerow(data)
        writer.writerow([_cell(value) for value in data.values()])


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return _yes_no(value)
    return "; ".join(map(str, value)) if isinstance(value, list) else value


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
        told(genotype_words(fertility.genotype) if fertility.genotype else "", "S-genotype"),
        told(str(fertility.ploidy or ""), "ploidy"),
        told(_yes_no(fertility.self_fertile) or "", "self-fertility"),
        told(f"{days} {row.bloom}".strip(), "bloom"),
        told(portions, "chill requirement"),
    )
