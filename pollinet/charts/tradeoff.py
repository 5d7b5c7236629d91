"""What one more scion buys: size of the set against the worst-off limb."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    DARK,
    LABEL_WIDTH,
    LIGHT,
    PAPER,
    SMALL_PT,
    middles,
    new_axes,
    row_edges,
    settings,
    title_of,
    wrapped,
)
from pollinet.language import _
from pollinet.summary.outlook import Step
from pollinet.wording.sentences import of_ten, tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_IN, FRAME_IN = 0.62, 1.2


def draw_tradeoff(
    steps: Sequence[Step], level: float, *, title: str, ax: Axes | None = None
) -> Axes:
    """Draw how well the worst-off limb is covered with the best set of each size.

    level : what the plan asks for, as a dashed line; sets that fall short of it are dark.
    """
    names = [wrapped(step.label, LABEL_WIDTH) for step in steps]
    edges = row_edges(names, ROW_IN)
    places = middles(edges)
    with settings():
        axes = ax or new_axes(FRAME_IN + ROW_IN * edges[-1])
        for row, step in zip(places, steps, strict=True):
            axes.barh(row, 10 * step.reliability, 0.5, color=LIGHT if step.enough else DARK)
            axes.annotate(
                of_ten(step.reliability), (10 * step.reliability + 0.1, row), va="center",
                fontsize=SMALL_PT, bbox={"fc": PAPER, "ec": "none", "pad": 1.0},
            )  # fmt: skip
        # White below the dashes, so that they show on dark bars too.
        axes.axvline(10 * level, color=PAPER, lw=3.2)
        axes.axvline(10 * level, color=DARK, lw=1.2, ls=(0, (4, 3)))
        axes.annotate(
            _("asked for"), (10 * level, -0.2), ha="center", va="center", fontsize=SMALL_PT,
            bbox={"fc": PAPER, "ec": "none", "pad": 1.5},
        )  # fmt: skip
        axes.set(xlim=(0, 11.2), ylim=(edges[-1] + 0.1, -0.5), xticks=range(0, 11, 2))
        axes.set_yticks(places, names)
        axes.tick_params(axis="y", length=0)
        axes.grid(axis="x", color=LIGHT, lw=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel(_("winters of ten in which the worst-off limb has a donor"))
        title_of(axes, title)
    return axes


def tradeoff_description(steps: Sequence[Step], level: float) -> str:
    """The chart in words, for those who cannot see it."""
    said = [
        (
            _("{limb}: {tenths} of 10 winters")
            if step.enough
            else _("{limb}: {tenths} of 10 winters, fewer than asked for")
        ).format(limb=step.label, tenths=tenths(step.reliability))
        for step in steps
    ]
    asked = _("asked for: {tenths} of 10 winters").format(tenths=tenths(level))
    return "; ".join((asked, *said))
