"""Step three of the catalogues: what is wrong in rows that each keep to the schema of its table.

A check takes the rows of a table one by one and says what is wrong with each;
`readers.shared_tables.Tables` leaves out the rows of which something is said.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from pollinet.domain import Fruit, Variety
from pollinet.findings import Finding
from pollinet.messages import listing, say
from pollinet.readers.disputes import DISPUTABLE
from pollinet.readers.genotypes import parse_genotype
from pollinet.readers.names import nearest_words
from pollinet.readers.text_tables import HERE, Field, Row, Schema, properties
from pollinet.readers.varieties import ALL_DATED, Grounds, clone_differences

RowCheck = Callable[[Row], Iterable[Finding]]
"""What is wrong with a row. A check of a long table gives a tuple, mostly empty: it is quickest."""


def repeats(schema: Schema) -> RowCheck:
    """A check of any table: a second row with the same key in one file."""
    seen: dict[tuple[Any, ...], Row] = {}

    def check(row: Row) -> Sequence[Finding]:
        if not schema.key:
            return ()
        key = [row.cells[column] for column in schema.key]
        first = seen.setdefault((row.own, *key), row)
        return () if first is row else (_repeated_key(first, row, schema.key[0], key),)

    return check


def _repeated_key(first: Row, row: Row, column: str, key: Sequence[str]) -> Finding:
    told = {"key": listing(key), "line": first.line}
    if first.cells == row.cells:
        message = say("{key} stands here twice (first in line {line}).", **told)
        return Finding("warning", "duplicate", message, row.file, column, row.line)
    message = say("{key} stands in line {line} already, with other values.", **told)
    cure = say("Keep the row that you trust.")
    return Finding("error", "contradiction", message, row.file, column, row.line, cure)


def normals_problems(months: Mapping[str, Mapping[int, Row]]) -> RowCheck:
    """A check of trial sites: each needs twelve months of means."""

    def check(row: Row) -> Iterator[Finding]:
        missing = [month for month in range(1, 13) if month not in months.get(row["place"], {})]
        if missing:
            message = say(
                "{place} has no monthly means for month {months}.",
                place=row["place"],
                months=listing(missing),
            )
            cure = say("A trial site needs twelve rows in trial_site_normals.csv.")
            yield Finding("error", "missing-normals", message, row.file, "place", row.line, cure)

    return check


def synonym_problems() -> RowCheck:
    """A check of synonyms: in one file, a name belongs to one variety."""
    told: dict[tuple[bool, str], Row] = {}

    def check(row: Row) -> Iterator[Finding]:
        if row["kind"] == "also":
            return
        first = told.setdefault((row.own, row["name"]), row)
        if first["variety"] != row["variety"]:
            message = say(
                "{name} already belongs to {variety}.", name=row["name"], variety=first["variety"]
            )
            cure = say("Keep the row that you trust.")
            yield Finding("error", "contradiction", message, row.file, "variety", row.line, cure)
        if circle := _circle(row, told):
            message = say("{names}: each stands for the next.", names=listing(circle, " → "))
            cure = say("Name the variety that was there first as the variety.")
            yield Finding("error", "synonym-circle", message, row.file, "variety", row.line, cure)

    return check


def _circle(row: Row, told: Mapping[tuple[bool, str], Row]) -> list[str]:
    """The names that lead from a name back to itself; empty where they do not."""
    way = [row["name"]]
    at: Row | None = row
    while at is not None and at["variety"] not in way:
        way.append(at["variety"])
        at = told.get((row.own, at["variety"]))
    return [*way, row["name"]] if at is not None and at["variety"] == row["name"] else []


def allele_problems(fruit: Fruit, columns: Sequence[str] = ("allele", "alias_of")) -> RowCheck:
    """A check of alleles: their names, and those they are compared under, are the fruit's."""

    def check(row: Row) -> Iterator[Finding]:
        for column in columns:
            place = {"file": row.file, "place": column}
            yield from parse_genotype(row[column], fruit, **place, line=row.line)[1]

    return check


def dominance_problems(fruit: Fruit) -> RowCheck:
    """A check of dominance: alleles of the fruit, and each pair of two alleles in one row."""
    told: dict[tuple[bool, frozenset[str]], Row] = {}
    alleles = allele_problems(fruit, ("allele", "other"))

    def check(row: Row) -> Iterator[Finding]:
        yield from alleles(row)
        pair = frozenset((row["allele"], row["other"]))
        first = told.setdefault((row.own, pair), row)
        if (row["other"] == "") is not (row["shown"] == "one"):
            message = say("Where shown is one, other stays empty; else it names an allele.")
            yield Finding("error", "contradiction", message, row.file, "other", row.line)
        if len(pair) == 1 or first is not row:
            message = say("Each pair of two alleles stands in one row only.")
            yield Finding("error", "contradiction", message, row.file, "other", row.line)

    return check


def fact_problems(fruit: Fruit) -> RowCheck:
    """A check of facts: unit, type and range of each property, and values that stand there twice.

    A row with a property that is not known is passed over: its schema says so. Sources may
    disagree; the grower's own tables may not.
    """
    seen: dict[tuple[Any, ...], Row] = {}
    sound: set[tuple[str, str, str]] = set()

    def check(row: Row) -> Sequence[Finding]:
        cells = row.cells
        known = properties().get(cells["property"])
        if known is None:
            return ()
        told = (known.name, cells["unit"], cells["value"])
        problems: tuple[Finding, ...] = ()
        if told not in sound:
            if problem := _value_problem(row, known):
                return (problem,)
            if known.kind == "genotype":
                place = {"file": row.file, "place": "value"}
                problems = parse_genotype(cells["value"], fruit, **place, line=row.line)[1]
            if not problems:
                sound.add(told)
        key: tuple[Any, ...] = (row.own, cells["variety"], known.name)
        if known.name in DISPUTABLE and not row.own:
            key = (*key, cells["value"], cells["source"])
        elif not known.single:
            key = (*key, cells["context"], cells["source"])
        first = seen.setdefault(key, row)
        return problems if first is row else (*problems, _repeated_fact(first, row))

    return check


def _value_problem(row: Row, known: Field) -> Finding | None:
    """What is wrong with the unit, type or range of a fact."""
    if row["unit"] != known.unit:
        message = say(
            "{property} has the unit {unit}; found: {found}.",
            property=known.name,
            unit=known.unit or say("none"),
            found=row["unit"] or say("no unit"),
        )
        cure = say("Convert the value, and write the unit that is asked for, or none.")
        return Finding("error", "wrong-unit", message, row.file, "unit", row.line, cure)
    _, problem = known.read(row["value"], of=known.name)
    if problem is None:
        return None
    code, message, cure = problem
    return Finding("error", code, message, row.file, "value", row.line, cure)


def _repeated_fact(first: Row, row: Row) -> Finding:
    told = {"property": row["property"], "variety": row["variety"], "line": first.line}
    if first["value"] == row["value"]:
        message = say("{property} of {variety} stands here twice (first in line {line}).", **told)
        return Finding("warning", "duplicate", message, row.file, "value", row.line)
    message = say(
        "{property} of {variety} is {first} in line {line}, here {here}.",
        first=first["value"],
        here=row["value"],
        **told,
    )
    cure = say("Keep the value that you trust.")
    return Finding("error", "contradiction", message, row.file, "value", row.line, cure)


def unused_days(rows: Sequence[Row], grounds: Grounds) -> Iterator[Finding]:
    """Warnings for days of bloom in own facts that no place can be told from."""
    in_garden = {
        (row["variety"], row["property"]) for row in rows if row["context"] in grounds.garden
    }
    for row in rows:
        if row["property"] not in _DAYS:
            continue
        reason = _not_used(row, grounds, in_garden)
        if reason is not None:
            message = say(
                "{property} of {variety} is not used: {reason}.",
                property=row["property"],
                variety=row["variety"],
                reason=reason,
            )
            yield Finding("warning", "unused-value", message, row.file, "context", row.line)


_DAYS = {**ALL_DATED, "bloom_offset_days": None, "bloom_class": None}
_TOGETHER = [("first_bloom_day", "bloom_end_day"), ("pollen_shed_first_day", "pollen_shed_end_day")]
"""Properties that count in the grower's own garden, where both of a pair are told."""


def _not_used(row: Row, grounds: Grounds, in_garden: Collection[tuple[str, str]]) -> str | None:
    name, context = row["property"], grounds.contexts.get(row["context"])
    if context is None or not context.place:
        return say("its context names no place")
    if context.place == HERE:
        for pair in _TOGETHER:
            if name in pair and all((row["variety"], one) in in_garden for one in pair):
                return None
        return say("in your own garden, only first and last day together count")
    dated = _DAYS[name] is not None
    if name == "bloom_class":
        words = [word for known, word in grounds.classes if known == context.name]
        if row["value"] not in words:
            near = nearest_words(row["value"], words)
            return say("its context has no days of the class '{value}'{nearest}",
                       value=row["value"], nearest=near)  # fmt: skip
        return None if context.stage else say("its context names no {column}", column="stage")
    needed = {"stage": dated or context.stage, "sd_days": context.sd_days,
              "reference_day": dated or context.reference_day}  # fmt: skip
    lacking = [column for column, told in needed.items() if told is None]
    return say("its context names no {column}", column=listing(lacking)) if lacking else None


def clone_problems(clone: Variety, parent: Variety, tie: Row) -> Iterator[Finding]:
    """What a sport or clone cannot have otherwise than its parent. `tie`: the row that says so."""
    cure = say("Correct one of the two, or take back that it is a sport or clone.")
    for key, ours, theirs in clone_differences(clone.fertility, parent.fertility):
        message = say(
            "{name} has {property} {ours}, but {parent}, of which it is a clone, has {theirs}.",
            name=clone.id.name,
            property=key,
            ours=ours,
            parent=parent.id.name,
            theirs=theirs,
        )
        yield Finding("error", "clone-contradiction", message, tie.file, "variety", tie.line, cure)
