"""The marks of the verdicts in pictures: dark needs attention, what is not known has its own."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from pollinet.charts.fonts import HOUSE
from pollinet.charts.style import SCREEN, Form, Inks
from pollinet.language import _
from pollinet.summary import limbs
from pollinet.wording.check import STATES, Kind

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D
    from matplotlib.path import Path

ATTENTION: Collection[Kind | None] = limbs.ATTENTION
"""Verdicts that are dark in every picture, as they need something."""

SIZES: Mapping[Kind, float] = {
    "sure": 9, "likely": 9, "open": 13, "lacking": 15, "need not crop": 7, "next door": 7,
}  # fmt: skip
"""How large each mark is: what needs attention is larger. [points]"""

ASKED = 0.55
"""Size of the question mark in the disc of `open`, as a part of it."""


def marker(kind: Kind, inks: Inks) -> dict[str, Any]:
    """How a mark is drawn; on that of `open` stands a question mark, see `put_mark`."""
    drawn: Mapping[Kind, Mapping[str, Any]] = {
        "sure": {"marker": "o", "mfc": inks.leaf, "mec": inks.leaf},
        "likely": {"marker": "o", "fillstyle": "left", "mfc": inks.leaf,
                   "markerfacecoloralt": inks.paper, "mec": inks.leaf, "mew": 1.4},
        "open": {"marker": "o", "mfc": inks.attention, "mec": inks.attention},
        "lacking": {"marker": "X", "mfc": inks.attention, "mec": inks.paper, "mew": 0.8},
        "need not crop": {"marker": "s", "mfc": inks.soft, "mec": inks.wood},
        "next door": {"marker": "D", "mfc": inks.paper, "mec": inks.wood},
    }  # fmt: skip
    return {**drawn[kind], "ms": SIZES[kind]}


def put_mark(
    axes: Axes, x: float, y: float, kind: Kind, *, form: Form = SCREEN, size: float = 1.0,
    **more: Any,
) -> None:  # fmt: skip
    """Draw a mark; size : times the usual one."""
    for drawn in _strokes(kind, size, form.inks):
        axes.plot(x, y, ls="", **drawn, **more)


def mark_legend(
    kinds: Collection[Kind], form: Form = SCREEN
) -> Iterator[tuple[tuple[Line2D, ...], str]]:
    """A handle and its words for each of these kinds, in a fixed order."""
    from matplotlib.lines import Line2D

    for kind in (kind for kind in SIZES if kind in kinds):
        strokes = _strokes(kind, 0.75, form.inks)
        yield tuple(Line2D([], [], ls="", **drawn) for drawn in strokes), _(STATES[kind])


def _strokes(kind: Kind, size: float, inks: Inks) -> list[dict[str, Any]]:
    """What is drawn one over the other for one mark."""
    mark = marker(kind, inks)
    mark["ms"] *= size
    if kind != "open":
        return [mark]
    asked = {"marker": _question_mark(), "mfc": inks.paper, "mec": inks.paper, "mew": 0.2}
    return [mark, {**asked, "ms": mark["ms"] * ASKED * 1.4}]


@cache
def _question_mark() -> Path:
    """The letter as a shape round its own middle."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.path import Path
    from matplotlib.textpath import TextPath

    drawn = TextPath((0, 0), "?", prop=FontProperties(family=HOUSE, weight="bold"))
    middle = (drawn.vertices.min(axis=0) + drawn.vertices.max(axis=0)) / 2
    return Path(drawn.vertices - middle, drawn.codes)
