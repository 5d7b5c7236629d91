"""The marks of the verdicts in pictures: dark needs attention, what is not known has its own."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from pollinet.charts.fonts import HOUSE
from pollinet.charts.style import DARK, LIGHT, MIDDLE, PAPER, SMALL_PT
from pollinet.language import N_, _
from pollinet.network.coverage import LimbCoverage, LimbVerdict
from pollinet.wording.check import MARKS, VERDICTS
from pollinet.wording.sentences import tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D
    from matplotlib.path import Path

Kind: TypeAlias = LimbVerdict | Literal["need not crop", "next door"]
"""What a picture tells a limb or tree to be."""

STATES: Mapping[Kind, str] = {
    **{verdict: VERDICTS[verdict] for verdict in VERDICTS},
    "need not crop": N_("need not crop"),
    "next door": N_("next door"),
}

ATTENTION: Collection[Kind | None] = ("open", "lacking")
"""Verdicts that are dark in every picture, as they need something."""

MARKERS: Mapping[Kind, Mapping[str, Any]] = {
    "sure": {"marker": "o", "mfc": MIDDLE, "mec": MIDDLE, "ms": 9},
    "likely": {"marker": "o", "fillstyle": "left", "mfc": MIDDLE, "markerfacecoloralt": PAPER,
               "mec": MIDDLE, "ms": 9, "mew": 1.4},
    "open": {"marker": "o", "mfc": DARK, "mec": DARK, "ms": 13},
    "lacking": {"marker": "X", "mfc": DARK, "mec": PAPER, "ms": 15, "mew": 0.8},
    "need not crop": {"marker": "s", "mfc": LIGHT, "mec": MIDDLE, "ms": 7},
    "next door": {"marker": "D", "mfc": PAPER, "mec": MIDDLE, "ms": 7},
}  # fmt: skip
"""How each is drawn; on that of `open` stands a question mark, see `put_mark`."""

ASKED = 0.55
"""Size of the question mark in its disc, as a part of it."""


def put_mark(axes: Axes, x: float, y: float, kind: Kind, *, size: float = 1.0, **more: Any) -> None:
    """Draw a mark; size : times the usual one."""
    for drawn in _strokes(kind, size):
        axes.plot(x, y, ls="", **drawn, **more)


def mark_legend(kinds: Collection[Kind]) -> Iterator[tuple[tuple[Line2D, ...], str]]:
    """A handle and its words for each of these kinds, in a fixed order."""
    from matplotlib.lines import Line2D

    for kind in (kind for kind in MARKERS if kind in kinds):
        strokes = _strokes(kind, 0.75)
        yield tuple(Line2D([], [], ls="", **drawn) for drawn in strokes), _(STATES[kind])


def _strokes(kind: Kind, size: float) -> list[dict[str, Any]]:
    """What is drawn one over the other for one mark."""
    mark = {**MARKERS[kind], "ms": MARKERS[kind]["ms"] * size}
    if kind != "open":
        return [mark]
    asked = {"marker": _question_mark(), "mfc": PAPER, "mec": PAPER, "mew": 0.2}
    return [mark, {**asked, "ms": mark["ms"] * ASKED * 1.4}]


# --- in rows -----------------------------------------------------------------------------------


def marked(labels: Sequence[str], verdicts: Sequence[LimbVerdict | None]) -> list[str]:
    """Labels of rows with the mark of each verdict before them; as they are without verdicts."""
    if not verdicts:
        return list(labels)
    return [
        label if verdict is None else f"{MARKS[verdict]} {label}"
        for label, verdict in zip(labels, verdicts, strict=True)
    ]


def marked_share(coverage: LimbCoverage) -> str:
    """The mark of a limb's verdict and its winters of ten: `✕ 5`."""
    return f"{MARKS[coverage.verdict]} {tenths(coverage.reliability)}"


def spoken(labels: Sequence[str], verdicts: Sequence[LimbVerdict | None]) -> list[str]:
    """Labels of rows with each verdict in words."""
    if not verdicts:
        return list(labels)
    return [
        label if verdict is None else f"{label} ({_(STATES[verdict])})"
        for label, verdict in zip(labels, verdicts, strict=True)
    ]


def name_rows(
    axes: Axes,
    places: Sequence[float],
    names: Sequence[str],
    verdicts: Sequence[LimbVerdict | None],
    size: float = SMALL_PT,
) -> None:
    """Write the names of rows beside the axes, in bold where one needs something. [points]"""
    drawn = axes.set_yticks(places, names, fontsize=size)
    for tick, verdict in zip(drawn, verdicts, strict=False):
        if verdict in ATTENTION:
            tick.label1.set_fontweight("bold")


@cache
def _question_mark() -> Path:
    """The letter as a shape round its own middle."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.path import Path
    from matplotlib.textpath import TextPath

    drawn = TextPath((0, 0), "?", prop=FontProperties(family=HOUSE, weight="bold"))
    middle = (drawn.vertices.min(axis=0) + drawn.vertices.max(axis=0)) / 2
    return Path(drawn.vertices - middle, drawn.codes)
