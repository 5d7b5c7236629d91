"""Checked tables of a plan file → the domain's `Plan`: fruits and varieties by their names.

The plan's own varieties go before the catalogue's.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from pollinet.domain import (
    Aim,
    Catalogue,
    ChillRequirement,
    Fact,
    Fertility,
    Fruit,
    Limb,
    Neighbour,
    Normals,
    Plan,
    Scion,
    Site,
    Tree,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, has_errors
from pollinet.readers.genotypes import parse_genotype
from pollinet.readers.names import resolve_fruit, resolve_variety
from pollinet.readers.plan import neighbour_ids
from pollinet.readers.plan_schema import PlanTable, VarietyTable
from pollinet.readers.typed_bloom import typed_bloom

DEFAULT_LATITUDE = 45.0
"""Used only to lay typed northern dates into a season when the plan gives no latitude."""

_T = TypeVar("_T")


def fruits_of(
    table: PlanTable, fruits: Mapping[str, Fruit], file: str
) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
    """The fruits named in a plan, sorted, and findings for those that do not exist."""
    named = [
        (entry.species, f'{kind} "{_entry_name(entry)}", species')
        for kind in ("tree", "neighbour", "scion", "variety")
        for entry in getattr(table, kind)
    ]
    found: set[str] = set()
    findings: dict[str, tuple[Finding, ...]] = {}
    for text, place in named:
        fruit, problems = resolve_fruit(text, fruits, file=file, place=place)
        if fruit is not None:
            found.add(fruit)
        findings.setdefault(text, problems)
    return tuple(sorted(found)), tuple(f for some in findings.values() for f in some)


def _entry_name(entry: Any) -> str:
    for key in ("id", "name", "variety"):
        if getattr(entry, key, None):
            return str(getattr(entry, key))
    return ""


class _Names:
    """Resolves names of one plan and collects the findings on the way."""

    def __init__(
        self,
        catalogue: Catalogue,
        fruits: Mapping[str, Fruit],
        own: Mapping[str, set[str]],
        file: str,
    ) -> None:
        self.catalogue, self.fruits, self.own, self.file = catalogue, fruits, own, file
        self.findings: list[Finding] = []

    def fruit(self, text: str) -> str | None:
        """Canonical name of a fruit; its problems were reported by `fruits_of`."""
        return resolve_fruit(text, self.fruits, file=self.file, place="")[0]

    def variety(self, species: str, name: str, place: str) -> VarietyId | None:
        """Resolved variety, or None with a finding."""
        fruit = self.fruit(species)
        if fruit is None:
            return None
        found, problems = resolve_variety(
            name, fruit, self.catalogue, own=sorted(self.own.get(fruit, ())), file=self.file,
            place=place,
        )  # fmt: skip
        self.findings += problems
        return found


def resolve_plan(
    table: PlanTable, catalogue: Catalogue, fruits: Mapping[str, Fruit], file: str
) -> tuple[Plan | None, tuple[Finding, ...]]:
    """Resolve the names of a plan; None where an error stands in the way.

    The plan's own varieties go before the catalogue's: what is typed replaces the catalogue's
    value, what is not typed is taken from a catalogue variety of the same name, if there is one.
    """
    latitude = DEFAULT_LATITUDE if table.site.latitude is None else table.site.latitude
    own_names: dict[str, set[str]] = {}
    names = _Names(catalogue, fruits, own_names, file)
    for entry in table.variety:
        fruit = names.fruit(entry.species)
        if fruit is not None:
            own_names.setdefault(fruit, set()).add(entry.name)
    own = [_own_variety(entry, names, latitude) for entry in table.variety]

    trees = tuple(_tree(entry, names) for entry in table.tree)
    neighbours = tuple(
        Neighbour(name, variety, entry.distance_m, tuple(entry.former_ids))
        for name, entry in zip(neighbour_ids(table), table.neighbour, strict=True)
        if (variety := names.variety(entry.species, entry.variety, f'neighbour "{name}", variety'))
        is not None
    )
    scions = tuple(
        Scion(variety, entry.blocked, entry.crops, entry.cost)
        for number, entry in enumerate(table.scion, start=1)
        if (variety := names.variety(
            entry.species, entry.variety, f'scion {number}, variety')) is not None
    )  # fmt: skip
    findings = tuple(names.findings)
    if has_errors(findings):
        return None, findings
    plan = Plan(
        site=_site(table, latitude),
        aim=Aim(**table.aim.model_dump()),
        trees=_without_none(trees),
        neighbours=neighbours,
        scions=scions,
        own_varieties=_without_none(own),
        weather_file=table.site.weather,
        file=file,
    )
    return plan, findings


def _without_none(entries: Iterable[_T | None]) -> tuple[_T, ...]:
    return tuple(entry for entry in entries if entry is not None)


def _site(table: PlanTable, latitude: float) -> Site:
    site, normals = table.site, table.site.normals
    return Site(
        site.name,
        latitude,
        site.longitude,
        site.elevation_m,
        None
        if normals is None
        else Normals(tuple(normals.tmin_c), tuple(normals.tmax_c), "typed in the plan", "plan"),
        latitude_known=site.latitude is not None,
    )


def _tree(entry: Any, names: _Names) -> Tree | None:
    fruit = names.fruit(entry.species)
    limbs = []
    for limb in entry.limb:
        place = f'tree "{entry.id}", limb "{limb.id}", variety'
        variety = names.variety(entry.species, limb.variety, place)
        if variety is not None:
            former = tuple(limb.former_ids)
            limbs.append(Limb(limb.id, entry.id, variety, limb.grafted, limb.crops, former))
    if fruit is None:
        return None
    return Tree(entry.id, fruit, tuple(limbs), entry.spare_limbs, tuple(entry.lost_limbs))


def _own_variety(entry: VarietyTable, names: _Names, latitude: float) -> Variety | None:
    fruit_name = names.fruit(entry.species)
    if fruit_name is None:
        return None
    fruit = names.fruits[fruit_name]
    place = f'variety "{entry.name}"'
    identity = VarietyId(fruit_name, entry.name)
    base = names.catalogue.varieties.get(identity) or Variety(
        identity, Fertility(identity, clone=entry.name)
    )
    typed, problems = typed_bloom(entry, latitude, names.file, place)
    names.findings += problems
    chill = base.chill
    if entry.chill_portions is not None:
        chill = (ChillRequirement(entry.chill_portions, 0.0, names.file, "plan"),)
    return replace(
        base,
        fertility=_own_fertility(entry, base.fertility, fruit, names, place),
        typed_bloom=typed or base.typed_bloom,
        chill=chill,
        facts=base.facts + _typed_facts(entry, names.file),
    )


def _own_fertility(
    entry: VarietyTable, base: Fertility, fruit: Fruit, names: _Names, place: str
) -> Fertility:
    genotype, ploidy, known = base.genotype, base.ploidy, set(base.memory)
    if entry.s_genotype is not None:
        genotype, problems = parse_genotype(
            entry.s_genotype, fruit, file=names.file, place=f"{place}, s_genotype"
        )
        names.findings += problems
        known.discard("genotype")
        if genotype is not None and entry.ploidy is None and len(genotype.alleles) > 2:
            # Three S-alleles are only found in a plant with three sets of chromosomes.
            ploidy = len(genotype.alleles)
    fields = {
        name: value
        for name in ("ploidy", "self_fertile", "pollen_ok")
        if (value := getattr(entry, name)) is not None
    }
    clone = base.clone
    if entry.clone_of is not None:
        parent = names.variety(entry.species, entry.clone_of, f"{place}, clone_of")
        known_parent = names.catalogue.varieties.get(parent) if parent else None
        clone = known_parent.fertility.clone if known_parent else (parent.name if parent else clone)
    changed = replace(base, genotype=genotype, ploidy=ploidy, clone=clone)
    memory = tuple(sorted(known - set(fields)))
    return replace(changed, **fields, memory=memory, sources=(*base.sources, names.file))


def _typed_facts(entry: VarietyTable, file: str) -> tuple[Fact, ...]:
    typed = entry.model_dump(exclude={"species", "name"}, exclude_none=True)
    return tuple(Fact(key, str(value), source=file, status="plan") for key, value in typed.items())
