"""Tables that all fruits share: kinds of fruit, sources, trial sites, contexts, classes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources.abc import Traversable
from pathlib import Path

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.domain import CrossingRule, Fruit, Normals, Site
from pollinet.findings import Finding
from pollinet.messages import Message, listing, say
from pollinet.readers.catalogue_checks import RowCheck, normals_problems, repeats
from pollinet.readers.disputes import Factors, Weighed
from pollinet.readers.text_tables import (
    HERE,
    Field,
    Row,
    properties,
    read_table,
    schema_of,
    shipped_rows,
)
from pollinet.readers.varieties import BloomClass, Context, ContextDetail, Grounds, weakest

SHIPPED = "catalogues"

SHARED = (
    *("sources.csv", "trial_sites.csv", "trial_site_normals.csv", "contexts.csv"),
    *("context_details.csv", "bloom_classes.csv", "crossings.csv"),
)
"""Tables that all fruits share and that a grower can add to."""


@cache
def fruits() -> Mapping[str, Fruit]:
    """All kinds of fruit that have a catalogue, by name."""
    return {
        row["name"]: Fruit(
            row["name"],
            row["latin"],
            row["system"],
            row["name_space"],
            row["ploidy"],
            {"yes": True, "no": False}.get(row["self_fertile_default"]),
            row["folder"],
            tuple(filter(None, row["other_names"].split("; "))),
            row["pollen_by"],
            row["shed_apart"] == "yes",
            float(row["near_m"]),
            float(row["far_m"]),
        )
        for row in shipped_rows("fruits.csv")
    }


def fruit_cure() -> Message:
    """What to type for a kind of fruit."""
    return say("The kinds of fruit are: {names}.", names=listing(sorted(fruits())))


@dataclass(frozen=True)
class Tables:
    """The tables of the catalogues, the grower's own before the shipped ones.

    findings : what is wrong in them, collected as they are read.
    known : the keys of tables that others refer to, by the names that schemas have for them.
    """

    own_folder: Path | None
    findings: list[Finding]
    known: dict[str, Collection[str]] = field(default_factory=dict)
    shipped: Traversable = field(default_factory=catalogue_root)

    def complete(self, path: str) -> list[Row]:
        """The rows of one table that have all their cells, each with what is wrong with it."""
        own = [(f"{self.own_folder}", self.own_folder)] if self.own_folder else []
        complete = []
        for label, root in [*own, (SHIPPED, self.shipped)]:
            file = f"{label}/{path}"
            try:
                text = table_text(root, path)
            except UnicodeDecodeError:
                message = say("The table is not written in UTF-8.")
                cure = say("Save it again as UTF-8 (in a spreadsheet: CSV UTF-8).")
                self.findings.append(Finding("error", "wrong-encoding", message, file, cure=cure))
                continue
            if text is not None:
                rows, problems = read_table(
                    text, file, schema_of(path), self.known, own=root is self.own_folder
                )
                self.findings.extend(problems)
                complete += rows
        return complete

    def sound(self, rows: Iterable[Row], *checks: RowCheck) -> list[Row]:
        """The rows without a problem; the problems of the others become findings."""
        sound = []
        for row in rows:
            problems = row.problems
            for check in checks:
                if found := check(row):
                    problems = (*problems, *found)
            if problems:
                self.findings.extend(problems)
            else:
                sound.append(row)
        return sound

    def rows(self, path: str, *checks: RowCheck) -> list[Row]:
        """The rows of one table in which nothing is wrong."""
        unique = [repeats(schema_of(path))] if schema_of(path).key else []
        return self.sound(self.complete(path), *unique, *checks)


@dataclass(frozen=True)
class SharedTables:
    """What all fruits refer to: the column dictionary, sources, grounds and crossings."""

    properties: Mapping[str, Field]
    sources: Mapping[str, str]
    grounds: Grounds
    crossings: tuple[CrossingRule, ...]


def read_shared(own_folder: Path | None, findings: list[Finding]) -> SharedTables:
    """Read and check the shared tables; problems go to the findings."""
    return shared_of(Tables(own_folder, findings))


def shared_of(tables: Tables) -> SharedTables:
    """The shared tables; their keys become known to the tables that are read after them."""
    sources: dict[str, str] = {}
    for row in tables.rows("sources.csv"):
        sources.setdefault(row["source"], row["citation"])
    tables.known.update(sources=sources, fruits=fruits(), properties=properties())
    sites = _sites(tables)
    tables.known["trial_sites"] = {*sites, HERE}
    contexts = _contexts(tables)
    tables.known["contexts"] = contexts
    classes: dict[tuple[str, str], BloomClass] = {}
    for row in tables.rows("bloom_classes.csv"):
        told = BloomClass(row["day"], row["sd_days"], row["status"])
        classes.setdefault((row["context"], row["class"]), told)
    details: dict[str, ContextDetail] = {}
    for row in tables.rows("context_details.csv"):
        details.setdefault(row["context"], ContextDetail(row["chill_method"], row["window_days"]))
    crossings = tuple(CrossingRule(**row.cells) for row in tables.rows("crossings.csv"))
    grounds = Grounds(contexts, classes, sites, _factors(), details)
    return SharedTables(properties(), sources, grounds, crossings)


@cache
def _factors() -> Factors:
    """What the weights of disputed values are multiplied by, in the shipped tables."""
    return {
        (row["fruit"], row["variety"], row["property"], row["value"]): Weighed(
            row["factor"], row["note"]
        )
        for row in shipped_rows("disputes.csv")
    }


def _sites(tables: Tables) -> dict[str, Site]:
    rows = tables.complete("trial_sites.csv")
    tables.known["trial_sites"] = {row["place"] for row in rows}
    months: dict[str, dict[int, Row]] = {}
    for row in tables.rows("trial_site_normals.csv"):
        months.setdefault(row["place"], {}).setdefault(row["month"], row)
    sites: dict[str, Site] = {}
    checks = (repeats(schema_of("trial_sites.csv")), normals_problems(months))
    for row in tables.sound(rows, *checks):
        sites.setdefault(row["place"], _site(row, months[row["place"]]))
    return sites


def _site(row: Row, months: Mapping[int, Row]) -> Site:
    rows = [months[month] for month in range(1, 13)]
    normals = Normals(
        tuple(r["tmin_c"] for r in rows),
        tuple(r["tmax_c"] for r in rows),
        rows[0]["source"],
        weakest(r["status"] for r in rows),
    )
    return Site(row["place"], row["latitude"], row["longitude"], row["elevation_m"], normals)


def _contexts(tables: Tables) -> dict[str, Context]:
    contexts: dict[str, Context] = {}
    for row in tables.rows("contexts.csv"):
        context = Context(
            row["context"],
            row["place"],
            row["stage"] or None,
            row["reference_day"],
            row["sd_days"],
            row["status"],
            row["reference_variety"],
        )
        contexts.setdefault(context.name, context)
    return contexts
