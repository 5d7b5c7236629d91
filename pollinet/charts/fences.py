"""A map of several gardens: their trees, how each stands, and pollen that crosses fences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    SMALL_PT,
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
from pollinet.domain import Position
from pollinet.language import _, joined, ngettext
from pollinet.wording.check import Kind

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LOW_IN, HIGH_IN = 1.2, 5.0
"""Least and greatest height of the ground of one group. [inch]"""

EDGE_IN = 0.45
"""Room round the ground for names. [inch]"""

APART_IN = 0.2
"""Marks nearer than this would be drawn over one another. [inch]"""

MOST_LISTED = 40
"""Trees of a group beyond which no list stands below it. Own convention."""

ROUND_METRES = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000)


@dataclass(frozen=True)
class Standing:
    """A tree on the map. kind : the worst verdict on its limbs; varieties : what grows on it."""

    garden: str
    tree: str
    position_m: Position
    kind: Kind
    varieties: tuple[str, ...]


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
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw the gardens of a collection, north up, each ground at a scale of its own.

    alone : gardens that nobody else's pollen reaches, with the worst verdict in each.
    """
    heights = [_height(ground, form) for ground in grounds]
    lists = [_listed(ground, form) for ground in grounds]
    rest = _alone_lines(alone, form)
    high = sum(heights) + sum(LINE_IN * (1 + _lines(listed)) for listed in lists)
    high += LINE_IN * (_lines(rest) + 1) if rest else 0.0
    with settings(form):
        axes = ax or new_axes(high, form)
        axes.set(xlim=(0, form.width_in), ylim=(high, 0))
        axes.set_axis_off()
        top = 0.0
        for ground, height, listed in zip(grounds, heights, lists, strict=True):
            _draw_ground(axes, ground, top, height, form)
            top = _write(axes, listed, top + height, form) + LINE_IN
        _draw_alone(axes, rest, top, form)
        title_of(axes, title, form)
        kinds = {tree.kind for ground in grounds for tree in ground.trees} | set(alone.values())
        is_crossed = any(ground.crossings for ground in grounds)
        note = _("arrows: from the best donor, where that stands across a fence")
        note = note if is_crossed else ""
        legend_below(axes, mark_legend(kinds, form), form, columns=3, note=note)
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


def _height(ground: Ground, form: Form) -> float:
    _west, _south, _wide, high = _extent(ground)
    return max(LOW_IN, high * _scale(ground, form) + 2 * EDGE_IN)


def _draw_ground(axes: Axes, ground: Ground, top: float, height: float, form: Form) -> None:
    from matplotlib.patches import FancyArrowPatch, Rectangle

    axes.add_patch(Rectangle((0.02, top + 0.02), form.width_in - 0.04, height - 0.04, fill=False,
                             ec=form.inks.line, lw=1.0))  # fmt: skip
    places = _places(ground, top, height, form)
    for crossing in ground.crossings:
        start, end = places[crossing.giver], places[crossing.receiver]
        axes.add_patch(
            FancyArrowPatch(
                start, end, arrowstyle="-|>", mutation_scale=10, shrinkA=7, shrinkB=8,
                connectionstyle="arc3,rad=0.15", color=form.inks.accent, lw=1.2, zorder=2,
            )
        )  # fmt: skip
    _draw_scale(axes, _scale(ground, form), top + height, form)
    if len(ground.trees) > MOST_LISTED:
        _draw_many(axes, ground, places, form)
        return
    for order, tree in enumerate(ground.trees, start=1):
        x, y = places[tree.garden, tree.tree]
        put_mark(axes, x, y, tree.kind, form=form, zorder=3)
        axes.annotate(
            str(order), (x, y), (SIZES[tree.kind] / 2 + 2, 0), textcoords="offset points",
            va="center", fontsize=SMALL_PT, weight="bold", zorder=4,
            bbox={"fc": form.inks.paper, "ec": "none", "pad": 0.5, "alpha": 0.8},
            color=form.inks.attention if tree.kind in ATTENTION else form.inks.ink,
        )  # fmt: skip


def _draw_many(
    axes: Axes,
    ground: Ground,
    places: Mapping[tuple[str, str], tuple[float, float]],
    form: Form,
) -> None:
    """Small marks, and each garden's name below its trees; what needs something comes last."""
    for tree in sorted(ground.trees, key=lambda tree: tree.kind in ATTENTION):
        put_mark(axes, *places[tree.garden, tree.tree], tree.kind, form=form, size=0.6, zorder=3)
    gardens: dict[str, list[tuple[float, float]]] = {}
    for (garden, _tree), place in places.items():
        gardens.setdefault(garden, []).append(place)
    for garden, spots in gardens.items():
        middle = sum(x for x, _y in spots) / len(spots), max(y for _x, y in spots)
        axes.annotate(
            forwards(garden), middle, (0, -6), textcoords="offset points", ha="center", va="top",
            fontsize=SMALL_PT, zorder=4,
            bbox={"fc": form.inks.paper, "ec": "none", "pad": 0.3, "alpha": 0.7},
        )  # fmt: skip


def _places(
    ground: Ground, top: float, height: float, form: Form
) -> dict[tuple[str, str], tuple[float, float]]:
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


def _draw_scale(axes: Axes, scale: float, bottom: float, form: Form) -> None:
    """A bar of a round number of metres, and where north is."""
    metres = max((m for m in ROUND_METRES if m * scale <= 1.2), default=ROUND_METRES[0])
    right, y = form.width_in - 0.15, bottom - 0.12
    axes.plot([right - metres * scale, right], [y, y], color=form.inks.ink, lw=1.5)
    axes.annotate(
        _("{metres} m, north is up").format(metres=metres), (right - metres * scale, y), (-4, 0),
        textcoords="offset points", ha="right", va="center", fontsize=SMALL_PT,
    )  # fmt: skip


# --- words --------------------------------------------------------------------------------------


def _listed(ground: Ground, form: Form) -> list[str]:
    """The trees by number, in lines that fit; none of many."""
    if len(ground.trees) > MOST_LISTED:
        return []
    return [
        forwards(wrapped(f"{order}  {tree.garden}/{tree.tree}: {', '.join(tree.varieties)}",
                         form.letters() - 2))
        for order, tree in enumerate(ground.trees, start=1)
    ]  # fmt: skip


def _lines(words: Sequence[str]) -> int:
    return sum(1 + one.count("\n") for one in words)


def _write(axes: Axes, words: Sequence[str], top: float, form: Form) -> float:
    """Write lines one below the other; gives where the next would stand. [inch]"""
    for one in words:
        axes.annotate(one, (0.08, top + 0.03), va="top", fontsize=SMALL_PT, linespacing=1.1)
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


def _draw_alone(axes: Axes, words: Sequence[str], top: float, form: Form) -> None:
    _write(axes, words, top, form)


def fences_description(grounds: Sequence[Ground], alone: Mapping[str, Kind]) -> str:
    """The map in words, for who cannot see it."""
    return " ".join(_told(grounds, alone))


def _told(grounds: Sequence[Ground], alone: Mapping[str, Kind]) -> Iterator[str]:
    for ground in grounds:
        names = list(dict.fromkeys(tree.garden for tree in ground.trees))
        yield _("Trees of {gardens}, seen from above.").format(gardens=joined(names))
        for crossing in ground.crossings:
            yield _("{receiver} has its pollen from {giver}.").format(
                receiver="/".join(crossing.receiver), giver="/".join(crossing.giver)
            )
    yield from _alone_lines(alone, SCREEN)
