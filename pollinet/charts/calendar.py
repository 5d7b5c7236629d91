"""The bloom calendar: one row a variety on a tree, in the order of bloom."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
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
from pollinet.charts.verdicts import ATTENTION, marked, spoken
from pollinet.days import calendar_day_of_year
from pollinet.domain import Bloom, FloatArray
from pollinet.language import _, short_date
from pollinet.summary.limbs import BloomSpan, CalendarRow, SpringShift
from pollinet.wording.check import LEGEND
from pollinet.wording.sentences import days, tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import Patch

BAR_IN, DENSE_IN, STRIP_IN, HEADING_IN = 0.24, 0.13, 0.42, 0.26
"""Heights of a bar, of one among many, of a strip, and of the room for a heading. [inch]"""

MOST_LOOSE = 16
"""With more rows than these they stand closer."""

OWN = 0.35
"""Height of the line of a variety's own spread, as a part of its bar."""

CATKINS = "..."
"""Hatch of bars of pollen."""

LEAST_DAYS_SHOWN = 28
DATE_IN = 0.6
"""Room that a date under the calendar needs. [inch]"""

Shade: TypeAlias = Literal["bloom", "attention", "open", "behind"]


@dataclass(frozen=True)
class Mark:
    """A bloom date that the grower wrote down. [day of year]"""

    row: int
    day: int


@dataclass(frozen=True)
class Strip:
    """Something that happens on some days, under the calendar.

    label : with a place for the tallest day, in tenths. colour : a field of `Inks`.
    shares : shape (season days,), 0 to 1, how often it happens on each day of the season.
    """

    label: str
    shares: FloatArray
    colour: Literal["frost", "honey"] = "frost"


@dataclass(frozen=True)
class Against:
    """The row whose bloom is compared, and the rows that it is compared with."""

    row: int
    partners: Collection[int]


def draw_calendar(
    rows: Sequence[CalendarRow],
    start: date,
    *,
    title: str,
    winter: bool = False,
    against: Against | None = None,
    marks: Sequence[Mark] = (),
    strips: Sequence[Strip] = (),
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
    noted = [_season_day(mark, start) for mark in marks]
    window = _window(rows, noted, shifts)
    bar = DENSE_IN if len(rows) > MOST_LOOSE else BAR_IN
    names = [*map(_shift_label, shifts), *_labels(rows)]
    above = [0.0] * len(shifts) + [HEADING_IN if first else 0.0 for first in _firsts(rows)]
    placed = stacked(names, bar, form, above, [""] * len(shifts) + _counted(rows, against))
    stack, upper = placed.rows[len(shifts) :], placed.rows[: len(shifts)]
    told = [_strip_label(strip, window) for strip in strips]
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
        above[0] += sum(row_heights([*map(_shift_label, shifts)], DENSE_IN, form))
        above[-1] += strips * (STRIP_IN + HEADING_IN / 2)
    return sheets(_labels(rows), DENSE_IN if len(rows) > MOST_LOOSE else BAR_IN, form, above)


def _labels(rows: Sequence[CalendarRow]) -> list[str]:
    return marked([row.label for row in rows], [row.verdict for row in rows])


def _firsts(rows: Sequence[CalendarRow]) -> list[bool]:
    """Whether each row is the first of its group."""
    before = [None, *(row.group for row in rows)]
    return [row.group != last for row, last in zip(rows, before, strict=False)]


def _shift_label(shift: SpringShift) -> str:
    text = _("{fruit}: whole spring ± {days}")
    return text.format(fruit=_(shift.fruit), days=days(round(shift.days)))


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
        first, last = _own_ends(span, row.own_days)
        axes.barh(y, last - first, OWN * bar, first, color=inks.soft)
    axes.barh(
        y, span.end - span.start, bar, span.start, hatch=CATKINS if row.sheds else "",
        **_shade(row, inks, behind=behind),
    )  # fmt: skip
    if not row.sheds:
        notch = inks.attention if row.verdict == "open" else inks.paper
        axes.plot([span.full] * 2, [y - bar / 2, y + bar / 2], color=notch, lw=2, zorder=3)


def _own_ends(span: BloomSpan, own_days: float) -> tuple[float, float]:
    return span.start - own_days, span.end + own_days


def _shade(row: CalendarRow, inks: Inks, *, behind: bool = False) -> dict[str, Any]:
    """How a bar is filled. behind : whether the days that it shares are filled over it."""
    if row.verdict == "open":
        return {"facecolor": inks.paper, "edgecolor": inks.attention, "linewidth": 1.6}
    colour = inks.attention if row.verdict == "lacking" else inks.soft if behind else inks.bloom
    return {"facecolor": colour, "edgecolor": inks.paper, "linewidth": 0}


def shared_days(rows: Sequence[CalendarRow], first: int, second: int) -> tuple[float, float] | None:
    """Begin and end of what two rows share in the median scenario; None: nothing or not known."""
    one, other = rows[first].span, rows[second].span
    if one is None or other is None:
        return None
    begin, end = max(one.start, other.start), min(one.end, other.end)
    return (begin, end) if end > begin else None


def _counted(rows: Sequence[CalendarRow], against: Against | None) -> list[str]:
    """The days that each partner shares with the row in question."""
    told = [""] * len(rows)
    if against is None or rows[against.row].span is None:
        return told
    for partner in against.partners:
        begin, end = shared_days(rows, against.row, partner) or (0.0, 0.0)
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
        shared = shared_days(rows, against.row, partner)
        if shared is not None:
            begin, end = shared
            axes.barh(stack[partner].y, end - begin, bar, begin, facecolor=inks.accent,
                      hatch=inks.hatch, edgecolor=inks.paper, linewidth=0, zorder=2)  # fmt: skip


def _strip_label(strip: Strip, window: tuple[int, int]) -> str:
    _days, shares = _seen(strip, window)
    return strip.label.format(tallest=tenths(float(shares.max(initial=0.0))))


def _seen(strip: Strip, window: tuple[int, int]) -> tuple[NDArray[np.int64], FloatArray]:
    """Days and shares of a strip within the days shown."""
    shown = np.arange(max(window[0], 0), min(window[1], len(strip.shares)))
    return shown, strip.shares[shown]


def _draw_strip(axes: Axes, strip: Strip, floor: float, inks: Inks) -> None:
    """Columns from a floor upwards, the tallest as high as the strip."""
    low, high = (int(edge) for edge in axes.get_xlim())
    seen, shares = _seen(strip, (low, high))
    tallest = float(shares.max(initial=0.0)) or 1.0
    axes.bar(seen + 0.5, -STRIP_IN * shares / tallest, 0.9, floor,
             color=getattr(inks, strip.colour))  # fmt: skip
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


def _season_day(mark: Mark, start: date) -> float:
    """The middle of the day of a mark. [days since the season's start]"""
    return (mark.day - calendar_day_of_year(start, 0)) % 365 + 0.5


def _window(
    rows: Sequence[CalendarRow], noted: Sequence[float], shifts: Sequence[SpringShift]
) -> tuple[int, int]:
    """First and last day shown. [days since the season's start]"""
    ends = [edge for row in rows if row.span is not None
            for edge in _own_ends(row.span, row.own_days or 0.0)]  # fmt: skip
    ends += [edge for row in rows if row.usual is not None
             for edge in (row.usual.start, row.usual.end)]  # fmt: skip
    ends += [*noted, *(shift.full - shift.days for shift in shifts)]
    ends += [shift.full + shift.days for shift in shifts]
    first, last = min(ends, default=0.0), max(ends, default=0.0)
    missing = max(0.0, LEAST_DAYS_SHOWN - (last - first)) / 2
    return int(first - missing) - 2, int(last + missing) + 3


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

    verdicts = {row.verdict for row in rows if row.span is not None}
    usual = _("in bloom, usually (white: full)")
    single = _("in bloom, likeliest (white: full)")
    yield swatch(inks.bloom, single if winter else usual)
    if any(row.own_days is not None for row in rows):
        yield swatch(inks.soft, _("own spread, 8 scenarios in 10"))
    if "lacking" in verdicts:
        yield swatch(inks.attention, _("in bloom, and lacks a donor"))
    if "open" in verdicts:
        yield Patch(facecolor=inks.paper, edgecolor=inks.attention, linewidth=1.6,
                    label=_("in bloom, and open"))  # fmt: skip
    if any(row.sheds for row in rows):
        yield swatch(inks.bloom, _("catkins shed pollen"), CATKINS)
    if against is not None:
        yield swatch(inks.accent, _("shared with the framed limb"), inks.hatch)
    if any(row.usual is not None for row in rows):
        yield Patch(facecolor="none", edgecolor=inks.wood, linewidth=0.8, ls=(0, (3, 2)),
                    label=_("usual bloom"))  # fmt: skip
    # A line is a handle as good as a patch, only mypy's stubs set them apart.
    if shifts:
        text = _("a whole spring moves, 8 in 10")
        yield Line2D([], [], color=inks.wood, lw=1.2, marker="|", ms=7, label=text)  # type: ignore[misc]
    if marks:
        yield Line2D([], [], marker="D", ls="", mfc=inks.paper, mec=inks.ink, label=_("own note"))  # type: ignore[misc]


def calendar_description(
    rows: Sequence[CalendarRow], start: date, shifts: Sequence[SpringShift] = ()
) -> str:
    """The calendar in words, for those who cannot see it."""
    said = [_shift_label(shift) for shift in shifts]
    labels = spoken([row.label for row in rows], [row.verdict for row in rows])
    for row, label in zip(rows, labels, strict=True):
        if row.span is None:
            text = _("{group}, {limb}: bloom time not known")
            said.append(text.format(group=row.group, limb=label))
            continue
        first, full, last = (
            short_date(calendar_day_of_year(start, 24 * day))
            for day in (row.span.start, row.span.full, row.span.end - 1e-3)
        )
        text = _("{group}, {limb}: {first} to {last}, full bloom {full}")
        said.append(text.format(group=row.group, limb=label, first=first, last=last, full=full))
    return "; ".join(said)


def one_winter(bloom: Bloom, place: int) -> Bloom:
    """The same bloom in one winter alone, told by its place among all."""
    chosen = slice(place, place + 1)
    sheds, ends = bloom.shed_start_h, bloom.shed_end_h
    return replace(
        bloom,
        start_h=bloom.start_h[:, :, chosen],
        full_h=bloom.full_h[:, :, chosen],
        end_h=bloom.end_h[:, :, chosen],
        starts=bloom.starts[chosen],
        shed_start_h=None if sheds is None else sheds[:, :, chosen],
        shed_end_h=None if ends is None else ends[:, :, chosen],
    )
