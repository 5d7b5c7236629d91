"""A folder of plans as one: gardens within reach of each other become one garden with fences.

Whose trees reach whose is told by the latitude and longitude of each site, from which the positions
in its plan count. A neighbour's tree of one plan that stands in another's garden is that tree.
"""

from __future__ import annotations

from collections.abc import Collection as Many
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from math import dist, hypot, radians
from pathlib import Path

from pollinet.advice.suspicion import Suspicion, suspicions
from pollinet.domain import (
    Aim,
    Catalogue,
    InputFile,
    Limb,
    Neighbour,
    Observation,
    Plan,
    Position,
    Records,
    Scion,
    Tree,
    Variety,
    VarietyId,
)
from pollinet.findings import Finding, has_errors, in_order
from pollinet.globe import EARTH_RADIUS_M, offset_m
from pollinet.messages import joined, say
from pollinet.network.proximity import reach
from pollinet.readers.catalogue import load_catalogue
from pollinet.readers.collection import decimals, plan_files
from pollinet.readers.plan_positions import SLACK, SLACK_M
from pollinet.study.garden import Study
from pollinet.study.opening import open_study
from pollinet.study.under_suspicion import NOTED_CODE, under_suspicion

SAME_TREE_M = 6.0
"""Two trees of one variety that are told to stand so near are one: a crown, and what a position
taken with a telephone may be off. Own convention. [m]"""


@dataclass(frozen=True)
class GardenOfMany:
    """One garden of a collection.

    name : as `plan_files` has it. study : of its plan alone.
    """

    name: str
    path: Path
    study: Study

    @property
    def spot(self) -> tuple[float, float] | None:
        """Latitude and longitude; None where the plan does not tell both. [degrees]"""
        site = self.study.plan.site
        known = site.longitude is not None and site.latitude_known
        return (site.latitude, site.longitude or 0.0) if known else None

    @property
    def points(self) -> tuple[Position, ...]:
        """Where its trees and the neighbours' stand that have a position, seen from its spot."""
        plan = self.study.plan
        near = [one.position_m for one in plan.neighbours if one.position_m is not None]
        return (*(tree.position_m or (0.0, 0.0) for tree in plan.trees), *near)

    @property
    def reach_m(self) -> float:
        """How far pollen of any of its fruits is carried. [m]"""
        fruits, aim = self.study.catalogue.rules.fruits, self.study.plan.aim
        grown = {tree.species for tree in self.study.plan.trees}
        return max(reach(fruits[species], aim)[1] for species in grown)


@dataclass(frozen=True)
class SameTree:
    """A neighbour's tree of one garden that stands in another: told twice, counted once.

    here : the tree of the other garden; None: a neighbour's tree that it tells, too.
    part : id, where all are together, of what it is: a limb of that tree, or the neighbour's tree.
    """

    garden: str
    neighbour: str
    other: str
    here: str | None
    part: str


@dataclass(frozen=True)
class Clash:
    """A neighbour's tree of one garden on the spot of a tree of another, of other varieties."""

    garden: str
    neighbour: str
    variety: str
    other: str
    here: str
    varieties: tuple[str, ...]


@dataclass(frozen=True)
class Group:
    """Gardens whose pollen reaches each other.

    study : of all together. Ids are `garden/id`; those of a garden for itself as in its plan.
    """

    gardens: tuple[GardenOfMany, ...]
    study: Study
    same: tuple[SameTree, ...] = ()
    clashes: tuple[Clash, ...] = ()

    @property
    def is_shared(self) -> bool:
        """Whether there is more than one garden in it."""
        return len(self.gardens) > 1

    @cached_property
    def suspected(self) -> tuple[Suspicion, ...]:
        """Trees under suspicion of a disease; ids are `garden/id`."""
        found = self.study.suspected
        return found if self.is_shared else tuple(_named(one, self.gardens[0]) for one in found)


def _named(one: Suspicion, garden: GardenOfMany) -> Suspicion:
    """The same with ids as `garden/id`."""
    signs = tuple((f"{garden.name}/{limb}", sign, year) for limb, sign, year in one.signs)
    return replace(one, holder=f"{garden.name}/{one.holder}", signs=signs)


@dataclass(frozen=True)
class Collection:
    """A folder of gardens, in groups of those within reach, by name.

    left_out : files that no garden came of; why stands in `findings`.
    inputs : all files that it was made from, as seen from the folder.
    """

    groups: tuple[Group, ...]
    findings: tuple[Finding, ...]
    left_out: tuple[str, ...] = ()
    inputs: tuple[InputFile, ...] = ()

    @property
    def gardens(self) -> tuple[GardenOfMany, ...]:
        """All gardens, by name."""
        found = (garden for group in self.groups for garden in group.gardens)
        return tuple(sorted(found, key=lambda garden: garden.name))


def open_collection(folder: Path) -> Collection:
    """Read every plan of a folder, and join gardens within reach of each other.

    A plan with errors is left out and told; only where none is left do the findings hold for all.
    """
    files, findings = plan_files(folder)
    gardens, told, left = [], list(findings), []
    inputs: list[InputFile] = []
    for name, path in files.items():
        opened = open_study(path)
        # Which trees are under suspicion is told of all together.
        told += [_in_folder(f, path, folder) for f in opened.findings if f.code != NOTED_CODE]
        if opened.study is None:
            left.append(str(path.relative_to(folder)))
        else:
            gardens.append(GardenOfMany(name, path, opened.study))
            inner = path.parent.relative_to(folder)
            inputs += [
                replace(one, file=(inner / one.file).as_posix()) if one.file else one
                for one in opened.study.inputs
            ]
    groups: list[Group] = []
    for some in _within_reach(gardens):
        made, problems = _group(some)
        groups += made
        told += problems
        told += [found for group in made for found in _under_suspicion(group, folder)]
    told += _vague(gardens)
    return Collection(tuple(groups), in_order(told), tuple(left), tuple(dict.fromkeys(inputs)))


def _in_folder(found: Finding, path: Path, folder: Path) -> Finding:
    """A finding with its file as seen from the folder of all."""
    inner = path.parent.relative_to(folder)
    name = Path(found.file).name if found.file else path.name
    return replace(found, file=str(inner / name))


def _under_suspicion(group: Group, folder: Path) -> Iterator[Finding]:
    """A warning for each tree under suspicion, on the first log that has a sign of it."""
    for one in group.suspected:
        garden = next(
            garden
            for garden in group.gardens
            if any((s.limb, s.word, s.year) in one.signs for s in _noted(garden, group.same))
        )
        yield _in_folder(under_suspicion(one), garden.path, folder)


# --- who is within reach ------------------------------------------------------------------------


def apart_m(one: GardenOfMany, other: GardenOfMany) -> float | None:
    """How near two gardens come to each other with their trees; None: not told. [m]"""
    if one.spot is None or other.spot is None:
        return None
    east, north = offset_m(one.spot, other.spot)
    between = hypot(east, north) - sum(
        max(hypot(*point) for point in garden.points) for garden in (one, other)
    )
    if between > max(one.reach_m, other.reach_m):
        return between
    return min(dist(a, (x + east, y + north)) for a in one.points for x, y in other.points)


def _within_reach(gardens: Sequence[GardenOfMany]) -> list[list[GardenOfMany]]:
    """Gardens in groups that pollen links, directly or over others; by the name of their first."""
    import networkx as nx

    links: nx.Graph[int] = nx.Graph()
    links.add_nodes_from(range(len(gardens)))
    for i, j in combinations(range(len(gardens)), 2):
        way = apart_m(gardens[i], gardens[j])
        if way is not None and way <= max(gardens[i].reach_m, gardens[j].reach_m):
            links.add_edge(i, j)
    parts = sorted(sorted(part) for part in nx.connected_components(links))
    return [[gardens[i] for i in part] for part in parts]


def _vague(gardens: Sequence[GardenOfMany]) -> Iterator[Finding]:
    """Gardens whose place is not told, or too roughly to say whose trees they stand near."""
    for garden in gardens:
        cure = say("give latitude and longitude under [site] with five decimals")
        file = str(Path(garden.path.parent.name) / garden.path.name)
        if garden.spot is None:
            message = say("latitude or longitude is not told: looked at without the other gardens")
            yield Finding("note", "no-place", message, file, "site", cure=cure)
            continue
        told = min(decimals(degrees) for degrees in garden.spot)
        off_m = EARTH_RADIUS_M * radians(10.0**-told) / 2
        near = [apart_m(garden, other) for other in gardens if other is not garden]
        if off_m > garden.reach_m / 4 and any(
            way is not None and way <= garden.reach_m + 2 * off_m for way in near
        ):
            message = say(
                "latitude and longitude are told to about {metres:.0f} m: whose trees are within "
                "reach hangs on more decimals; taken as typed",
                metres=off_m,
            )
            yield Finding("warning", "rough-place", message, file, "site", cure=cure)


# --- several gardens as one ---------------------------------------------------------------------


def _group(gardens: Sequence[GardenOfMany]) -> tuple[list[Group], tuple[Finding, ...]]:
    """Gardens within reach as one; each for itself where they cannot be joined."""
    alone = [Group((garden,), garden.study) for garden in gardens]
    if len(gardens) == 1:
        return alone, ()
    aim, aim_findings = _one_aim(gardens)
    own, own_findings = _own_varieties(gardens)
    catalogue, table_findings = _one_catalogue(gardens)
    neighbours, same, same_findings = _neighbours(gardens)
    base, weather_findings = _weather_of(gardens)
    plan = replace(
        base.study.plan,
        site=replace(base.study.plan.site, name=" + ".join(garden.name for garden in gardens)),
        aim=aim,
        trees=tuple(tree for garden in gardens for tree in _trees(garden, gardens[0])),
        neighbours=neighbours,
        own_varieties=own,
        lost_neighbours=(),
    )
    records = Records(
        tuple(seen for garden in gardens for seen in _noted(garden, same)),
        tuple(note for garden in gardens for note in garden.study.records.bloom),
    )
    ill = {one.holder for one in suspicions(plan, records.observations)}
    plan = replace(plan, scions=_wood(gardens, ill))
    study = replace(base.study, plan=plan, catalogue=catalogue, records=records, findings=())
    findings = (
        *aim_findings, *own_findings, *table_findings, *same_findings, *weather_findings
    )  # fmt: skip
    gaps = study.gaps
    if has_errors(gaps):
        message = say(
            "cannot be looked at together with {gardens}: {why}",
            gardens=joined([garden.name for garden in gardens[1:]]),
            why=next(found.message for found in gaps if found.severity == "error"),
        )
        return alone, (Finding("warning", "apart", message, gardens[0].name),)
    return [Group(tuple(gardens), study, same, tuple(_clashes(plan)))], findings


def _placed(position: Position | None, garden: GardenOfMany, first: GardenOfMany) -> Position:
    """A position in a garden, seen from the spot of the first one."""
    assert garden.spot is not None and first.spot is not None
    east, north = offset_m(first.spot, garden.spot)
    x, y = position or (0.0, 0.0)
    return x + east, y + north


def _trees(garden: GardenOfMany, first: GardenOfMany) -> Iterator[Tree]:
    for tree in garden.study.plan.trees:
        name = f"{garden.name}/{tree.id}"
        limbs: list[Limb] = [
            replace(limb, id=f"{garden.name}/{limb.id}", tree=name, former_ids=())
            for limb in tree.limbs
        ]
        yield replace(
            tree, id=name, limbs=tuple(limbs), lost_limbs=(),
            position_m=_placed(tree.position_m, garden, first), garden=garden.name,
        )  # fmt: skip


def _neighbours(
    gardens: Sequence[GardenOfMany],
) -> tuple[tuple[Neighbour, ...], tuple[SameTree, ...], tuple[Finding, ...]]:
    """Neighbours' trees of all that stand in none of the gardens, each once; what was the same."""
    trees = {garden.name: tuple(_trees(garden, gardens[0])) for garden in gardens}
    kept: list[Neighbour] = []
    same: list[SameTree] = []
    findings = []
    for garden in gardens:
        others = [tree for name, own in trees.items() if name != garden.name for tree in own]
        for near in garden.study.plan.neighbours:
            placed = near.position_m and _placed(near.position_m, garden, gardens[0])
            one = replace(near, id=f"{garden.name}/{near.id}", former_ids=(),
                          position_m=placed or None, garden=garden.name)  # fmt: skip
            tree = _same_tree(one, others, trees[garden.name])
            twin = _same_neighbour(one, kept)
            if tree is not None:
                limb = next((x for x in tree.limbs if x.variety == near.variety), tree.limbs[0])
                same.append(SameTree(garden.name, near.id, tree.garden, _local(tree), limb.id))
                if near.may_be_felled:
                    findings.append(_felled_here(garden, near, tree))
            elif twin is not None:
                same.append(SameTree(garden.name, near.id, twin.garden, None, twin.id))
            else:
                kept.append(one)
    return tuple(kept), tuple(same), tuple(findings)


CROWN_M = 1.5
"""Two trunks do not stand nearer than this. Own convention. [m]"""


def _clashes(plan: Plan) -> Iterator[Clash]:
    """Neighbours' trees that are left where a tree of another garden stands already."""
    for near in plan.neighbours:
        for tree in plan.trees:
            if near.position_m is None or tree.position_m is None or tree.garden == near.garden:
                continue
            if dist(near.position_m, tree.position_m) <= CROWN_M:
                yield Clash(
                    near.garden, near.id.removeprefix(f"{near.garden}/"), near.variety.name,
                    tree.garden, _local(tree),
                    tuple(dict.fromkeys(limb.variety.name for limb in tree.limbs)),
                )  # fmt: skip


def _local(tree: Tree) -> str:
    return tree.id.removeprefix(f"{tree.garden}/")


def _felled_here(garden: GardenOfMany, near: Neighbour, tree: Tree) -> Finding:
    message = say(
        'may_be_felled of "{name}" is passed over: it is a tree of {garden}',
        name=near.id, garden=tree.garden,
    )  # fmt: skip
    cure = say("what its loss would leave bare is told among the losses")
    return Finding("note", "felled-here", message, garden.name, "neighbour", cure=cure)


def _same_tree(near: Neighbour, others: Sequence[Tree], own: Sequence[Tree]) -> Tree | None:
    """The tree of another garden that a neighbour's tree is: by place, else by its distance."""
    found = []
    for tree in others:
        if tree.species != near.variety.species or tree.position_m is None:
            continue
        if near.known and all(limb.variety != near.variety for limb in tree.limbs):
            continue
        if near.position_m is not None:
            off, most = dist(near.position_m, tree.position_m), SAME_TREE_M
        elif near.known:
            beside = [one for one in own if one.species == tree.species] or own
            ways = [dist(one.position_m, tree.position_m) for one in beside if one.position_m]
            off = min(abs(way - near.distance_m) for way in ways)
            most = max(SLACK_M, SLACK * near.distance_m)
        else:
            continue
        if off <= most:
            found.append((off, tree.id, tree))
    return min(found)[2] if found else None


def _same_neighbour(near: Neighbour, kept: Iterable[Neighbour]) -> Neighbour | None:
    """A tree next door that another garden has told of already."""
    for one in kept:
        if (
            one.garden != near.garden
            and one.variety == near.variety
            and one.position_m is not None
            and near.position_m is not None
            and dist(one.position_m, near.position_m) <= SAME_TREE_M
        ):
            return one
    return None


def _noted(garden: GardenOfMany, same: Iterable[SameTree]) -> Iterator[Observation]:
    """What the log of a garden tells, by the ids that its parts have where all are together."""
    meant = {one.neighbour: one.part for one in same if one.garden == garden.name}
    for seen in garden.study.records.observations:
        yield replace(seen, limb=meant.get(seen.limb, f"{garden.name}/{seen.limb}"))


def giving_wood(garden: GardenOfMany, ill: Many[str]) -> Iterator[Limb]:
    """Limbs that wood may be cut from; ill : trees under suspicion of a disease, `garden/id`."""
    for tree in garden.study.plan.trees:
        if f"{garden.name}/{tree.id}" not in ill:
            yield from tree.limbs


def _wood(gardens: Sequence[GardenOfMany], ill: Many[str]) -> tuple[Scion, ...]:
    """Wood that any of them has: its scions, and what stands in its garden. Each variety once.

    A scion that one plan blocks and another does not may be chosen. ill : as `giving_wood` has it.
    """
    found: dict[VarietyId, Scion] = {}
    for garden in gardens:
        for scion in garden.study.plan.scions:
            before = found.get(scion.variety)
            if before is None or (before.blocked is not None and scion.blocked is None):
                found[scion.variety] = replace(scion, tree=None)
    for garden in gardens:
        presumed = {variety.id for variety in garden.study.plan.presumed}
        for limb in giving_wood(garden, ill):
            if limb.variety not in presumed:
                found.setdefault(limb.variety, Scion(limb.variety, source=garden.name))
    return tuple(found.values())


def _one_aim(gardens: Sequence[GardenOfMany]) -> tuple[Aim, tuple[Finding, ...]]:
    """The strictest of their aims, and whether they differ in what counts."""
    aims = [garden.study.plan.aim for garden in gardens]
    reaches = [(aim.near_m, aim.far_m) for aim in aims]
    one = Aim(
        level=max(aim.level for aim in aims),
        min_overlap_days=max(aim.min_overlap_days for aim in aims),
        half_counts=all(aim.half_counts for aim in aims),
        donors=max(aim.donors for aim in aims),
        near_m=min((near for near, _ in reaches if near is not None), default=None),
        far_m=min((far for _, far in reaches if far is not None), default=None),
        draws=max(aim.draws for aim in aims),
        seed=aims[0].seed,
        off_years=any(aim.off_years for aim in aims),
    )
    asked = {replace(aim, seed=one.seed, draws=one.draws) for aim in aims}
    if len(asked) == 1:
        return one, ()
    message = say(
        "{gardens} have different settings under [aim]; for what they share the strictest of "
        "each holds",
        gardens=joined([garden.name for garden in gardens]),
    )
    cure = say("write the same [aim] into each plan")
    return one, (Finding("note", "aims-differ", message, gardens[0].name, "aim", cure=cure),)


def _own_varieties(
    gardens: Sequence[GardenOfMany],
) -> tuple[tuple[Variety, ...], tuple[Finding, ...]]:
    """Varieties that the plans describe; of one that two describe the first."""
    found: dict[VarietyId, tuple[str, Variety]] = {}
    findings = []
    for garden in gardens:
        for variety in garden.study.plan.own_varieties:
            by, told = found.setdefault(variety.id, (garden.name, variety))
            if told != variety:
                findings.append(_told_otherwise(variety.id, by, garden.name))
    return tuple(variety for _, variety in found.values()), tuple(findings)


def _told_otherwise(variety: VarietyId, by: str, other: str) -> Finding:
    message = say(
        "{variety} is described otherwise by {other} than by {first}, which is taken for both",
        variety=variety.name, other=other, first=by,
    )  # fmt: skip
    cure = say("give it one description, or two names")
    return Finding("warning", "told-otherwise", message, other, variety.name, cure=cure)


def _one_catalogue(
    gardens: Sequence[GardenOfMany],
) -> tuple[Catalogue, tuple[Finding, ...]]:
    """The shipped tables of all their fruits, and what own tables of any of them add."""
    names = sorted({fruit for g in gardens for fruit in g.study.catalogue.rules.fruits})
    folders = list(dict.fromkeys(garden.study.own_folder for garden in gardens))
    if len(folders) == 1:
        return load_catalogue(names, folders[0])[0], ()
    shipped = load_catalogue(names)[0]
    by = {garden.study.own_folder: garden.name for garden in reversed(gardens)}
    joint = shipped
    added: dict[VarietyId, str] = {}
    findings = []
    for folder in (folder for folder in folders if folder is not None):
        own = load_catalogue(names, folder)[0]
        new = {
            name: variety
            for name, variety in own.varieties.items()
            if shipped.varieties.get(name) != variety
        }
        twice = [name for name in new if name in added and joint.varieties[name] != new[name]]
        findings += [_told_otherwise(name, added[name], by[folder]) for name in twice]
        new = {name: variety for name, variety in new.items() if name not in added}
        added |= dict.fromkeys(new, by[folder])
        joint = _with_tables(joint, own, new)
    return joint, tuple(findings)


def _with_tables(
    joint: Catalogue, own: Catalogue, varieties: Mapping[VarietyId, Variety]
) -> Catalogue:
    rules, more = joint.rules, own.rules
    return replace(
        joint,
        varieties=dict(sorted({**joint.varieties, **varieties}.items())),
        synonyms={**own.synonyms, **joint.synonyms},
        sites={**own.sites, **joint.sites},
        sources={**own.sources, **joint.sources},
        rules=replace(
            rules,
            alleles=tuple(dict.fromkeys((*rules.alleles, *more.alleles))),
            pairs=tuple(dict.fromkeys((*rules.pairs, *more.pairs))),
            crossings=tuple(dict.fromkeys((*rules.crossings, *more.crossings))),
            dominance=tuple(dict.fromkeys((*rules.dominance, *more.dominance))),
        ),
    )


def _weather_of(
    gardens: Sequence[GardenOfMany],
) -> tuple[GardenOfMany, tuple[Finding, ...]]:
    """The garden whose winters stand for all of them: the longest measured record, else made ones.

    Pollen crosses no more than a few hundred metres, over which the weather is the same.
    """

    def worth(garden: GardenOfMany) -> tuple[bool, bool, int]:
        record = garden.study.record
        if record is None:
            return False, False, 0
        return True, not record.generated, len(record.dates)

    # Of equal ones the first by name.
    best = max(reversed(gardens), key=worth)
    other = [g for g in gardens if not _same_weather(g.study, best.study)]
    if not other:
        return best, ()
    message = say(
        "{gardens} rest on other weather than {best}, whose winters stand for all of them where "
        "they are looked at together",
        gardens=joined([garden.name for garden in other]), best=best.name,
    )  # fmt: skip
    cure = say("name the same weather file in each plan")
    return best, (Finding("note", "other-weather", message, other[0].name, "site", cure=cure),)


def _same_weather(one: Study, other: Study) -> bool:
    if one.record is None or other.record is None:
        return one.record is other.record
    if one.climate is not None and other.climate is not None:
        return True
    return (one.record.source, len(one.record.dates)) == (
        other.record.source, len(other.record.dates)
    )  # fmt: skip
