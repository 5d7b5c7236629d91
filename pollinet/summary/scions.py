"""The shopping list of a cover: wood to cut or to order, on which tree it goes and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pollinet.advice.balance import Placement, placement, vigour_of
from pollinet.advice.pollinizer import choices
from pollinet.domain import NetworkInput, Node, Tree, VarietyId
from pollinet.network.cover import Cover
from pollinet.network.coverage import LimbCoverage, limb_coverage
from pollinet.network.proximity import distance_m
from pollinet.network.resilience import carriers, losses
from pollinet.network.viability import present_of
from pollinet.study import Study

WhyThere = Literal["only-room", "alike", "reach", "no-room"]
"""Why a graft goes on its tree: no other of its fruit has room; its pollen is the same on each that
has, and this one has most room; from there it reaches the limbs that it serves, or its own donor;
none has room, so that another limb would have to give way."""


@dataclass(frozen=True)
class ScionWanted:
    """One variety to graft.

    trees : trees of its fruit that can still carry a graft and from which its pollen reaches the
        same limbs. serves : limbs that it would carry alone, whose best donor it would be, or that
        would fall short without it. at_hand : whether the plan names its wood; else it must be
        ordered.
    tree : the one of these that it goes on, as each graft takes room; None: there is no room.
    why, height : why there, and where on the tree by vigour. spare : how many more grafts the tree
        could carry before any of these.
    farthest_m : how far the farthest of the limbs it serves is; None: no positions are told. [m]
    """

    variety: VarietyId
    trees: tuple[str, ...]
    serves: tuple[str, ...]
    at_hand: bool
    tree: str | None = None
    why: WhyThere = "no-room"
    height: Placement = "unknown"
    spare: int = 0
    farthest_m: float | None = None


def scions_wanted(study: Study, network: NetworkInput, cover: Cover) -> tuple[ScionWanted, ...]:
    """The varieties of a cover's first set, in its order."""
    return grafts_wanted(study, network, cover.added or cover.partial)


def grafts_wanted(
    study: Study, network: NetworkInput, chosen: Sequence[int]
) -> tuple[ScionWanted, ...]:
    """The varieties of some candidates, in their order."""
    if not chosen:
        return ()
    nodes = network.nodes
    rows = limb_coverage(network, (*present_of(network), *chosen))
    losing = losses(network, (*present_of(network), *chosen))
    missed = {loss.node: loss.uncovered for loss in losing}
    at_hand = {scion.variety for scion in study.plan.scions}
    free = {tree.id: tree.spare_limbs for tree in study.open_trees}
    found = []
    for node in chosen:
        trees = study.trees_for(nodes[node])
        # Of trees that are the same to pollen the one that still has most room.
        tree = max((t for t in trees if free[t.id] > 0), key=lambda t: free[t.id], default=None)
        if tree is not None:
            free[tree.id] -= 1
        served = [
            row.node
            for row in rows
            if nodes[row.node].kind == "limb"
            and (_served(row, node, network.aim.level) or row.node in missed[node])
        ]
        found.append(
            ScionWanted(
                nodes[node].variety,
                tuple(one.id for one in trees),
                tuple(nodes[limb].id for limb in served),
                nodes[node].variety in at_hand,
                None if tree is None else tree.id,
                why_there(study, nodes[node], tree),
                "unknown" if tree is None else height_on(study, nodes[node], tree),
                0 if tree is None else tree.spare_limbs,
                farthest_m(nodes[node], [nodes[limb] for limb in served]),
            )
        )
    return tuple(found)


@dataclass(frozen=True)
class NearHelp:
    """How a free place is best used where no set gives the limbs that lack a donor theirs.

    variety, tree : what goes where. gains : (limb, share of winters now, and then), of limbs that
        gain a whole winter of ten, or what they lack.
    own : share of winters in which the graft would have a donor itself; None: it need not crop.
    whole : varieties that would do if there were room for all of them; empty: none are known to.
    """

    variety: VarietyId
    tree: str
    gains: tuple[tuple[str, float, float], ...]
    own: float | None
    whole: tuple[VarietyId, ...]


def near_help(study: Study, network: NetworkInput, cover: Cover) -> NearHelp | None:
    """The best use of a free place; None where the cover grafts something, or nothing helps.

    cover : of the network, by all its candidates.
    """
    if cover.added or cover.partial or not cover.uncovered:
        return None
    nodes = network.nodes
    candidates = [i for i, node in enumerate(nodes) if node.kind == "candidate"]
    limbs = [missed.node for missed in cover.uncovered if nodes[missed.node].kind == "limb"]
    for choice in choices(network, candidates, limbs):
        node = nodes[choice.node]
        trees = [tree for tree in study.trees_for(node) if tree.spare_limbs > 0]
        if choice.helps and trees:
            roomy = study.cover_with_room(network)
            whole = roomy.added if roomy.status == "optimal" and not roomy.uncovered else ()
            return NearHelp(
                node.variety,
                max(trees, key=lambda tree: tree.spare_limbs).id,
                tuple(
                    (nodes[gain.node].id, gain.now, gain.then)
                    for gain in choice.gains
                    if gain.helps
                ),
                choice.own if node.must_crop else None,
                tuple(nodes[place].variety for place in whole),
            )
    return None


def why_there(study: Study, node: Node, tree: Tree | None) -> WhyThere:
    """Why a candidate goes on a tree; None: on none."""
    if tree is None:
        return "no-room"
    roomy = [one for one in study.open_trees if one.species == tree.species and one.spare_limbs]
    if len(roomy) == 1:
        return "only-room"
    return "alike" if node.tree is None else "reach"


def height_on(study: Study, node: Node, tree: Tree) -> Placement:
    """Where on a tree a candidate would go, by vigour."""
    beside = [vigour_of(study.known[limb.variety]) for limb in tree.limbs]
    return placement(vigour_of(study.known[node.variety]), beside)


def farthest_m(node: Node, limbs: Sequence[Node]) -> float | None:
    """How far the farthest of some limbs is from a candidate; None: not told. [m]"""
    placed = [limb for limb in limbs if limb.position_m is not None]
    if node.position_m is None or not placed:
        return None
    return max(distance_m(node, limb) for limb in placed)


def _served(row: LimbCoverage, donor: int, level: float) -> bool:
    best = row.donors[0].node if row.donors else None
    return donor == best or donor in carriers(row, level)
