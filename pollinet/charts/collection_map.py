"""What is told of a collection → its map."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pollinet.charts.fences import Crossing, Ground, Standing, draw_fences, fences_description
from pollinet.charts.style import SCREEN, Form
from pollinet.domain import Position
from pollinet.language import _
from pollinet.summary.collection import GroupFacts, SharedLimb
from pollinet.wording.check import Kind
from pollinet.wording.collection import ILLS, suspicion_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WORST: tuple[Kind, ...] = ("lacking", "open", "likely", "sure")
"""The worst verdict first: a tree is shown as its worst limb."""


def draw_collection(
    facts: Sequence[GroupFacts], form: Form = SCREEN, ax: Axes | None = None
) -> tuple[Axes, str, str]:
    """Draw the map; gives its axes, its title, and what it shows in words."""
    grounds = [_ground(one) for one in facts if one.group.is_shared]
    alone = {
        one.group.gardens[0].name: _worst(one.limbs) for one in facts if not one.group.is_shared
    }
    title, first = _("Who has pollen from whom"), suspicion_words(facts)
    axes = draw_fences(grounds, alone, title=title, first=first, form=form, ax=ax)
    return axes, title, fences_description(grounds, alone, first)


def _ground(one: GroupFacts) -> Ground:
    plan = one.group.study.plan
    ills = {suspect.holder: _(ILLS[suspect.ill]) for suspect in one.group.suspected}
    standing = []
    for tree in plan.trees:
        ids = {limb.id for limb in tree.limbs}
        limbs = [limb for limb in one.limbs if limb.node.id in ids]
        names = tuple(dict.fromkeys(limb.variety.name for limb in tree.limbs))
        local = tree.id.removeprefix(f"{tree.garden}/")
        at, kind, ill = _at(tree.position_m), _worst(limbs), ills.get(tree.id, "")
        standing.append(Standing(tree.garden, local, at, kind, names, ill))
    for near in plan.neighbours:
        if near.position_m is not None:
            local = near.id.removeprefix(f"{near.garden}/")
            names, ill = (near.variety.name,), ills.get(near.id, "")
            standing.append(Standing(near.garden, local, near.position_m, "next door", names, ill))
    return Ground(tuple(standing), _crossings(one))


def _at(position: Position | None) -> Position:
    return position or (0.0, 0.0)


def _worst(limbs: Sequence[SharedLimb]) -> Kind:
    found = {limb.together.verdict for limb in limbs}
    return next((kind for kind in WORST if kind in found), "need not crop")


def _crossings(one: GroupFacts) -> tuple[Crossing, ...]:
    """Each pair of trees once, where the one has the best donor of a limb beyond its fence."""
    found: dict[Crossing, None] = {}
    for limb in one.limbs:
        best = limb.best
        if best is None or limb.giver == limb.garden or best.position_m is None:
            continue
        giver, tree = best.garden, best.tree or best.id
        from_tree = giver, tree.removeprefix(f"{giver}/")
        to_tree = limb.garden, (limb.node.tree or "").removeprefix(f"{limb.garden}/")
        found[Crossing(from_tree, to_tree)] = None
    return tuple(found)
