"""A tree seen from above: limbs by compass point and height, where their names tell."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    DARK,
    LIGHT,
    MIDDLE,
    PAPER,
    SMALL_PT,
    legend_below,
    new_axes,
    settings,
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import ATTENTION, STATES, Kind, mark_legend, put_mark
from pollinet.language import N_, _, pgettext

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

LABEL_WIDTH = 20
ROUND_IN = 5.0
NEAR_DEGREES = 8.0
"""Two limbs nearer than this in bearing and reach would be drawn over one another. [degrees]"""


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
    limbs: Sequence[tuple[str, str, Kind]], *, title: str, ax: Axes | None = None
) -> Axes:
    """Draw one tree from above, north up.

    limbs : (limb, variety, verdict) each. Limbs whose name tells no place are listed below the
        tree.
    """
    placed = [(limb, place_of(limb[0])) for limb in limbs]
    lost = [limb for limb, place in placed if place is None]
    with settings():
        axes = ax or new_axes(ROUND_IN + 0.25 * len(lost))
        axes.set(xlim=(-1.9, 1.9), ylim=(-1.3 - 0.16 * len(lost), 1.35), aspect="equal")
        axes.set_axis_off()
        _draw_ground(axes)
        for (name, variety, kind), place in _apart(placed):
            lines = (wrapped(line, LABEL_WIDTH) for line in (name, variety))
            _draw_limb(axes, place, "\n".join(lines), kind)
        for number, (name, variety, kind) in enumerate(lost):
            axes.text(
                -1.85, -1.32 - 0.16 * number,
                _("not placed: {limb}, {variety}, {state}").format(
                    limb=name, variety=variety, state=_(STATES[kind])
                ),
                va="center", fontsize=SMALL_PT,
                weight="bold" if kind in ATTENTION else "normal",
            )  # fmt: skip
        title_of(axes, title)
        kinds = {limb[2] for limb, place in placed if place is not None}
        legend_below(axes, mark_legend(kinds), 3, note=_(NOTE))
    return axes


def _apart(
    placed: Sequence[tuple[tuple[str, str, Kind], Place | None]],
) -> list[tuple[tuple[str, str, Kind], tuple[float, float]]]:
    """Limbs with bearing and reach, turned a little where two would lie over one another."""
    taken: list[tuple[float, float]] = []
    found = []
    for limb, place in placed:
        if place is None:
            continue
        bearing, reach = place.bearing or 0.0, REACH[place.height]
        while any(
            abs(bearing - other) < NEAR_DEGREES * 2 and abs(reach - out) < 0.2
            for other, out in taken
        ):
            bearing += NEAR_DEGREES * 2
            reach = max(reach, 0.3)
        taken.append((bearing, reach))
        found.append((limb, (bearing, reach)))
    return found


def _draw_ground(axes: Axes) -> None:
    from matplotlib.patches import Circle

    axes.add_patch(Circle((0, 0), 1.0, fill=False, ec=LIGHT, lw=1.5, ls=":"))
    axes.annotate(
        pgettext("compass", "N"), (-1.7, 1.3), (-1.7, 0.85), ha="center", va="center",
        color=DARK, weight="bold",
        arrowprops={"arrowstyle": "-|>", "color": DARK},
    )  # fmt: skip


def _draw_limb(axes: Axes, place: tuple[float, float], text: str, kind: Kind) -> None:
    angle, reach = radians(place[0]), place[1]
    x, y = reach * sin(angle), reach * cos(angle)
    axes.plot([0, x], [0, y], color=MIDDLE, lw=3, solid_capstyle="round", zorder=1)
    put_mark(axes, x, y, kind, zorder=3)
    side = "left" if x >= -0.01 else "right"
    above = 9 if reach == 0 else 0  # the top's name stands clear of the limbs below it
    down = "bottom" if above or y < -0.7 else "top" if y > 0.7 else "center"  # within the ground
    axes.annotate(
        text, (x, y), (9 if side == "left" else -9, above), textcoords="offset points",
        ha=side, va=down, fontsize=SMALL_PT, zorder=4,
        weight="bold" if kind in ATTENTION else "normal",
        bbox={"fc": PAPER, "ec": "none", "pad": 0.8, "alpha": 0.85},
    )  # fmt: skip


def tree_description(limbs: Sequence[tuple[str, str, Kind]]) -> str:
    """The tree in words, for those who cannot see it."""
    said = []
    for name, variety, kind in limbs:
        place = place_of(name)
        where = _("place not known")
        if place is not None:
            where = _(_HEIGHTS[place.height])
            if place.bearing is not None:
                where += f", {_bearing(place.bearing)}"
        said.append(f"{name} ({variety}): {where}, {_(STATES[kind])}")
    return "; ".join(said)


_HEIGHTS = {"low": N_("low"), "mid": N_("mid"), "high": N_("high"), "top": N_("top")}


def _bearing(degrees: float) -> str:
    """A point of the compass by the letters of the language: `SSW`."""
    points = {"N": pgettext("compass", "N"), "E": pgettext("compass", "E"),
              "S": pgettext("compass", "S"), "W": pgettext("compass", "W")}  # fmt: skip
    return "".join(points[letter] for letter in POINTS[round(degrees / 22.5)].upper())
