"""What a longer picking season costs: days with ripe fruit against the worst-off limb."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING, Any

from pollinet.charts.style import (
    SCREEN,
    SMALL_PT,
    Form,
    Inks,
    fit_height,
    legend_below,
    new_axes,
    settings,
    title_of,
)
from pollinet.language import _
from pollinet.wording.sentences import days, of_ten, tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

HEIGHT_IN = 3.0

APART_X, APART_Y = 0.035, 0.06
"""Points nearer to the last numbered one than these parts of the chart's sides get no number."""

LEAST_DAYS = 14.0
"""Days that the chart is wide at least."""

ROOM_LEFT, ROOM_RIGHT = 0.2, 0.06
"""Room beside the points for their words, as parts of the days between them."""


@dataclass(frozen=True)
class Dot:
    """A set of scions.

    reliability : of the worst-off limb then. enough : whether it reaches the plan's level.
    """

    label: str
    days: float
    reliability: float
    enough: bool


def draw_season(
    today: Dot,
    front: Sequence[Dot],
    level: float,
    *,
    title: str,
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw the sets that no other betters, as a falling stair, and the garden as it stands.

    level : what the plan asks for, as a dashed line; sets below it are dark.
    """
    from matplotlib.ticker import MaxNLocator

    dots = [today, *front]
    left, right = min(dot.days for dot in dots), max(dot.days for dot in dots)
    spread = max(0.0, (LEAST_DAYS - (right - left)) / 2)
    left, right = left - spread, right + spread
    wide = right - left
    low = max(0, floor(10 * min(level, *(dot.reliability for dot in dots))) - 1)
    limits = left - ROOM_LEFT * wide, right + ROOM_RIGHT * wide
    shown = numbered(front, limits[1] - limits[0], 10.5 - low)
    lines = [_key(i, front[place]) for i, place in enumerate(shown, 1)]
    inks = form.inks
    with settings(form):
        axes = ax or new_axes(HEIGHT_IN, form)
        ticks = MaxNLocator(integer=True).tick_values(*limits)
        axes.set(xlim=limits, ylim=(low - 0.5, 10.5), yticks=range(low, 11),
                 xticks=[t for t in ticks if max(0, limits[0]) <= t <= limits[1]])  # fmt: skip
        _stair(axes, front, limits[0], inks)
        for place, dot in enumerate(front):
            axes.plot(dot.days, 10 * dot.reliability, "o", ms=7, **_ink(dot, inks))
            if place in shown:
                axes.annotate(
                    str(shown.index(place) + 1), (dot.days, 10 * dot.reliability), (5, 4),
                    textcoords="offset points", fontsize=SMALL_PT,
                )  # fmt: skip
        axes.plot(today.days, 10 * today.reliability, "s", ms=8, **_ink(today, inks))
        axes.annotate(
            _("as it stands"), (today.days, 10 * today.reliability), (-8, 0), va="center",
            ha="right", textcoords="offset points", fontsize=SMALL_PT,
        )  # fmt: skip
        axes.axhline(10 * level, color=inks.ink, lw=1.2, ls=(0, (4, 3)), zorder=0)
        axes.annotate(
            _("asked for"), (1.0, 10 * level), (4, 0), xycoords=("axes fraction", "data"),
            textcoords="offset points", va="center", fontsize=SMALL_PT,
        )  # fmt: skip
        axes.grid(lw=0.6)
        axes.set_axisbelow(True)
        axes.set_xlabel(_("days of the year with ripe fruit"))
        axes.set_ylabel(_("winters of ten in which\nthe worst-off limb has a donor"))
        title_of(axes, title, form)
        if lines:
            keys = [_handle(front[place], text, inks)
                    for place, text in zip(shown, lines, strict=True)]  # fmt: skip
            legend_below(axes, keys, form, columns=1)
        fit_height(axes, HEIGHT_IN)
    return axes


def numbered(front: Sequence[Dot], wide: float, high: float) -> list[int]:
    """Places of the points that get a number: the last, and all that stand clear of each other."""
    shown: list[int] = []
    for place in reversed(range(len(front))):
        dot = front[place]
        if all(
            abs(dot.days - front[other].days) >= APART_X * wide
            or 10 * abs(dot.reliability - front[other].reliability) >= APART_Y * high
            for other in shown
        ):
            shown.append(place)
    return shown[::-1]


def _stair(axes: Axes, front: Sequence[Dot], first: float, inks: Inks) -> None:
    """For each length of season the best that can be had."""
    if front:
        across = [first, *(dot.days for dot in front)]
        up = [10 * front[0].reliability, *(10 * dot.reliability for dot in front)]
        axes.plot(across, up, color=inks.wood, lw=1.0, drawstyle="steps-pre", zorder=1)


def _ink(dot: Dot, inks: Inks) -> dict[str, Any]:
    """Hollow where the plan's level is reached, dark below it."""
    return {"mec": inks.ink, "mfc": inks.paper if dot.enough else inks.attention}


def _handle(dot: Dot, text: str, inks: Inks) -> Line2D:
    from matplotlib.lines import Line2D

    return Line2D([], [], marker="o", ls="", ms=7, label=text, **_ink(dot, inks))


def _key(number: int, dot: Dot) -> str:
    return f"{number}  {_told(dot)}"


def _told(dot: Dot) -> str:
    return f"{dot.label}: {days(dot.days)}, {of_ten(dot.reliability)}"


def season_description(today: Dot, front: Sequence[Dot], level: float) -> str:
    """The chart in words, for those who cannot see it."""
    asked = _("asked for: {tenths} of 10 winters").format(tenths=tenths(level))
    return "; ".join((asked, *dict.fromkeys(map(_told, (today, *front)))))
