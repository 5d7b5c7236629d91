"""The catalogues as the stages see them: only the fruits that are asked for.

A grower's own tables stand in a folder of the same layout. They are checked in the same way
and go before the shipped ones: an own value of a property takes the place of all shipped
values of that property of that variety.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.domain import (
    AlleleFact,
    Catalogue,
    CrossingRule,
    Fact,
    FertilityRules,
    Fruit,
    MeasuredPair,
    Normals,
    Site,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, in_order
from pollinet.readers import tables
from pollinet.readers.genotypes import parse_genotype
from pollinet.readers.tables import Property, Row, Table, number
from pollinet.readers.varieties import (
    BloomClass,
    Context,
    Grounds,
    build_variety,
    like_parent,
    weakest,
)

SHIPPED = "catalogues"


@cache
def fruits() -> Mapping[str, Fruit]:
    """All kinds of fruit that have a catalogue, by name."""
    text = table_text(catalogue_root(), "fruits.csv") or ""
    rows, _ = tables.read_rows(text, "fruits.csv", tables.FRUITS)
    return {
        row["name"]: Fruit(
            row["name"],
            row["latin"],
            row["system"],  # type: ignore[arg-type]
            row["name_space"],
            int(row["ploidy"]),
            {"yes": True, "no": False}.get(row["self_fertile_default"]),
            row["folder"],
            tuple(filter(None, row["other_names"].split("; "))),
        )
        for row in rows
    }


def load_catalogue(
    fruit_names: Iterable[str], own_folder: Path | None = None
) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Read and check the tables of some fruits.

    Parameters
    ----------
    fruit_names : names as in `fruits()`; others are a finding `unknown-fruit`.
    own_folder : the grower's own tables, laid out as the shipped ones: `apple/facts.csv`,
        `contexts.csv`, `sources.csv` …; any of them may be missing.

    Returns
    -------
    The catalogue, and all findings on rows that were left out. The shipped tables give none.
    """
    findings: list[Finding] = []
    names = sorted(set(fruit_names))
    for name in names:
        if name not in fruits():
            message = f"There is no catalogue of {name!r}{tables.nearest(name, fruits())}."
            findings.append(Finding("error", "unknown-fruit", message, cure=_fruit_cure()))
    shared = _shared(own_folder, findings)
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


def _fruit_cure() -> str:
    return f"The kinds of fruit are: {', '.join(sorted(fruits()))}."


# --- tables that all fruits share ------------------------------------------------------------


@dataclass(frozen=True)
class _Shared:
    properties: Mapping[str, Property]
    sources: Mapping[str, str]
    grounds: Grounds
    crossings: tuple[CrossingRule, ...]


def _rows(
    path: str, table: Table, own_folder: Path | None, findings: list[Finding]
) -> Iterator[tuple[str, list[Row]]]:
    """Rows of one table by file, the grower's own first."""
    roots = [(f"{own_folder}", own_folder)] if own_folder else []
    for label, root in [*roots, (SHIPPED, catalogue_root())]:
        text = table_text(root, path)
        if text is not None:
            file = f"{label}/{path}"
            rows, problems = tables.read_rows(text, file, table)
            findings += problems
            yield file, rows


def _kept(
    rows: Iterable[Row],
    checks: Callable[[Row], Iterable[Finding | None]],
    findings: list[Finding],
) -> Iterator[Row]:
    """The rows without a problem; the problems of the others are added to the findings."""
    for row in rows:
        problems = [problem for problem in checks(row) if problem is not None]
        if problems:
            findings += problems
        else:
            yield row


def _shared(own_folder: Path | None, findings: list[Finding]) -> _Shared:
    text = table_text(catalogue_root(), "properties.csv") or ""
    properties, _ = tables.read_properties(text, "properties.csv")
    sources: dict[str, str] = {}
    for _, rows in _rows("sources.csv", tables.SOURCES, own_folder, findings):
        for row in rows:
            sources.setdefault(row["source"], row["citation"])
    sites = _sites(sources, own_folder, findings)
    contexts = _contexts(sources, sites, own_folder, findings)
    classes = _classes(sources, contexts, own_folder, findings)
    crossings = tuple(
        CrossingRule(*(row[c] for c in tables.CROSSINGS.columns))  # type: ignore[arg-type]
        for file, rows in _rows("crossings.csv", tables.CROSSINGS, own_folder, findings)
        for row in _kept(rows, _crossing_checks(file, sources), findings)
    )
    return _Shared(properties, sources, Grounds(contexts, classes, sites), crossings)


def _common(row: Row, file: str, sources: Mapping[str, str]) -> tuple[Finding | None, ...]:
    """What every table asks of a row: a known source and a known status."""
    if row["source"] in sources and row["status"] in tables.STATUSES:
        return ()
    cure = "Add it to sources.csv, with what it is."
    return (
        tables.key_problem(row, "source", sources, "unknown-source", file, cure),
        tables.choice_problem(row, "status", "status", file),
    )


def _crossing_checks(
    file: str, sources: Mapping[str, str]
) -> Callable[[Row], Iterable[Finding | None]]:
    return lambda row: (
        *_common(row, file, sources),
        tables.choice_problem(row, "answer", "answer", file),
        tables.key_problem(row, "donor", fruits(), "unknown-fruit", file, _fruit_cure()),
        tables.key_problem(row, "receiver", fruits(), "unknown-fruit", file, _fruit_cure()),
    )


def _sites(
    sources: Mapping[str, str], own_folder: Path | None, findings: list[Finding]
) -> dict[str, Site]:
    months: dict[str, dict[int, Row]] = {}
    for file, rows in _rows("trial_site_normals.csv", tables.NORMALS, own_folder, findings):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *_common(row, file, sources),
                tables.number_problem(row, "month", file, 1, 12),
                tables.number_problem(row, "tmin_c", file, -60, 40),
                tables.number_problem(row, "tmax_c", file, -50, 50),
            )

        for row in _kept(rows, checks, findings):
            months.setdefault(row["place"], {}).setdefault(int(number(row["month"])), row)
    sites: dict[str, Site] = {}
    for file, rows in _rows("trial_sites.csv", tables.TRIAL_SITES, own_folder, findings):

        def site_checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *_common(row, file, sources),
                tables.number_problem(row, "latitude", file, -90, 90),
                tables.number_problem(row, "longitude", file, -180, 180),
                tables.number_problem(row, "elevation_m", file, -430, 6000),
                _normals_problem(row, months.get(row["place"], {}), file),
            )

        for row in _kept(rows, site_checks, findings):
            sites.setdefault(row["place"], _site(row, months[row["place"]]))
    return sites


def _normals_problem(row: Row, months: Mapping[int, Row], file: str) -> Finding | None:
    missing = [str(month) for month in range(1, 13) if month not in months]
    if not missing:
        return None
    message = f"{row['place']} has no monthly means for month {', '.join(missing)}."
    cure = "A trial site needs twelve rows in trial_site_normals.csv."
    return Finding("error", "missing-normals", message, file, "place", row.line, cure)


def _site(row: Row, months: Mapping[int, Row]) -> Site:
    rows = [months[month] for month in range(1, 13)]
    normals = Normals(
        tuple(number(r["tmin_c"]) for r in rows),
        tuple(number(r["tmax_c"]) for r in rows),
        rows[0]["source"],
        weakest(r["status"] for r in rows),  # type: ignore[misc]
    )
    return Site(
        row["place"],
        number(row["latitude"]),
        number(row["longitude"]),
        number(row["elevation_m"]),
        normals,
    )


def _contexts(
    sources: Mapping[str, str],
    sites: Mapping[str, Site],
    own_folder: Path | None,
    findings: list[Finding],
) -> dict[str, Context]:
    contexts: dict[str, Context] = {}
    for file, rows in _rows("contexts.csv", tables.CONTEXTS, own_folder, findings):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            cure = "Add it to trial_sites.csv, or leave the place empty."
            return (
                *_common(row, file, sources),
                tables.choice_problem(row, "stage", "stage", file),
                tables.key_problem(row, "place", sites, "unknown-place", file, cure),
                tables.number_problem(row, "reference_day", file, 1, 366),
                tables.number_problem(row, "sd_days", file, 0, 60),
            )

        for row in _kept(rows, checks, findings):
            context = Context(
                row["context"],
                row["place"],
                row["stage"] or None,  # type: ignore[arg-type]
                number(row["reference_day"]) if row["reference_day"] else None,
                number(row["sd_days"]) if row["sd_days"] else None,
                row["status"],  # type: ignore[arg-type]
            )
            contexts.setdefault(context.name, context)
    return contexts


def _classes(
    sources: Mapping[str, str],
    contexts: Mapping[str, Context],
    own_folder: Path | None,
    findings: list[Finding],
) -> dict[tuple[str, str], BloomClass]:
    classes: dict[tuple[str, str], BloomClass] = {}
    for file, rows in _rows("bloom_classes.csv", tables.BLOOM_CLASSES, own_folder, findings):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *_common(row, file, sources),
                _context_problem(row, contexts, file),
                tables.number_problem(row, "day", file, 1, 366),
                tables.number_problem(row, "sd_days", file, 0, 60),
            )

        for row in _kept(rows, checks, findings):
            numbers = number(row["day"]), number(row["sd_days"])
            classes.setdefault(
                (row["context"], row["class"]),
                BloomClass(*numbers, row["status"]),  # type: ignore[arg-type]
            )
    return classes


def _context_problem(row: Row, contexts: Mapping[str, Context], file: str) -> Finding | None:
    cure = "Add it to contexts.csv, with its place and years."
    return tables.key_problem(row, "context", contexts, "unknown-context", file, cure)


# --- tables of one fruit ---------------------------------------------------------------------


@dataclass(frozen=True)
class _Files:
    fruit: Fruit
    own_folder: Path | None
    shared: _Shared
    findings: list[Finding]

    def rows(self, name: str, table: Table) -> Iterator[tuple[str, list[Row]]]:
        """Rows of one of the fruit's tables by file, the grower's own first."""
        return _rows(f"{self.fruit.folder}/{name}", table, self.own_folder, self.findings)


def _read_fruit(
    files: _Files,
) -> tuple[dict[VarietyId, Variety], dict[VarietyId, VarietyId], list[MeasuredPair]]:
    fruit = files.fruit
    synonyms, parents = _synonyms(files)
    facts = _facts(files, synonyms)
    pairs = _pairs(files, synonyms)
    # A variety that only occurs in a cross or as a sport is one of which nothing more is known.
    names = {*facts, *parents, *parents.values(), *synonyms.values()}
    names |= {name for pair in pairs for name in (pair.female, pair.male)}
    varieties = {
        name: build_variety(name, fruit, facts.get(name, ()), files.shared.grounds)
        for name in sorted(names)
    }
    for name, parent in sorted(parents.items()):
        varieties[name] = like_parent(varieties[name], varieties[parent])
    return (
        {variety.id: variety for variety in varieties.values()},
        {
            VarietyId(fruit.name, name): VarietyId(fruit.name, variety)
            for name, variety in sorted(synonyms.items())
        },
        pairs,
    )


def _synonyms(files: _Files) -> tuple[dict[str, str], dict[str, str]]:
    """Other names of varieties, and the parents of sports and clones."""
    synonyms: dict[str, str] = {}
    parents: dict[str, str] = {}
    for file, rows in files.rows("synonyms.csv", tables.SYNONYMS):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *_common(row, file, files.shared.sources),
                tables.choice_problem(row, "kind", "kind of synonym", file),
            )

        for row in _kept(rows, checks, files.findings):
            target = parents if row["kind"] in ("sport", "clone") else synonyms
            if target.setdefault(row["name"], row["variety"]) != row["variety"]:
                message = f"{row['name']} already belongs to {target[row['name']]}."
                files.findings.append(
                    Finding("error", "contradiction", message, file, "variety", row.line)
                )
    return synonyms, parents


def _facts(files: _Files, synonyms: Mapping[str, str]) -> dict[str, list[Fact]]:
    """Facts by variety; a variety's own values of a property hide the shipped ones."""
    facts: dict[str, list[Fact]] = {}
    hidden: set[tuple[str, str]] = set()
    for file, rows in files.rows("facts.csv", tables.FACTS):
        seen: dict[tuple[str, ...], Row] = {}
        for row in _kept(rows, _fact_checks(files, file, seen), files.findings):
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
        hidden |= {(name, fact.property) for name, own in facts.items() for fact in own}
    return facts


def _fact_checks(
    files: _Files, file: str, seen: dict[tuple[str, ...], Row]
) -> Callable[[Row], Iterable[Finding | None]]:
    shared, fruit = files.shared, files.fruit

    def checks(row: Row) -> Iterator[Finding | None]:
        yield from _common(row, file, shared.sources)
        if row["context"] not in shared.grounds.contexts:
            yield _context_problem(row, shared.grounds.contexts, file)
        problem = tables.value_problem(row, shared.properties, file)
        if problem is not None:
            yield problem
            return
        known = shared.properties[row["property"]]
        if known.kind == "genotype":
            yield from parse_genotype(row["value"], fruit, file=file, place="value", line=row.line)[
                1
            ]
        key: tuple[str, ...] = (row["variety"], known.name)
        if not known.single:
            key = (*key, row["context"], row["source"])
        first = seen.setdefault(key, row)
        if first is not row:
            yield _repeat_problem(first, row, file)

    return checks


def _repeat_problem(first: Row, row: Row, file: str) -> Finding:
    what = f"{row['property']} of {row['variety']}"
    if first["value"] == row["value"]:
        message = f"{what} stands here twice (first in line {first.line})."
        return Finding("warning", "duplicate", message, file, "value", row.line)
    message = f"{what} is {first['value']} in line {first.line}, here {row['value']}."
    cure = "Keep the value that you trust."
    return Finding("error", "contradiction", message, file, "value", row.line, cure)


def _pairs(files: _Files, synonyms: Mapping[str, str]) -> list[MeasuredPair]:
    pairs = []
    for file, rows in files.rows("pairs.csv", tables.PAIRS):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *_common(row, file, files.shared.sources),
                tables.choice_problem(row, "result", "result", file),
                _context_problem(row, files.shared.grounds.contexts, file),
            )

        for row in _kept(rows, checks, files.findings):
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
    for file, rows in files.rows("alleles.csv", tables.ALLELES):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *_common(row, file, files.shared.sources),
                tables.choice_problem(row, "mutant", "mutant", file),
            )

        for row in _kept(rows, checks, files.findings):
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
