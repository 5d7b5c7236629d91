"""A plan file in TOML → the domain's `Plan`, with every problem in it as a finding.

Two steps, because names can only be resolved against catalogues, and which catalogues are needed
stands in the file: `read_plan_table` reads and checks the file itself, `resolve_plan` resolves
fruits and varieties. Mistakes in one place do not hide mistakes in another: what cannot be used
is left out and the rest is checked all the same.
"""

from __future__ import annotations

import copy
import difflib
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from pollinet.days import day_of_year, season_day
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
    TypedBloom,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, has_errors
from pollinet.readers.genotypes import parse_genotype
from pollinet.readers.names import resolve_fruit, resolve_variety
from pollinet.readers.plan_schema import (
    ROOMS,
    NormalsTable,
    PlanTable,
    VarietyTable,
)

DEFAULT_LATITUDE = 45.0
"""Used only to lay typed northern dates into a season when the plan gives no latitude."""

_T = TypeVar("_T")

Place = Sequence[str | int]


# --- the file itself ---------------------------------------------------------------------------


def read_plan_table(path: Path) -> tuple[PlanTable | None, tuple[Finding, ...]]:
    """Read a plan file and check all that can be checked without a catalogue.

    Returns
    -------
    table : what could be read, even where there are errors; None if nothing could.
    findings : all problems; where one is an error, the table must not be computed with.
    """
    text, unreadable = _text_of(path)
    if text is None:
        return None, unreadable
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        return None, (
            Finding(
                "error",
                "broken-toml",
                f"this is not valid TOML: {problem}",
                file=path.name,
                cure="text stands in double quotes, tables in [brackets], dates as 04-10 in quotes",
            ),
        )
    table, findings = _checked(data, path.name)
    if table is not None:
        findings += _own_checks(table, path.name)
    return table, findings


def _text_of(path: Path) -> tuple[str | None, tuple[Finding, ...]]:
    cure = "give the path of a plan file; `pollinet demo` writes one to start from"
    try:
        return path.read_text(encoding="utf-8-sig"), ()
    except FileNotFoundError:
        message = "there is no such file"
    except IsADirectoryError:
        message = "this is a folder, not a plan file"
    except UnicodeDecodeError:
        message = "this is not a text file in UTF-8"
    except OSError as problem:
        message = f"the file cannot be read: {problem.strerror}"
    return None, (Finding("error", "missing-file", message, file=str(path), cure=cure),)


def _checked(data: dict[str, Any], file: str) -> tuple[PlanTable | None, tuple[Finding, ...]]:
    """Validate against the schema, leaving out what does not fit until the rest does."""
    findings: tuple[Finding, ...] = ()
    remaining = copy.deepcopy(data)
    for _ in range(4):
        try:
            return PlanTable.model_validate(remaining), findings
        except ValidationError as problem:
            errors = problem.errors(include_url=False)
            if not findings:
                findings = tuple(_schema_finding(data, error, file) for error in errors)
            _leave_out(remaining, [error["loc"] for error in errors], errors)
    return None, findings


def _leave_out(data: dict[str, Any], places: list[Place], errors: Sequence[Any]) -> None:
    """Remove the values that do not fit; an entry that lacks something goes as a whole."""
    doomed = {
        tuple(place[:-1] if error["type"] == "missing" else place)
        for place, error in zip(places, errors, strict=True)
    }
    # Back to front, so that the numbers of earlier list entries stay right.
    for place in sorted(doomed, key=lambda p: [str(part).zfill(6) for part in p], reverse=True):
        holder: Any = data
        try:
            for part in place[:-1]:
                holder = holder[part]
            del holder[place[-1]]
        except (KeyError, IndexError, TypeError):
            continue


def _schema_finding(data: Mapping[str, Any], error: Any, file: str) -> Finding:
    place = error["loc"]
    kind, context = error["type"], error.get("ctx", {})
    key = str(place[-1])
    if kind == "extra_forbidden":
        allowed = sorted(_allowed_keys(place[:-1]))
        near = difflib.get_close_matches(key, allowed, n=1)
        cure = f'did you mean "{near[0]}"?' if near else f"allowed here: {', '.join(allowed)}"
        return Finding(
            "error", "unknown-key", f'"{key}" is not a key here', file, _words(data, place), cure=cure
        )
    if kind == "missing":
        return Finding(
            "error", "missing-key", f'"{key}" is missing', file, _words(data, place[:-1]),
            cure=f"add a line: {key} = …",
        )  # fmt: skip
    allowed_words = _EXPECTED.get(kind, error["msg"]).format(**context)
    return Finding(
        "error",
        "wrong-value",
        f"found {_shown(error['input'])}, allowed is {allowed_words}",
        file,
        _words(data, place),
    )


_EXPECTED = {
    "float_type": "a number",
    "finite_number": "a finite number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "string_type": 'text in quotes, such as "name"',
    "list_type": "a list in [brackets]",
    "model_type": "a table of keys and values",
    "model_attributes_type": "a table of keys and values",
    "greater_than": "a number above {gt}",
    "greater_than_equal": "a number of at least {ge}",
    "less_than": "a number below {lt}",
    "less_than_equal": "a number of at most {le}",
    "too_short": "a list of {min_length} values",
    "too_long": "a list of {max_length} values",
}


def _shown(value: Any) -> str:
    if isinstance(value, list):
        return f"a list of {len(value)} values"
    if isinstance(value, dict):
        return "a table"
    return f'"{value}"' if isinstance(value, str) else str(value).lower()


def _allowed_keys(place: Place) -> Iterable[str]:
    room = ".".join(part for part in place if isinstance(part, str))
    return ROOMS[room].model_fields if room in ROOMS else ()


def _words(data: Any, place: Place) -> str:
    """A place in the file in words: `tree "old-apple", limb "n1", variety`."""
    words: list[str] = []
    for part in place:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            data = None
        if isinstance(part, int):
            name = _own_name(data)
            words[-1] += f' "{name}"' if name else f" {part + 1}"
        else:
            words.append(part)
    return ", ".join(words)


def _own_name(entry: Any) -> str:
    if not isinstance(entry, dict):
        return ""
    return str(entry.get("id") or entry.get("name") or entry.get("variety") or "")


# --- checks inside the file --------------------------------------------------------------------


def _own_checks(table: PlanTable, file: str) -> tuple[Finding, ...]:
    findings = [*_repeated_ids(table, file), *_empty_places(table, file)]
    if table.site.normals is not None:
        findings += _normals_checks(table.site.normals, file)
    if table.aim.far_m <= table.aim.near_m:
        findings.append(
            Finding(
                "error", "wrong-value",
                f"far_m is {table.aim.far_m:g} and must be more than near_m, {table.aim.near_m:g}",
                file, "aim, far_m",
            )
        )  # fmt: skip
    named = Counter((entry.species, entry.name) for entry in table.variety)
    findings += [
        Finding("error", "repeated-variety", f'"{name}" is described {n} times', file, "variety",
                cure="keep one [[variety]] for it")
        for (_, name), n in named.items() if n > 1
    ]  # fmt: skip
    return tuple(findings)


def _repeated_ids(table: PlanTable, file: str) -> list[Finding]:
    limbs = [(limb.id, f'tree "{tree.id}"') for tree in table.tree for limb in tree.limb]
    kinds = {
        "limb": [name for name, _ in limbs] + [n.id for n in table.neighbour if n.id],
        "tree": [tree.id for tree in table.tree],
    }
    return [
        Finding(
            "error", "repeated-id", f'the id "{name}" stands {count} times', file, kind,
            cure="give every tree, limb and neighbour an id of its own",
        )
        for kind, names in kinds.items()
        for name, count in Counter(names).items()
        if count > 1
    ]  # fmt: skip


def _empty_places(table: PlanTable, file: str) -> list[Finding]:
    findings = [
        Finding(
            "error", "empty-tree", "this tree has no limb", file, f'tree "{tree.id}"',
            cure="add a [[tree.limb]] with id and variety; the tree's own variety is a limb too",
        )
        for tree in table.tree
        if not tree.limb
    ]  # fmt: skip
    if not table.tree:
        findings.append(
            Finding("error", "no-tree", "the plan has no tree", file,
                    cure="add a [[tree]] with id and species, and its limbs as [[tree.limb]]")
        )  # fmt: skip
    return findings


def _normals_checks(normals: NormalsTable, file: str) -> list[Finding]:
    findings = []
    pairs = list(zip(normals.tmin_c, normals.tmax_c, strict=True))
    crossed = [month + 1 for month, (low, high) in enumerate(pairs) if low >= high]
    if crossed:
        findings.append(
            Finding("error", "tmin-above-tmax",
                    f"tmin_c is not below tmax_c in month {', '.join(map(str, crossed))}",
                    file, "site, normals")
        )  # fmt: skip
    # No month anywhere has a mean maximum above 50 °C: typed Fahrenheit, most likely.
    hot = [value for pair in pairs for value in pair if value > 50 or value < -60]
    if hot:
        findings.append(
            Finding("error", "wrong-unit",
                    f"{hot[0]:g} cannot be a monthly mean in °C", file, "site, normals",
                    cure="give degrees Celsius: (°F − 32) / 1.8")
        )  # fmt: skip
    return findings


# --- names and varieties -----------------------------------------------------------------------


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
        self, catalogue: Catalogue, fruits: Mapping[str, Fruit], own: Mapping[str, set[str]], file: str
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
        Neighbour(entry.id or f"neighbour-{number}", variety, entry.distance_m)
        for number, entry in enumerate(table.neighbour, start=1)
        if (variety := names.variety(
            entry.species, entry.variety, f'neighbour {number}, variety')) is not None
    )  # fmt: skip
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
    )


def _tree(entry: Any, names: _Names) -> Tree | None:
    fruit = names.fruit(entry.species)
    limbs = []
    for limb in entry.limb:
        place = f'tree "{entry.id}", limb "{limb.id}", variety'
        variety = names.variety(entry.species, limb.variety, place)
        if variety is not None:
            limbs.append(Limb(limb.id, entry.id, variety, limb.grafted, limb.crops))
    return None if fruit is None else Tree(entry.id, fruit, tuple(limbs), entry.spare_limbs)


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
    typed, problems = _typed_bloom(entry, latitude, names.file, place)
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


def _typed_bloom(
    entry: VarietyTable, latitude: float, file: str, place: str
) -> tuple[TypedBloom | None, list[Finding]]:
    if entry.bloom is not None and entry.bloom_days is not None:
        return None, [
            Finding("error", "two-blooms", "both bloom and bloom_days are given", file, place,
                    cure="keep the one you trust")
        ]  # fmt: skip
    key = "bloom" if entry.bloom is not None else "bloom_days"
    value = getattr(entry, key)
    if value is None:
        return None, []
    many = isinstance(value, list) and bool(value) and isinstance(value[0], list)
    intervals = [_interval(pair) for pair in (value if many else [value])]
    if any(interval is None for interval in intervals):
        allowed = '["04-10", "04-20"]' if key == "bloom" else "[100, 110]"
        return None, [
            Finding("error", "wrong-bloom", f"found {value!r}, allowed is first and last day as {allowed}",
                    file, f"{place}, {key}",
                    cure="several springs: a list of such pairs, one for each spring")
        ]  # fmt: skip
    good = tuple(interval for interval in intervals if interval is not None)
    backward = [p for p in good if season_day(latitude, p[1]) < season_day(latitude, p[0])]
    if backward:
        return None, [
            Finding("error", "wrong-bloom", f"bloom ends before it begins: {backward[0]}", file,
                    f"{place}, {key}", cure="give the first day first")
        ]  # fmt: skip
    return TypedBloom(good, entry.bloom_sd_days), []


def _interval(pair: Any) -> tuple[float, float] | None:
    if not isinstance(pair, list) or len(pair) != 2:
        return None
    first, last = _day(pair[0]), _day(pair[1])
    return None if first is None or last is None else (first, last)


def _day(value: Any) -> float | None:
    """Day of the year from `"04-10"` or a number; None if it is neither."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value) if 1 <= value <= 366 else None
    if isinstance(value, str):
        month, _, day = value.partition("-")
        if month.isdecimal() and day.isdecimal() and 1 <= int(month) <= 12:
            longest = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)[int(month) - 1]
            if 1 <= int(day) <= longest:
                return float(day_of_year(int(month), int(day)))
    return None
