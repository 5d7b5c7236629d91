"""Tables that all fruits share: kinds of fruit, sources, trial sites, contexts, classes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.domain import CrossingRule, Fruit, Normals, Site
from pollinet.findings import Finding
from pollinet.messages import Message, listing, say
from pollinet.readers import tables
from pollinet.readers.tables import Property, Row, Table, number
from pollinet.readers.varieties import HERE, BloomClass, Context, Grounds, weakest

SHIPPED = "catalogues"

SHARED: Mapping[str, Table] = {
    "sources.csv": tables.SOURCES,
    "trial_sites.csv": tables.TRIAL_SITES,
    "trial_site_normals.csv": tables.NORMALS,
    "contexts.csv": tables.CONTEXTS,
    "bloom_classes.csv": tables.BLOOM_CLASSES,
    "crossings.csv": tables.CROSSINGS,
}
"""Tables that all fruits share and that a grower can add to."""


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
            row["pollen_by"],  # type: ignore[arg-type]
            row["shed_apart"] == "yes",
        )
        for row in rows
    }


def fruit_cure() -> Message:
    """What to type for a kind of fruit."""
    return say("The kinds of fruit are: {names}.", names=listing(sorted(fruits())))


@dataclass(frozen=True)
class SharedTables:
    """What all fruits refer to: the column dictionary, sources, grounds and crossings."""

    properties: Mapping[str, Property]
    sources: Mapping[str, str]
    grounds: Grounds
    crossings: tuple[CrossingRule, ...]


def rows_of(
    path: str, table: Table, own_folder: Path | None, findings: list[Finding]
) -> Iterator[tuple[str, list[Row]]]:
    """Rows of one table by file, the grower's own first; its problems go to the findings."""
    roots = [(f"{own_folder}", own_folder)] if own_folder else []
    for label, root in [*roots, (SHIPPED, catalogue_root())]:
        file = f"{label}/{path}"
        try:
            text = table_text(root, path)
        except UnicodeDecodeError:
            message = say("The table is not written in UTF-8.")
            cure = say("Save it again as UTF-8 (in a spreadsheet: CSV UTF-8).")
            findings.append(Finding("error", "wrong-encoding", message, file, cure=cure))
            continue
        if text is not None:
            rows, problems = tables.read_rows(text, file, table)
            findings += problems
            yield file, rows


def _rows(
    name: str, own_folder: Path | None, findings: list[Finding]
) -> Iterator[tuple[str, list[Row]]]:
    return rows_of(name, SHARED[name], own_folder, findings)


def kept(
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


def read_shared(own_folder: Path | None, findings: list[Finding]) -> SharedTables:
    """Read and check the shared tables; problems go to the findings."""
    text = table_text(catalogue_root(), "properties.csv") or ""
    properties, _ = tables.read_properties(text, "properties.csv")
    sources: dict[str, str] = {}
    for _, rows in _rows("sources.csv", own_folder, findings):
        for row in rows:
            sources.setdefault(row["source"], row["citation"])
    sites = _sites(sources, own_folder, findings)
    contexts = _contexts(sources, sites, own_folder, findings)
    classes = _classes(sources, contexts, own_folder, findings)
    crossings = tuple(
        CrossingRule(*(row[c] for c in tables.CROSSINGS.columns))  # type: ignore[arg-type]
        for file, rows in _rows("crossings.csv", own_folder, findings)
        for row in kept(rows, _crossing_checks(file, sources), findings)
    )
    return SharedTables(properties, sources, Grounds(contexts, classes, sites), crossings)


def common_problems(row: Row, file: str, sources: Mapping[str, str]) -> tuple[Finding | None, ...]:
    """What every table asks of a row: a known source and a known status."""
    if row["source"] in sources and row["status"] in tables.STATUSES:
        return ()
    cure = say("Add it to sources.csv, with what it is.")
    return (
        tables.key_problem(row, "source", sources, "unknown-source", file, cure),
        tables.choice_problem(row, "status", "status", file),
    )


def _crossing_checks(
    file: str, sources: Mapping[str, str]
) -> Callable[[Row], Iterable[Finding | None]]:
    return lambda row: (
        *common_problems(row, file, sources),
        tables.choice_problem(row, "answer", "answer", file),
        tables.key_problem(row, "donor", fruits(), "unknown-fruit", file, fruit_cure()),
        tables.key_problem(row, "receiver", fruits(), "unknown-fruit", file, fruit_cure()),
    )


def _sites(
    sources: Mapping[str, str], own_folder: Path | None, findings: list[Finding]
) -> dict[str, Site]:
    months: dict[str, dict[int, Row]] = {}
    for file, rows in _rows("trial_site_normals.csv", own_folder, findings):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *common_problems(row, file, sources),
                tables.number_problem(row, "month", file, 1, 12),
                tables.number_problem(row, "tmin_c", file, -60, 40),
                tables.number_problem(row, "tmax_c", file, -50, 50),
            )

        for row in kept(rows, checks, findings):
            months.setdefault(row["place"], {}).setdefault(int(number(row["month"])), row)
    sites: dict[str, Site] = {}
    for file, rows in _rows("trial_sites.csv", own_folder, findings):

        def site_checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *common_problems(row, file, sources),
                tables.number_problem(row, "latitude", file, -90, 90),
                tables.number_problem(row, "longitude", file, -180, 180),
                tables.number_problem(row, "elevation_m", file, -430, 6000),
                _normals_problem(row, months.get(row["place"], {}), file),
            )

        for row in kept(rows, site_checks, findings):
            sites.setdefault(row["place"], _site(row, months[row["place"]]))
    return sites


def _normals_problem(row: Row, months: Mapping[int, Row], file: str) -> Finding | None:
    missing = [month for month in range(1, 13) if month not in months]
    if not missing:
        return None
    message = say(
        "{place} has no monthly means for month {months}.",
        place=row["place"],
        months=listing(missing),
    )
    cure = say("A trial site needs twelve rows in trial_site_normals.csv.")
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


_PLACE_CURE = say(
    "Add it to trial_sites.csv; leave it empty, or type {here} for your garden.", here=HERE
)
_CONTEXT_CURE = say("Add it to contexts.csv, with its place and years.")


def _contexts(
    sources: Mapping[str, str],
    sites: Mapping[str, Site],
    own_folder: Path | None,
    findings: list[Finding],
) -> dict[str, Context]:
    contexts: dict[str, Context] = {}
    for file, rows in _rows("contexts.csv", own_folder, findings):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *common_problems(row, file, sources),
                tables.choice_problem(row, "stage", "stage", file),
                tables.key_problem(
                    row, "place", {*sites, HERE}, "unknown-place", file, _PLACE_CURE
                ),
                tables.number_problem(row, "reference_day", file, 1, 366),
                tables.number_problem(row, "sd_days", file, 0, 60),
            )

        for row in kept(rows, checks, findings):
            context = Context(
                row["context"],
                row["place"],
                row["stage"] or None,  # type: ignore[arg-type]
                number(row["reference_day"]) if row["reference_day"] else None,
                number(row["sd_days"]) if row["sd_days"] else None,
                row["status"],  # type: ignore[arg-type]
                row["reference_variety"],
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
    for file, rows in _rows("bloom_classes.csv", own_folder, findings):

        def checks(row: Row, file: str = file) -> Iterable[Finding | None]:
            return (
                *common_problems(row, file, sources),
                context_problem(row, contexts, file),
                tables.number_problem(row, "day", file, 1, 366),
                tables.number_problem(row, "sd_days", file, 0, 60),
            )

        for row in kept(rows, checks, findings):
            numbers = number(row["day"]), number(row["sd_days"])
            classes.setdefault(
                (row["context"], row["class"]),
                BloomClass(*numbers, row["status"]),  # type: ignore[arg-type]
            )
    return classes


def context_problem(row: Row, contexts: Mapping[str, Context], file: str) -> Finding | None:
    """Finding where a row names a context that contexts.csv does not have."""
    return tables.key_problem(row, "context", contexts, "unknown-context", file, _CONTEXT_CURE)
