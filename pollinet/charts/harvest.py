"""The harvest calendar: which limb is picked when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    LABEL_WIDTH,
    LIGHT,
    MIDDLE,
    SMALL_PT,
    legend_below,
    middles,
    new_axes,
    row_edges,
    settings,
    swatch,
    title_of,
    wrapped,
)
from pollinet.language import _, number, short_date

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_IN, FRAME_IN = 0.3, 1.3
LEAST_DAYS_SHOWN = 28


@dataclass(frozen=True)
class Picking:
    """When one limb is first picked; None: not known. [day of year, may run over 365]"""

    label: str
    day: float | None


def draw_harvest(
    pickings: Sequence[Picking], sd_days: float, *, title: str, ax: Axes | None = None
) -> Axes:
    """Draw the order of harvest, the earliest on top, what is not known last.

    sd_days : how far an estimate may be off, as a light bar. [days]
    """
    rows = in_picking_order(pickings)
    known = [picking.day for picking in rows if picking.day is not None]
    first, last = min(known, default=0.0), max(known, default=0.0)
    missing = max(0.0, LEAST_DAYS_SHOWN - (last - first)) / 2
    low, high = int(first - missing - sd_days) - 2, int(last + missing + sd_days) + 3
    step = 7 * max(1, round((high - low) / 70))
    ticks = list(range(low, high + 1, step))
    names = [wrapped(picking.label, LABEL_WIDTH) for picking in rows]
    edges = row_edges(names, ROW_IN)
    places = middles(edges)
    with settings():
        axes = ax or new_axes(FRAME_IN + ROW_IN * edges[-1])
        axes.set(xlim=(low, high), ylim=(edges[-1] + 0.1, -0.3))
        for place, picking in zip(places, rows, strict=True):
            _draw_row(axes, place, picking, sd_days)
        axes.set_xticks(ticks, [short_date(tick) for tick in ticks])
        axes.set_yticks(places, names)
        axes.tick_params(axis="y", length=0)
        axes.grid(axis="x", color=LIGHT, lw=0.6)
        axes.set_axisbelow(True)
        title_of(axes, title)
        text = _("how far off it may be: ± {days} days")
        legend_below(axes, [swatch(LIGHT, text.format(days=number(sd_days)))])
    return axes


def _draw_row(axes: Axes, row: float, picking: Picking, sd_days: float) -> None:
    if picking.day is None:
        axes.annotate(
            _("not known"), (0.5, row), xycoords=("axes fraction", "data"), ha="center",
            va="center", fontsize=SMALL_PT, color=MIDDLE,
        )  # fmt: skip
        return
    axes.barh(row, 2 * sd_days, 0.3, picking.day - sd_days, color=LIGHT)
    axes.plot(picking.day, row, "o", ms=8, color=MIDDLE)
    axes.annotate(
        short_date(round(picking.day)), (picking.day, row), (9, 0), textcoords="offset points",
        va="center", fontsize=SMALL_PT,
    )  # fmt: skip


def in_picking_order(pickings: Sequence[Picking]) -> list[Picking]:
    """The earliest first; what is not known last, in the order of the plan."""
    return sorted(pickings, key=lambda p: (p.day is None, p.day or 0.0))


def harvest_description(pickings: Sequence[Picking]) -> str:
    """The chart in words, for those who cannot see it."""
    return "; ".join(
        f"{p.label}: " + (_("not known") if p.day is None else short_date(round(p.day)))
        for p in in_picking_order(pickings)
    )
