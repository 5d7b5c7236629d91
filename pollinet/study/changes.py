"""Changes of a plan in memory: the plan that a changed plan file would give, with its findings.

A change is checked as the file would be: by the same schema, against the same names. What is wrong
with it is raised, all at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path
from typing import Any, Final

from pollinet.domain import (
    Catalogue,
    Limb,
    Neighbour,
    Plan,
    Records,
    Scion,
    Tree,
    VarietyId,
)
from pollinet.errors import WrongChange
from pollinet.findings import Finding, has_errors
from pollinet.messages import joined, mark, say
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.names import one_of
from pollinet.readers.observations import WHOLE_GARDEN, places
from pollinet.readers.plan_checks import empty_tree, repeated_id
from pollinet.readers.plan_names import as_typed, fruits_of
from pollinet.readers.plan_positions import nearest_m, neighbour_place
from pollinet.readers.plan_table import PlanTable, checked
from pollinet.readers.plan_varieties import Names
from pollinet.readers.records import records_of


class Kept(Enum):
    """Stands for a value that a change leaves as it is."""

    KEPT = "kept"


KEPT: Final = Kept.KEPT


@dataclass(frozen=True)
class Changed:
    """A changed plan.

    catalogue : that of its fruits; the very one of before where these are the same.
    findings : on the names in the change.
    places : places of the plan whose earlier findings no longer hold.
    """

    plan: Plan
    catalogue: Catalogue
    findings: tuple[Finding, ...] = ()
    places: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Ground:
    """What a change starts from. `own_folder` : the grower's own tables; None: there are none."""

    plan: Plan
    catalogue: Catalogue
    own_folder: Path | None


def with_limb(
    ground: Ground,
    id: str,
    variety: str | None,
    tree: str | None,
    grafted: int | Kept | None,
    crops: bool | Kept,
) -> Changed:
    """A limb with another variety, tree, year or use; or a new one, after those of its tree.

    A new limb takes one of its tree's spare places, as `editing.add_limb` has it.
    """
    plan = ground.plan
    old = next((limb for limb in plan.limbs if limb.id == id), None)
    target = _tree_of(plan, id, tree or (old.tree if old else None), is_new=old is None)
    entry: dict[str, Any] = {"id": id}
    entry |= {"variety": (old.typed or old.variety.name) if old.known else "?"} if old else {}
    entry |= {"variety": variety} if variety is not None else {}
    entry["crops"] = (old.crops if old else True) if crops is KEPT else crops
    year = (old.grafted if old else None) if grafted is KEPT else grafted
    entry |= {"grafted": year} if year is not None else {}
    entry |= {"biennial": old.biennial} if old else {}
    data = {"tree": [{"id": target.id, "species": target.species, "limb": [entry]}]}
    (row,) = _checked(data, plan).tree[0].limb
    place = _limb_place(target.id, id)
    names = _names(ground.catalogue, plan)
    if variety is None and old is not None and old.tree == target.id:
        resolved: VarietyId | None = old.variety
        known = old.known
    else:
        resolved, known = names.limb(target.species, row.variety, id, place)
    if resolved is None:
        raise WrongChange(tuple(names.findings))
    former = old.former_ids if old else ()
    typed = as_typed(row.variety, resolved) if known else ""
    limb = Limb(id, target.id, resolved, row.grafted, row.crops, former, typed, row.biennial, known)
    moved = old is not None and old.tree != target.id
    trees = [
        _with_limb(one, limb, is_target=one.id == target.id, is_new=old is None)
        for one in plan.trees
    ]
    changed = replace(plan, trees=tuple(trees))
    if moved:
        _raise(empty_tree(one.id, plan.file) for one in changed.trees if not one.limbs)
    renewed = variety is not None or moved
    places = {_limb_place(old.tree, id)} if old is not None and renewed else set()
    return Changed(changed, ground.catalogue, tuple(names.findings), frozenset(places))


def _with_limb(tree: Tree, limb: Limb, *, is_target: bool, is_new: bool) -> Tree:
    """A tree with a limb in its own place, or after the others; or without it."""
    stands = any(one.id == limb.id for one in tree.limbs)
    if not is_target:
        rest = tuple(one for one in tree.limbs if one.id != limb.id)
        return replace(tree, limbs=rest) if stands else tree
    if stands:
        return replace(tree, limbs=tuple(limb if o.id == limb.id else o for o in tree.limbs))
    spare = max(tree.spare_limbs - 1, 0) if is_new else tree.spare_limbs
    return replace(tree, limbs=(*tree.limbs, limb), spare_limbs=spare)


def _tree_of(plan: Plan, id: str, tree: str | None, *, is_new: bool) -> Tree:
    """The tree that a limb is to stand on."""
    findings = []
    if tree is None:
        names = [limb.id for limb in plan.limbs]
        message = say('the plan has no limb "{limb}"', limb=id)
        cure = say(
            "{names}; to graft a new limb say on which tree",
            names=one_of(id, names, mark("the limbs are: {names}")),
        )
        raise WrongChange((Finding("error", "unknown-limb", message, plan.file, cure=cure),))
    found = next((one for one in plan.trees if one.id == tree), None)
    if found is None:
        message = say('the plan has no tree "{name}"', name=tree)
        cure = one_of(tree, [one.id for one in plan.trees])
        findings.append(Finding("error", "unknown-tree", message, plan.file, cure=cure))
    if is_new and (count := _known_ids(plan).count(id)):
        findings.append(repeated_id(id, count + 1, "limb", plan.file))
    _raise(findings)
    assert found is not None
    return found


def with_neighbour(
    ground: Ground, id: str, species: str, variety: str, distance_m: float
) -> Changed:
    """A neighbour's tree with another variety or distance; or a new one, after the others."""
    plan = ground.plan
    old = next((tree for tree in plan.neighbours if tree.id == id), None)
    if old is None and (count := _known_ids(plan).count(id)):
        raise WrongChange((repeated_id(id, count + 1, "limb", plan.file),))
    entry = {"id": id, "species": species, "variety": variety, "distance_m": distance_m}
    table = _checked({"neighbour": [entry]}, plan)
    named, problems = fruits_of(table, fruits(), plan.file)
    _raise(problems)
    rest = tuple(tree for tree in plan.neighbours if tree is not old)
    catalogue = _catalogue_of({*_fruits_in(replace(plan, neighbours=rest)), *named}, ground)
    names = _names(catalogue, plan)
    resolved, known = names.neighbour(species, variety, id)
    if resolved is None:
        raise WrongChange(tuple(names.findings))
    former = old.former_ids if old else ()
    typed = as_typed(variety, resolved) if known else ""
    was = Neighbour(id, resolved, distance_m) if old is None else old
    # Another distance puts it in another place, which nobody has told.
    position_m = was.position_m if distance_m == was.distance_m else None
    tree = replace(
        was, variety=resolved, distance_m=float(distance_m), former_ids=former, typed=typed,
        known=known, position_m=position_m,
    )  # fmt: skip
    if old is None:
        changed = replace(plan, neighbours=(*plan.neighbours, tree))
        return Changed(changed, catalogue, tuple(names.findings))
    changed = replace(
        plan, neighbours=tuple(tree if one is old else one for one in plan.neighbours)
    )
    places = {_neighbour_place(id)} | ({neighbour_place(id)} if position_m is None else set())
    return Changed(changed, catalogue, tuple(names.findings), frozenset(places))


def without(ground: Ground, ids: Sequence[str], logged: frozenset[str]) -> Changed:
    """A plan without some limbs and neighbours' trees; it remembers ids that the log names.

    logged : ids that the log names.
    """
    plan, lost = ground.plan, set(ids)
    limbs, neighbours = {limb.id for limb in plan.limbs}, {one.id for one in plan.neighbours}
    kinds = joined([say(mark("limb")), say(mark("neighbour"))], "or")
    _raise(
        Finding(
            "error", "unknown-limb",
            say('the plan has no {kinds} "{name}"', kinds=kinds, name=name), plan.file,
            cure=one_of(name, [*limbs, *neighbours]),
        )
        for name in dict.fromkeys(ids)
        if name not in limbs | neighbours
    )  # fmt: skip
    places = {_limb_place(limb.tree, limb.id) for limb in plan.limbs if limb.id in lost}
    places |= {_neighbour_place(name) for name in neighbours & lost}
    places |= {neighbour_place(name) for name in neighbours & lost}
    # One after the other, in the order of their loss: so the file would remember their ids.
    for name in dict.fromkeys(ids):
        plan = _without_limb(plan, name, logged) if name in limbs else plan
        plan = _without_neighbour(plan, name, logged) if name in neighbours else plan
    _raise(empty_tree(tree.id, plan.file) for tree in plan.trees if not tree.limbs)
    return Changed(plan, _catalogue_of(_fruits_in(plan), ground), (), frozenset(places))


def without_tree(ground: Ground, id: str, logged: frozenset[str]) -> Changed:
    """A plan without one of its trees and all its limbs; another tree remembers what the log names.

    logged : ids that the log names. As `editing.remove_tree` has it.
    """
    plan = ground.plan
    gone = next(tree for tree in plan.trees if tree.id == id)
    rest = [tree for tree in plan.trees if tree is not gone]
    if not rest:
        _raise([empty_tree(id, plan.file)])
    names = [*gone.lost_limbs]
    for limb in gone.limbs:
        names += [*limb.former_ids, *([limb.id] if limb.id in logged else [])]
    rest[0] = replace(rest[0], lost_limbs=(*rest[0].lost_limbs, *names))
    near = tuple(_seen_from(one, plan.trees, rest) for one in plan.neighbours)
    changed = replace(plan, trees=tuple(rest), neighbours=near)
    places = frozenset(_limb_place(id, limb.id) for limb in gone.limbs)
    return Changed(changed, _catalogue_of(_fruits_in(changed), ground), (), places)


def _seen_from(near: Neighbour, before: Sequence[Tree], now: Sequence[Tree]) -> Neighbour:
    """A neighbour's tree whose distance follows from its position, from the trees that are left."""
    if near.position_m is None or near.distance_m != nearest_m(near.position_m, before):
        return near
    way = nearest_m(near.position_m, now)
    return near if way is None else replace(near, distance_m=way)


def _without_limb(plan: Plan, name: str, logged: frozenset[str]) -> Plan:
    def left(tree: Tree) -> Tree:
        gone = [limb for limb in tree.limbs if limb.id == name]
        if not gone:
            return tree
        names = [*gone[0].former_ids, *([name] if name in logged else [])]
        rest = tuple(limb for limb in tree.limbs if limb.id != name)
        return replace(tree, limbs=rest, lost_limbs=(*tree.lost_limbs, *names))

    return replace(plan, trees=tuple(left(tree) for tree in plan.trees))


def _without_neighbour(plan: Plan, name: str, logged: frozenset[str]) -> Plan:
    (gone,) = (tree for tree in plan.neighbours if tree.id == name)
    names = [*gone.former_ids, *([name] if name in logged else [])]
    rest = tuple(tree for tree in plan.neighbours if tree is not gone)
    return replace(plan, neighbours=rest, lost_neighbours=(*plan.lost_neighbours, *names))


def catalogue_findings(
    ground: Ground, changed: Changed
) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Findings on the grower's own tables before and after a change of the fruits in the plan."""
    if ground.own_folder is None or changed.catalogue is ground.catalogue:
        return (), ()
    before, after = (_fruits_in(plan) for plan in (ground.plan, changed.plan))
    return tuple(load_catalogue(names, ground.own_folder)[1] for names in (before, after))  # type: ignore[return-value]


def changed_records(records: Records, plan: Plan) -> Records:
    """The log of a garden after a change of its plan; what it has of lost limbs is passed over."""
    if not records.observations:
        return records
    known = {*places(plan), WHOLE_GARDEN}
    kept = tuple(seen for seen in records.observations if seen.limb in known)
    changed = records_of(kept, plan, records.named)
    return records if changed == records else changed


def _raise(findings: Iterable[Finding]) -> None:
    if found := tuple(findings):
        raise WrongChange(found)


def _checked(data: Mapping[str, Any], plan: Plan) -> PlanTable:
    """Entries of a plan, checked by its schema."""
    table, findings = checked(dict(data), plan.file)
    if table is None or has_errors(findings):
        raise WrongChange(findings)
    return table


def _names(catalogue: Catalogue, plan: Plan) -> Names:
    own: dict[str, set[str]] = {}
    for variety in plan.own_varieties:
        own.setdefault(variety.id.species, set()).add(variety.id.name)
    names = Names(catalogue, fruits(), plan.file, ())
    names.own = own
    return names


def _known_ids(plan: Plan) -> list[str]:
    """Ids that limbs and neighbours' trees have, had or lost: none may come to mean another."""
    here: tuple[Limb | Neighbour, ...] = (*plan.limbs, *plan.neighbours)
    former = [name for one in here for name in one.former_ids]
    return [*(one.id for one in here), *former, *plan.lost]


def _limb_place(tree: str, limb: str) -> str:
    return f'tree "{tree}", limb "{limb}", variety'


def _neighbour_place(name: str) -> str:
    return f'neighbour "{name}", variety'


def _fruits_in(plan: Plan) -> set[str]:
    named: tuple[Neighbour | Scion, ...] = (*plan.neighbours, *plan.scions)
    return {
        *(tree.species for tree in plan.trees),
        *(one.variety.species for one in named),
        *(variety.id.species for variety in plan.own_varieties),
    }


def _catalogue_of(wanted: set[str], ground: Ground) -> Catalogue:
    """The catalogue of some fruits; what it shares with that of before is the very same."""
    old = ground.catalogue
    if wanted == set(old.rules.fruits):
        return old
    new, _ = load_catalogue(wanted, ground.own_folder)
    known = old.varieties
    return replace(
        new,
        varieties={name: known.get(name, variety) for name, variety in new.varieties.items()},
        sites=old.sites if old.sites == new.sites else new.sites,
    )
