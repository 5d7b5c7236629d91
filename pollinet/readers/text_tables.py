"""Step one of the catalogues: CSV text → rows, typed and checked as the table's schema says.

The schemas are the Frictionless table schemas that ship with the catalogues (`datapackage.json`);
shipped tables and the grower's own are read alike. What a schema cannot say stands in
`readers.catalogue_checks`.
"""

from __future__ import annotations

import csv
import json
import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from math import inf, isfinite, nan
from typing import Any, NamedTuple

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.errors import CatalogueMissing
from pollinet.findings import Finding, has_errors
from pollinet.letters import odd_line, shortened
from pollinet.messages import NOTHING, Message, listing, mark, say
from pollinet.readers.names import LIKE_A_WORD, fold, nearest_words, suggest

HERE = "here"
"""Place of a context of the grower's own site, in the grower's own tables only."""


class Problem(NamedTuple):
    """What is wrong with a cell, as in a finding on it."""

    code: str
    message: Message
    cure: Message = NOTHING


# --- what a table may hold -------------------------------------------------------------------


@dataclass(frozen=True)
class Field:
    """What one column of a table, or one property of the facts, may hold.

    kind : `number`, `integer`, `choice` (one of `allowed`), `text`, `genotype` or `descent`.
    single : of a property: whether a variety can have only one value of it (a genotype), or one
        for each context (a bloom date).
    """

    name: str
    kind: str
    unit: str = ""
    allowed: frozenset[str] = frozenset()
    minimum: float = -inf
    maximum: float = inf
    single: bool = False
    description: str = ""
    required: bool = False

    @cached_property
    def words(self) -> Mapping[str, str]:
        """The allowed words by what of them counts: not case, spaces or hyphens."""
        return {fold(word): word for word in self.allowed if word}

    def read(self, text: str, of: str = "") -> tuple[Any, Problem | None]:
        """A filled cell as a word, number or text; or what is wrong with it.

        of : the property of the facts that it is a value of; empty: the cell is a column's own.
        """
        if self.kind == "choice":
            word = self.words.get(fold(text)) if text not in self.allowed else text
            return word, None if word is not None else self._not_allowed(text, of)
        if self.kind == "descent":
            return text, None if parents_in(text) else _no_parents(text)
        if self.kind not in ("number", "integer"):
            return text, None
        value = number(text)
        if self.kind == "integer" and value % 1:
            whole = say("{property} is a whole number; found: '{value}'.", property=self.name,
                        value=text)  # fmt: skip
            return None, Problem("wrong-type", whole, say(_BARE_NUMBER))
        if value != value:
            message = say("'{value}' is not a number.", value=text)
            return None, Problem("wrong-type", message, say(_BARE_NUMBER))
        if not self.minimum <= value <= self.maximum:
            outside = say("{value} is outside {low:g} to {high:g}.", value=text, low=self.minimum,
                          high=self.maximum)  # fmt: skip
            return None, Problem("out-of-range", outside, say("Look at the number and its unit."))
        return (int(value) if self.kind == "integer" else value), None

    def _not_allowed(self, text: str, of: str) -> Problem:
        words = sorted(self.words.values())
        pattern = mark("'{value}' is not allowed; allowed: {words}.")
        if of:
            pattern = mark("'{value}' is not allowed for {property}; allowed: {words}.")
        elif not self.required:
            pattern = mark("'{value}' is not allowed; allowed: {words} or empty.")
        message = say(pattern, value=text, property=of, words=listing(words))
        near = suggest(text, words, 1, least=LIKE_A_WORD)
        cure = say("Nearest: {names}.", names=near[0]) if near else NOTHING
        return Problem("not-allowed", message, cure)


_BARE_NUMBER = mark("Write the number alone, with a decimal point; days as 100 for 10 April.")

PARENTS = re.compile(r"\s+[xX×]\s+|,\s+")
"""What stands between two parents: a cross if the first is the seed parent, else a comma."""


def parents_in(text: str) -> tuple[str, str, bool] | None:
    """The two parents in `Gala x Braeburn`, and whether the first is told to be the seed parent.

    A parent that is not known is `?`. None: there are not two.
    """
    found = PARENTS.split(text)
    if len(found) != 2 or not all(name.strip() for name in found):
        return None
    first, second = (name.strip() for name in found)
    return (first, second, "," not in text) if (first, second) != ("?", "?") else None


def _no_parents(text: str) -> Problem:
    message = say("'{value}' does not name two parents.", value=text)
    cure = say('Write "Gala x Braeburn", the seed parent first; "Gala, Braeburn" where it is not '
               'known which is which; ? for a parent that is not known.')  # fmt: skip
    return Problem("wrong-parents", message, cure)


def number(text: str, default: float = nan) -> float:
    """A finite number, or the default where the text is empty or no number."""
    try:
        value = float(text)
    except ValueError:
        return default
    return value if isfinite(value) else default


@dataclass(frozen=True)
class Schema:
    """Columns of a table; those whose cells together occur once; and keys into other tables.

    links : for a column, the table in which its cells are a key (`sources`, `contexts`, …).
    """

    fields: tuple[Field, ...]
    key: tuple[str, ...]
    links: Mapping[str, str]

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """Names of the columns, in the order of the table."""
        return tuple(field.name for field in self.fields)


@cache
def _schema_files() -> Mapping[str, str]:
    resources = json.loads(shipped_text("datapackage.json"))["resources"]
    return {resource["path"]: resource["schema"] for resource in resources}


@cache
def schema_of(path: str) -> Schema:
    """The schema of a table by its path, such as `apple/facts.csv`."""
    return _schema(_schema_files()[path])


@cache
def _schema(file: str) -> Schema:
    told = json.loads(shipped_text(file))
    links = {link["fields"]: link["reference"]["resource"] for link in told.get("foreignKeys", ())}
    return Schema(tuple(map(_field, told["fields"])), tuple(told.get("primaryKey", ())), links)


def _field(told: Mapping[str, Any]) -> Field:
    rules = told.get("constraints", {})
    plain = "text" if told["type"] == "string" else told["type"]
    return Field(
        told["name"],
        "choice" if "enum" in rules else plain,
        allowed=frozenset(rules.get("enum", ())),
        minimum=rules.get("minimum", -inf),
        maximum=rules.get("maximum", inf),
        description=told.get("description", ""),
        required=rules.get("required", False),
    )


# --- reading ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table.

    cells : by column: text, numbers in columns of numbers, None where there is none.
    file, line : where it stands; the header is line 1.
    own : whether the table is the grower's own.
    problems : what is wrong with its cells.
    """

    cells: Mapping[str, Any]
    file: str
    line: int
    own: bool = False
    problems: tuple[Finding, ...] = ()

    def __getitem__(self, column: str) -> Any:
        return self.cells[column]


def read_table(
    text: str,
    file: str,
    schema: Schema,
    known: Mapping[str, Collection[str]] | None = None,
    *,
    own: bool = False,
) -> tuple[list[Row], list[Finding]]:
    """Rows of one CSV table that have all their cells, and findings on the others.

    A row with an empty required cell is left out and found. Surplus columns are kept out and
    found once. Lines that begin with `#` and empty lines are passed over.

    known : the keys of other tables, by the names that the schema's links have for them; a link
        to a table that is not among them is not looked at.
    """
    header, lines = _split(text)
    findings = _header_findings(header, file, schema)
    if has_errors(findings):
        return [], findings
    wanted = len(header)
    whole = [told for told in lines if len(told[1]) == wanted]
    if len(whole) < len(lines):
        findings += [
            _length_finding(len(cells), wanted, file, line)
            for line, cells in lines
            if len(cells) != wanted
        ]
    texts = list(zip(*(cells for _, cells in whole), strict=True)) or [()] * wanted
    columns: list[list[Any]] = []
    wrong: dict[int, list[Finding]] = {}
    for field in schema.fields:
        link = schema.links.get(field.name, "")
        cells = texts[header.index(field.name)]
        values, problems = _read_column(cells, field, link, (known or {}).get(link), own=own)
        columns.append(values)
        for place, (code, message, cure) in problems.items():
            found = Finding("error", code, message, file, field.name, whole[place][0], cure)
            wrong.setdefault(place, []).append(found)
    names, rows = schema.columns, []
    for place, told in enumerate(zip(*columns, strict=True)):
        # The table is long: this is most of the time that reading takes.
        by_column = dict(zip(names, told))  # noqa: B905
        if place not in wrong:
            rows.append(Row(by_column, file, whole[place][0], own))
        elif missing := [one for one in wrong[place] if one.code in MISSING]:
            findings.append(missing[0])
        else:
            rows.append(Row(by_column, file, whole[place][0], own, tuple(wrong[place])))
    return rows, findings


def _split(text: str) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The header, and the other rows that are no remarks, with their lines."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    reader = csv.reader(lines)
    told = [(reader.line_num, cells) for cells in reader if cells and cells[0][:1] != "#"]
    header = told[0][1] if told else []
    return [name.strip() for name in header], told[1:]


def _read_column(
    texts: Sequence[str],
    field: Field,
    link: str,
    keys: Collection[str] | None,
    *,
    own: bool = False,
) -> tuple[list[Any], dict[int, Problem]]:
    """The cells of a column, and what is wrong by row. Few differ: each text is read once.

    link, keys : the table that its cells are keys of, and those keys; None: not looked at.
    """
    values: dict[str, Any] = {text: text.strip() for text in dict.fromkeys(texts)}
    wrong: dict[str, Problem] = {}
    numeric = field.kind in ("number", "integer")
    # Words and remarks, of which nearly every one is another, need no further look.
    plain = keys is None and not numeric and field.kind != "choice" and not own
    for text, value in () if plain else values.items():
        if not value:
            continue
        if own and (odd := odd_line(value)):
            wrong[text] = _odd_text(value, odd)
            continue
        if keys is not None and value not in keys:
            wrong[text] = _unknown_key(value, link, keys)
            continue
        values[text], problem = field.read(value)
        if problem is not None:
            wrong[text] = problem
    for text in [text for text, value in values.items() if value == ""]:
        values[text] = None if numeric else ""
        if field.required:
            wrong[text] = _missing(field.name)
    places = [place for place, text in enumerate(texts) if text in wrong] if wrong else []
    return [values[text] for text in texts], {place: wrong[texts[place]] for place in places}


def _odd_text(text: str, allowed: Message) -> Problem:
    message = say("'{value}' cannot be meant.", value=shortened(text))
    return Problem("odd-text", message, say("Write {allowed}.", allowed=allowed))


MISSING = ("missing-source", "missing-value")
"""Codes of findings on an empty cell: the row is then not looked at further."""


def _missing(column: str) -> Problem:
    message = say("The cell {column} is empty.", column=column)
    if column == "source":
        return Problem("missing-source", message, say("Say where the value comes from."))
    return Problem("missing-value", message, say("Fill it in."))


_LINKS: Mapping[str, tuple[str, str]] = {
    "contexts": ("context", mark("Add it to contexts.csv, with its place and years.")),
    "fruits": ("fruit", mark("The kinds of fruit are: {names}.")),
    "properties": ("property", mark("The properties are listed in properties.csv.")),
    "sources": ("source", mark("Add it to sources.csv, with what it is.")),
    "trial_sites": (
        "place",
        mark("Add it to trial_sites.csv; leave it empty, or type {here} for your garden."),
    ),
}
"""What the keys of other tables are, and what to do about one that is not there."""


def _unknown_key(text: str, link: str, keys: Collection[str]) -> Problem:
    what, cure = _LINKS[link]
    message = say("'{value}' is not known{nearest}.", value=text, nearest=nearest_words(text, keys))
    told = say(cure, names=listing(sorted(keys)), here=HERE)
    return Problem(f"unknown-{what}", message, told)


def _header_findings(header: list[str], file: str, schema: Schema) -> list[Finding]:
    every = listing(schema.columns)
    missing = [column for column in schema.columns if column not in header]
    surplus = [column for column in header if column not in schema.columns]
    repeated = [column for column, count in Counter(header).items() if count > 1 and column]
    findings = []
    if missing:
        message = say("The table has no column {columns}.", columns=listing(missing))
        cure = say("Its columns are: {columns}.", columns=every)
        findings.append(Finding("error", "missing-column", message, file, line=1, cure=cure))
    if repeated:
        message = say("The column {columns} stands there twice.", columns=listing(repeated))
        cure = say("The columns are: {columns}.", columns=every)
        findings.append(Finding("error", "repeated-column", message, file, line=1, cure=cure))
    if surplus:
        message = say("The column {columns} is not known and is not read.",
                      columns=listing(surplus))  # fmt: skip
        cure = say("The columns are: {columns}.", columns=every)
        findings.append(Finding("warning", "unknown-column", message, file, line=1, cure=cure))
    return findings


def _length_finding(found: int, wanted: int, file: str, line: int) -> Finding:
    message = say("The row has {found} cells; the header has {wanted}.", found=found, wanted=wanted)
    cure = say("Put a cell that holds a comma in double quotes.")
    return Finding("error", "wrong-length", message, file, line=line, cure=cure)


# --- shipped tables --------------------------------------------------------------------------


_root = cache(catalogue_root)
"""Looked for once: a search costs as much as reading a small table."""


def shipped_text(path: str) -> str:
    """Text of a file of the shipped catalogues; without it the installation is broken."""
    text = table_text(_root(), path)
    if text is None:
        raise CatalogueMissing(f"{path} is not among the catalogues")
    return text


@cache
def shipped_rows(path: str) -> tuple[Row, ...]:
    """Rows of a shipped table as its schema has them."""
    return tuple(read_table(shipped_text(path), path, schema_of(path))[0])


def shipped_texts(path: str) -> tuple[Mapping[str, str], ...]:
    """Rows of a shipped table without a schema, every cell as text."""
    return tuple(csv.DictReader(shipped_text(path).splitlines()))


@cache
def properties() -> Mapping[str, Field]:
    """What each property of the facts may hold, by its name: the table `properties.csv`."""
    return {
        row["property"]: Field(
            row["property"],
            row["type"],
            row["unit"],
            frozenset(filter(None, row["allowed"].split("|"))),
            -inf if row["minimum"] is None else row["minimum"],
            inf if row["maximum"] is None else row["maximum"],
            row["single"] == "yes",
            row["description"],
        )
        for row in shipped_rows("properties.csv")
    }
