"""The bloom calendar: one row a limb, grouped by tree."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from pollinet.charts.style import (
    DARK,
    LABEL_WIDTH,
    LIGHT,
    MIDDLE,
    PAPER,
    SMALL_PT,
    legend_below,
    middles,
    new_axes,
    row_edges,
    settings,
    sheets,
    swatch,
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import ATTENTION, marked, name_rows, spoken
from pollinet.days import calendar_day_of_year
from pollinet.domain import Bloom, FloatArray
from pollinet.language import _, short_date
from pollinet.summary.limbs import CalendarRow
from pollinet.wording.check import LEGEND

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import Patch

ROW_IN, FRAME_IN = 0.34, 1.7
BAR, WHISKER = 0.56, 0.22
"""Heights of the median bar and of the lighter ends, in rows."""

CATKINS = "..."
"""Hatch of bars of pollen."""

LEAST_DAYS_SHOWN = 28


@dataclass(frozen=True)
class Mark:
    """A bloom date that the grower wrote down. [day of year]"""

    row: int
    day: int


@dataclass(frozen=True)
class Strip:
    """Something that happens on some days, under the calendar.

    shares : shape (season days,), 0 to 1, how often it happens on each day of the season.
    """

    label: str
    shares: FloatArray


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
    ax: Axes | None = None,
) -> Axes:
    """Draw the usual bloom of every row over the dates of the season.

    Parameters
    ----------
    rows : in the order they are to be shown, rows of one group together.
    start : first day of the season that the spans are counted from.
    winter : whether the rows are those of one winter.
    against : hatch what each partner shares with this row, and count the days.
    marks : own dates, as diamonds.
    strips : drawn under the rows.
    ax : axes to draw on; new ones, of a height that fits the rows, by default.

    Returns
    -------
    The axes. The bar is the median scenario, dark where the limb needs something, the white notch
    its full bloom; the light ends reach to where eight scenarios in ten begin and end. Pollen of
    catkins is dotted.
    """
    verdicts = [row.verdict for row in rows]
    names = _labels(rows) + [strip.label for strip in strips]
    labels = [wrapped(name, LABEL_WIDTH) for name in names]
    places, foot = _places(rows, labels)
    lowest = max([*places, *foot], default=0) + row_edges(labels[-1:], ROW_IN)[-1] / 2
    with settings():
        axes = ax or new_axes(FRAME_IN + ROW_IN * (lowest + 0.5))
        noted = [_season_day(mark, start) for mark in marks]
        _dates(axes, rows, noted, start)
        for row, place in zip(rows, places, strict=True):
            _draw_row(axes, row, place)
        if against is not None:
            _draw_shared(axes, rows, places, against)
        for mark, day in zip(marks, noted, strict=True):
            axes.plot(day, places[mark.row], "D", ms=6, mfc=PAPER, mec=DARK, zorder=4)
        for strip, place in zip(strips, foot, strict=True):
            _draw_strip(axes, strip, place)
        _headings(axes, rows, places)
        axes.set_ylim(lowest + 0.3, -1.4)
        name_rows(axes, [*places, *foot], labels, verdicts, size=9)
        axes.tick_params(axis="y", length=0)
        title_of(axes, title)
        note = _(LEGEND) if any(verdicts) else ""
        legend_below(axes, _legend(rows, winter, against, marks), note=note)
    return axes


def calendar_sheets(rows: Sequence[CalendarRow]) -> list[slice]:
    """Which rows go on which sheet."""
    before = [None, *(row.group for row in rows)]
    above = [float(row.group != last) for row, last in zip(rows, before, strict=False)]
    return sheets(_labels(rows), ROW_IN, above)


def _labels(rows: Sequence[CalendarRow]) -> list[str]:
    return marked([row.label for row in rows], [row.verdict for row in rows])


def _places(rows: Sequence[CalendarRow], labels: Sequence[str]) -> tuple[list[float], list[float]]:
    """Height of rows and strips; a new group leaves room for its heading, as a label for lines."""
    headings = 0
    places: list[float] = []
    for number, middle in enumerate(middles(row_edges(labels, ROW_IN))):
        is_strip = number >= len(rows)
        headings += 0 < number < len(rows) and rows[number].group != rows[number - 1].group
        places.append(middle - 0.5 + headings + 0.5 * is_strip)
    return places[: len(rows)], places[len(rows) :]


def _draw_row(axes: Axes, row: CalendarRow, place: float) -> None:
    span = row.span
    if span is None:
        axes.annotate(
            _("bloom time not known"), (0.5, place), xycoords=("axes fraction", "data"),
            ha="center", va="center", color=DARK,
        )  # fmt: skip
        return
    axes.barh(place, span.latest - span.earliest, WHISKER, span.earliest, color=LIGHT)
    colour = DARK if row.verdict in ATTENTION else MIDDLE
    axes.barh(
        place, span.end - span.start, BAR, span.start, color=colour,
        hatch=CATKINS if row.sheds else "", edgecolor=PAPER, linewidth=0,
    )  # fmt: skip
    if row.sheds:
        return
    axes.plot([span.full, span.full], [place - BAR / 2, place + BAR / 2], color=PAPER, lw=2)


def shared_days(rows: Sequence[CalendarRow], first: int, second: int) -> tuple[float, float] | None:
    """Begin and end of what two rows share in the median scenario; None: nothing or not known."""
    one, other = rows[first].span, rows[second].span
    if one is None or other is None:
        return None
    begin, end = max(one.start, other.start), min(one.end, other.end)
    return (begin, end) if end > begin else None


def _draw_shared(
    axes: Axes, rows: Sequence[CalendarRow], places: Sequence[float], against: Against
) -> None:
    span = rows[against.row].span
    if span is None:
        return
    for edge in (span.start, span.end):
        axes.axvline(edge, color=MIDDLE, lw=1, ls=(0, (4, 3)), zorder=0.8)
    for partner in against.partners:
        shared = shared_days(rows, against.row, partner)
        told = 0.0 if shared is None else shared[1] - shared[0]
        axes.annotate(
            _("{days} d").format(days=f"{told:.0f}"), (1.01, places[partner]),
            xycoords=("axes fraction", "data"), va="center", fontsize=SMALL_PT,
            annotation_clip=False,
        )  # fmt: skip
        if shared is not None:
            axes.barh(
                places[partner], told, BAR, shared[0], color=MIDDLE, hatch="////",
                edgecolor=PAPER, linewidth=0,
            )  # fmt: skip


def _draw_strip(axes: Axes, strip: Strip, place: float) -> None:
    low, high = (int(edge) for edge in axes.get_xlim())
    days = np.arange(max(low, 0), min(high, len(strip.shares)))
    shares = strip.shares[days]
    axes.bar(days + 0.5, -0.8 * shares, 0.9, place + 0.4, color=MIDDLE)
    axes.plot([low, high], [place + 0.4] * 2, color=LIGHT, lw=0.8)


def _headings(axes: Axes, rows: Sequence[CalendarRow], places: Sequence[float]) -> None:
    for number, (row, place) in enumerate(zip(rows, places, strict=True)):
        if number == 0 or row.group != rows[number - 1].group:
            axes.annotate(
                row.group, (0, place - 0.95), xycoords=("axes fraction", "data"),
                va="center", weight="bold",
            )  # fmt: skip


def _season_day(mark: Mark, start: date) -> float:
    """The middle of the day of a mark. [days since the season's start]"""
    return (mark.day - calendar_day_of_year(start, 0)) % 365 + 0.5


def _dates(axes: Axes, rows: Sequence[CalendarRow], noted: Sequence[float], start: date) -> None:
    """A line for every Monday-like step of seven days, labelled with dates of the site."""
    spans = [row.span for row in rows if row.span is not None]
    first = min((*(span.earliest for span in spans), *noted), default=0.0)
    last = max((*(span.latest for span in spans), *noted), default=first)
    missing = max(0.0, LEAST_DAYS_SHOWN - (last - first)) / 2
    first, last = int(first - missing) - 2, int(last + missing) + 3
    step = 7 * max(1, round((last - first) / 70))
    ticks = list(range(first, last + 1, step))
    labels = [short_date(calendar_day_of_year(start, 24 * tick)) for tick in ticks]
    axes.set_xlim(first, last)
    axes.set_xticks(ticks, labels)
    axes.grid(axis="x", color=LIGHT, lw=0.6)
    axes.set_axisbelow(True)


def _legend(
    rows: Sequence[CalendarRow], winter: bool, against: Against | None, marks: Sequence[Mark]
) -> Iterator[Patch]:
    if winter:
        yield swatch(MIDDLE, _("in bloom, likeliest dates (white: full bloom)"))
        yield swatch(LIGHT, _("spread: 8 estimates in 10 lie inside"))
    else:
        yield swatch(MIDDLE, _("in bloom, median winter (white: full bloom)"))
        yield swatch(LIGHT, _("spread: 8 scenarios in 10 lie inside"))
    if any(row.verdict in ATTENTION for row in rows):
        yield swatch(DARK, _("in bloom, and needs something"))
    if any(row.sheds for row in rows):
        yield swatch(MIDDLE, _("catkins shed pollen"), CATKINS)
    if against is not None:
        yield swatch(MIDDLE, _("shared with the limb between the dashed lines"), "////")
    if marks:
        from matplotlib.lines import Line2D

        # A line is a handle as good as a patch, only mypy's stubs set them apart.
        yield Line2D([], [], marker="D", ls="", mfc=PAPER, mec=DARK, label=_("own note"))  # type: ignore[misc]


def calendar_description(rows: Sequence[CalendarRow], start: date) -> str:
    """The calendar in words, for those who cannot see it."""
    said = []
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
