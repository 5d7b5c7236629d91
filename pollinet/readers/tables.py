"""Catalogue tables: CSV text to checked rows, with a finding for every row that cannot be used.

Every table has one value a row and says where it comes from. What is allowed in a table of
facts is itself a table: `properties.csv`.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from pollinet.domain import Status
from pollinet.findings import Finding
from pollinet.messages import NOTHING, Message, listing, say

PropertyKind = Literal["number", "integer", "choice", "text", "genotype"]

STATUSES: frozenset[str] = frozenset(get_args(Status))


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table: its cells by column, and its line, the header being line 1."""

    line: int
    cells: Mapping[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells[column]


@dataclass(frozen=True)
class Table:
    """Columns of one kind of table, and those of them that no row may leave empty."""

    columns: tuple[str, ...]
    required: tuple[str, ...]


FACTS = Table(
    ("variety", "property", "value", "unit", "context", "source", "status", "note"),
    ("variety", "property", "value", "source", "status"),
)
SYNONYMS = Table(
    ("name", "variety", "kind", "source", "status", "note"),
    ("name", "variety", "kind", "source", "status"),
)
PAIRS = Table(
    (
        *("female", "male", "result", "fruit_set_pct", "kind"),
        *("context", "source", "status", "note"),
    ),
    ("female", "male", "result", "kind", "source", "status"),
)
ALLELES = Table(
    ("allele", "alias_of", "mutant", "source", "status", "note"),
    ("allele", "source", "status"),
)
FRUITS = Table(
    (
        *("name", "latin", "system", "name_space", "allele_pattern", "allele_example", "ploidy"),
        *("self_fertile_default", "pollen_by", "shed_apart", "folder", "other_names"),
        *("source", "status", "note"),
    ),
    (
        *("name", "latin", "system", "name_space", "ploidy", "pollen_by", "shed_apart"),
        *("folder", "source", "status"),
    ),
)
PROPERTIES = Table(
    (
        *("property", "type", "unit", "allowed", "minimum", "maximum", "single"),
        "description",
    ),
    ("property", "type", "single", "description"),
)
SOURCES = Table(
    ("source", "citation", "address", "licence", "part"),
    ("source", "citation"),
)
CONTEXTS = Table(
    (
        *("context", "place", "years", "stage", "reference_variety", "reference_day"),
        *("sd_days", "source", "status", "note"),
    ),
    ("context", "source", "status"),
)
BLOOM_CLASSES = Table(
    ("context", "class", "day", "sd_days", "source", "status", "note"),
    ("context", "class", "day", "sd_days", "source", "status"),
)
TRIAL_SITES = Table(
    ("place", "country", "latitude", "longitude", "elevation_m", "source", "status", "note"),
    ("place", "latitude", "longitude", "elevation_m", "source", "status"),
)
NORMALS = Table(
    ("place", "month", "tmin_c", "tmax_c", "source", "status"),
    ("place", "month", "tmin_c", "tmax_c", "source", "status"),
)
CROSSINGS = Table(
    ("donor", "receiver", "answer", "source", "status", "note"),
    ("donor", "receiver", "answer", "source", "status"),
)

CHOICES: Mapping[str, frozenset[str]] = {
    "status": STATUSES,
    "kind of synonym": frozenset({"synonym", "registered", "sport", "clone"}),
    "result": frozenset({"yes", "half", "no"}),
    "mutant": frozenset({"", "pollen", "style"}),
    "answer": frozenset({"yes", "no", "unknown"}),
    "stage": frozenset({"", "start", "full", "end"}),
    "system": frozenset({"gametophytic", "sporophytic", "class"}),
}


@dataclass(frozen=True)
class Property:
    """One line of the column dictionary.

    single : whether a variety can have only one value of it (a genotype), or one for each
        context (a bloom date).
    """

    name: str
    kind: PropertyKind
    unit: str = ""
    allowed: frozenset[str] = frozenset()
    minimum: float = float("-inf")
    maximum: float = float("inf")
    single: bool = False
    description: str = ""


def nearest(word: str, known: Iterable[str], count: int = 3) -> Message:
    """Known words nearest to `word`, as `; nearest: a, b`; empty where nothing is near."""
    from difflib import get_close_matches

    near = get_close_matches(word, sorted(known), n=count, cutoff=0.5)
    return say("; nearest: {names}", names=listing(near)) if near else NOTHING


def read_rows(text: str, file: str, table: Table) -> tuple[list[Row], list[Finding]]:
    """Rows of one CSV table.

    A row with an empty required cell is left out and found. Surplus columns are kept out and
    found once. Lines that begin with `#` and empty lines are passed over.
    """
    reader = csv.reader(text.splitlines())
    header: list[str] = []
    rows: list[Row] = []
    findings: list[Finding] = []
    for cells in reader:
        if not cells or cells[0].startswith("#"):
            continue
        if not header:
            header = [name.strip() for name in cells]
            findings += _header_findings(header, file, table)
            if any(column not in header for column in table.columns):
                return [], findings
            continue
        row = Row(reader.line_num, dict(zip(header, cells, strict=False)))
        problem = _row_problem(row, len(cells), len(header), file, table)
        if problem is None:
            rows.append(row)
        else:
            findings.append(problem)
    if not header:
        findings += _header_findings([], file, table)
    return rows, findings


def _header_findings(header: list[str], file: str, table: Table) -> list[Finding]:
    missing = [column for column in table.columns if column not in header]
    surplus = [column for column in header if column not in table.columns]
    findings = []
    if missing:
        findings.append(
            Finding(
                "error",
                "missing-column",
                say("The table has no column {columns}.", columns=listing(missing)),
                file,
                line=1,
                cure=say("Its columns are: {columns}.", columns=listing(table.columns)),
            )
        )
    if surplus:
        findings.append(
            Finding(
                "warning",
                "unknown-column",
                say("The column {columns} is not known and is not read.", columns=listing(surplus)),
                file,
                line=1,
                cure=say("The columns are: {columns}.", columns=listing(table.columns)),
            )
        )
    return findings


def _row_problem(row: Row, found: int, wanted: int, file: str, table: Table) -> Finding | None:
    if found != wanted:
        return Finding(
            "error",
            "wrong-length",
            say("The row has {found} cells; the header has {wanted}.", found=found, wanted=wanted),
            file,
            line=row.line,
            cure=say("Put a cell that holds a comma in double quotes."),
        )
    for column in table.required:
        value = row.cells[column]
        if not value or value.isspace():
            code = "missing-source" if column == "source" else "missing-value"
            return Finding(
                "error",
                code,
                say("The cell {column} is empty.", column=column),
                file,
                column,
                row.line,
                say("Say where the value comes from.")
                if column == "source"
                else say("Fill it in."),
            )
    return None


def read_properties(text: str, file: str) -> tuple[dict[str, Property], list[Finding]]:
    """The column dictionary: what each property may hold."""
    rows, findings = read_rows(text, file, PROPERTIES)
    properties = {}
    for row in rows:
        properties[row["property"]] = Property(
            row["property"],
            row["type"],  # type: ignore[arg-type]
            row["unit"],
            frozenset(filter(None, row["allowed"].split("|"))),
            number(row["minimum"], float("-inf")),
            number(row["maximum"], float("inf")),
            row["single"] == "yes",
            row["description"],
        )
    return properties, findings


def number(text: str, default: float = float("nan")) -> float:
    """A finite number, or the default where the text is empty or no number."""
    try:
        value = float(text)
    except ValueError:
        return default
    return value if abs(value) != float("inf") and value == value else default


def choice_problem(row: Row, column: str, choice: str, file: str) -> Finding | None:
    """Finding where the cell of `column` is not one of the words in `CHOICES[choice]`."""
    allowed = CHOICES[choice]
    value = row[column]
    if value in allowed:
        return None
    words = listing(sorted(filter(None, allowed)))
    message = (
        say("'{value}' is not allowed; allowed: {words} or empty.", value=value, words=words)
        if "" in allowed
        else say("'{value}' is not allowed; allowed: {words}.", value=value, words=words)
    )
    return Finding("error", "not-allowed", message, file, column, row.line)


def key_problem(
    row: Row, column: str, known: Collection[str], code: str, file: str, cure: str
) -> Finding | None:
    """Finding where the cell of `column` is filled and is none of the `known` keys."""
    value = row[column]
    if not value or value in known:
        return None
    message = say("'{value}' is not known{nearest}.", value=value, nearest=nearest(value, known))
    return Finding("error", code, message, file, column, row.line, cure)


def number_problem(
    row: Row, column: str, file: str, low: float = float("-inf"), high: float = float("inf")
) -> Finding | None:
    """Finding where a filled cell is no number or lies outside `low` to `high`."""
    text = row[column]
    if not text:
        return None
    value = number(text)
    if value != value:
        message = say("'{value}' is not a number.", value=text)
        return Finding("error", "wrong-type", message, file, column, row.line)
    if not low <= value <= high:
        message = say("{value} is outside {low:g} to {high:g}.", value=text, low=low, high=high)
        return Finding("error", "out-of-range", message, file, column, row.line)
    return None


def value_problem(row: Row, properties: Mapping[str, Property], file: str) -> Finding | None:
    """Finding where a row of facts breaks the column dictionary: property, unit, type, range."""
    known = properties.get(row["property"])
    if known is None:
        cure = say("The properties are listed in properties.csv.")
        return key_problem(row, "property", properties, "unknown-property", file, cure)
    if row["unit"] != known.unit:
        message = say(
            "{property} has the unit {unit}; found: {found}.",
            property=known.name,
            unit=known.unit or say("none"),
            found=row["unit"] or say("no unit"),
        )
        return Finding("error", "wrong-unit", message, file, "unit", row.line)
    if known.kind == "choice" and row["value"] not in known.allowed:
        message = say(
            "'{value}' is not allowed for {property}; allowed: {words}.",
            value=row["value"],
            property=known.name,
            words=listing(sorted(known.allowed)),
        )
        return Finding("error", "not-allowed", message, file, "value", row.line)
    if known.kind == "integer" and number(row["value"]) % 1:
        message = say(
            "{property} is a whole number; found: '{value}'.",
            property=known.name,
            value=row["value"],
        )
        return Finding("error", "wrong-type", message, file, "value", row.line)
    if known.kind in ("number", "integer"):
        return number_problem(row, "value", file, known.minimum, known.maximum)
    return None
