"""Where a garden would do: a map for each climate, a dot for a place or a cell of a grid."""

from __future__ import annotations

from itertools import pairwise
from math import ceil, cos, floor, radians
from typing import TYPE_CHECKING, Any

import numpy as np

from pollinet.charts.fonts import lend_fonts
from pollinet.charts.style import (
    NO_BREAK,
    SCREEN,
    SMALL_PT,
    Form,
    sentence_chart,
    settings,
    wrapped,
)
from pollinet.language import _
from pollinet.letters import shortened
from pollinet.summary.sites import STANDINGS, PlaceStanding, SitesSeen
from pollinet.wording.sites import WORDS, climate_words, lacking_words, not_asked, sites_answer

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PURPOSE = "map of places"
"""What the picture is for; only one of the same purpose is written over."""

LEAST_PT, MOST_PT = 2.5, 11.0
"""Smallest and largest mark of a place. Own convention. [points]"""

MOST_NAMED = 15
"""Places that lack pollen and are named in a panel, at most. Own convention."""

LETTER_PT = 0.65 * SMALL_PT
"""Width of a letter in a name, rather too wide. Own estimate. [points]"""

LARGEST, SMALLEST = 1.5, 0.6
"""Height of a panel by its width, at most and at least. Own convention."""

STEPS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 20.0, 30.0, 45.0)
"""Steps of the graticule. Own convention. [degrees]"""

LINES = 4
"""So many lines of the graticule, or fewer, in each direction. Own convention."""

ORDER: tuple[PlaceStanding, ...] = ("has pollen", "not known", "lacks pollen")
"""What is drawn first; what lacks pollen lies on top."""


def draw_sites(seen: SitesSeen, *, title: str, form: Form = SCREEN) -> Figure:
    """Draw the places, a panel for each climate.

    Dark lacks pollen, light has it, hollow is not known; so it reads in grey, too. Nothing is
    drawn but the places and a graticule.
    """
    from matplotlib.figure import Figure

    shown = np.isfinite(seen.latitude) & np.isfinite(seen.longitude)
    if not shown.any():
        nowhere = sentence_chart(_("No place has a latitude and a longitude."), title, form)
        return nowhere.get_figure(root=True)  # type: ignore[return-value]
    panels = len(seen.warmer_c)
    columns = 1 if form.narrow else min(panels, 3)
    rows = ceil(panels / columns)
    box = _box(seen.latitude[shown], seen.longitude[shown], seen.step)
    wide_in = form.width_in / columns - 0.55
    high_in = wide_in * _shape(box)
    told = _told(seen)
    words = wrapped(told.replace(" °C", f"{NO_BREAK}°C"), form.letters())
    legend_in = 0.2 * (len(ORDER) if form.narrow else 2) + 0.16 * words.count("\n") + 0.5
    with settings(form):
        figure = Figure(
            figsize=(form.width_in, rows * (high_in + 0.75) + legend_in + 0.35),
            layout="constrained",
        )
        each = figure.subplots(rows, columns, squeeze=False).ravel()
        for climate, axes in enumerate(each):
            if climate < panels:
                _panel(axes, seen, climate, box, wide_in, form)
            else:
                axes.set_axis_off()
        figure.suptitle(wrapped(title, form.letters(11)), x=0.012, ha="left", fontsize=11)
        figure.legend(
            handles=list(_legend(form)), loc="outside lower center", frameon=False, title=words,
            ncols=1 if form.narrow else 2, fontsize=SMALL_PT, title_fontsize=SMALL_PT,
        )  # fmt: skip
        lend_fonts(figure)
    return figure


def _told(seen: SitesSeen) -> str:
    """What stands under the map."""
    return " ".join(filter(None, (sites_answer(seen), lacking_words(seen), not_asked())))


def _box(latitude: Any, longitude: Any, step: float | None) -> tuple[float, float, float, float]:
    """West, south, east and north edge round the places, with some room."""
    west, east = float(longitude.min()), float(longitude.max())
    south, north = float(latitude.min()), float(latitude.max())
    room = (step or 0.0) / 2 + max(0.04 * max(east - west, north - south), 0.05)
    return west - room, south - room, east + room, north + room


def _shape(box: tuple[float, float, float, float]) -> float:
    """Height of a panel by its width, as the middle of the places has it on the globe."""
    west, south, east, north = box
    shape = (north - south) / ((east - west) * cos(radians((north + south) / 2)))
    return min(max(shape, SMALLEST), LARGEST)


def _panel(
    axes: Axes, seen: SitesSeen, climate: int, box: tuple[float, float, float, float],
    wide_in: float, form: Form,
) -> None:  # fmt: skip
    west, south, east, north = box
    axes.set(xlim=(west, east), ylim=(south, north))
    axes.set_box_aspect(_shape(box))
    axes.set_title(climate_words(seen.warmer_c[climate]), loc="left", fontsize=SMALL_PT)
    axes.set_xticks(*_graticule(west, east, _("E"), _("W")))
    axes.set_yticks(*_graticule(south, north, _("N"), _("S")))
    axes.tick_params(labelsize=SMALL_PT, length=0)
    axes.grid(lw=0.6)
    axes.set_axisbelow(True)
    scale = 72 * wide_in / (east - west), 72 * wide_in * _shape(box) / (north - south)
    size = _size(seen, scale)
    for standing in ORDER:
        here = seen.standing[:, climate] == STANDINGS.index(standing)
        look = _look(standing, form, is_cell=seen.step is not None)
        axes.plot(seen.longitude[here], seen.latitude[here], ls="", ms=size, **look)
    where = (seen.longitude - west) * scale[0], (seen.latitude - south) * scale[1]
    for row, right, up, across in _labels(seen.lacking(climate), seen.names, where, size, (
        72 * wide_in, 72 * wide_in * _shape(box)
    )):  # fmt: skip
        axes.annotate(
            shortened(seen.names[row]), (seen.longitude[row], seen.latitude[row]), (right, up),
            textcoords="offset points", ha=across, va="center", fontsize=SMALL_PT,
        )  # fmt: skip


def _size(seen: SitesSeen, scale: tuple[float, float]) -> float:
    """Size of a mark: that of a grid's cell, else so that hardly any covers another.

    scale : to the right and up. [points a degree]
    """
    if seen.step is not None:
        size = 0.9 * scale[0] * seen.step
    else:
        size = 0.9 * _apart(seen.longitude * scale[0], seen.latitude * scale[1])
    return min(max(size, LEAST_PT), MOST_PT)


def _apart(right: Any, up: Any) -> float:
    """How far the nearest other place is, but for the quarter that has it nearest. [points]"""
    from scipy.spatial import cKDTree

    points = np.column_stack((right, up))
    points = np.unique(points[np.isfinite(points).all(axis=1)], axis=0)
    if len(points) < 2:
        return MOST_PT
    nearest = np.asarray(cKDTree(points).query(points, k=[2])[0])
    return float(np.quantile(nearest, 0.25))


def _labels(
    rows: Sequence[int], names: Sequence[str], where: tuple[Any, Any], size: float,
    room: tuple[float, float],
) -> Iterator[tuple[int, float, float, str]]:  # fmt: skip
    """Names that have room, as (row, offset to the right, offset up, side they are set from).

    where : of all places, from the lower left. room : width and height of the panel. [points]
    """
    taken: list[tuple[float, float, float, float]] = []
    right, up = where
    for row in rows:
        if len(taken) == MOST_NAMED:
            return
        x, y = float(right[row]), float(up[row])
        wide, gap = LETTER_PT * len(shortened(names[row])), size / 2 + 2
        sides = (
            (gap, 0.0, "left"), (-gap, 0.0, "right"),
            (0.0, gap + SMALL_PT / 2, "center"), (0.0, -gap - SMALL_PT / 2, "center"),
        )  # fmt: skip
        for over, higher, side in sides:
            left = x + over - {"left": 0.0, "center": wide / 2, "right": wide}[side]
            low = y + higher - 0.7 * SMALL_PT
            box = left, low, left + wide, low + 1.4 * SMALL_PT
            half = size / 2
            marks = (right > left - half) & (right < box[2] + half)
            marks &= (up > low - half) & (up < box[3] + half)
            marks[row] = False
            inside = left > 0 and low > 0 and box[2] < room[0] and box[3] < room[1]
            if inside and not marks.any() and not any(_meet(box, other) for other in taken):
                taken.append(box)
                yield row, over, higher, side
                break


def _meet(one: tuple[float, ...], other: tuple[float, ...]) -> bool:
    """Whether two boxes (left, low, right, high) share room."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _look(standing: PlaceStanding, form: Form, *, is_cell: bool) -> dict[str, Any]:
    inks, marker = form.inks, "s" if is_cell else "o"
    looks: dict[PlaceStanding, dict[str, Any]] = {
        "has pollen": {"marker": marker, "mfc": inks.steps[1], "mec": inks.leaf, "mew": 0.6},
        "lacks pollen": {"marker": marker, "mfc": inks.attention, "mec": inks.attention,
                         "mew": 0.6},
        "not known": {"marker": "D", "mfc": inks.paper, "mec": inks.ink, "mew": 0.9},
    }  # fmt: skip
    return looks[standing]


def _legend(form: Form) -> Iterator[Any]:
    from matplotlib.lines import Line2D

    for standing in ORDER:
        look = _look(standing, form, is_cell=False)
        label = wrapped(_(WORDS[standing]), form.letters() // (1 if form.narrow else 2) - 7)
        yield Line2D([], [], ls="", ms=7, label=label, **look)


def _graticule(low: float, high: float, positive: str, negative: str) -> tuple[Any, Sequence[str]]:
    """Where the lines are, and their words."""
    step = next((one for one in STEPS if (high - low) / one <= LINES), STEPS[-1])
    lines = [round(n * step, 6) for n in range(ceil(low / step), floor(high / step) + 1)]
    return lines, [_degrees(line, positive, negative) for line in lines]


def _degrees(line: float, positive: str, negative: str) -> str:
    side = "" if line == 0 else f" {positive if line > 0 else negative}"
    return f"{abs(line):g}°{side}"


def sites_description(seen: SitesSeen) -> str:
    """The map for those who cannot see it."""
    told = _told(seen)
    moved = [
        _("from {one} to {two}: {number} places lose their pollen").format(
            one=climate_words(seen.warmer_c[one]), two=climate_words(seen.warmer_c[two]),
            number=_ceased(seen, one, two),
        )
        for one, two in pairwise(range(len(seen.warmer_c)))
    ]  # fmt: skip
    return " ".join([told, *(f"{text}." for text in moved)])


def _ceased(seen: SitesSeen, one: int, two: int) -> int:
    pollen = STANDINGS.index("has pollen")
    return int(((seen.standing[:, one] == pollen) & (seen.standing[:, two] != pollen)).sum())
