"""Sentences on a collection of gardens."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pollinet.advice.suspicion import Ill
from pollinet.language import N_, _, joined, ngettext
from pollinet.study.collection import Clash, Group, SameTree
from pollinet.summary.collection import GroupFacts, SharedLimb, TreeLoss
from pollinet.wording.check import marked_winters
from pollinet.wording.sentences import cover_answer, first_of

MOST = 8
"""Things of one kind that are named in one place; the rest is counted. Own convention."""

FEW = 3
"""The same in a cell of a table."""


ILLS: dict[Ill, str] = {
    "fire blight": N_("fire blight"),
    "bacterial canker": N_("bacterial canker"),
}


def suspicion_words(facts: Sequence[GroupFacts]) -> str:
    """Which trees are under suspicion of a disease, and what that means; empty: none is."""
    ill = [one for group in facts for one in group.suspected]
    trees = [f"{one.garden}/{one.tree} ({_(ILLS[one.ill])})" for one in ill]
    return ngettext(
        "First: under suspicion of a disease is {trees}. Do not graft on this tree or collect from "
        "it; ask your plant-health service before you cut.",
        "First: under suspicion of a disease are {trees}. Do not graft on these trees or collect "
        "from them; ask your plant-health service before you cut.",
        len(trees),
    ).format(trees=first_of(trees, MOST)) if trees else ""  # fmt: skip


def collection_answer(facts: Sequence[GroupFacts], left_out: int = 0) -> str:
    """How all gardens stand, a disease that goes round before all else.

    left_out : plans with errors.
    """
    return " ".join(filter(None, [suspicion_words(facts), _standing(facts, left_out)]))


def _standing(facts: Sequence[GroupFacts], left_out: int) -> str:
    limbs = [limb for one in facts for limb in one.limbs]
    covered = [limb for limb in limbs if limb.together.covered]
    across = [limb for limb in covered if limb.across]
    gardens = sum(len(one.group.gardens) for one in facts)
    where = ngettext("In {number} garden", "In {number} gardens", gardens).format(number=gardens)
    if len(covered) == len(limbs):
        text = _("{where} every limb has a viable donor.").format(where=where)
    else:
        text = _("{where} {covered} of {limbs} limbs have a viable donor.").format(
            where=where, covered=len(covered), limbs=len(limbs)
        )
    if across:
        text += " " + ngettext(
            "{number} of the {all} limbs has it only because of what others grow.",
            "{number} of the {all} limbs have it only because of what others grow.",
            len(across),
        ).format(number=len(across), all=len(limbs))
    if left_out:
        text += " " + ngettext(
            "{number} plan with errors is left out: what stands in it counts for nobody.",
            "{number} plans with errors are left out: what stands in them counts for nobody.",
            left_out,
        ).format(number=left_out)
    return text


def garden_cells(one: GroupFacts, name: str) -> tuple[str, ...]:
    """The row of a garden: limbs, with a donor, by own pollen alone, pollen from, serves, ill."""
    own = [limb for limb in one.limbs if limb.garden == name]
    givers = dict.fromkeys(service.giver for service in one.services if service.receiver == name)
    served = dict.fromkeys(service.receiver for service in one.services if service.giver == name)
    return (
        name,
        str(len(own)),
        str(sum(limb.together.covered for limb in own)),
        str(sum(limb.own.covered for limb in own)),
        first_of(sorted(givers), FEW),
        first_of(sorted(served), FEW),
        first_of([suspect.tree for suspect in one.suspected if suspect.garden == name], FEW),
    )


def garden_headings() -> tuple[str, ...]:
    """Those of `garden_cells`."""
    return (
        _("Garden"), _("Limbs"), _("With a donor"), _("By own limbs"), _("Pollen from"),
        _("Gives pollen to"), _("Under suspicion"),
    )  # fmt: skip


def limb_words(limb: SharedLimb) -> str:
    """A limb that needs something, or has its donor from others: how it stands, and by whom."""
    if limb.best is None:
        donor = _("no donor at all")
    elif limb.giver is None:
        donor = _("best donor {variety} next door").format(variety=limb.best.variety.name)
    elif limb.giver == limb.garden:
        donor = _("best donor {variety}").format(variety=limb.best.variety.name)
    else:
        donor = _("best donor {variety} of {garden}, {metres:.0f} m away").format(
            variety=limb.best.variety.name, garden=limb.giver, metres=limb.best_m or 0.0
        )
    return _("{winters}  {limb} ({variety}): {donor}").format(
        winters=marked_winters(limb.together), limb=f"{limb.garden}/{limb.id}",
        variety=limb.node.variety.name, donor=donor,
    )  # fmt: skip


def loss_words(loss: TreeLoss) -> str:
    """What one tree's loss leaves bare."""
    tree = _("{tree} ({varieties})").format(
        tree=f"{loss.garden}/{loss.tree}", varieties=first_of(loss.varieties, 3)
    )
    bare = first_of([f"{garden}/{limb}" for garden, limb in loss.uncovers], MOST)
    if loss.is_neighbours:
        tree = _("{tree}, which is none of theirs").format(tree=tree)
    if loss.ill is not None:
        ill = _(ILLS[loss.ill])
        tree = _("{tree}, under suspicion of {disease}").format(tree=tree, disease=ill)
    return _("{tree}: leaves {limbs} bare").format(tree=tree, limbs=bare)


def set_words(one: GroupFacts) -> Iterator[str]:
    """The smallest set for gardens within reach, where each goes, and who has wood of it."""
    level = one.group.study.plan.aim.level
    yield _("{gardens}: {answer}").format(
        gardens=first_of([garden.name for garden in one.group.gardens], MOST),
        answer=cover_answer(one.cover, one.nodes, level),
    )
    for graft in one.grafts:
        where = (
            _("no tree has room for it")
            if graft.tree is None
            else _("on {tree}").format(tree=f"{graft.garden}/{graft.tree}")
        )
        wood = (
            _("wood: {gardens}").format(gardens=joined(graft.wood_from))
            if graft.wood_from
            else _("wood must be ordered")
        )
        yield f"- {graft.variety}, {where}; {wood}"


def clash_words(clash: Clash) -> str:
    """That two gardens tell another variety of one spot."""
    return _(
        "{garden}/{neighbour} ({variety}) stands where {other}/{here} has {varieties}: both are "
        "counted; correct the wrong one"
    ).format(
        garden=clash.garden, neighbour=clash.neighbour, variety=clash.variety, other=clash.other,
        here=clash.here, varieties=joined(clash.varieties),
    )  # fmt: skip


def same_words(same: SameTree) -> str:
    """That a tree was told twice."""
    if same.here is None:
        text = _("{garden}/{neighbour} is the tree that {other} tells of, too: counted once")
    else:
        text = _("{garden}/{neighbour} is the tree {other}/{here}: counted once")
    return text.format(
        garden=same.garden, neighbour=same.neighbour, other=same.other, here=same.here
    )


def alone_words(groups: Sequence[Group]) -> str:
    """Gardens that no other is near."""
    lone = [group.gardens[0].name for group in groups if not group.is_shared]
    if not lone:
        return ""
    return ngettext(
        "No other garden's pollen reaches {gardens}: looked at by itself.",
        "No other garden's pollen reaches {gardens}: each looked at by itself.",
        len(lone),
    ).format(gardens=first_of(lone, MOST))
