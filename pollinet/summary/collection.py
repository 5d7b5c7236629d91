"""Gardens of a collection → who has pollen from where, what one tree's loss does, what to graft."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from pollinet.advice.suspicion import Ill
from pollinet.domain import Node
from pollinet.network.cover import Cover
from pollinet.network.coverage import DonorShare, LimbCoverage, limb_coverage
from pollinet.network.proximity import distance_m
from pollinet.network.resilience import bare_without, carriers
from pollinet.network.viability import present_of
from pollinet.study.collection import GardenOfMany, Group, giving_wood
from pollinet.summary.scions import ScionWanted, scions_wanted


@dataclass(frozen=True)
class SharedLimb:
    """A limb with what its own garden gives it, and what all do together.

    id : as in its own plan. own : with the limbs of its own garden alone. together : with all that
    stands. best : its best donor, None: it has none. giver : the garden that this stands in; None:
    in none of the collection. best_m : how far it stands; None: not told. [m]
    """

    garden: str
    id: str
    node: Node
    own: LimbCoverage
    together: LimbCoverage
    best: Node | None
    giver: str | None
    best_m: float | None

    @property
    def across(self) -> bool:
        """Whether it has a donor, but none without the trees of others."""
        return self.together.covered and not self.own.covered


@dataclass(frozen=True)
class Service:
    """A donor of one garden that would do for a limb of another alone, or is its best one.

    donor, limb : ids as in their own plans.
    """

    giver: str
    donor: str
    receiver: str
    limb: str
    share: DonorShare
    way_m: float


@dataclass(frozen=True)
class TreeLoss:
    """What is bare once a tree is gone.

    garden : whose it is, or, of a tree that stands in none of them, by whom it is told.
    uncovers : garden and limb of each that is covered now and would not be.
    ill : what it is under suspicion of; None: of nothing.
    """

    garden: str
    tree: str
    is_neighbours: bool
    varieties: tuple[str, ...]
    uncovers: tuple[tuple[str, str], ...]
    ill: Ill | None = None

    @property
    def elsewhere(self) -> int:
        """How many of them stand in other gardens."""
        return sum(garden != self.garden for garden, _ in self.uncovers)


@dataclass(frozen=True)
class NewGraft:
    """A variety of the smallest set. tree, garden : where it goes; None: nowhere is room.

    wood_from : gardens in which it grows or lies.
    """

    variety: str
    garden: str | None
    tree: str | None
    wood_from: tuple[str, ...]
    carries: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SuspectTree:
    """A tree under suspicion of a disease: nothing is grafted on it, no wood is cut from it.

    garden : whose it is, or, of a tree that stands in none of them, by whom it is told.
    limbs : all that grow on it, ids as in its own plan. signs : (limb, sign, year) as noted.
    """

    garden: str
    tree: str
    is_neighbours: bool
    ill: Ill
    limbs: tuple[str, ...]
    signs: tuple[tuple[str, str, int], ...]


@dataclass(frozen=True)
class GroupFacts:
    """All that is told of gardens within reach of each other.

    cover : the smallest set for all of them. nodes : those of the search that found it.
    """

    group: Group
    limbs: tuple[SharedLimb, ...]
    services: tuple[Service, ...]
    losses: tuple[TreeLoss, ...]
    cover: Cover
    nodes: tuple[Node, ...]
    grafts: tuple[NewGraft, ...]
    suspected: tuple[SuspectTree, ...] = ()


def group_facts(group: Group, *, limit_s: float, from_catalogue: bool = False) -> GroupFacts:
    """Look at gardens within reach; limit_s : how long the search for a set may take. [s]"""
    study = group.study
    limbs = tuple(_limbs(group))
    network, cover = study.cover(from_catalogue=from_catalogue, time_limit_s=limit_s)
    wanted = scions_wanted(study, network, cover)
    return GroupFacts(
        group, limbs, tuple(_services(group, limbs)), tuple(_losses(group)), cover, network.nodes,
        tuple(_graft(group, one) for one in wanted), tuple(_suspected(group)),
    )  # fmt: skip


def garden_of(group: Group, node: Node) -> str:
    """The garden that a node stands in, or that tells of it."""
    return node.garden or group.gardens[0].name


def local_id(node: Node) -> str:
    """The id of a node in its own plan."""
    return node.id.removeprefix(f"{node.garden}/") if node.garden else node.id


def _limbs(group: Group) -> Iterator[SharedLimb]:
    network, rows = group.study.network, group.study.coverage
    nodes = network.nodes
    own: dict[int, LimbCoverage] = {}
    for garden in group.gardens:
        here = [
            i
            for i in present_of(network)
            if nodes[i].kind == "limb" and garden_of(group, nodes[i]) == garden.name
        ]
        own |= {row.node: row for row in limb_coverage(network, here)}
    for row in rows:
        node = nodes[row.node]
        best = nodes[row.donors[0].node] if row.donors else None
        inside = best is not None and best.kind == "limb"
        yield SharedLimb(
            garden_of(group, node), local_id(node), node, own[row.node], row, best,
            garden_of(group, best) if best is not None and inside else None,
            None if best is None else distance_m(node, best),
        )  # fmt: skip


def _services(group: Group, limbs: Sequence[SharedLimb]) -> Iterator[Service]:
    nodes, level = group.study.network.nodes, group.study.plan.aim.level
    for limb in limbs:
        enough = set(carriers(limb.together, level))
        for place, share in enumerate(limb.together.donors):
            donor = nodes[share.node]
            giver = garden_of(group, donor)
            is_one = place == 0 or share.node in enough
            if is_one and donor.kind == "limb" and giver != limb.garden:
                way = distance_m(limb.node, donor)
                yield Service(giver, local_id(donor), limb.garden, limb.id, share, way)


def _losses(group: Group) -> Iterator[TreeLoss]:
    """Each tree lost in turn, most limbs bare first; those that leave none bare are left out."""
    network = group.study.network
    nodes = network.nodes
    trees: dict[tuple[bool, str], list[int]] = {}
    for i in present_of(network):
        is_near = nodes[i].kind == "neighbour"
        name = nodes[i].id if is_near else nodes[i].tree or nodes[i].id
        trees.setdefault((is_near, name), []).append(i)
    found = []
    ills = {one.holder: one.ill for one in group.study.suspected}
    bare_of = bare_without(network, list(trees.values()))
    for ((is_near, tree), gone), bare in zip(trees.items(), bare_of, strict=True):
        if not bare:
            continue
        garden = garden_of(group, nodes[gone[0]])
        names = tuple(dict.fromkeys(nodes[i].variety.name for i in gone))
        limbs = tuple((garden_of(group, nodes[i]), local_id(nodes[i])) for i in bare)
        local = tree.removeprefix(f"{garden}/")
        found.append(TreeLoss(garden, local, is_near, names, limbs, ills.get(tree)))
    return iter(sorted(found, key=lambda loss: (-len(loss.uncovers), loss.garden, loss.tree)))


def _graft(group: Group, wanted: ScionWanted) -> NewGraft:
    tree = next((one for one in group.study.plan.trees if one.id == wanted.tree), None)
    nodes = {node.id: node for node in group.study.network.nodes}
    ill = {one.holder for one in group.suspected}
    return NewGraft(
        wanted.variety.name,
        None if tree is None else tree.garden or group.gardens[0].name,
        None if tree is None else tree.id.removeprefix(f"{tree.garden}/"),
        tuple(g.name for g in group.gardens if _has_wood(g, wanted, ill)),
        tuple((garden_of(group, nodes[name]), local_id(nodes[name])) for name in wanted.serves),
    )


def _has_wood(garden: GardenOfMany, wanted: ScionWanted, ill: Collection[str]) -> bool:
    return any(limb.variety == wanted.variety for limb in giving_wood(garden, ill)) or any(
        scion.variety == wanted.variety and scion.at_hand and scion.blocked is None
        for scion in garden.study.plan.scions
    )


def _suspected(group: Group) -> Iterator[SuspectTree]:
    """Trees under suspicion, in the order of the gardens; those next door last."""
    plan = group.study.plan
    trees = {tree.id: tree for tree in plan.trees}
    near = {one.id: one for one in plan.neighbours}
    for one in group.study.suspected:
        tree = trees.get(one.holder)
        garden = (near[one.holder] if tree is None else tree).garden or group.gardens[0].name

        def local(id: str, garden: str = garden) -> str:
            return id.removeprefix(f"{garden}/")

        yield SuspectTree(
            garden, local(one.holder), tree is None, one.ill,
            () if tree is None else tuple(local(limb.id) for limb in tree.limbs),
            tuple((local(limb), sign, year) for limb, sign, year in one.signs),
        )  # fmt: skip
