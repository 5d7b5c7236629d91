"""The wood to cut or to order, in words, and what to mind with it."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from pollinet.advice.rules import split
from pollinet.language import N_, _, joined, number
from pollinet.network.cover import Cover
from pollinet.readers.advice import advice_tables
from pollinet.summary.scions import NearHelp, ScionWanted
from pollinet.wording.network import placement_text
from pollinet.wording.sentences import tenths, whole_winters

CUTTING = N_(
    "Cut last year's wood while it is dormant, in pieces with at least three buds and without the "
    "tip, and keep it moist and refrigerated until you graft (Kansas State University, "
    "horticulture newsletter)."
)


def wood_text(at_hand: bool) -> str:
    """Where the wood comes from, in a word."""
    return _("at hand") if at_hand else _("to order or swap")


def near_help_lines(near: NearHelp) -> list[str]:
    """How a free place is best used where nothing is enough, and what more room would bring."""
    gain = _("{limb} {now} → {then}")
    gains = [
        gain.format(limb=limb, now=tenths(now), then=tenths(then)) for limb, now, then in near.gains
    ]
    text = _("A free place is best used by {variety}, on {tree}: winters of 10, now → then: "
             "{gains}.")  # fmt: skip
    lines = [text.format(variety=near.variety.name, tree=near.tree, gains="; ".join(gains))]
    if near.own is not None:
        text = _("{variety} itself would have a donor in {winters}.")
        own = whole_winters(near.own)
        lines.append(text.format(variety=near.variety.name, winters=own))
    if near.whole:
        text = _("With room for {number} grafts, {names} would be enough.")
        names = joined([variety.name for variety in near.whole])
        lines.append(text.format(number=number(len(near.whole)), names=names))
    return lines


def scions_answer(
    wanted: tuple[ScionWanted, ...], cover: Cover, near: NearHelp | None = None
) -> str:
    """The list in one sentence; near: what helps where nothing is enough."""
    if near is not None:
        return " ".join([_("No scion here is enough."), *near_help_lines(near)])
    if not wanted:
        return _("No scion here would help.") if cover.uncovered else _("No scions are needed.")
    ordered = joined([scion.variety.name for scion in wanted if not scion.at_hand])
    at_hand = joined([scion.variety.name for scion in wanted if scion.at_hand])
    if ordered and at_hand:
        return _("Cut {at_hand} and order {ordered}.").format(at_hand=at_hand, ordered=ordered)
    return (
        _("Cut {names}.").format(names=at_hand)
        if at_hand
        else _("Order {names}.").format(names=ordered)
    )


def graft_lines(wanted: Sequence[ScionWanted]) -> list[str]:
    """Of each new graft whether its wood is at hand, and where it goes and why."""
    return [graft_text(one) for one in wanted]


def graft_text(one: ScionWanted) -> str:
    """The same of one of them."""
    if one.tree is None:
        text = _("{name} ({wood}): no tree of its fruit has a limb to spare.")
        return text.format(name=one.variety.name, wood=wood_text(one.at_hand))
    text = _("{name} ({wood}) goes on {tree}, {why}. {height}.")
    return text.format(
        name=one.variety.name, wood=wood_text(one.at_hand), tree=one.tree, why=_why_there(one),
        height=placement_text(one.height),
    )  # fmt: skip


def _why_there(one: ScionWanted) -> str:
    if one.why == "only-room":
        return _("the only tree of its fruit with a limb to spare")
    if one.why == "reach":
        return reach_text(one.serves, one.farthest_m)
    others = [name for name in one.trees if name != one.tree]
    text = _("which has most limbs to spare; its pollen would do the same from {trees}")
    return text.format(trees=joined(others, "or"))


def reach_text(limbs: Sequence[str], farthest_m: float | None) -> str:
    """Why a graft goes on one tree and on no other: whom its pollen reaches from there."""
    if not limbs:
        return _("where other pollen reaches it")
    if not farthest_m or farthest_m < 1:
        return _("where its pollen reaches {limbs} on the same spot").format(limbs=joined(limbs))
    text = _("from where its pollen reaches {limbs}, {distance} m away at most")
    return text.format(limbs=joined(limbs), distance=number(round(farthest_m)))


_WOOD_ILLS = ("sharka", "hazel-blight")
"""Cautions on ills that go with the wood of some fruits; of the others it is fire blight."""


def cautions(fruits: Collection[str]) -> tuple[str, ...]:
    """What to mind with wood of some fruits from elsewhere; Pollinet clears nothing."""
    rows = {row["caution"]: row for row in advice_tables()["cautions"]}
    own = {fruit: name for name in _WOOD_ILLS for fruit in split(rows[name]["fruits"])}
    ills = sorted({own.get(fruit, "blight") for fruit in fruits} or {"blight"})
    return tuple(_(rows[name]["text"]) for name in ("scions", *ills, "knife"))
