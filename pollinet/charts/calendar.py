"""The bloom calendar: one row a variety on a tree, in the order of bloom."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from math import ceil
from typing import TYPE_CHECKING, Any

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    TIGHT_IN,
    Form,
    Inks,
    Row,
    fit_height,
    legend_below,
    name_rows,
    new_axes,
    row_heights,
    settings,
    sheets,
    stacked,
    swatch,
    tell_rows,
    title_of,
)
from pollinet.charts.verdicts import ATTENTION
from pollinet.days import calendar_day_of_year
from pollinet.language import _, short_date
from pollinet.summary.limbs import CalendarRow, SpringShift
from pollinet.summary.spring import (
    Against,
    DayShares,
    Mark,
    own_ends,
    season_day,
    shared_span,
    shown_shares,
    window_of,
)
from pollinet.wording.calendar import bloom_key, day_shares_label, shift_label
from pollinet.wording.check import LEGEND, marked

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import Patch

BAR_IN, DENSE_IN, STRIP_IN, HEADING_IN = 0.24, 0.13, 0.3, 0.24
"""Heights of a bar, of one among many, of a strip, and of the room for a heading. [inch]"""

LOOSE_PART = 0.34
"""Where rows would be higher than this part of a sheet they stand closer."""

OWN = 0.35
"""Height of the line of a variety's own spread, as a part of its bar."""

CATKINS = "..."
"""Hatch of bars of pollen."""

DATE_IN = 0.6
"""Room that a date under the calendar needs. [inch]"""


def draw_calendar(
    rows: Sequence[CalendarRow],
    start: date,
    *,
    title: str,
    winter: bool = False,
    against: Against | None = None,
    marks: Sequence[Mark] = (),
    strips: Sequence[DayShares] = (),
    shifts: Sequence[SpringShift] = (),
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw the usual bloom of every row over the dates of the season.

    Parameters
    ----------
    rows : in the order they are to be shown, rows of one group together.
    start : first day of the season that the spans are counted from.
    winter : whether the rows are those of one winter.
    against : fill what each partner shares with this row, and count the days.
    marks : own dates, as diamonds.
    strips : drawn under the rows. shifts : drawn over them, as scales.
    ax : axes to draw on; new ones, of a height that fits the rows, by default.

    Returns
    -------
    The axes. The bar is the median scenario, dark where a limb lacks a donor and hollow where that
    hangs on something not known, the white notch its full bloom; the light line is the variety's
    own spread. Pollen of catkins is dotted.
    """
    bold = [False] * len(shifts) + [row.verdict in ATTENTION for row in rows]
    noted = [season_day(mark, start) for mark in marks]
    window = window_of(rows, noted, shifts)
    bar = _bar_height(len(rows), form)
    names = [*map(shift_label, shifts), *_labels(rows)]
    above = [0.0] * len(shifts) + [HEADING_IN if first else 0.0 for first in _firsts(rows)]
    placed = stacked(names, bar, form, above, [""] * len(shifts) + _counted(rows, against))
    stack, upper = placed.rows[len(shifts) :], placed.rows[: len(shifts)]
    told = [day_shares_label(strip, window) for strip in strips]
    under = stacked(told, STRIP_IN, form, [HEADING_IN / 2] * len(strips))
    feet = [replace(row, words=row.words + placed.height, y=row.y + placed.height)
            for row in under]  # fmt: skip
    height = placed.height + under.height + LINE_IN / 2
    with settings(form):
        axes = ax or new_axes(height, form)
        _dates(axes, window, start, form)
        axes.set_ylim(height, -LINE_IN / 2)
        for shift, place in zip(shifts, upper, strict=True):
            _draw_shift(axes, shift, place.y, bar, form.inks)
        for order, (row, place) in enumerate(zip(rows, stack, strict=True)):
            behind = against is not None and order in against.partners
            _draw_row(axes, row, place.y, bar, form.inks, behind=behind)
        if against is not None:
            _draw_shared(axes, rows, stack, against, bar, form)
        for mark, day in zip(marks, noted, strict=True):
            axes.plot(day, stack[mark.row].y, "D", ms=6, mfc=form.inks.paper, mec=form.inks.ink,
                      zorder=4)  # fmt: skip
        for strip, place in zip(strips, feet, strict=True):
            _draw_strip(axes, strip, place.y + STRIP_IN / 2, form.inks)
        _headings(axes, rows, stack, bar, form)
        name_rows(axes, (*placed, *feet), form, bold)
        tell_rows(axes, placed, form)
        title_of(axes, title, form)
        note = _(LEGEND) if any(row.verdict for row in rows) else ""
        handles = _legend(rows, winter, against, marks, shifts, form.inks)
        legend_below(axes, handles, form, note=note)
        fit_height(axes, height + LINE_IN / 2)
    return axes


def calendar_sheets(
    rows: Sequence[CalendarRow], form: Form, shifts: Sequence[SpringShift], strips: int
) -> list[slice]:
    """Which rows go on which sheet, each with its scales and so many strips."""
    above = [HEADING_IN if first else 0.0 for first in _firsts(rows)]
    if above:
        above[0] += sum(row_heights([*map(shift_label, shifts)], DENSE_IN, form))
        above[-1] += strips * (STRIP_IN + HEADING_IN / 2)
    return sheets(_labels(rows), _bar_height(len(rows), form), form, above)


def _bar_height(rows: int, form: Form) -> float:
    """Height of a bar among so many. [inch]"""
    return DENSE_IN if rows * (BAR_IN + TIGHT_IN) > LOOSE_PART * form.sheet_in else BAR_IN


def _labels(rows: Sequence[CalendarRow]) -> list[str]:
    return marked([row.label for row in rows], [row.verdict for row in rows])


def _firsts(rows: Sequence[CalendarRow]) -> list[bool]:
    """Whether each row is the first of its group."""
    before = [None, *(row.group for row in rows)]
    return [row.group != last for row, last in zip(rows, before, strict=False)]


def _draw_shift(axes: Axes, shift: SpringShift, y: float, bar: float, inks: Inks) -> None:
    """A scale: how far all rows of a fruit move together."""
    ends = [shift.full - shift.days, shift.full + shift.days]
    axes.plot(ends, [y, y], color=inks.wood, lw=1.2)
    for end in (*ends, shift.full):
        axes.plot([end, end], [y - bar / 3, y + bar / 3], color=inks.wood, lw=1.2)


def _draw_row(
    axes: Axes, row: CalendarRow, y: float, bar: float, inks: Inks, *, behind: bool
) -> None:
    span = row.span
    if span is None:
        axes.annotate(
            _("bloom time not known"), (0.5, y), xycoords=("axes fraction", "data"),
            ha="center", va="center",
        )  # fmt: skip
        return
    if row.usual is not None and not row.sheds:
        axes.barh(y, row.usual.end - row.usual.start, 1.2 * bar, row.usual.start, color="none",
                  edgecolor=inks.wood, linewidth=0.8, linestyle=(0, (3, 2)))  # fmt: skip
    if row.own_days is not None:
        first, last = own_ends(span, row.own_days)
        axes.barh(y, last - first, OWN * bar, first, color=inks.soft)
    axes.barh(
        y, span.end - span.start, bar, span.start, hatch=CATKINS if row.sheds else "",
        **_shade(row, inks, behind=behind),
    )  # fmt: skip
    if not row.sheds:
        notch = inks.attention if row.verdict == "open" else inks.paper
        axes.plot([span.full] * 2, [y - bar / 2, y + bar / 2], color=notch, lw=2, zorder=3)


def _shade(row: CalendarRow, inks: Inks, *, behind: bool = False) -> dict[str, Any]:
    """How a bar is filled. behind : whether the days that it shares are filled over it."""
    if row.verdict == "open":
        return {"facecolor": inks.paper, "edgecolor": inks.attention, "linewidth": 1.6}
    colour = inks.attention if row.verdict == "lacking" else inks.soft if behind else inks.bloom
    return {"facecolor": colour, "edgecolor": inks.paper, "linewidth": 0}


def _counted(rows: Sequence[CalendarRow], against: Against | None) -> list[str]:
    """The days that each partner shares with the row in question."""
    told = [""] * len(rows)
    if against is None or rows[against.row].span is None:
        return told
    for partner in against.partners:
        begin, end = shared_span(rows[against.row].span, rows[partner].span) or (0.0, 0.0)
        told[partner] = _("{days} d").format(days=f"{end - begin:.0f}")
    return told


def _draw_shared(
    axes: Axes, rows: Sequence[CalendarRow], stack: Sequence[Row], against: Against, bar: float,
    form: Form,
) -> None:  # fmt: skip
    span, inks = rows[against.row].span, form.inks
    if span is None:
        return
    axes.barh(stack[against.row].y, span.end - span.start, 1.1 * bar, span.start, color="none",
              edgecolor=inks.accent, linewidth=2, zorder=2.5)  # fmt: skip
    for edge in (span.start, span.end):
        axes.axvline(edge, color=inks.accent, lw=1, ls=(0, (4, 3)), zorder=0.8)
    for partner in against.partners:
        shared = shared_span(rows[against.row].span, rows[partner].span)
        if shared is not None:
            begin, end = shared
            axes.barh(stack[partner].y, end - begin, bar, begin, facecolor=inks.accent,
                      hatch=inks.hatch, edgecolor=inks.paper, linewidth=0, zorder=2)  # fmt: skip


def _draw_strip(axes: Axes, strip: DayShares, floor: float, inks: Inks) -> None:
    """Columns from a floor upwards, the tallest as high as the strip."""
    low, high = (int(edge) for edge in axes.get_xlim())
    seen, shares = shown_shares(strip, (low, high))
    tallest = float(shares.max(initial=0.0)) or 1.0
    axes.bar(seen + 0.5, -STRIP_IN * shares / tallest, 0.9, floor,
             color=inks.honey if strip.of == "bees" else inks.frost)  # fmt: skip
    axes.plot([low, high], [floor] * 2, color=inks.line, lw=0.8)


def _headings(
    axes: Axes, rows: Sequence[CalendarRow], stack: Sequence[Row], bar: float, form: Form
) -> None:
    for row, place, first in zip(rows, stack, _firsts(rows), strict=True):
        if first:
            lines = LINE_IN * (place.label.count("\n") + 1) / 2
            top = place.words - (lines if form.narrow else max(lines, bar / 2))
            axes.annotate(
                row.group, (0, top - HEADING_IN / 2), xycoords=("axes fraction", "data"),
                va="center", weight="bold", bbox={"fc": form.inks.paper, "ec": "none", "pad": 1},
            )  # fmt: skip


def _dates(axes: Axes, window: tuple[int, int], start: date, form: Form) -> None:
    """A line every so many weeks, labelled with dates of the site."""
    first, last = window
    most = form.width_in * (1.0 if form.narrow else 0.6) / DATE_IN
    ticks = list(range(first + 2, last + 1, 7 * max(1, ceil((last - first) / 7 / most))))
    labels = [short_date(calendar_day_of_year(start, 24 * tick)) for tick in ticks]
    axes.set_xlim(first, last)
    axes.set_xticks(ticks, labels)
    axes.grid(axis="x", lw=0.6)
    axes.set_axisbelow(True)


def _legend(
    rows: Sequence[CalendarRow],
    winter: bool,
    against: Against | None,
    marks: Sequence[Mark],
    shifts: Sequence[SpringShift],
    inks: Inks,
) -> Iterator[Patch]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    key = bloom_key(rows, winter=winter, shifts=bool(shifts), notes=bool(marks))
    open_look: dict[str, Any] = {"fc": inks.paper, "ec": inks.attention, "lw": 1.6}
    usual_look: dict[str, Any] = {"fc": "none", "ec": inks.wood, "lw": 0.8, "ls": (0, (3, 2))}
    shift_look: dict[str, Any] = {"color": inks.wood, "lw": 1.2, "marker": "|", "ms": 7}
    note_look: dict[str, Any] = {"marker": "D", "ls": "", "mfc": inks.paper, "mec": inks.ink}
    if against is not None:
        yield swatch(inks.accent, _("shared with the framed limb"), inks.hatch)
    for part, words in key.items():
        match part:
            case "bloom":
                yield swatch(inks.bloom, words)
            case "own":
                yield swatch(inks.soft, words)
            case "lacking":
                yield swatch(inks.attention, words)
            case "open":
                yield Patch(label=words, **open_look)
            case "catkins":
                yield swatch(inks.bloom, words, CATKINS)
            case "usual":
                yield Patch(label=words, **usual_look)
            # A line is a handle as good as a patch, only mypy's stubs set them apart.
            case "shift":
                yield Line2D([], [], label=words, **shift_look)  # type: ignore[misc]
            case "own note":
                yield Line2D([], [], label=words, **note_look)  # type: ignore[misc]
