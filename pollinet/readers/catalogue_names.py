"""Step two of the catalogues: names in the tables of one fruit → varieties.

Names in the grower's own tables are settled first: one that differs from a known name in case,
accents or spaces only means that one; one that is nearly a known name is told.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from pollinet.findings import Finding
from pollinet.messages import joined, say
from pollinet.readers.names import LIKE_A_SLIP, fold, suggest
from pollinet.readers.text_tables import Row
from pollinet.readers.varieties import Grounds

GROUP = "incompatibility_group"


@dataclass(frozen=True)
class Synonyms:
    """Who is who among the varieties of one fruit.

    varieties : varieties by their other names.
    trade : those of the names under which fruit is sold.
    also : what else a name is used for.
    parents : the first parent of each sport or clone.
    ties : the rows that say so.
    """

    varieties: Mapping[str, str]
    parents: Mapping[str, str]
    ties: Mapping[str, Row]
    trade: frozenset[str] = frozenset()
    also: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def __call__(self, name: str) -> str:
        """The variety that a name of the tables stands for."""
        return self.varieties.get(name, name)


def synonyms_of(rows: Iterable[Row]) -> Synonyms:
    """Synonyms out of the rows of their tables, those that go first standing first."""
    told: dict[str, Row] = {}
    also: dict[str, tuple[str, ...]] = {}
    for row in rows:
        if row["kind"] == "also":
            also[row["name"]] = (*also.get(row["name"], ()), row["variety"])
        else:
            told.setdefault(row["name"], row)
    ties = {name: row for name, row in told.items() if row["kind"] in ("sport", "clone")}
    others = {name: row["variety"] for name, row in told.items() if name not in ties}
    varieties = {name: _behind(name, others) for name in others}
    parents = {name: varieties.get(p := row["variety"], p) for name, row in ties.items()}
    roots = {name: _first_parent(name, parents) for name in sorted(parents)}
    trade = frozenset(name for name, row in told.items() if row["kind"] == "trade_name")
    return Synonyms(varieties, roots, ties, trade, also)


def _behind(name: str, others: Mapping[str, str]) -> str:
    """The variety at the end of a row of other names; a circle ends where it began."""
    passed = {name}
    while (following := others.get(name, name)) not in passed:
        passed.add(following)
        name = following
    return name


def _first_parent(name: str, parents: Mapping[str, str]) -> str:
    """The variety at the root of a line of sports."""
    passed = {name}
    while (name := parents[name]) in parents and name not in passed:
        passed.add(name)
    return name


def settled(
    rows: Iterable[Row],
    columns: Collection[str],
    known: Collection[str],
    findings: list[Finding],
) -> Iterator[Row]:
    """Rows of own tables with their names as the known ones are written.

    columns : those that hold names.
    known : names that go before, in their order.
    findings : takes a note for each name that is nearly a known one.
    """
    folded = {fold(name): name for name in reversed(list(known))}
    noted: set[str] = set()
    for row in rows:
        cells = dict(row.cells)
        for column in columns:
            name = cells[column]
            if name in known or name in noted:
                continue
            cells[column] = folded.get(fold(name), name)
            near = suggest(name, known, 2, least=LIKE_A_SLIP) if cells[column] == name else []
            if near:
                noted.add(name)
                message = say("The catalogue has {names}.", names=joined(near))
                cure = say("Where you mean one of these, write its name so; otherwise all is well.")
                findings.append(
                    Finding("note", "near-name", message, row.file, column, row.line, cure)
                )
        yield replace(row, cells=cells)


def with_known_words(
    rows: Iterable[Row], grounds: Grounds, groups: Collection[str]
) -> Iterator[Row]:
    """Facts of own tables with bloom classes and incompatibility groups as others write them."""
    for row in rows:
        known = groups if row["property"] == GROUP else ()
        if row["property"] == "bloom_class":
            known = [word for context, word in grounds.classes if context == row["context"]]
        word = {fold(one): one for one in known}.get(fold(row["value"]), row["value"])
        yield replace(row, cells={**row.cells, "value": word})
