"""The catalogue → the varieties of a fruit that meet some conditions, and those that are named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from pollinet import messages
from pollinet.compatibility.verdict import with_selfing
from pollinet.domain import Catalogue, Fertility, FloatArray, Fruit, Genotype, Variety, VarietyId
from pollinet.findings import Finding, has_errors
from pollinet.linear import product, solved
from pollinet.messages import NOTHING, listing, say
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.conditions import DERIVED, Condition, Value, bounds_of, parse_condition
from pollinet.readers.names import resolve_fruit, resolve_variety, suggest
from pollinet.readers.shared_tables import SharedTables, fruits, read_shared
from pollinet.readers.varieties import PICKED

MID_DAYS = 2.0
"""How far from the middle a variety still counts as mid: about how far one variety strays from its
usual day in one winter (2.0 to 2.5 days, see timing_errors.csv). Own convention. [days]"""


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
    outweighed = {
        (dispute.property, one.value)
        for dispute in variety.disputes
        for one in dispute.values
        if not one.weight
    }
    for fact in variety.facts:
        if (fact.property, fact.value) in outweighed:
            continue
        context = contexts.get(fact.context)
        places = tuple(filter(None, (fact.context, context.place if context else "")))
        values.setdefault(fact.property, []).append(Value(fact.value, places, bounds_of(fact)))
    for window in variety.picking:
        given = [v.places for v in values.get("pick_first_day", ())]
        if (places := (window.context,)) not in given:
            for name, day in zip(PICKED, window.days, strict=True):
                values.setdefault(name, []).append(Value(str(day), places))
    # What follows from the facts (also those of the parent of a sport) goes before the raw facts.
    told: dict[str, Iterable[object]] = {
        "name": [variety.id.name],
        "clone_of": [fertility.clone if fertility.clone != variety.id.name else None],
        "s_genotype": map(genotype_text, all_of(fertility, "genotype")),
        "ploidy": all_of(fertility, "ploidy"),
        "self_fertile": map(yes_no, all_of(fertility, "self_fertile")),
        "pollen_ok": map(yes_no, all_of(fertility, "pollen_ok")),
        "bloom": [row.bloom or None],
        "bloom_relative_days": [row.relative_days],
    }
    known = {
        name: [Value(str(value)) for value in several if value is not None]
        for name, several in told.items()
    }
    return values | {name: several for name, several in known.items() if several}


def all_of(fertility: Fertility, field: str) -> tuple[Any, ...]:
    """The value of a field, or all those that sources give of it, the likeliest first."""
    if field not in fertility.disputed:
        return (getattr(fertility, field),)
    return tuple(dict.fromkeys(getattr(one, field) for one in fertility.alternatives))


def either(fertility: Fertility, field: str, words: Callable[[Any], str | None]) -> str:
    """The value of a field in a cell of a table, `yes or no` where sources disagree."""
    told = [words(value) for value in all_of(fertility, field) if value is not None]
    return " or ".join(filter(None, told))


def genotype_text(genotype: Genotype | None) -> str | None:
    """S-alleles in one word: `S1S5`, `S1S?` where not all are known; None: none is."""
    if genotype is None:
        return None
    return "".join(genotype.alleles) + ("" if genotype.complete else "S?")


def yes_no(known: bool | None) -> str | None:
    """`yes` or `no`; None where it is not known."""
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


@dataclass(frozen=True)
class Search:
    """The varieties of a fruit that meet some conditions.

    rows : none where a finding is an error. fruit : its own name; None: nobody knows it.
    """

    fruit: str | None
    catalogue: Catalogue | None
    rows: tuple[ListedVariety, ...]
    findings: tuple[Finding, ...]


def search(
    species: str, where: Sequence[str] = (), *, sort: str = "name", own_folder: Path | None = None
) -> Search:
    """Search the catalogue of one fruit; what is wrong with the question is told as findings."""
    name, problems = resolve_fruit(species, fruits(), place="SPECIES")
    if name is None:
        return Search(None, None, (), problems)
    fruit = fruits()[name]
    catalogue, findings = load_catalogue([name], own_folder)
    shared = read_shared(own_folder, [])
    conditions, wrong = parse_conditions(where, fruit, catalogue, shared)
    findings = (*findings, *wrong)
    rows = () if has_errors(findings) else listed(fruit, catalogue, shared, conditions, sort)
    return Search(name, catalogue, tuple(rows), findings)


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


# --- names ---


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


def typed_names(names: Sequence[str], found: Sequence[VarietyId]) -> dict[VarietyId, str]:
    """The names as they were typed, where they are not those of the varieties."""
    return {v: name for name, v in zip(names, found, strict=True) if name != v.name}


def _find_anywhere(
    names: Sequence[str], catalogue: Catalogue
) -> tuple[tuple[VarietyId, ...], tuple[Finding, ...]]:
    """All names in one fruit, or each in the only fruit that knows it."""
    meant = [by_fruit(name, catalogue) for name in names]
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


def by_fruit(
    name: str, catalogue: Catalogue
) -> dict[str, tuple[VarietyId | None, tuple[Finding, ...]]]:
    """The fruits that know a name; in other spellings only where none has it as it is written."""
    for other_spellings in (False, True):
        tried = {
            fruit: resolve_variety(name, fruit, catalogue, other_spellings=other_spellings)
            for fruit in catalogue.rules.fruits
        }
        if found := {fruit: told for fruit, told in tried.items() if told[0] is not None}:
            return found
    return {}


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
