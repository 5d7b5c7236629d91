"""A variety as the grower describes it → rows for the grower's own tables."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import hypot, sqrt

from pollinet.domain import BloomEvidence, Catalogue, Fruit, Variety, VarietyId
from pollinet.findings import Finding
from pollinet.messages import listing, say
from pollinet.readers.day_words import parse_span
from pollinet.readers.descent import PARENTS
from pollinet.readers.genotypes import known_alleles, parse_genotype, ploidy_problems
from pollinet.readers.names import nearest_words, resolve_variety
from pollinet.readers.own_tables import NewRow
from pollinet.readers.shared_tables import SharedTables
from pollinet.readers.text_tables import HERE, parents_in
from pollinet.readers.varieties import ALL_DATED, PICKED, SHED_DATED

SOURCE = "own"
"""Source id of all that a grower adds, in the shipped sources.csv; its status is `plan`."""

OWN_GARDEN = "own garden"
"""Context of bloom dates in the garden that the plan describes."""

COMPARED_SD_DAYS = 3.0
"""Error of "so many days after another variety" as a label or a neighbour tells it, on top of
what the other variety's own date is unsure by. Own estimate. [days]"""

_SHED, _PICK = "--pollen-shed", "--pick"

_COMPARED = re.compile(
    r"(?:(?P<days>\d+(?:\.\d+)?)\s+days?\s+(?P<side>after|before)|with)\s+(?P<name>.+)",
    re.IGNORECASE,
)
_BLOOM_CURE = say(
    'Give --bloom: first and last day in your garden ("8 Apr - 18 Apr"), a comparison ("4 days '
    'after Conference", "with Conference"), or a class of a context ("Orange pears: mid").'
)


@dataclass(frozen=True)
class OwnVariety:
    """What a grower knows of a variety, as typed; `options` names each value for findings.

    properties : values by property of properties.csv.
    bloom : each as in `pollinet variety add --bloom`.
    shed : when its catkins shed pollen in the grower's garden, as `8 Jan - 2 Feb`; empty: not told.
    pick : when it is picked there, written in the same way.
    """

    name: str
    fruit: Fruit
    properties: Mapping[str, str]
    bloom: tuple[str, ...] = ()
    clone_of: str = ""
    note: str = ""
    shed: str = ""
    pick: str = ""


def rows_for(
    own: OwnVariety, catalogue: Catalogue, shared: SharedTables
) -> tuple[tuple[NewRow, ...], tuple[Finding, ...]]:
    """The rows that describe a variety, and what is wrong with or notable in the typed values.

    Only what needs more than one row is checked here; the tables' own checks come when the rows
    are tried.
    """
    facts = [
        _fact(own, name, _canonical(name, value, own.fruit, catalogue), shared)
        for name, value in _with_modifier(own.properties).items()
    ]
    findings = _genotype_problems(own)
    for name in own.properties:
        if name in (*ALL_DATED, "bloom_offset_days", "bloom_class"):
            message = say("{property} needs a place.", property=name)
            findings.append(_bloom_problem(message, place=_option(name)))
    synonyms, problems = _parent_rows(own, catalogue)
    told = [_bloom_rows(text, own, catalogue, shared) for text in own.bloom]
    told += [_shed_rows(own, shared)] if own.shed else []
    told += [_pick_rows(own, shared)] if own.pick else []
    findings += (problem for _, some in told for problem in some)
    contexts: dict[str, NewRow] = {}
    for row in (row for rows, _ in told for row in rows):
        if row.path != "contexts.csv":
            facts.append(row)
        elif row.cells["context"] not in shared.grounds.contexts:
            contexts[row.cells["context"]] = row
    return (*contexts.values(), *synonyms, *facts), (*findings, *problems)


def _fact(
    own: OwnVariety, name: str, value: str, shared: SharedTables, context: str = "", place: str = ""
) -> NewRow:
    known = shared.properties.get(name)
    cells = {
        "variety": own.name,
        "property": name,
        "value": value,
        "unit": known.unit if known else "",
        "context": context,
        "source": SOURCE,
        "status": "plan",
        "note": own.note,
    }
    return NewRow(f"{own.fruit.folder}/facts.csv", cells, place or _option(name))


def _option(name: str) -> str:
    """How a property is typed: with an option of its own, or with --set."""
    return f"--{OPTIONS[name]}" if name in OPTIONS else f"--set {name}"


OPTIONS: Mapping[str, str] = {
    "s_genotype": "s-genotype",
    "ploidy": "ploidy",
    "self_compatibility": "self-fertile",
    "pollen_ok": "pollen-ok",
    "chill_portions": "chill-portions",
    "parents": "parents",
    "keeping_weeks": "keeping-weeks",
    "hardiness_zone": "hardiness-zone",
    "crab": "crab",
}
"""Properties that have an option of their own in `pollinet variety add`."""


# --- fertility -------------------------------------------------------------------------------


def _canonical(name: str, value: str, fruit: Fruit, catalogue: Catalogue) -> str:
    """A genotype without spaces and sorted, parents by the catalogue's names; else as typed."""
    parents = parents_in(value) if name == PARENTS else None
    if parents is not None:
        found = [resolve_variety(one, fruit.name, catalogue)[0] for one in parents[:2]]
        names = [one if v is None else v.name for one, v in zip(parents[:2], found, strict=True)]
        return (" x " if parents[2] else ", ").join(names)
    genotype = parse_genotype(value, fruit)[0] if name == "s_genotype" else None
    if genotype is None:
        return value
    return "".join(genotype.alleles) + ("" if genotype.complete else "S?")


def _with_modifier(properties: Mapping[str, str]) -> Mapping[str, str]:
    """The typed values, with the share of pollen that the modifiers at the M-locus let pass.

    Half of the pollen for one m0, all for two (Muñoz-Sanz et al. 2017, apricot).
    """
    modifiers = properties.get("m_genotype", "").casefold().count("m0")
    if not modifiers or "modifier_share" in properties:
        return properties
    return {**properties, "modifier_share": f"{min(modifiers, 2) / 2:g}"}


def _genotype_problems(own: OwnVariety) -> list[Finding]:
    genotype, _ = parse_genotype(own.properties.get("s_genotype", ""), own.fruit)
    if genotype is None:
        return []
    typed = own.properties.get("ploidy", "")
    ploidy = int(typed) if typed.isdecimal() else None
    findings = [*ploidy_problems(genotype, ploidy, "", "--ploidy")]
    shown = parse_genotype(own.properties.get("pollen_alleles", ""), own.fruit)[0]
    if shown is not None and genotype.complete and set(shown.alleles) - set(genotype.alleles):
        told = {"shown": listing(shown.alleles), "alleles": listing(genotype.alleles)}
        message = say("The pollen cannot show {shown}: the tree has {alleles}.", **told)
        findings.append(Finding("error", "contradiction", message, place="--set pollen_alleles"))
    if strange := sorted(set(genotype.alleles) - known_alleles(own.fruit.name_space)):
        told = {"fruit": say(own.fruit.name), "alleles": listing(strange)}
        message = say("No other {fruit} here has {alleles}.", **told)
        cure = say("Check the name of the allele; a new one passes every style known here.")
        findings.append(Finding("note", "new-allele", message, place="--s-genotype", cure=cure))
    return findings


def _parent_rows(own: OwnVariety, catalogue: Catalogue) -> tuple[list[NewRow], list[Finding]]:
    if not own.clone_of:
        return [], []
    parent, findings = resolve_variety(own.clone_of, own.fruit.name, catalogue, place="--sport-of")
    if parent is None:
        return [], list(findings)
    if parent.name == own.name:
        message = say("{name} cannot be a sport of itself.", name=own.name)
        return [], [Finding("error", "contradiction", message, place="--sport-of")]
    cells = {"name": own.name, "variety": parent.name, "kind": "sport", "source": SOURCE}
    cells |= {"status": "plan", "note": own.note}
    row = NewRow(f"{own.fruit.folder}/synonyms.csv", cells, "--sport-of")
    return [row], list(findings)


# --- bloom -----------------------------------------------------------------------------------


def _bloom_rows(
    text: str, own: OwnVariety, catalogue: Catalogue, shared: SharedTables
) -> tuple[list[NewRow], list[Finding]]:
    if compared := _COMPARED.fullmatch(text.strip()):
        days = float(compared["days"] or 0)
        later = -days if (compared["side"] or "").lower() == "before" else days
        return _compared_rows(compared["name"], later, own, catalogue, shared)
    context, colon, word = (part.strip() for part in text.partition(":"))
    if colon:
        return _class_rows(context, word, own, catalogue, shared)
    span = parse_span(text)
    if span is None:
        return [], [_bloom_problem(say("'{text}' cannot be read as bloom.", text=text))]
    longest = int(shared.properties["bloom_length_days"].maximum)
    if (span[1] - span[0]) % 365 > longest:
        message = say("'{text}' is longer than {number} days of bloom.", text=text, number=longest)
        return [], [_bloom_problem(message)]
    return _span_rows(span, own, shared), []


def _shed_rows(own: OwnVariety, shared: SharedTables) -> tuple[list[NewRow], list[Finding]]:
    span = parse_span(own.shed)
    if not own.fruit.shed_apart:
        message = say("A {fruit} sheds its pollen with its bloom.", fruit=say(own.fruit.name))
        return [], [_bloom_problem(message, say("Give --bloom alone."), _SHED)]
    if span is None:
        message = say("'{text}' cannot be read as days of pollen shed.", text=own.shed)
        cure = say('Give first and last day in your garden: "8 Jan - 2 Feb".')
        return [], [_bloom_problem(message, cure, _SHED)]
    return _span_rows(span, own, shared, tuple(SHED_DATED), _SHED), []


def _pick_rows(own: OwnVariety, shared: SharedTables) -> tuple[list[NewRow], list[Finding]]:
    span = parse_span(own.pick)
    if span is None:
        message = say("'{text}' cannot be read as days of picking.", text=own.pick)
        cure = say('Give first and last day in your garden: "8 Sep - 20 Sep".')
        return [], [Finding("error", "wrong-picking", message, place=_PICK, cure=cure)]
    if (span[1] - span[0]) % 365 > LONGEST_PICKING_DAYS:
        message = say("'{text}' is longer than {number} days of picking.",
                      text=own.pick, number=LONGEST_PICKING_DAYS)  # fmt: skip
        cure = say('Give first and last day in your garden: "8 Sep - 20 Sep".')
        return [], [Finding("error", "wrong-picking", message, place=_PICK, cure=cure)]
    return _span_rows(span, own, shared, PICKED, _PICK), []


LONGEST_PICKING_DAYS = 120
"""No variety is picked longer. Own convention."""


def _bloom_problem(message: str, cure: str = _BLOOM_CURE, place: str = "--bloom") -> Finding:
    return Finding("error", "wrong-bloom", message, place=place, cure=cure)


def _span_rows(
    span: tuple[float, float],
    own: OwnVariety,
    shared: SharedTables,
    names: tuple[str, ...] = ("first_bloom_day", "bloom_end_day"),
    option: str = "--bloom",
) -> list[NewRow]:
    """Two days in the grower's own garden, as facts of two properties."""
    cells = {"context": OWN_GARDEN, "place": HERE, "source": SOURCE, "status": "plan"}
    note = "usual days in the garden that the plan describes"
    return [
        NewRow("contexts.csv", {**cells, "note": note}, option),
        *(
            _fact(own, name, f"{day:g}", shared, OWN_GARDEN, option)
            for name, day in zip(names, span, strict=True)
        ),
    ]


def _compared_rows(
    name: str, days: float, own: OwnVariety, catalogue: Catalogue, shared: SharedTables
) -> tuple[list[NewRow], list[Finding]]:
    """Bloom against another variety: an offset at every place where that one's bloom is dated."""
    found, findings = resolve_variety(name, own.fruit.name, catalogue, place="--bloom")
    if found is None:
        return [], list(findings)
    other = catalogue.varieties[found]
    if other.typed_bloom is not None:
        first, last = other.typed_bloom.intervals[0]
        shifted = ((first + days - 1) % 365 + 1, (last + days - 1) % 365 + 1)
        return _span_rows(shifted, own, shared), list(findings)
    if not other.bloom:
        message = say(
            "Nothing that could be carried is known of the bloom of {name}.", name=found.name
        )
        cure = say("Compare it with another. {cure}", cure=_BLOOM_CURE)
        return [], [*findings, _bloom_problem(message, cure)]
    rows = []
    places = len({evidence.place for evidence in other.bloom})
    for evidence in _one_a_stage(other):
        context = _compared_context(found, evidence, places)
        fact = _fact(own, "bloom_offset_days", f"{days:g}", shared, context["context"], "--bloom")
        rows += [NewRow("contexts.csv", context, "--bloom"), fact]
    return rows, list(findings)


def _one_a_stage(variety: Variety) -> Iterable[BloomEvidence]:
    """The most certain evidence of each place and stage."""
    best: dict[tuple[str, str], BloomEvidence] = {}
    for evidence in sorted(variety.bloom, key=lambda e: e.sd_days):
        best.setdefault((evidence.place, evidence.stage), evidence)
    return best.values()


def _compared_context(other: VarietyId, evidence: BloomEvidence, places: int) -> dict[str, str]:
    # The error of the comparison is the same at every place: pooled over them it must not shrink.
    sd_days = hypot(evidence.sd_days, COMPARED_SD_DAYS * sqrt(places))
    return {
        "context": f"against {other.name} ({other.species}), {evidence.place}, {evidence.stage}",
        "place": evidence.place,
        "stage": evidence.stage,
        "reference_variety": other.name,
        "reference_day": f"{evidence.day:g}",
        "sd_days": f"{sd_days:.1f}",
        "source": SOURCE,
        "status": "plan" if evidence.status == "published" else evidence.status,
        "note": f"the day of {other.name} is that of {evidence.context}, {evidence.source}",
    }


def _class_rows(
    context: str, word: str, own: OwnVariety, catalogue: Catalogue, shared: SharedTables
) -> tuple[list[NewRow], list[Finding]]:
    facts = (fact for variety in catalogue.varieties.values() for fact in variety.facts)
    used = {fact.context for fact in facts if fact.property == "bloom_class"}
    classes: dict[str, list[str]] = {}
    for name, each in shared.grounds.classes:
        if name in used:
            classes.setdefault(name, []).append(each)
    if context not in classes:
        message = say(
            "{fruit} has no bloom classes of '{context}'{nearest}.",
            fruit=say(own.fruit.name),
            context=context,
            nearest=nearest_words(context, classes),
        )
        known = listing(sorted(classes))
        having = say("It has those of: {contexts}. {cure}", contexts=known, cure=_BLOOM_CURE)
        return [], [_bloom_problem(message, having if classes else _BLOOM_CURE)]
    if word not in classes[context]:
        message = say("'{word}' is no bloom class of {context}.", word=word, context=context)
        cure = say("Its classes: {classes}.", classes=listing(classes[context]))
        return [], [_bloom_problem(message, cure)]
    return [_fact(own, "bloom_class", word, shared, context, "--bloom")], []
