"""In how many winters of ten each limb has a donor."""

from __future__ import annotations

from collections.abc import Collection

from markupsafe import Markup

from pollinet.answers.check import Check, CheckedLimb
from pollinet.language import _
from pollinet.strips.drawing import NEED, joined, named, row, strip, swatch
from pollinet.wording.check import STATES
from pollinet.wording.sentences import of_ten, whole_tenths

SQUARE_PX = 14
"""Height of a square; ten of them share the width. [CSS pixels]"""


def winters_strip(
    check: Check, *, limbs: Collection[str] | None = None, legend: bool = True
) -> Markup:
    """Ten squares a limb: winters with a donor, those that hang on something not known, the others.

    limbs : ids of those that are shown; None: all that are to crop.
    """
    shown = [
        limb
        for limb in check.limbs
        if limb.verdict is not None and (limbs is None or limb.id in limbs)
    ]
    return strip("winters", map(_row, shown), list(_key(shown)) if legend else [], marks=legend)


def _row(limb: CheckedLimb) -> Markup:
    assert limb.verdict is not None
    kinds = _squares(limb)
    told = of_ten(limb.winters_expected or 0.0)
    drawn = joined(
        Markup('<rect class="{}" x="{}%" width="8.4%" y="{:g}" height="{}"/>').format(
            kind, 10 * place + 0.8, -SQUARE_PX / 2, SQUARE_PX
        )
        for place, kind in enumerate(kinds)
    )
    label = limb.id if limb.id == limb.variety else f"{limb.variety} · {limb.id}"
    words = _("{limb}: a donor in {winters} winters, {verdict}")
    return row(
        named(label, limb.verdict),
        words.format(limb=label, winters=told, verdict=_(STATES[limb.verdict])),
        drawn,
        told=told,
        kind="need" if limb.verdict in NEED else "",
    )


def _squares(limb: CheckedLimb) -> list[str]:
    """The class of each of the ten."""
    has = whole_tenths(limb.winters_expected or 0.0)
    may = max(has, whole_tenths(limb.winters_possible or 0.0))
    # Only where it needs attention are missing winters dark.
    without = "lacking" if limb.verdict in NEED else "behind"
    return ["leaf"] * has + ["may"] * (may - has) + [without] * (10 - may)


def _key(limbs: Collection[CheckedLimb]) -> list[Markup]:
    there = {kind for limb in limbs for kind in _squares(limb)}
    words = {
        "leaf": _("a winter with a donor"),
        "may": _("with a donor if what nobody knows turns out well"),
        "behind": _("a winter without, no more than the plan allows"),
        "lacking": _("a winter without, more than the plan allows"),
    }
    return [swatch(kind, text) for kind, text in words.items() if kind in there]
