"""The catalogues as the stages see them: only the fruits that are asked for.

A grower's own tables stand in a folder of the same layout. They are checked in the same way
and go before the shipped ones: an own value of a property takes the place of all shipped
values of that property of that variety.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pollinet.catalogue_files import catalogue_root
from pollinet.domain import (
    AlleleFact,
    Catalogue,
    Fact,
    FertilityRules,
    Fruit,
    MeasuredPair,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, in_order
from pollinet.messages import say
from pollinet.readers import tables
from pollinet.readers.cache import kept as kept_on_disk
from pollinet.readers.genotypes import parse_genotype
from pollinet.readers.shared_tables import (
    SHARED,
    SharedTables,
    common_problems,
    context_problem,
    fruit_cure,
    fruits,
    kept,
    read_shared,
    rows_of,
)
from pollinet.readers.tables import Row, Table
from pollinet.readers.varieties import build_variety, clone_differences, like_parent

__all__ = ["fruits", "load_catalogue"]

TABLES: Mapping[str, Table] = {
    "facts.csv": tables.FACTS,
    "synonyms.csv": tables.SYNONYMS,
    "pairs.csv": tables.PAIRS,
    "alleles.csv": tables.ALLELES,
}
"""Tables that each fruit has in its folder."""


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
    return kept_on_disk("catalogue", sources, lambda: _read_catalogue(names, own_folder))


def _sources(names: Sequence[str], own_folder: Path | None) -> Iterator[bytes]:
    """All tables that the catalogue of some fruits is read from: their names and content."""
    yield "\n".join(names).encode()
    folders = [fruits()[name].folder for name in names if name in fruits()]
    root = catalogue_root()
    paths = [f"{folder}/{table}" for folder in folders for table in TABLES]
    for path in ("fruits.csv", "properties.csv", *SHARED, *paths):
        file = root.joinpath(*path.split("/"))
        yield path.encode()
        yield file.read_bytes() if file.is_file() else b""
    if own_folder is not None:
        yield f"{own_folder} {own_folder.is_dir()}".encode()
        for own in sorted(own_folder.rglob("*.csv")):
            yield own.relative_to(own_folder).as_posix().encode()
            yield own.read_bytes() if own.is_file() else b""


def _read_catalogue(
    names: Sequence[str], own_folder: Path | None
) -> tuple[Catalogue, tuple[Finding, ...]]:
    findings: list[Finding] = []
    for name in names:
        if name not in fruits():
            near = tables.nearest(name, fruits())
            message = say("There is no catalogue of '{name}'{nearest}.", name=name, nearest=near)
            findings.append(Finding("error", "unknown-fruit", message, cure=fruit_cure()))
    findings += _folder_findings(own_folder)
    shared = read_shared(own_folder, findings)
    chosen = {name: fruits()[name] for name in names if name in fruits()}
    varieties: dict[VarietyId, Variety] = {}
    synonyms: dict[VarietyId, VarietyId] = {}
    pairs: list[MeasuredPair] = []
    alleles: list[AlleleFact] = []
    for fruit in chosen.values():
        files = _Files(fruit, own_folder, shared, findings)
        found_varieties, found_synonyms, found_pairs = _read_fruit(files)
        varieties |= found_varieties
        synonyms |= found_synonyms
        pairs += found_pairs
        alleles += _alleles(files)
    rules = FertilityRules(
        chosen,
        tuple(alleles),
        tuple(pairs),
        shared.crossings,
        _allele_frequencies(varieties.values(), chosen),
    )
    catalogue = Catalogue(varieties, synonyms, rules, shared.grounds.sites, shared.sources)
    return catalogue, in_order(findings)


def _folder_findings(own_folder: Path | None) -> list[Finding]:
    """Findings on a folder of own tables that is not there, or holds tables nobody reads."""
    if own_folder is None:
        return []
    if not own_folder.is_dir():
        message = say("The folder of own tables is not there.")
        return [Finding("error", "missing-folder", message, f"{own_folder}")]
    folders = [fruit.folder for fruit in fruits().values()]
    known = {*SHARED, *(f"{folder}/{name}" for folder in folders for name in TABLES)}
    found = (file.relative_to(own_folder).as_posix() for file in own_folder.rglob("*.csv"))
    return [
        Finding(
            "warning",
            "unread-table",
            say("No table of this name is read{nearest}.", nearest=tables.nearest(path, known)),
            f"{own_folder}/{path}",
        )
        for path in sorted(found)
        if path not in known
    ]


# --- tables of one fruit ---------------------------------------------------------------------


@dataclass(frozen=True)
class _Files:
    fruit: Fruit
    own_folder: Path | None
    shared: SharedTables
    findings: list[Finding]

    def rows(self, name: str) -> Iterator[tuple[str, list[Row]]]:
        """Rows of one of the fruit's tables by file, the grower's own first."""
        path = f"{self.fruit.folder}/{name}"
        return rows_of(path, TABLES[name], self.own_folder, self.findings)


def _read_fruit(
    files: _Files,
) -> tuple[dict[VarietyId, Variety], dict[VarietyId, VarietyId], list[MeasuredPair]]:
    fruit = files.fruit
    synonyms, parents, ties = _synonyms(files)
    facts = _facts(files, synonyms)
    pairs = _pairs(files, synonyms)
    # A variety that only occurs in a cross or as a sport is one of which nothing more is known.
    names = {*facts, *parents, *parents.values(), *synonyms.values()}
    names |= {name for pair in pairs for name in (pair.female, pair.male)}
    varieties = {
        name: build_variety(name, fruit, facts.get(name, ()), files.shared.grounds)
        for name in sorted(names)
    }
    for name, parent in parents.items():
        file, tie = ties[name]
        problems = _clone_problems(varieties[name], varieties[parent], file, tie.line)
        files.findings.extend(problems)
        varieties[name] = like_parent(
            varieties[name],
            varieties[parent],
            tie["source"],
            tie["status"],  # type: ignore[arg-type]
        )
    return (
        {variety.id: variety for variety in varieties.values()},
        {
            VarietyId(fruit.name, name): VarietyId(fruit.name, variety)
            for name, variety in sorted(synonyms.items())
        },
        pairs,
    )


def _clone_problems(clone: Variety, parent: Variety, file: str, line: int) -> list[Finding]:
    """What a sport or clone cannot have otherwise than its parent."""
    cure = say("Correct one of the two, or take back that it is a sport or clone.")
    return [
        Finding(
            "error",
            "clone-contradiction",
            say(
                "{name} has {property} {ours}, but {parent}, of which it is a clone, has {theirs}.",
                name=clone.id.name,
                property=key,
                ours=ours,
                parent=parent.id.name,
                theirs=theirs,
            ),
            file,
            "variety",
            line,
            cure,
        )
        for key, ours, theirs in clone_differences(clone.fertility, parent.fertility)
    ]


def _synonyms(
    files: _Files,
) -> tuple[dict[str, str], dict[str, str], dict[str, tuple[str, Row]]]:
    """Varieties by other names; the first parent of each sport or clone; file and row of each."""
    told: dict[str, Row] = {}
    written: dict[str, str] = {}
    for file, rows in files.rows("synonyms.csv"):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *common_problems(row, file, files.shared.sources),
                tables.choice_problem(row, "kind", "kind of synonym", file),
            )

        here: dict[str, Row] = {}
        for row in kept(rows, checks, files.findings):
            first = here.setdefault(row["name"], row)
            if first["variety"] != row["variety"]:
                message = say(
                    "{name} already belongs to {variety}.",
                    name=row["name"],
                    variety=first["variety"],
                )
                files.findings.append(
                    Finding("error", "contradiction", message, file, "variety", row.line)
                )
        written = dict.fromkeys(here, file) | written
        told = here | told
    tied = {name for name, row in told.items() if row["kind"] in ("sport", "clone")}
    synonyms = {name: row["variety"] for name, row in told.items() if name not in tied}
    parents = {name: synonyms.get(p := told[name]["variety"], p) for name in tied}
    roots = {name: _first_parent(name, parents) for name in sorted(parents)}
    return synonyms, roots, {name: (written[name], told[name]) for name in tied}


def _first_parent(name: str, parents: Mapping[str, str]) -> str:
    """The variety at the root of a line of sports."""
    passed = {name}
    while (name := parents[name]) in parents and name not in passed:
        passed.add(name)
    return name


def _facts(files: _Files, synonyms: Mapping[str, str]) -> dict[str, list[Fact]]:
    """Facts by variety; a variety's own values of a property hide the shipped ones."""
    facts: dict[str, list[Fact]] = {}
    hidden: set[tuple[str, str]] = set()
    for file, rows in files.rows("facts.csv"):
        seen: dict[tuple[str, ...], Row] = {}
        for row in kept(rows, _fact_checks(files, file, seen), files.findings):
            variety = synonyms.get(row["variety"], row["variety"])
            if (variety, row["property"]) not in hidden:
                cells = row.cells
                fact = Fact(
                    cells["property"],
                    cells["value"],
                    cells["unit"],
                    cells["context"],
                    cells["source"],
                    cells["status"],  # type: ignore[arg-type]
                    cells["note"],
                )
                facts.setdefault(variety, []).append(fact)
        if files.own_folder:
            hidden |= {(name, fact.property) for name, own in facts.items() for fact in own}
    return facts


def _fact_checks(
    files: _Files, file: str, seen: dict[tuple[str, ...], Row]
) -> Callable[[Row], Iterable[Finding | None]]:
    shared, fruit = files.shared, files.fruit

    def checks(row: Row) -> Iterator[Finding | None]:
        yield from common_problems(row, file, shared.sources)
        if row["context"] not in shared.grounds.contexts:
            yield context_problem(row, shared.grounds.contexts, file)
        problem = tables.value_problem(row, shared.properties, file)
        if problem is not None:
            yield problem
            return
        known = shared.properties[row["property"]]
        if known.kind == "genotype":
            place = {"file": file, "place": "value"}
            yield from parse_genotype(row["value"], fruit, **place, line=row.line)[1]
        key: tuple[str, ...] = (row["variety"], known.name)
        if not known.single:
            key = (*key, row["context"], row["source"])
        first = seen.setdefault(key, row)
        if first is not row:
            yield _repeat_problem(first, row, file)

    return checks


def _repeat_problem(first: Row, row: Row, file: str) -> Finding:
    told = {"property": row["property"], "variety": row["variety"], "line": first.line}
    if first["value"] == row["value"]:
        message = say("{property} of {variety} stands here twice (first in line {line}).", **told)
        return Finding("warning", "duplicate", message, file, "value", row.line)
    message = say(
        "{property} of {variety} is {first} in line {line}, here {here}.",
        first=first["value"],
        here=row["value"],
        **told,
    )
    cure = say("Keep the value that you trust.")
    return Finding("error", "contradiction", message, file, "value", row.line, cure)


def _pairs(files: _Files, synonyms: Mapping[str, str]) -> list[MeasuredPair]:
    pairs = []
    for file, rows in files.rows("pairs.csv"):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *common_problems(row, file, files.shared.sources),
                tables.choice_problem(row, "result", "result", file),
                context_problem(row, files.shared.grounds.contexts, file),
            )

        for row in kept(rows, checks, files.findings):
            pairs.append(
                MeasuredPair(
                    files.fruit.name,
                    synonyms.get(row["female"], row["female"]),
                    synonyms.get(row["male"], row["male"]),
                    row["result"],  # type: ignore[arg-type]
                    row["fruit_set_pct"],
                    row["kind"],
                    row["source"],
                    row["status"],  # type: ignore[arg-type]
                    row["note"],
                )
            )
    return pairs


def _alleles(files: _Files) -> list[AlleleFact]:
    alleles = []
    for file, rows in files.rows("alleles.csv"):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *common_problems(row, file, files.shared.sources),
                tables.choice_problem(row, "mutant", "mutant", file),
                *parse_genotype(
                    row["allele"], files.fruit, file=file, place="allele", line=row.line
                )[1],
            )

        for row in kept(rows, checks, files.findings):
            cells = [row[column] for column in tables.ALLELES.columns]
            alleles.append(AlleleFact(files.fruit.name_space, *cells))  # type: ignore[arg-type]
    return alleles


def _allele_frequencies(
    varieties: Iterable[Variety], chosen: Mapping[str, Fruit]
) -> dict[str, dict[str, float]]:
    """Share of each allele among the known genotypes of a name space; clones count once."""
    counts: dict[str, Counter[str]] = {}
    for variety in varieties:
        genotype = variety.fertility.genotype
        if genotype is not None and variety.fertility.clone == variety.id.name:
            space = chosen[variety.id.species].name_space
            counts.setdefault(space, Counter()).update(genotype.alleles)
    return {
        space: {allele: n / count.total() for allele, n in sorted(count.items())}
        for space, count in sorted(counts.items())
    }
