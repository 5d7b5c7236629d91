"""The catalogues as the stages see them: only the fruits that are asked for.

Three steps: text to typed rows (`text_tables`), names to varieties (`catalogue_names`), and what
a schema cannot check (`catalogue_checks`). A grower's own tables stand in a folder of the same
layout and go before the shipped ones: an own value of a property takes the place of all shipped
values of that property of that variety.
"""

from __future__ import annotations

import gc
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pollinet.catalogue_files import catalogue_root
from pollinet.domain import (
    AlleleFact,
    Catalogue,
    DominanceFact,
    Fact,
    Fertility,
    FertilityRules,
    Fruit,
    MeasuredPair,
    UsualFertility,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, in_order
from pollinet.messages import say
from pollinet.readers.cache import kept as kept_on_disk
from pollinet.readers.catalogue_checks import (
    allele_problems,
    clone_problems,
    dominance_problems,
    fact_problems,
    synonym_problems,
    unused_days,
)
from pollinet.readers.catalogue_names import GROUP, Synonyms, settled, synonyms_of, with_known_words
from pollinet.readers.descent import PARENTS, descended_like, descent_problems, with_descent
from pollinet.readers.names import fold, nearest_words
from pollinet.readers.shared_tables import (
    SHARED,
    Tables,
    fruit_cure,
    fruits,
    shared_of,
)
from pollinet.readers.text_tables import Row, properties
from pollinet.readers.varieties import Grounds, build_variety, like_parent

__all__ = ["fruits", "load_catalogue"]

TABLES = ("facts.csv", "synonyms.csv", "pairs.csv", "alleles.csv")
"""Tables that each fruit has in its folder."""

DOMINANCE = "dominance.csv"
"""Table of a fruit whose pollen shows alleles of its plant."""


def tables_of(fruit: Fruit) -> tuple[str, ...]:
    """Paths of the tables that a fruit may have."""
    names = (*TABLES, DOMINANCE) if fruit.system == "sporophytic" else TABLES
    return tuple(f"{fruit.folder}/{name}" for name in names)


def load_catalogue(
    fruit_names: Iterable[str], own_folder: Path | None = None
) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Read and check the tables of some fruits; the same tables are read once and kept on disk.

    Parameters
    ----------
    fruit_names : names as in `fruits()`; others are a finding `unknown-fruit`.
    own_folder : the grower's own tables, laid out as the shipped ones: `apple/facts.csv`,
        `contexts.csv`, `sources.csv` …; any of them may be missing.

    Returns
    -------
    The catalogue, and all findings on rows that were left out. The shipped tables give none.
    """
    names = sorted(set(fruit_names))
    sources = _sources(names, own_folder)
    # Tables are a great many objects that all stay and refer to nothing in a circle: looking for
    # circles again and again as they become more would take a third to a half of the time.
    collects = gc.isenabled()
    gc.disable()
    try:
        return kept_on_disk("catalogue", sources, lambda: _read_catalogue(names, own_folder))
    finally:
        if collects:
            gc.enable()


def _sources(names: Sequence[str], own_folder: Path | None) -> Iterator[bytes]:
    """All tables that the catalogue of some fruits is read from: their names and content."""
    yield "\n".join(names).encode()
    root = catalogue_root()
    paths = [path for name in names if name in fruits() for path in tables_of(fruits()[name])]
    schemas = sorted(f"schemas/{file.name}" for file in root.joinpath("schemas").iterdir())
    rules = ("fruits.csv", "properties.csv", "disputes.csv", "datapackage.json", *schemas)
    for path in (*rules, *SHARED, *paths):
        file = root.joinpath(*path.split("/"))
        yield path.encode()
        yield file.read_bytes() if file.is_file() else b""
    if own_folder is not None:
        yield f"{own_folder} {own_folder.is_dir()}".encode()
        for own in own_files(own_folder):
            if own.suffix == ".csv":
                yield own.relative_to(own_folder).as_posix().encode()
                yield own.read_bytes() if own.is_file() else b""


def own_files(folder: Path) -> list[Path]:
    """What stands in a folder of own tables and in its folders, no deeper: that is all there may
    be, and a slip such as `/` must not make the whole disk be read."""
    return sorted([*folder.glob("*"), *folder.glob("*/*")])


def _read_catalogue(
    names: Sequence[str], own_folder: Path | None
) -> tuple[Catalogue, tuple[Finding, ...]]:
    findings: list[Finding] = []
    for name in names:
        if name not in fruits():
            near = nearest_words(name, fruits())
            message = say("There is no catalogue of '{name}'{nearest}.", name=name, nearest=near)
            findings.append(Finding("error", "unknown-fruit", message, cure=fruit_cure()))
    findings += _folder_findings(own_folder)
    tables = Tables(own_folder, findings)
    shared = shared_of(tables)
    chosen = {name: fruits()[name] for name in names if name in fruits()}
    varieties: dict[VarietyId, Variety] = {}
    synonyms: dict[VarietyId, VarietyId] = {}
    pairs: list[MeasuredPair] = []
    alleles: list[AlleleFact] = []
    dominance: list[DominanceFact] = []
    trade: set[VarietyId] = set()
    also: dict[VarietyId, tuple[VarietyId, ...]] = {}
    for fruit in chosen.values():
        read = _read_fruit(fruit, tables, shared.grounds)
        varieties |= {VarietyId(fruit.name, name): one for name, one in read.varieties.items()}
        synonyms |= {
            VarietyId(fruit.name, name): VarietyId(fruit.name, variety)
            for name, variety in sorted(read.names.varieties.items())
        }
        trade |= {VarietyId(fruit.name, name) for name in read.names.trade}
        also |= {
            VarietyId(fruit.name, name): tuple(VarietyId(fruit.name, other) for other in others)
            for name, others in sorted(read.names.also.items())
        }
        pairs += read.pairs
        for row in tables.rows(f"{fruit.folder}/alleles.csv", allele_problems(fruit)):
            alleles.append(AlleleFact(fruit.name_space, **row.cells))
        if fruit.system == "sporophytic":
            orders = tables.rows(f"{fruit.folder}/{DOMINANCE}", dominance_problems(fruit))
            dominance += (DominanceFact(fruit.name_space, **row.cells) for row in orders)
    counts = _allele_counts(varieties.values(), chosen)
    rules = FertilityRules(
        chosen,
        tuple(alleles),
        tuple(pairs),
        shared.crossings,
        _allele_frequencies(counts),
        _usual(varieties.values(), chosen, counts),
        tuple(dominance),
    )
    catalogue = Catalogue(
        varieties,
        synonyms,
        rules,
        shared.grounds.sites,
        shared.sources,
        frozenset(trade),
        also,
    )
    return catalogue, in_order(findings)


def _folder_findings(own_folder: Path | None) -> list[Finding]:
    """Findings on a folder of own tables that is not there, or holds tables nobody reads."""
    if own_folder is None:
        return []
    if not own_folder.is_dir():
        message = say("The folder of own tables is not there.")
        cure = say("Check its name, or leave it out.")
        return [Finding("error", "missing-folder", message, f"{own_folder}", cure=cure)]
    known = {*SHARED, *(path for fruit in fruits().values() for path in tables_of(fruit))}
    files = (file for file in own_files(own_folder) if file.suffix.lower() == ".csv")
    found = (file.relative_to(own_folder).as_posix() for file in files)
    return [
        Finding(
            "warning",
            "unread-table",
            say("No table of this name is read{nearest}.", nearest=nearest_words(path, known)),
            f"{own_folder}/{path}",
        )
        for path in sorted(found)
        if path not in known
    ]


# --- tables of one fruit ---------------------------------------------------------------------


@dataclass(frozen=True)
class _OneFruit:
    """What the tables of one fruit hold."""

    names: Synonyms
    varieties: Mapping[str, Variety]
    pairs: list[MeasuredPair]


def _read_fruit(fruit: Fruit, tables: Tables, grounds: Grounds) -> _OneFruit:
    folder, findings = fruit.folder, tables.findings
    facts = tables.rows(f"{folder}/facts.csv", fact_problems(fruit))
    ties = tables.sound(tables.complete(f"{folder}/synonyms.csv"), synonym_problems())
    crosses = tables.rows(f"{folder}/pairs.csv")
    if tables.own_folder:
        facts, ties, crosses = _settled(facts, ties, crosses, grounds, findings)
    names = synonyms_of(ties)
    told = _by_variety(facts, names)
    pairs = [_pair(row, fruit, names) for row in crosses]
    # A variety that only occurs in a cross or as a sport is one of which nothing more is known.
    every = {*told, *names.parents, *names.parents.values(), *names.varieties.values()}
    every |= {name for others in names.also.values() for name in others}
    every |= {name for pair in pairs for name in (pair.female, pair.male)}
    varieties = {
        name: build_variety(name, fruit, told.get(name, ()), grounds) for name in sorted(every)
    }
    for name, parent in names.parents.items():
        clone, root, tie = varieties[name], varieties[parent], names.ties[name]
        findings += clone_problems(clone, root, tie)
        varieties[name] = like_parent(clone, root, tie["source"], tie["status"])
    _descend(varieties, facts, names, findings)
    return _OneFruit(names, varieties, pairs)


def _descend(
    varieties: dict[str, Variety], facts: Iterable[Row], names: Synonyms, findings: list[Finding]
) -> None:
    """Put in what follows from the parents of varieties; their sports take it over."""
    rows: dict[str, Row] = {}
    for row in facts:
        if row["property"] == PARENTS:
            rows.setdefault(names(row["variety"]), row)
    known = _Names(names, varieties) if any(row.own for row in rows.values()) else names
    findings += descent_problems(varieties, rows, known)
    for variety in list(with_descent(varieties, rows, known)):
        varieties[variety.id.name] = variety
    for name, parent in names.parents.items():
        if name not in rows:
            varieties[name] = descended_like(varieties[name], varieties[parent])


class _Names:
    """Names as a grower writes them: their case, accents and spaces do not count."""

    def __init__(self, names: Synonyms, varieties: Mapping[str, Variety]) -> None:
        self._names = names
        self._folded = {fold(name): meant for name, meant in names.varieties.items()}
        self._folded |= {fold(name): name for name in varieties}

    def __call__(self, name: str) -> str:
        """The variety that is meant; the name itself where none is."""
        return self._folded.get(fold(name), self._names(name))


def _settled(
    facts: list[Row],
    ties: list[Row],
    crosses: list[Row],
    grounds: Grounds,
    findings: list[Finding],
) -> tuple[list[Row], list[Row], list[Row]]:
    """The rows of the grower's own tables, which go first, as the shipped ones are written."""
    (own_facts, shipped_facts), (own_ties, shipped_ties), (own_crosses, shipped_crosses) = (
        ([row for row in rows if row.own], [row for row in rows if not row.own])
        for rows in (facts, ties, crosses)
    )
    known = dict.fromkeys(row["variety"] for row in (*shipped_facts, *shipped_ties))
    known |= dict.fromkeys(row["name"] for row in shipped_ties)
    groups = [row["value"] for row in shipped_facts if row["property"] == GROUP]
    own_facts = list(with_known_words(own_facts, grounds, groups))
    own_facts = list(settled(own_facts, ("variety",), known, findings))
    findings += unused_days(own_facts, grounds)
    known |= dict.fromkeys(row["variety"] for row in own_facts)
    known |= dict.fromkeys(row["name"] for row in own_ties)
    return (
        own_facts + shipped_facts,
        [*settled(own_ties, ("variety",), known, findings), *shipped_ties],
        [*settled(own_crosses, ("female", "male"), known, findings), *shipped_crosses],
    )


def _by_variety(rows: Iterable[Row], names: Synonyms) -> dict[str, list[Fact]]:
    """Facts by variety; a variety's own values of a property hide the shipped ones."""
    facts: dict[str, list[Fact]] = {}
    own: set[tuple[str, str]] = set()
    for row in rows:
        variety = names(row.cells["variety"])
        if row.own:
            own.add((variety, row.cells["property"]))
        elif own and (variety, row.cells["property"]) in own:
            continue
        if variety not in facts:
            facts[variety] = []
        facts[variety].append(_fact(row))
    return facts


def _fact(row: Row) -> Fact:
    cells = row.cells
    known, value = properties()[cells["property"]], cells["value"]
    if known.kind == "choice" and value not in known.allowed:
        value = known.read(value)[0]
    return Fact(
        known.name,
        value,
        cells["unit"],
        cells["context"],
        cells["source"],
        cells["status"],
        cells["note"],
    )


def _pair(row: Row, fruit: Fruit, names: Synonyms) -> MeasuredPair:
    cells = {column: cell for column, cell in row.cells.items() if column != "context"}
    both = {sex: names(row[sex]) for sex in ("female", "male")}
    return MeasuredPair(fruit.name, **(cells | both))


def _allele_frequencies(counts: Mapping[str, Counter[str]]) -> dict[str, dict[str, float]]:
    """Share of each allele among the known genotypes of a name space."""
    return {
        space: {allele: n / count.total() for allele, n in sorted(count.items())}
        for space, count in sorted(counts.items())
    }


def _allele_counts(
    varieties: Iterable[Variety], chosen: Mapping[str, Fruit]
) -> dict[str, Counter[str]]:
    """How often each allele stands in the known genotypes of a name space; clones count once."""
    told: dict[str, list[str]] = {}
    for variety in varieties:
        genotype = variety.fertility.genotype
        if genotype is not None and variety.fertility.clone == variety.id.name:
            told.setdefault(chosen[variety.id.species].name_space, []).extend(genotype.alleles)
    return {space: Counter(alleles) for space, alleles in told.items()}


FEWEST_TOLD = 10
"""Varieties that must be told of before their shares stand for the others: own convention."""


def _usual(
    varieties: Iterable[Variety],
    chosen: Mapping[str, Fruit],
    counts: Mapping[str, Counter[str]],
) -> dict[str, UsualFertility]:
    """What is usual among the varieties of each fruit; clones count once.

    Odd ploidy is taken as the share of all varieties that are told to have it: sources name it
    where it is so and pass over it where it is not. Alleles that were never seen have the share
    of those seen once (Good 1953, Biometrika 40:237-264).
    """
    own: dict[str, list[Fertility]] = {name: [] for name in chosen}
    for variety in varieties:
        if variety.fertility.clone == variety.id.name:
            own[variety.id.species].append(variety.fertility)
    return {
        name: _usual_of(own[name], counts.get(fruit.name_space, Counter()))
        for name, fruit in chosen.items()
    }


def _usual_of(own: Sequence[Fertility], counted: Counter[str]) -> UsualFertility:
    odd = sum((f.ploidy or 0) % 2 for f in own)
    told = [f.self_fertile for f in own if f.self_fertile is not None]
    return UsualFertility(
        odd_ploidy=odd / len(own) if len(own) >= FEWEST_TOLD else 0.0,
        unseen_alleles=sum(n == 1 for n in counted.values()) / max(1, counted.total()),
        self_fertile=sum(told) / len(told) if len(told) >= FEWEST_TOLD else None,
    )
