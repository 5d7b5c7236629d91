"""A tree seen from above: limbs by compass point and height, where their names tell."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    SMALL_PT,
    TIGHT_IN,
    Form,
    fit_height,
    forwards,
    legend_below,
    new_axes,
    settings,
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import ATTENTION, SIZES, mark_legend, put_mark
from pollinet.language import N_, _, pgettext
from pollinet.wording.check import STATES, Kind

if TYPE_CHECKING:
    from matplotlib.axes import Axes

POINTS = ("n", "nne", "ne", "ene", "e", "ese", "se", "sse",
          "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw")  # fmt: skip
WORDS = {"north": "n", "east": "e", "south": "s", "west": "w", "northeast": "ne",
         "southeast": "se", "southwest": "sw", "northwest": "nw"}  # fmt: skip
REACH = {"low": 1.0, "mid": 0.78, "high": 0.56, "top": 0.0}
"""How far a limb of each height reaches out in the drawing: low ones longest, the top in the
middle. A way to draw, not a measure."""

HEIGHTS = {"l": "low", "ml": "low", "m": "mid", "mh": "high", "h": "high", "t": "top",
           "middle": "mid", "leader": "top"}  # fmt: skip

NOTE = N_("drawn long: a low limb; short: a high one; in the middle: the top")

ROUND_IN, NARROW_ROUND_IN = 1.55, 1.2
"""Reach of the longest limb. [inch]"""

EDGE_IN = 0.4
"""Room round the tree, for numbers. [inch]"""

NEAR_DEGREES = 8.0
"""Two limbs nearer than this in bearing and reach would be drawn over one another. [degrees]"""


@dataclass(frozen=True)
class Grown:
    """A limb of a tree.

    kind : the verdict on it, or that it need not crop. donor : its best one in words; nothing
    without one. within : the limb of this tree that gives that pollen.
    """

    limb: str
    variety: str
    kind: Kind
    donor: str = ""
    within: str | None = None


@dataclass(frozen=True)
class Place:
    """Where on its tree a limb grows. bearing : clockwise from north. [degrees]"""

    bearing: float | None
    height: str


def place_of(limb: str) -> Place | None:
    """Read a limb's place out of its name: `A-low-south`, `ML-SSW`; None where it tells nothing.

    The code of height band and compass point is one that grafters use to keep track of limbs. A
    single letter without a height may as well count limbs (A, B, C, D, E): it is not taken.
    """
    words = re.split(r"[^a-z]+", limb.lower())
    heights = [HEIGHTS.get(word, word) for word in words]
    height = next((word for word in heights if word in REACH), "")
    points = [WORDS.get(word, word) for word in words if height or len(word) > 1]
    bearing = next((POINTS.index(point) * 22.5 for point in points if point in POINTS), None)
    if height == "top":
        return Place(None, "top")
    return None if bearing is None else Place(bearing, height or "low")


def draw_tree(
    limbs: Sequence[Grown], *, title: str, form: Form = SCREEN, ax: Axes | None = None
) -> Axes:
    """Draw one tree from above, north up, its limbs numbered, with a list of them.

    Limbs whose name tells no place stand in the list alone. Arrows come from the best donor, where
    it grows on the tree itself.
    """
    reach = NARROW_ROUND_IN if form.narrow else ROUND_IN
    wide = 2 * (reach + EDGE_IN)
    left, above = (0.0, wide) if form.narrow else (wide + 0.2, 0.0)
    letters = form.letters() - 8 - int(0 if form.narrow else form.letters() * left / form.width_in)
    listed = [_listed(limb, letters) for limb in limbs]
    high = sum(_high(words) for words in listed)
    height = above + high if form.narrow else max(wide, high)
    centre = (form.width_in / 2 if form.narrow else wide / 2, wide / 2)
    with settings(form):
        axes = ax or new_axes(height, form)
        axes.set(xlim=(0, form.width_in), ylim=(height, 0))
        axes.set_axis_off()
        _draw_ground(axes, centre, reach, form)
        tips = _tips(limbs, centre, reach)
        for order, limb in enumerate(limbs, start=1):
            if limb.limb in tips:
                _draw_limb(axes, centre, tips, limb, order, form)
        top = above + (height - above - high) / 2
        for order, (limb, words) in enumerate(zip(limbs, listed, strict=True), start=1):
            _list_limb(axes, (left, top + _high(words) / 2), limb, order, words, form)
            top += _high(words)
        title_of(axes, title, form)
        legend_below(axes, mark_legend({limb.kind for limb in limbs}, form), form, columns=3,
                     note=_(NOTE))  # fmt: skip
        fit_height(axes, height)
    return axes


def _listed(limb: Grown, letters: int) -> str:
    lines = [f"{limb.variety} · {limb.limb}"]
    if limb.donor:
        lines.append(_("pollen from {donor}").format(donor=limb.donor))
    if place_of(limb.limb) is None:
        lines.append(_("place not known"))
    return forwards("\n".join(wrapped(line, letters) for line in lines))


def _high(words: str) -> float:
    return LINE_IN * (words.count("\n") + 1) + 2 * TIGHT_IN


def _tips(
    limbs: Sequence[Grown], centre: tuple[float, float], reach: float
) -> dict[str, tuple[float, float]]:
    """Where each limb ends; two of one direction are turned a little apart."""
    taken: list[tuple[float, float]] = []
    tips = {}
    for limb in limbs:
        place = place_of(limb.limb)
        if place is None:
            continue
        bearing, out = place.bearing or 0.0, REACH[place.height]
        while any(_apart(bearing, other) < NEAR_DEGREES * 2 and abs(out - far) < 0.2
                  for other, far in taken):  # fmt: skip
            bearing += NEAR_DEGREES * 2
            out = max(out, 0.3)
        taken.append((bearing, out))
        angle = radians(bearing)
        tips[limb.limb] = (centre[0] + out * reach * sin(angle),
                           centre[1] - out * reach * cos(angle))  # fmt: skip
    return tips


def _apart(one: float, other: float) -> float:
    """Angle between two bearings. [degrees]"""
    return abs((one - other + 180) % 360 - 180)


def _draw_ground(axes: Axes, centre: tuple[float, float], reach: float, form: Form) -> None:
    from matplotlib.patches import Circle

    axes.add_patch(Circle(centre, reach, fill=False, ec=form.inks.line, lw=1.5, ls=":"))
    left, top = centre[0] - reach - 0.15, centre[1] - reach
    axes.annotate(
        pgettext("compass", "N"), (left, top - 0.2), (left, top + 0.3), ha="center", va="center",
        weight="bold", arrowprops={"arrowstyle": "-|>", "color": form.inks.ink},
    )  # fmt: skip


def _draw_limb(
    axes: Axes, centre: tuple[float, float], tips: Mapping[str, tuple[float, float]], limb: Grown,
    order: int, form: Form,
) -> None:  # fmt: skip
    from matplotlib.patches import FancyArrowPatch

    x, y = tips[limb.limb]
    axes.plot([centre[0], x], [centre[1], y], color=form.inks.wood, lw=3, alpha=0.6,
              solid_capstyle="round", zorder=1)  # fmt: skip
    put_mark(axes, x, y, limb.kind, form=form, zorder=3)
    if limb.within is not None and limb.within in tips:
        axes.add_patch(
            FancyArrowPatch(
                tips[limb.within], (x, y), arrowstyle="-|>", mutation_scale=9, shrinkA=6,
                shrinkB=SIZES[limb.kind] / 2 + 2, connectionstyle="arc3,rad=0.25",
                color=form.inks.accent, lw=1.2, zorder=2,
            )
        )  # fmt: skip
    away = max(hypot(x - centre[0], y - centre[1]), 1e-9)
    # The number stands further out than the mark; that of the top beside it.
    along = ((x - centre[0]) / away, (centre[1] - y) / away) if away > 0.05 else (0.7, 0.7)
    axes.annotate(
        str(order), (x, y), (14 * along[0], 14 * along[1]), textcoords="offset points",
        ha="center", va="center", fontsize=SMALL_PT, zorder=5, weight="bold",
        bbox={"fc": form.inks.paper, "ec": "none", "pad": 0.6, "alpha": 0.85},
    )  # fmt: skip


def _list_limb(
    axes: Axes, place: tuple[float, float], limb: Grown, order: int, words: str, form: Form
) -> None:
    strong = limb.kind in ATTENTION
    axes.text(place[0] + 0.16, place[1], str(order), ha="right", va="center", weight="bold")
    put_mark(axes, place[0] + 0.33, place[1], limb.kind, form=form, size=0.8)
    axes.text(
        place[0] + 0.5, place[1], words, va="center", fontsize=SMALL_PT, linespacing=1.1,
        weight="bold" if strong else "normal",
        color=form.inks.attention if strong else form.inks.ink,
    )  # fmt: skip


def tree_description(limbs: Sequence[Grown]) -> str:
    """The tree in words, for those who cannot see it."""
    said = []
    for limb in limbs:
        place = place_of(limb.limb)
        where = _("place not known")
        if place is not None:
            where = _(_HEIGHTS[place.height])
            if place.bearing is not None:
                where += f", {_bearing(place.bearing)}"
        told = f"{limb.limb} ({limb.variety}): {where}, {_(STATES[limb.kind])}"
        if limb.donor:
            told += ", " + _("pollen from {donor}").format(donor=limb.donor)
        said.append(told)
    return "; ".join(said)


_HEIGHTS = {"low": N_("low"), "mid": N_("mid"), "high": N_("high"), "top": N_("top")}


def _bearing(degrees: float) -> str:
    """A point of the compass by the letters of the language: `SSW`."""
    points = {"N": pgettext("compass", "N"), "E": pgettext("compass", "E"),
              "S": pgettext("compass", "S"), "W": pgettext("compass", "W")}  # fmt: skip
    return "".join(points[letter] for letter in POINTS[round(degrees / 22.5)].upper())
