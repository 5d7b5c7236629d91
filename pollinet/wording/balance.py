"""The balance of the limbs in a grower's words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pollinet.advice.balance import Flag, LimbBalance, Thinning, outgrown
from pollinet.language import N_, _, joined, ngettext, number
from pollinet.wording.sentences import first_of, memory_text
from pollinet.wording.varieties import vigour_words

Trees = Mapping[str, Sequence[LimbBalance]]
"""Limbs by the id of their tree."""

FLAGS: dict[Flag, str] = {
    "summer-prune": N_("strong: shorten in summer"),
    "shades": N_("older, thick: keep it from shading others"),
    "crowded-out": N_("weak: give it light"),
    "grows-little": N_("grows little: light, water, few fruits"),
    "alternates": N_("bears every second year: leave the fewer fruits"),
}
"""What stands out of a limb, in words."""

_ANSWERS: dict[Flag, str] = {
    "summer-prune": N_("Shorten in summer: {limbs}."),
    "shades": N_("Keep from shading the others: {limbs}."),
    "crowded-out": N_("Give light to: {limbs}."),
    "grows-little": N_("Grow little, so give light and water and leave few fruits: {limbs}."),
    "alternates": N_("Bear every second year, so thin in the heavy one: {limbs}."),
}

NAMED = 6
"""Limbs that are named in an answer."""

TREES = 2
"""Trees of which it is told who will outgrow whom."""


def balance_answer(trees: Trees) -> str:
    """What to do first; then who is young, who will outgrow whom, and what cannot be judged."""
    limbs = [limb for tree in trees.values() for limb in tree]
    told = []
    for flag, text in _ANSWERS.items():
        names = [limb.limb for limb in limbs if flag in limb.flags]
        if names:
            told.append(_(text).format(limbs=first_of(names, NAMED)))
    told += _young(limbs)
    told += _by_nature(trees)
    return " ".join([*told, *_judged(trees, limbs)])


def _young(limbs: Sequence[LimbBalance]) -> list[str]:
    young = [limb for limb in limbs if limb.young]
    if not young:
        return []
    years = joined([str(year) for year in sorted({limb.grafted or 0 for limb in young})])
    text = ngettext(
        "Young, not weak: {limbs} (grafted in {years}); let it grow.",
        "Young, not weak: {limbs} (grafted in {years}); let them grow.",
        len(young),
    )
    return [text.format(limbs=first_of([limb.limb for limb in young], NAMED), years=years)]


def _by_nature(trees: Trees) -> list[str]:
    found = [(tree, *outgrown(limbs)) for tree, limbs in trees.items()]
    found = [(tree, strong, weak) for tree, strong, weak in found if strong]
    text = _("By nature {strong} will outgrow {weak} (on {tree}).")
    told = [
        text.format(tree=tree, strong=first_of(strong, NAMED), weak=first_of(weak, NAMED))
        for tree, strong, weak in found[:TREES]
    ]
    if len(found) > TREES:
        more = ngettext(
            "Likewise on {number} more tree.",
            "Likewise on {number} more trees.",
            len(found) - TREES,
        )
        told.append(more.format(number=len(found) - TREES))
    return told


def _judged(trees: Trees, limbs: Sequence[LimbBalance]) -> list[str]:
    """How far the balance can be judged; nothing where no tree has two limbs to compare."""
    grown = [limb for limb in limbs if not limb.young]
    measured = [limb for limb in grown if _is_measured(limb)]
    if not grown:
        return []
    if not any(len(tree) > 1 for tree in trees.values()):
        return [_("No tree has two limbs to compare.")] if not _flagged(limbs) else []
    if not measured:
        return [_("No grown limb is measured yet, so how they stand now cannot be judged.")]
    if len(measured) < len(grown):
        text = _("How they stand now cannot be judged yet: {measured} of {grown} grown limbs are "
                 "measured.")  # fmt: skip
        return [text.format(measured=len(measured), grown=len(grown))]
    if _flagged(limbs):
        return []
    return [ngettext("In balance: the grown limb is measured and nothing stands out.",
                     "In balance: all {number} grown limbs are measured and nothing stands out.",
                     len(grown)).format(number=len(grown))]  # fmt: skip


def _flagged(limbs: Sequence[LimbBalance]) -> bool:
    return any(limb.flags for limb in limbs)


def _is_measured(limb: LimbBalance) -> bool:
    return limb.area_mm2 is not None or limb.shoots_cm is not None


def vigour_text(limb: LimbBalance) -> str:
    """Its vigour in a table cell, with whose it is; empty: not known."""
    if limb.vigour is None:
        return ""
    word = vigour_words(limb.vigour.word)
    if limb.vigour.rests_on == "sport":
        return _("{vigour} (as {parent})").format(vigour=word, parent=limb.vigour.parent)
    if limb.vigour.rests_on == "triploid":
        return _("{vigour} (triploid)").format(vigour=word)
    return word


def grafted_text(limb: LimbBalance) -> str:
    """When it was grafted, in a table cell; empty: not told."""
    if limb.grafted is None:
        return ""
    return _("{year}, young").format(year=limb.grafted) if limb.young else str(limb.grafted)


def fruits_text(limb: LimbBalance) -> str:
    """How many fruits to leave, in a table cell; empty: not known, or not thinned."""
    if limb.fruits == (0, 0):
        return _("none yet")
    if limb.fruits is not None:
        return f"{limb.fruits[0]}–{limb.fruits[1]}"
    if limb.apart_cm is not None:
        return _("one every {span} cm").format(span=_span(*limb.apart_cm))
    return ""


def _span(low: float, high: float) -> str:
    return number(low) if low == high else f"{number(low)}–{number(high)}"


def flags_text(limb: LimbBalance) -> str:
    """What to do with it, in a table cell."""
    return "; ".join(_(FLAGS[flag]) for flag in limb.flags)


def balance_notes(trees: Trees, thinning: Mapping[str, Sequence[Thinning]]) -> list[str]:
    """What is not known and how to find out, what the columns mean, and what to mind."""
    limbs = [limb for tree in trees.values() for limb in tree]
    return [
        *_missing(limbs),
        *_thinned(thinning),
        *_columns(limbs),
        *_recalled(limbs),
        _("Strong limbs: cut in summer, no more than a fifth of the crown a year. Local rules go "
          "first (nesting birds, plant health); where fire blight occurs cut in dry heat only and "
          "clean the tools. A three-legged ladder on soil, sure footing before the saw."),
    ]  # fmt: skip


def _missing(limbs: Sequence[LimbBalance]) -> list[str]:
    notes = []
    bare = [limb.limb for limb in limbs if limb.area_mm2 is None and not limb.young]
    if bare:
        text = _(
            "Not measured: {limbs}. Note the thickness, a hand's breadth from the trunk, and the "
            "length of the new shoots: pollinet record PLAN LIMB --diameter MM --shoots CM."
        )
        notes.append(text.format(limbs=first_of(bare, NAMED)))
    ageless = [limb.limb for limb in limbs if limb.grafted is None]
    if ageless and len(ageless) < len(limbs):
        text = _("No year of grafting is told of {limbs}: taken as old wood; if grafted, write "
                 "grafted = YEAR in the plan.")  # fmt: skip
        notes.append(text.format(limbs=first_of(ageless, NAMED)))
    unknown = list(dict.fromkeys(x.variety.name for x in limbs if x.vigour is None))
    if unknown:
        text = _("Vigour not known of {names}: their shoots against those of the others will tell.")
        notes.append(text.format(names=first_of(unknown, NAMED)))
    return notes


def _thinned(thinning: Mapping[str, Sequence[Thinning]]) -> list[str]:
    """How each fruit of the garden is thinned, and where that was read."""
    told, plain, unknown = [], [], []
    for fruit, found in thinning.items():
        if not found:
            unknown.append(_(fruit))
        elif found[0].measure == "not thinned":
            plain.append(_(fruit))
        else:
            told.append(_("{fruit} {measures}").format(fruit=_(fruit), measures=_measures(found)))
    lines = []
    if told:
        text = _("Fruits to leave on a grown limb, rules of thumb: {rules}. None in the first two "
                 "summers of a graft (common practice).")  # fmt: skip
        lines.append(text.format(rules="; ".join(told)))
    if plain:
        lines.append(_("Not thinned (common practice): {fruits}.").format(fruits=joined(plain)))
    if unknown:
        text = _("How many fruits to leave is not known of {fruits}: no figure was found.")
        lines.append(text.format(fruits=joined(unknown)))
    return lines


def _measures(found: Sequence[Thinning]) -> str:
    texts = {
        "per cm2": _("{span} per cm² of the limb's cross-section"),
        "cm apart": _("one every {span} cm along the limb"),
    }
    return _(" or ").join(
        texts[one.measure].format(span=_span(one.low, one.high))
        for one in found
        if one.low is not None and one.high is not None
    )


def _columns(limbs: Sequence[LimbBalance]) -> list[str]:
    texts = [_("Full bloom: days after (+) or before (−) the middle of the tree.")]
    if any(limb.share is not None for limb in limbs):
        texts.insert(0, _("Part of the wood: cross-section against that of all limbs of the tree; "
                          "limbs are compared with those as old."))  # fmt: skip
    return [" ".join(texts)]


def _recalled(limbs: Sequence[LimbBalance]) -> list[str]:
    names = dict.fromkeys(
        limb.variety.name
        for limb in limbs
        if limb.vigour is not None and limb.vigour.rests_on == "memory"
    )
    if not names:
        return []
    return [memory_text([(N_("vigour"), name) for name in names], NAMED)]
