"""Shares of winters as ten squares a row: limbs with a donor, varieties with enough chill."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from markupsafe import Markup

from pollinet.answers.check import Check
from pollinet.language import _
from pollinet.network.coverage import LimbVerdict
from pollinet.strips.drawing import NEED, joined, named, row, strip, swatch
from pollinet.wording.check import STATES
from pollinet.wording.sentences import of_ten, whole_tenths

SQUARE_PX = 14
"""Height of a square; ten of them share the width. [CSS pixels]"""

Square: TypeAlias = Literal["leaf", "may", "behind", "lacking"]
"""A winter that is well; one that hangs on something not known; one that is not well and may be so;
one of too many such."""


@dataclass(frozen=True)
class Tenths:
    """One row. share : of winters that are well. possible : at the best of what nobody knows.

    needs : whether those that are not well are too many.
    """

    label: str
    share: float
    needs: bool
    possible: float = 0.0
    verdict: LimbVerdict | None = None

    @property
    def squares(self) -> list[Square]:
        """What each of the ten is."""
        has = whole_tenths(self.share)
        may = max(has, whole_tenths(self.possible))
        # Only where it needs attention are missing winters dark.
        without: Square = "lacking" if self.needs else "behind"
        squares: list[Square] = ["leaf"] * has
        return squares + ["may"] * (may - has) + [without] * (10 - may)


def winters_strip(
    check: Check, *, limbs: Collection[str] | None = None, legend: bool = True
) -> Markup:
    """Ten squares a limb: winters with a donor, those that hang on something not known, the others.

    limbs : ids of those that are shown; None: all that are to crop.
    """
    rows = [
        Tenths(
            limb.id if limb.id == limb.variety else f"{limb.variety} · {limb.id}",
            limb.winters_expected or 0.0,
            limb.verdict in NEED,
            limb.winters_possible or 0.0,
            limb.verdict,
        )
        for limb in check.limbs
        if limb.verdict is not None and (limbs is None or limb.id in limbs)
    ]
    key: dict[Square, str] = {
        "leaf": _("a winter with a donor"),
        "may": _("with a donor if what nobody knows turns out well"),
        "behind": _("a winter without, no more than the plan allows"),
        "lacking": _("a winter without, more than the plan allows"),
    }
    return _tenths_strip(rows, key if legend else {}, marks=legend)


def chill_strip(rows: Sequence[Tenths], *, legend: bool = True) -> Markup:
    """Ten squares a variety: winters with enough chill, and those without."""
    key: dict[Square, str] = {
        "leaf": _("a winter with enough chill"),
        "behind": _("a winter with too little, no more than the plan allows"),
        "lacking": _("a winter with too little, more than the plan allows"),
    }
    return _tenths_strip(rows, key if legend else {}, marks=False)


def _tenths_strip(rows: Sequence[Tenths], key: dict[Square, str], *, marks: bool) -> Markup:
    there = {square for one in rows for square in one.squares}
    swatches = [swatch(square, words) for square, words in key.items() if square in there]
    return strip("winters", map(_row, rows), swatches, marks=marks)


def _row(one: Tenths) -> Markup:
    told = of_ten(one.share)
    drawn = joined(
        Markup('<rect class="{}" x="{:g}%" width="8.4%" y="{:g}" height="{}"/>').format(
            square, 10 * place + 0.8, -SQUARE_PX / 2, SQUARE_PX
        )
        for place, square in enumerate(one.squares)
    )
    words = _("{limb}: {winters} winters").format(limb=one.label, winters=told)
    if one.verdict is not None:
        words = f"{words}, {_(STATES[one.verdict])}"
    return row(
        named(one.label, one.verdict), words, drawn, told=told, kind="need" if one.needs else ""
    )
