"""The harvest calendar: which variety is picked when."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    Form,
    fit_height,
    legend_below,
    name_rows,
    new_axes,
    sentence_chart,
    settings,
    stacked,
    tell_rows,
    title_of,
)
from pollinet.language import _, joined, number, short_date
from pollinet.summary.suits import Picking, in_picking_order

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BAR_IN = 0.22
LEAST_DAYS_SHOWN = 28
DATE_IN = 0.6
"""Room that a date under the chart needs. [inch]"""


def draw_harvest(
    pickings: Sequence[Picking],
    sd_days: float,
    *,
    title: str,
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw the order of harvest, the earliest on top; what is not known is told in a sentence.

    sd_days : how far any estimate may be off, as one scale on top. [days]
    """
    known = [picking for picking in in_picking_order(pickings) if picking.day is not None]
    unknown = [picking.label for picking in pickings if picking.day is None]
    note = _("Not known: {names}.").format(names=joined(unknown)) if unknown else ""
    if not known:
        return sentence_chart(note, title, form, ax)
    days = [picking.day or 0.0 for picking in known]
    middle = (days[0] + days[-1]) / 2
    half = max(LEAST_DAYS_SHOWN / 2, (days[-1] - days[0]) / 2, sd_days)
    low, high = int(middle - half) - 3, int(middle + half) + 3
    most = form.width_in * (1.0 if form.narrow else 0.5) / DATE_IN
    ticks = list(range(low + 2, high, 7 * max(1, ceil((high - low) / 7 / most))))
    text = _("any may be off by ± {days} days")
    scale = text.format(days=number(sd_days))
    names = [scale, *(picking.label for picking in known)]
    told = ["", *(short_date(round(day)) for day in days)]
    rows = stacked(names, BAR_IN, form, told=told)
    inks = form.inks
    with settings(form):
        axes = ax or new_axes(rows.height, form)
        axes.set(xlim=(low, high), ylim=(rows.height + LINE_IN / 2, 0))
        first, *others = rows
        ends = [middle - sd_days, middle + sd_days]
        axes.plot(ends, [first.y] * 2, "|-", color=inks.wood, lw=1.2, ms=8)
        for row, day in zip(others, days, strict=True):
            axes.plot(day, row.y, "o", ms=8, mfc=inks.leaf, mec=inks.paper, mew=0.8)
        tell_rows(axes, rows, form)
        axes.set_xticks(ticks, [short_date(tick) for tick in ticks])
        name_rows(axes, rows, form)
        axes.grid(axis="x", lw=0.6)
        axes.set_axisbelow(True)
        title_of(axes, title, form)
        if note:
            legend_below(axes, (), form, note=note)
        fit_height(axes, rows.height + LINE_IN / 2)
    return axes


def harvest_description(pickings: Sequence[Picking]) -> str:
    """The chart in words, for those who cannot see it."""
    return "; ".join(
        f"{p.label}: " + (_("not known") if p.day is None else short_date(round(p.day)))
        for p in in_picking_order(pickings)
    )
