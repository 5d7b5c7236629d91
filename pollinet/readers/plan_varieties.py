"""The [[variety]] tables of a plan: varieties of the grower's own, before the catalogue's.

A clone takes from its parent what is not typed; what contradicts the parent is a finding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import Any

from pollinet.days import month_and_day, out_of_spring, season_day
from pollinet.domain import (
    Catalogue,
    ChillRequirement,
    Fact,
    Fertility,
    Fruit,
    Genotype,
    TypedBloom,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding
from pollinet.messages import Message, joined, listing, say
from pollinet.readers.day_words import day_of_month, days_meant, last_day
from pollinet.readers.disputes import settled_by
from pollinet.readers.genotypes import parse_genotype, ploidy_problems
from pollinet.readers.names import fold, means_any, resolve_fruit, resolve_variety
from pollinet.readers.plan_table import VarietyTable
from pollinet.readers.toml_words import shown
from pollinet.readers.varieties import clone_differences, like_parent


class Names:
    """Resolves names of one plan and collects the findings on the way.

    described : the plan's own varieties, which go before those of the catalogue.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        fruits: Mapping[str, Fruit],
        file: str,
        described: Sequence[VarietyTable],
    ) -> None:
        self.catalogue, self.fruits, self.file = catalogue, fruits, file
        self.findings: list[Finding] = []
        # The same names stand on many limbs, and one that nobody knows is compared with all others.
        self._looked_up: dict[tuple[str, str], tuple[VarietyId | None, tuple[Finding, ...]]] = {}
        self.own: dict[str, set[str]] = {}
        for entry in described:
            fruit = self.fruit(entry.species)
            if fruit is not None:
                self.own.setdefault(fruit, set()).add(self.identity(entry).name)

    @cached_property
    def catalogue_names(self) -> dict[tuple[str, str], VarietyId]:
        """The catalogue's varieties by folded name or synonym; names go before synonyms."""
        synonyms = {(s.species, fold(s.name)): v for s, v in self.catalogue.synonyms.items()}
        return synonyms | {(v.species, fold(v.name)): v for v in self.catalogue.varieties}

    def fruit(self, text: str) -> str | None:
        """Canonical name of a fruit; its problems were reported by `fruits_of`."""
        return resolve_fruit(text, self.fruits)[0]

    def variety(self, species: str, name: str, place: str) -> VarietyId | None:
        """Resolved variety, or None with a finding."""
        found, problems = self._meant(species, name, place)
        self.findings += problems
        return found

    def limb(self, species: str, name: str, id: str, place: str) -> tuple[VarietyId | None, bool]:
        """The variety of a limb, and whether it is a known one.

        Only a name that means any variety, as `?`, stands for one of which nothing is known: a name
        that nobody knows is a slip.
        """
        found, problems = self._meant(species, name, place)
        fruit = self.fruit(species)
        if found is not None or fruit is None or not means_any(name, self.fruits[fruit]):
            self.findings += problems
            return found, True
        message = say("its label is lost: it is taken as any {fruit}", fruit=say(fruit))
        cure = say("`pollinet lost-label` lists the varieties that fit what was noted on it")
        self.findings.append(Finding("note", "lost-label", message, self.file, place, cure=cure))
        return VarietyId(fruit, f"{name} ({id})"), False

    def neighbour(self, species: str, name: str, id: str) -> tuple[VarietyId | None, bool]:
        """The variety of a neighbour's tree, and whether it is a known one.

        A name that nobody knows, or that means any variety, is told and stops nothing: it stands
        for a variety of its own, of which nothing is known.
        """
        place = f'neighbour "{id}", variety'
        found, problems = self._meant(species, name, place)
        fruit = self.fruit(species)
        stops = any(problem.code != "unknown-variety" for problem in problems)
        if found is not None or fruit is None or stops:
            self.findings += problems
            return found, True
        told = {"text": name, "fruit": say(fruit)}
        if means_any(name, self.fruits[fruit]):
            message = say("this tree is taken as any {fruit}", **told)
            finding = Finding("note", "unknown-neighbour", message, cure=_describe())
            variety = VarietyId(fruit, f"{name} ({id})")
        else:
            message = say(
                "'{text}' is no variety of {fruit} known here: it is taken as any {fruit}", **told
            )
            cure = problems[0].cure
            finding = Finding("warning", "unknown-neighbour", message, cure=cure)
            variety = VarietyId(fruit, name)
        self.findings.append(replace(finding, file=self.file, place=place))
        return variety, False

    def parent(self, entry: VarietyTable) -> VarietyId | None:
        """The variety that a [[variety]] is a clone of; None: of none, or of none that is known."""
        return self._meant(entry.species, entry.clone_of)[0] if entry.clone_of else None

    def _meant(
        self, species: str, name: str, place: str = ""
    ) -> tuple[VarietyId | None, tuple[Finding, ...]]:
        fruit = self.fruit(species)
        if fruit is None:
            return None, ()
        if (fruit, name) not in self._looked_up:
            own = sorted(self.own.get(fruit, ()))
            self._looked_up[fruit, name] = resolve_variety(
                name, fruit, self.catalogue, own=own, file=self.file, cure=_describe()
            )
        found, problems = self._looked_up[fruit, name]
        return found, tuple(replace(problem, place=place) for problem in problems)

    def identity(self, entry: VarietyTable) -> VarietyId:
        """Who a [[variety]] is about; a synonym of the catalogue is the variety it stands for."""
        fruit = self.fruit(entry.species) or entry.species
        typed = VarietyId(fruit, entry.name)
        return self.catalogue_names.get((fruit, fold(entry.name)), typed)

    def error(self, code: str, place: str, *, message: str, cure: str) -> None:
        """Collect an error at a place of the plan."""
        self.findings.append(Finding("error", code, message, self.file, place, cure=cure))


def _describe() -> Message:
    """How a variety that nobody knows is described in a plan."""
    return say(
        "Take a name from the catalogue, or describe the variety in the plan: a [[variety]] with "
        'species, name and what you know, such as bloom = ["04-20", "05-02"] or s_genotype.'
    )


def own_varieties(
    entries: Sequence[VarietyTable], names: Names, latitude: float
) -> tuple[Variety, ...]:
    """The plan's own varieties, parents before their clones, in the order of the plan.

    A clone takes from its parent what is not typed, and its parent's own clone: a sport of a
    sport is still the first variety.
    """
    called: dict[VarietyId, list[str]] = {}
    for entry in entries:
        called.setdefault(names.identity(entry), []).append(entry.name)
    for identity, described in called.items():
        if len(set(described)) > 1:
            told = {"names": joined(described), "name": identity.name}
            message = say("{names} are one variety, {name}", **told)
            cure = say("keep one [[variety]] for it")
            names.error("repeated-variety", "variety", message=message, cure=cure)
    known = dict(names.catalogue.varieties)
    made: dict[VarietyId, Variety] = {}
    for entry in _parents_first(entries, names):
        variety = _own_variety(entry, names, latitude, known)
        if variety is not None:
            known[variety.id] = made[variety.id] = variety
    places = {names.identity(entry): number for number, entry in enumerate(entries)}
    return tuple(sorted(made.values(), key=lambda variety: places[variety.id]))


def _parents_first(entries: Sequence[VarietyTable], names: Names) -> tuple[VarietyTable, ...]:
    """Entries in an order in which each clone comes after its parent; circles are findings."""
    by_name = {names.identity(entry): entry for entry in entries}
    ordered: dict[VarietyId, VarietyTable] = {}

    def place(identity: VarietyId, way: tuple[VarietyId, ...]) -> None:
        entry = by_name[identity]
        if identity in ordered:
            return
        if identity in way:
            circle = listing([v.name for v in (*way, identity)], " → ")
            message = say("{names}: clones of each other", names=circle)
            cure = say("name the variety that was there first, and no clone_of for it")
            where = f'variety "{entry.name}", clone_of'
            names.error("clone-circle", where, message=message, cure=cure)
            return
        parent = names.parent(entry)
        if parent in by_name:
            place(parent, (*way, identity))
        ordered[identity] = entry

    for identity in by_name:
        place(identity, ())
    return tuple(ordered.values())


def _own_variety(
    entry: VarietyTable, names: Names, latitude: float, known: Mapping[VarietyId, Variety]
) -> Variety | None:
    fruit_name = names.fruit(entry.species)
    if fruit_name is None:
        return None
    fruit = names.fruits[fruit_name]
    place = f'variety "{entry.name}"'
    identity = names.identity(entry)
    base = known.get(identity) or Variety(identity, Fertility(identity, clone=identity.name))
    parent = _parent(entry, names, place, known)
    if parent is not None:
        base = like_parent(base, parent)
    typed = _typed_bloom(entry, latitude, names, place)
    shed = _typed_shed(entry, fruit, latitude, names, place)
    chill = base.chill
    if entry.chill_portions is not None:
        chill = (ChillRequirement(entry.chill_portions, 0.0, names.file, "plan"),)
    fertility = _own_fertility(entry, base.fertility, fruit, names, place)
    if parent is not None:
        for key, ours, theirs in clone_differences(fertility, parent.fertility):
            told = {"ours": ours, "parent": parent.id.name, "theirs": theirs}
            message = say(
                "found {ours}, but {parent}, of which it is a clone, has {theirs}", **told
            )
            cure = say("correct one of the two, or remove clone_of")
            names.error("clone-contradiction", f"{place}, {key}", message=message, cure=cure)
    return replace(
        base,
        fertility=fertility,
        typed_bloom=typed or base.typed_bloom,
        typed_shed=shed or base.typed_shed,
        chill=chill,
        facts=base.facts + _typed_facts(entry, names.file),
    )


def _parent(
    entry: VarietyTable, names: Names, place: str, known: Mapping[VarietyId, Variety]
) -> Variety | None:
    """The variety that `clone_of` names; None where it names none that is known."""
    if entry.clone_of is None:
        return None
    found = names.variety(entry.species, entry.clone_of, f"{place}, clone_of")
    return None if found is None else known.get(found)


def _own_fertility(
    entry: VarietyTable, base: Fertility, fruit: Fruit, names: Names, place: str
) -> Fertility:
    genotype, ploidy, known = base.genotype, base.ploidy, set(base.memory)
    fields = {
        name: value
        for name in ("ploidy", "self_fertile", "pollen_ok")
        if (value := getattr(entry, name)) is not None
    }
    if entry.s_genotype is not None:
        genotype, problems = parse_genotype(
            entry.s_genotype, fruit, file=names.file, place=f"{place}, s_genotype"
        )
        names.findings += problems
        known.discard("genotype")
        names.findings += ploidy_problems(
            genotype, entry.ploidy, names.file, f"{place}, s_genotype"
        )
        if genotype is not None and entry.ploidy is None and len(genotype.alleles) > 2:
            # Three S-alleles are only found in a plant with three sets of chromosomes.
            ploidy = len(genotype.alleles)
        if genotype is not None and base.self_fertile is None and "self_fertile" not in fields:
            fields |= _selfing(genotype, fruit, names)
    if "self_fertile" in fields:
        fields["partly_self_fertile"] = False
    # That a triploid's pollen is poor follows from its ploidy: it is as sure as that.
    settled = {*fields, *({"pollen_ok"} if "ploidy" in fields else ())}
    inferred = tuple(name for name in base.inferred if name not in settled)
    changed = replace(base, genotype=genotype, ploidy=ploidy, inferred=inferred)
    memory = tuple(sorted(known - set(fields)))
    own = replace(changed, **fields, memory=memory, sources=(*base.sources, names.file))
    if base.alternatives:
        named = {name: getattr(own, name) for name in fields}
        if genotype is not base.genotype:
            named["genotype"] = genotype
        if ploidy != base.ploidy:
            named["ploidy"] = ploidy
        own = settled_by(own, named)
    if entry.self_fertile and own.pollen_ok is None and (own.ploidy or 0) % 2:
        # A fault told of a variety is not undone by a wish: that its pollen works must be said.
        message = say(
            "a triploid gives no good pollen, so self_fertile = true does not let it serve itself"
        )
        cure = say("add pollen_ok = true if you know that its pollen works")
        where = f"{place}, self_fertile"
        names.findings.append(
            Finding("warning", "self-fertile-triploid", message, names.file, where, cure=cure)
        )
    return own


def _selfing(genotype: Genotype, fruit: Fruit, names: Names) -> dict[str, bool]:
    """Self-fertile by a pollen-part mutant: its grains pass every style, its own as well."""
    mutants = {
        fact.allele
        for fact in names.catalogue.rules.alleles
        if fact.name_space == fruit.name_space and fact.mutant == "pollen"
    }
    return {"self_fertile": True} if mutants & set(genotype.alleles) else {}


def _typed_facts(entry: VarietyTable, file: str) -> tuple[Fact, ...]:
    typed = entry.model_dump(exclude={"species", "name"}, exclude_none=True)
    return tuple(Fact(key, str(value), source=file, status="plan") for key, value in typed.items())


# --- bloom as typed ----------------------------------------------------------------------------


def _typed_bloom(
    entry: VarietyTable, latitude: float, names: Names, place: str
) -> TypedBloom | None:
    """The bloom of one [[variety]]; None: not told, or a finding says what is wrong with it.

    `bloom` holds dates such as `"04-10"`, `bloom_days` days of the year; one pair of first and
    last day, or one such pair for each of several springs.
    """
    if entry.bloom is not None and entry.bloom_days is not None:
        message, cure = say("both bloom and bloom_days are given"), say("keep the one you trust")
        names.error("two-blooms", place, message=message, cure=cure)
        return None
    return _typed(entry, "bloom_days" if entry.bloom is None else "bloom", latitude, names, place)


def _typed_shed(
    entry: VarietyTable, fruit: Fruit, latitude: float, names: Names, place: str
) -> TypedBloom | None:
    """When the catkins of one [[variety]] shed pollen, written as its `bloom`."""
    if entry.pollen_shed is not None and not fruit.shed_apart:
        message = say("a {fruit} sheds its pollen with its bloom", fruit=say(fruit.name))
        cure = say("give bloom alone")
        names.error("wrong-bloom", f"{place}, pollen_shed", message=message, cure=cure)
        return None
    return _typed(entry, "pollen_shed", latitude, names, place)


def _typed(
    entry: VarietyTable, key: str, latitude: float, names: Names, place: str
) -> TypedBloom | None:
    value, place = getattr(entry, key), f"{place}, {key}"
    if value is None:
        return None
    pairs = value if isinstance(value, list) and value and isinstance(value[0], list) else [value]
    intervals = []
    for pair in pairs:
        interval = _interval(pair)
        if interval is None:
            allowed = "[100, 110]" if key == "bloom_days" else '["04-10", "04-20"]'
            told = {"found": shown(value), "allowed": allowed}
            message = say("found {found}, allowed is first and last day as {allowed}", **told)
            cure = _pair_cure(pair, key)
            names.error("wrong-bloom", place, message=message, cure=cure)
            return None
        intervals.append(interval)
    for pair, (first, last) in zip(pairs, intervals, strict=True):
        if season_day(latitude, last) < season_day(latitude, first):
            message = say("bloom ends before it begins: {found}", found=shown(pair))
            cure = say("give the first day first")
            names.error("wrong-bloom", place, message=message, cure=cure)
            return None
        if last - first + 365 * (last < first) >= LONGEST_BLOOM_DAYS:
            message = say("bloom of more than {number} days: {found}",
                          number=LONGEST_BLOOM_DAYS, found=shown(pair))  # fmt: skip
            cure = say("give the first and the last day of one spring")
            names.error("wrong-bloom", place, message=message, cure=cure)
            return None
        if all(out_of_spring(month_and_day(int(day))[0], latitude) for day in (first, last)):
            message = say("{found} is not in spring here", found=shown(pair))
            cure = say("look at these days and at the latitude of the site")
            names.findings.append(
                Finding("warning", "bloom-out-of-spring", message, names.file, place, cure=cure)
            )
    return TypedBloom(tuple(intervals), entry.bloom_sd_days)


LONGEST_BLOOM_DAYS = 120
"""No fruit tree blooms longer, not even hazelnuts in mild places. Own convention."""


def _pair_cure(pair: Any, key: str) -> Message:
    """How to write what is no pair of days: the days as they are meant, where they can be."""
    if not isinstance(pair, list) or len(pair) < 2:
        return say("give the first and the last day of one spring")
    if len(pair) > 2:
        return say("several springs: a list of such pairs, one for each spring")
    dates = []
    for one in pair:
        meant = _meant(one)
        there = [way for way in meant if way[1] <= last_day(way[0])]
        if meant and not there:
            return say(
                "there is no day {found}: the last day of that month is {date}",
                found=shown(one),
                date=_month_and_day((meant[0][0], last_day(meant[0][0]))),
            )
        written = [*map(_month_and_day, there)] if _day(one) is None else [shown(one)]
        dates += [joined(written, "or")] if written else []
    if key == "bloom_days" or len(dates) < 2:
        return say('days are written as "04-10", month and day, or as days of the year, 1 to 366')
    return say("write it as {dates}", dates=joined(dates))


def _meant(value: Any) -> tuple[tuple[int, int], ...]:
    """Months and days that may be meant by what is no day of a plan."""
    if isinstance(value, date):
        return ((value.month, value.day),)
    return days_meant(value) if isinstance(value, str) else ()


def _month_and_day(day: tuple[int, int]) -> str:
    return f'"{day[0]:02d}-{day[1]:02d}"'


def _interval(pair: Any) -> tuple[float, float] | None:
    if not isinstance(pair, list) or len(pair) != 2:
        return None
    first, last = _day(pair[0]), _day(pair[1])
    return None if first is None or last is None else (first, last)


def _day(value: Any) -> float | None:
    """Day of the year from `"04-10"` or a number; None if it is neither."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value) if 1 <= value <= 366 else None
    day = day_of_month(value) if isinstance(value, str) else None
    return None if day is None else float(day)
