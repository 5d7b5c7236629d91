"""How a wanted variety is grafted: when, into what, how much wood, and who has it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from pollinet.advice.grafting import Union, Wood, stock_kind, union_of, wood_for
from pollinet.advice.work import Task, tasks
from pollinet.days import season_start
from pollinet.domain import Limb, NetworkInput, Tree, VarietyId
from pollinet.network.resilience import losses
from pollinet.network.viability import present_of
from pollinet.readers.advice import Rows, advice_tables
from pollinet.study import Study
from pollinet.summary.work import garden_dates, graft_rows

USUAL_YEAR = 2001
"""Dates of a usual year are told without their year; this one has no leap day."""


@dataclass(frozen=True)
class Having:
    """Who in and round the garden has a variety, or one that is a sport of it.

    limbs, neighbours : ids; none of a tree under suspicion of a disease. source : where the plan
    says that the wood comes from; empty: not told. rights : who holds rights on it, as the plan
    says; empty: not told.
    """

    limbs: tuple[str, ...]
    neighbours: tuple[str, ...]
    source: str = ""
    rights: str = ""


@dataclass(frozen=True)
class Grafting:
    """How one variety gets onto its tree.

    tree : the one it goes on; None: none of its fruit has room.
    windows : of ordering, cutting, grafting and budding, in order, in a usual year; empty: nothing
        is known that dates them.
    after_leafing : whether grafting is dated by leafing, which is not noted.
    limb_union : on the wood of the tree's limbs. root : on its rootstock; None: not told, or
        nothing known. rootstock : of the tree, as the plan names it.
    into : limbs of the tree that may carry it where it parts from the rootstock.
    gives_way : where there is no room: the limb that is missed least; None: each is missed.
        twice : whether its variety stands on another limb, too.
    elsewhere : trees of other fruits with room on which it holds, with how.
    wood : None: not in the table. at_hand : whether the plan names its wood. having : who has it.
    """

    variety: VarietyId
    tree: str | None
    windows: tuple[Task, ...]
    after_leafing: bool
    limb_union: Union | None
    root: Union | None
    rootstock: str
    into: tuple[str, ...]
    gives_way: str | None
    twice: bool
    elsewhere: tuple[tuple[str, Union], ...]
    wood: Wood | None
    at_hand: bool
    having: Having


def graftings(
    study: Study, network: NetworkInput, chosen: Sequence[int], trees: Mapping[int, str | None]
) -> tuple[Grafting, ...]:
    """How each of some candidates is grafted, in their order.

    trees : the tree that each goes on, None where there is no room.
    """
    nodes = network.nodes
    fruits = {nodes[node].variety.species for node in chosen}
    windows = graft_windows(study, fruits)
    missed = _missed(network, chosen) if None in trees.values() else {}
    rows = advice_tables()["grafts"]
    found = []
    for node in chosen:
        variety = nodes[node].variety
        fruit, names = variety.species, _names(study, variety)
        tree = next((one for one in study.plan.trees if one.id == trees[node]), None)
        root = None if tree is None else _root(rows, fruit, names, tree)
        parts = root is not None and root.parts
        dated = windows.get(fruit, ())
        leaving = _gives_way(study, fruit, missed) if tree is None else None
        found.append(
            Grafting(
                variety=variety,
                tree=trees[node],
                windows=dated,
                after_leafing=study.catalogue.rules.fruits[fruit].shed_apart
                and not any(task.task.startswith("graft") for task in dated),
                limb_union=union_of(rows, fruit, names, fruit),
                root=root,
                rootstock="" if tree is None else tree.rootstock,
                into=_bridges(study, rows, tree) if parts and tree is not None else (),
                gives_way=None if leaving is None else leaving.id,
                twice=leaving is not None and _often(study, leaving) > 1,
                elsewhere=() if tree is not None else tuple(_elsewhere(study, rows, fruit, names)),
                wood=wood_for(advice_tables()["takes"], fruit),
                at_hand=nodes[node].at_hand,
                having=_having(study, variety),
            )
        )
    return tuple(found)


def graft_windows(study: Study, fruits: Collection[str]) -> dict[str, tuple[Task, ...]]:
    """The work of grafting in a usual year, by fruit; fruits that nothing dates are left out."""
    limbs = [
        replace(limb, marks=limb.marks | {"graft"})
        for limb in garden_dates(study).limbs
        if limb.fruit in fruits
    ]
    first = season_start(study.plan.site.latitude, USUAL_YEAR)
    found: dict[str, list[Task]] = {}
    for task in tasks(graft_rows(), limbs, first):
        found.setdefault(task.fruit, []).append(task)
    return {fruit: tuple(sorted(of, key=_in_season)) for fruit, of in found.items()}


def _in_season(task: Task) -> tuple[date, date]:
    return task.last, task.first


def _names(study: Study, variety: VarietyId) -> frozenset[str]:
    """Names by which a table may mean a variety: its own, and that of which it is a sport."""
    return frozenset({variety.name, study.known[variety].fertility.clone})


def _root(rows: Rows, fruit: str, names: Collection[str], tree: Tree) -> Union | None:
    kind = stock_kind(advice_tables()["rootstocks"], tree.species, tree.rootstock)
    return None if kind is None else union_of(rows, fruit, names, kind)


def _bridges(study: Study, rows: Rows, tree: Tree) -> tuple[str, ...]:
    """Limbs of a tree that hold on its rootstock themselves, so far as the table tells."""
    found = []
    for limb in tree.limbs:
        below = _root(rows, tree.species, _names(study, limb.variety), tree)
        if below is None or not below.parts:
            found.append(limb.id)
    return tuple(found)


def _missed(network: NetworkInput, chosen: Sequence[int]) -> dict[str, int]:
    """How many others each limb leaves without a donor if it goes, with the graft in its place."""
    here = (*present_of(network), *chosen)
    return {
        network.nodes[loss.node].id: len(loss.uncovered)
        for loss in losses(network, here)
        if network.nodes[loss.node].kind == "limb"
    }


def _gives_way(study: Study, fruit: str, missed: Mapping[str, int]) -> Limb | None:
    """The limb of a fruit that could make room: nobody misses it; doubled varieties first."""
    ill = study.suspected_ids
    limbs = [
        limb
        for tree in study.plan.trees
        if tree.species == fruit and len(tree.limbs) > 1 and tree.id not in ill
        for limb in tree.limbs
        if missed.get(limb.id, 0) == 0
    ]
    lacking = {
        study.network.nodes[row.node].id for row in study.coverage if row.verdict == "lacking"
    }
    ranked = sorted(limbs, key=lambda one: (_often(study, one) < 2, one.id in lacking))
    return ranked[0] if ranked else None


def _often(study: Study, limb: Limb) -> int:
    return [other.variety for other in study.plan.limbs].count(limb.variety)


def _elsewhere(
    study: Study, rows: Rows, fruit: str, names: Collection[str]
) -> list[tuple[str, Union]]:
    """Trees of other fruits with room on which a variety holds, the surest first."""
    found = []
    for tree in study.open_trees:
        if tree.species != fruit and tree.spare_limbs > 0:
            union = union_of(rows, fruit, names, tree.species)
            if union is not None and union.holds != "no" and not union.parts:
                found.append((tree.id, union))
    return sorted(found, key=lambda one: one[1].holds != "yes")


def _having(study: Study, variety: VarietyId) -> Having:
    clone = study.known[variety].fertility.clone

    def same(other: VarietyId) -> bool:
        known = study.known.get(other)
        return other.species == variety.species and (
            other == variety or (known is not None and known.fertility.clone == clone)
        )

    ill = study.suspected_ids
    scion = next((one for one in study.plan.scions if one.variety == variety), None)
    return Having(
        limbs=tuple(
            limb.id for limb in study.plan.limbs if same(limb.variety) and limb.tree not in ill
        ),
        neighbours=tuple(
            near.id for near in study.plan.neighbours if same(near.variety) and near.id not in ill
        ),
        source="" if scion is None or scion.source is None else scion.source,
        rights="" if scion is None or scion.rights is None else scion.rights,
    )
