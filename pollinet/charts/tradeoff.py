"""What one more scion buys: size of the set against the worst-off limb."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    Form,
    fit_height,
    legend_below,
    name_rows,
    new_axes,
    of_winters,
    sentence_chart,
    settings,
    stacked,
    tell_rows,
    title_of,
    wrapped,
)
from pollinet.language import _, number
from pollinet.summary.outlook import Step
from pollinet.wording.sentences import of_ten, tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BAR_IN = 0.3
LEAST_ERROR = 0.05
"""Smaller errors round to nothing. [winters of ten]"""


def draw_tradeoff(
    steps: Sequence[Step],
    level: float,
    *,
    title: str,
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw how well the worst-off limb is covered with the best set of each size.

    level : what the plan asks for, as a dashed line; sets that fall short of it are dark. A
        sentence where no scion at hand betters it.
    """
    if len(steps) < 2:
        text = _("No scion at hand betters the worst-off limb; as it stands: {share} winters.")
        said = text.format(share=of_ten(steps[0].reliability)) if steps else ""
        return sentence_chart(said, title, form, ax)
    names, told = zip(*((step.label, of_ten(step.reliability)) for step in steps), strict=True)
    rows = stacked(names, BAR_IN, form, [LINE_IN] + [0.0] * (len(steps) - 1), told)
    inks = form.inks
    with settings(form):
        axes = ax or new_axes(rows.height, form)
        of_winters(axes, rows.height, level, form)
        first = 10 * steps[0].reliability
        for row, step in zip(rows, steps, strict=True):
            x, fill = 10 * step.reliability, inks.accent if step.enough else inks.attention
            axes.plot([first, x], [row.y, row.y], color=inks.wood, lw=1.6, zorder=1)
            axes.plot(x, row.y, "o", ms=9, mfc=fill, mec=inks.paper, mew=0.8, zorder=2)
        tell_rows(axes, rows, form)
        name_rows(axes, rows, form, [not step.enough for step in steps])
        words = _("winters of ten in which the worst-off limb has a donor; numbers rounded down")
        axes.set_xlabel(wrapped(words, int(0.7 * form.letters())))
        title_of(axes, title, form)
        error = 10 * max(step.error for step in steps)
        text = _("What nobody knows is drawn: any dot may be off by ± {winters} winters of ten.")
        if error >= LEAST_ERROR:
            legend_below(axes, (), form, note=text.format(winters=number(error, ".1f")))
        fit_height(axes, rows.height)
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
    return "; ".join((asked, *said, _("winters are rounded down")))
