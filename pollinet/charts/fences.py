"""A map of several gardens: their trees, how each stands, and pollen that crosses fences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING, Any, TypeAlias

from pollinet.charts.boxes import Box, Point
from pollinet.charts.plots import along_arc, along_outline, name_box, outline
from pollinet.charts.style import (
    LETTER,
    LINE_IN,
    SCREEN,
    SMALL_PT,
    Form,
    fit_height,
    forwards,
    legend_below,
    letters_of,
    new_axes,
    settings,
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import ATTENTION, SIZES, mark_legend, put_mark
from pollinet.domain import Position
from pollinet.language import _, joined, ngettext
from pollinet.wording.check import Kind

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

LOW_IN, HIGH_IN = 1.2, 5.0
"""Least and greatest height of the ground of one group. [inch]"""

EDGE_IN = 0.45
"""Room round the ground for names. [inch]"""

APART_IN = 0.2
"""Marks nearer than this would be drawn over one another. [inch]"""

PLOT_IN = 0.09
"""Room between the trees of a garden and its outline. [inch]"""

RING_PT = 7.0
"""How much wider than its mark the ring round a tree under suspicion is. [points]"""

BEND = 0.15
"""How far an arrow is bent, as a part of its length."""

MOST_LISTED = 40
"""Trees of a group beyond which no list stands below it. Own convention."""

BOLD = 1.15
"""How much wider than usual bold figures are."""

ROUND_METRES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000)

Places: TypeAlias = dict[tuple[str, str], Point]
"""Where each tree is drawn, by its garden and id."""


@dataclass(frozen=True)
class Standing:
    """A tree on the map.

    kind : the worst verdict on its limbs. varieties : what grows on it. ill : the disease that it
    is under suspicion of, in words.
    """

    garden: str
    tree: str
    position_m: Position
    kind: Kind
    varieties: tuple[str, ...]
    ill: str = ""


@dataclass(frozen=True)
class Crossing:
    """Pollen that a limb of one tree has across a fence; both trees by garden and id."""

    giver: tuple[str, str]
    receiver: tuple[str, str]


@dataclass(frozen=True)
class Ground:
    """Gardens within reach of each other, on one ground."""

    trees: tuple[Standing, ...]
    crossings: tuple[Crossing, ...]


def draw_fences(
    grounds: Sequence[Ground],
    alone: Mapping[str, Kind],
    *,
    title: str,
    first: str = "",
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw the gardens of a collection, north up, each ground at a scale of its own.

    alone : gardens that nobody else's pollen reaches, with the worst verdict in each.
    first : what is told before all else.
    """
    head = [wrapped(first, form.letters() - 4)] if first else []
    heights = [_height(ground, form) for ground in grounds]
    lists = [_listed(ground, form) for ground in grounds]
    rest = _alone_lines(alone, form)
    high = sum(heights) + sum(LINE_IN * (1 + _lines(listed)) for listed in lists)
    high += LINE_IN * (_lines(rest) + 1) if rest else 0.0
    high += LINE_IN * (_lines(head) + 0.5) if head else 0.0
    with settings(form):
        axes = ax or new_axes(high, form)
        axes.set(xlim=(0, form.width_in), ylim=(high, 0))
        axes.set_axis_off()
        top = _write(axes, head, 0.0, form, strong=True) + 0.5 * LINE_IN if head else 0.0
        for ground, height, listed in zip(grounds, heights, lists, strict=True):
            _draw_ground(axes, ground, top, height, form)
            top = _write(axes, listed, top + height, form) + LINE_IN
        _write(axes, rest, top, form)
        title_of(axes, title, form)
        kinds = {tree.kind for ground in grounds for tree in ground.trees} | set(alone.values())
        is_crossed = any(ground.crossings for ground in grounds)
        note = _("arrows: from the best donor, where that stands across a fence")
        note = note if is_crossed else ""
        legend = [*mark_legend(kinds, form)]
        if any(tree.ill for ground in grounds for tree in ground.trees):
            legend.append(_ring_legend(form))
        legend_below(axes, legend, form, columns=3, note=note)
        fit_height(axes, high)
    return axes


# --- one ground ---------------------------------------------------------------------------------


def _extent(ground: Ground) -> tuple[float, float, float, float]:
    """West, south, and how far it is to the east and north end. [m]"""
    east = [tree.position_m[0] for tree in ground.trees]
    north = [tree.position_m[1] for tree in ground.trees]
    return min(east), min(north), max(east) - min(east), max(north) - min(north)


def _scale(ground: Ground, form: Form) -> float:
    """Inches for a metre, so that the ground fits its width and its greatest height."""
    _west, _south, wide, high = _extent(ground)
    room = form.width_in - 2 * EDGE_IN
    return min(room / max(wide, 5.0), (HIGH_IN - 2 * EDGE_IN) / max(high, 5.0))


def _edge(ground: Ground, form: Form) -> float:
    """Room above and below the trees, for the outline of a garden and its name. [inch]"""
    names = (_name(tree.garden, form) for tree in ground.trees)
    return EDGE_IN + LINE_IN * max(name.count("\n") for name in names)


def _height(ground: Ground, form: Form) -> float:
    _west, _south, _wide, high = _extent(ground)
    return max(LOW_IN, high * _scale(ground, form) + 2 * _edge(ground, form))


def _draw_ground(axes: Axes, ground: Ground, top: float, height: float, form: Form) -> None:
    from matplotlib.patches import Rectangle

    axes.add_patch(Rectangle((0.02, top + 0.02), form.width_in - 0.04, height - 0.04, fill=False,
                             ec=form.inks.line, lw=1.0))  # fmt: skip
    places = _places(ground, top, height, form)
    _draw_crossings(axes, ground, places, form)
    scale = _draw_scale(axes, _scale(ground, form), top + height, form)
    # What needs something lies over the others where many are drawn.
    for tree in sorted(ground.trees, key=lambda tree: (tree.kind in ATTENTION, bool(tree.ill))):
        x, y = places[tree.garden, tree.tree]
        put_mark(axes, x, y, tree.kind, form=form, size=_size(ground), zorder=3)
        if tree.ill:
            axes.plot(x, y, ls="", zorder=3, **_ring(tree.kind, _size(ground), form))
    within = Box(0.06, top + 0.06, form.width_in - 0.06, top + height - 0.06)
    _draw_plots(axes, ground, places, within, scale, form)


def _draw_crossings(axes: Axes, ground: Ground, places: Places, form: Form) -> None:
    from matplotlib.patches import FancyArrowPatch

    ill = {(tree.garden, tree.tree) for tree in ground.trees if tree.ill}
    for one in ground.crossings:
        rings = [RING_PT / 2 * (end in ill) for end in (one.giver, one.receiver)]
        axes.add_patch(
            FancyArrowPatch(
                places[one.giver], places[one.receiver], arrowstyle="-|>", mutation_scale=10,
                shrinkA=7 + rings[0], shrinkB=8 + rings[1], color=form.inks.accent, lw=1.2,
                connectionstyle=f"arc3,rad={BEND}", zorder=2,
            )
        )  # fmt: skip


def _size(ground: Ground) -> float:
    """How large its marks are, times the usual size."""
    return 0.6 if len(ground.trees) > MOST_LISTED else 1.0


def _ring(kind: Kind, size: float, form: Form) -> dict[str, Any]:
    """How the ring round the mark of a tree under suspicion of a disease is drawn."""
    return {"marker": "o", "ms": SIZES[kind] * size + RING_PT, "mfc": "none",
            "mec": form.inks.attention, "mew": 1.6}  # fmt: skip


def _ring_legend(form: Form) -> tuple[tuple[Line2D, ...], str]:
    from matplotlib.lines import Line2D

    ring = Line2D([], [], ls="", **_ring("sure", 0.5, form))
    return (ring,), _("ring: under suspicion of a disease")


def _mark_boxes(ground: Ground, places: Places) -> list[Box]:
    """What the mark of each tree covers. [inch]"""
    found = []
    for tree in ground.trees:
        (x, y), size = places[tree.garden, tree.tree], _size(ground) * SIZES[tree.kind]
        far = (size + bool(tree.ill) * RING_PT) / 2 / 72
        found.append(Box(x - far, y - far, x + far, y + far))
    return found


def _number_boxes(ground: Ground, marks: Sequence[Box]) -> list[Box]:
    """Where the number of each tree stands: right of it, else where less is covered. [inch]

    Where many stand, none has a number.
    """
    if len(ground.trees) > MOST_LISTED:
        return []
    found: list[Box] = []
    for order, mark in enumerate(marks, start=1):
        wide, high = _wide_in(str(order)) * BOLD, LINE_IN
        x, y = mark.middle
        beside = [
            (mark.right + 2 / 72, y - high / 2), (mark.left - 2 / 72 - wide, y - high / 2),
            (x - wide / 2, mark.top - high), (x - wide / 2, mark.bottom),
        ]  # fmt: skip
        spots = [Box(left, top, left + wide, top + high) for left, top in beside]
        found.append(min(spots, key=lambda spot: sum(map(spot.shared, (*marks, *found)))))
    return found


def _name(garden: str, form: Form) -> str:
    """The name of a garden, in lines of half the width."""
    return forwards(wrapped(garden, form.letters() // 2))


def _wide_in(words: str) -> float:
    """How wide the longest line of small text is. [inch]"""
    return max(map(letters_of, words.split("\n"))) * SMALL_PT * LETTER / 72


def _draw_plots(
    axes: Axes, ground: Ground, places: Places, within: Box, scale: Box, form: Form
) -> None:
    """Numbers of trees, and a pale outline round each garden's own, with its name.

    within : what holds all names. scale : what the scale covers.
    """
    from matplotlib.patches import Polygon

    marks = _mark_boxes(ground, places)
    numbers = _number_boxes(ground, marks)
    for order, (tree, box) in enumerate(zip(ground.trees, numbers, strict=False), start=1):
        strong = tree.ill or tree.kind in ATTENTION
        paper = form.inks.paper if tree.kind == "next door" else _pale(form)
        _put_words(axes, str(order), box, paper, weight="bold",
                   color=form.inks.attention if strong else form.inks.ink)  # fmt: skip
    plots = _plots(ground, marks, numbers)
    lines = [point for corners in plots.values() for point in along_outline(corners)]
    for one in ground.crossings:
        lines += along_arc(places[one.giver], places[one.receiver], BEND)
    taken = [*marks, *numbers, scale]
    for garden, corners in plots.items():
        axes.add_patch(Polygon(corners, fc=_pale(form), ec="none", zorder=0.5))
        axes.add_patch(Polygon(corners, fill=False, ec=form.inks.line, lw=1.2, zorder=1))
        name = _name(garden, form)
        size = _wide_in(name), LINE_IN * (1 + name.count("\n"))
        taken.append(name_box(corners, size, within, taken, lines))
        _put_words(axes, name, taken[-1], form.inks.paper)


def _plots(
    ground: Ground, marks: Sequence[Box], numbers: Sequence[Box]
) -> dict[str, tuple[Point, ...]]:
    """Corners of the outline round each garden's own trees and their numbers, by its name."""
    discs: dict[str, list[tuple[Point, float]]] = {}
    for place, (tree, mark) in enumerate(zip(ground.trees, marks, strict=True)):
        if tree.kind != "next door":
            held = (mark, *numbers[place : place + 1])
            of = [(box.middle, box.height / 2 + PLOT_IN) for box in held]
            discs.setdefault(tree.garden, []).extend(of)
    return {garden: outline(of) for garden, of in discs.items()}


def _pale(form: Form) -> tuple[float, float, float]:
    """The ground of a garden: the paper with a breath of the colour of its outline."""
    from matplotlib.colors import to_rgb

    red, green, blue = (
        0.75 * paper + 0.25 * line
        for paper, line in zip(to_rgb(form.inks.paper), to_rgb(form.inks.line), strict=True)
    )
    return red, green, blue


def _put_words(axes: Axes, words: str, box: Box, paper: Any, **look: Any) -> None:
    """Write small text into a box, whose paper lies over arrows and under marks."""
    from matplotlib.patches import Rectangle

    axes.add_patch(Rectangle((box.left, box.top), box.width, box.height, fc=paper, ec="none",
                             alpha=0.8, zorder=2.5))  # fmt: skip
    axes.annotate(words, box.middle, ha="center", va="center", fontsize=SMALL_PT, linespacing=1.1,
                  zorder=4, **look)  # fmt: skip


def _places(ground: Ground, top: float, height: float, form: Form) -> Places:
    """Where each tree is drawn [inch]; those of one spot stand in a small ring round it."""
    west, south, wide, high = _extent(ground)
    scale = _scale(ground, form)
    left = (form.width_in - wide * scale) / 2
    base = top + (height + high * scale) / 2
    spots: dict[tuple[int, int], list[Standing]] = {}
    for tree in ground.trees:
        east, north = tree.position_m
        cell = round(east * scale / APART_IN), round(north * scale / APART_IN)
        spots.setdefault(cell, []).append(tree)
    found = {}
    for trees in spots.values():
        ring = 0.0 if len(trees) == 1 else max(APART_IN * len(trees) / (2 * pi), APART_IN * 0.7)
        middle = [sum(tree.position_m[axis] for tree in trees) / len(trees) for axis in (0, 1)]
        x, y = left + (middle[0] - west) * scale, base - (middle[1] - south) * scale
        for place, tree in enumerate(trees):
            angle = 2 * pi * place / len(trees)
            found[tree.garden, tree.tree] = (x + ring * sin(angle), y - ring * cos(angle))
    return found


def _draw_scale(axes: Axes, scale: float, bottom: float, form: Form) -> Box:
    """A bar of a round number of metres, and where north is; gives what both cover."""
    metres = max((m for m in ROUND_METRES if m * scale <= 1.2), default=ROUND_METRES[0])
    right, y = form.width_in - 0.15, bottom - 0.12
    left, words = right - metres * scale, _("{metres} m, north is up").format(metres=metres)
    axes.plot([left, right], [y, y], color=form.inks.ink, lw=1.5)
    axes.annotate(words, (left, y), (-4, 0), textcoords="offset points", ha="right", va="center",
                  fontsize=SMALL_PT)  # fmt: skip
    return Box(left - 4 / 72 - _wide_in(words), y - LINE_IN / 2, right, y + LINE_IN / 2)


# --- words --------------------------------------------------------------------------------------


def _listed(ground: Ground, form: Form) -> list[str]:
    """The trees by number, in lines that fit; none of many."""
    if len(ground.trees) > MOST_LISTED:
        return []
    return [
        forwards(wrapped(f"{order}  {_told_of(tree)}", form.letters() - 2))
        for order, tree in enumerate(ground.trees, start=1)
    ]


def _told_of(tree: Standing) -> str:
    name = f"{tree.garden}/{tree.tree}"
    if tree.ill:
        name = _("{tree}, under suspicion of {disease}").format(tree=name, disease=tree.ill)
    return f"{name}: {', '.join(tree.varieties)}"


def _lines(words: Sequence[str]) -> int:
    return sum(1 + one.count("\n") for one in words)


def _write(
    axes: Axes, words: Sequence[str], top: float, form: Form, *, strong: bool = False
) -> float:
    """Write lines one below the other; gives where the next would stand. [inch]"""
    for one in words:
        axes.annotate(one, (0.08, top + 0.03), va="top", fontsize=SMALL_PT, linespacing=1.1,
                      weight="bold" if strong else "normal",
                      color=form.inks.attention if strong else form.inks.ink)  # fmt: skip
        top += LINE_IN * (1 + one.count("\n"))
    return top


def _alone_lines(alone: Mapping[str, Kind], form: Form) -> list[str]:
    if not alone:
        return []
    head = ngettext(
        "No other garden's pollen reaches this one:",
        "No other garden's pollen reaches these:", len(alone),
    )  # fmt: skip
    by_kind: dict[bool, list[str]] = {}
    for name, kind in alone.items():
        by_kind.setdefault(kind in ATTENTION, []).append(name)
    told = [
        (_("needs something: {gardens}") if needs else _("every limb has a donor: {gardens}"))
        .format(gardens=joined(by_kind[needs]))
        for needs in sorted(by_kind, reverse=True)
    ]  # fmt: skip
    return [wrapped(line, form.letters() - 2) for line in (head, *told)]


def fences_description(
    grounds: Sequence[Ground], alone: Mapping[str, Kind], first: str = ""
) -> str:
    """The map in words, for who cannot see it; first : as `draw_fences` has it."""
    return " ".join([*filter(None, [first]), *_told(grounds, alone)])


def _told(grounds: Sequence[Ground], alone: Mapping[str, Kind]) -> Iterator[str]:
    for ground in grounds:
        names = list(dict.fromkeys(tree.garden for tree in ground.trees))
        yield _("Trees of {gardens}, seen from above.").format(gardens=joined(names))
        for crossing in ground.crossings:
            yield _("{receiver} has its pollen from {giver}.").format(
                receiver="/".join(crossing.receiver), giver="/".join(crossing.giver)
            )
    yield from _alone_lines(alone, SCREEN)
