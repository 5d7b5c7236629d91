"""The bloom calendar: one row a limb, grouped by tree."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from pollinet.charts.style import DARK, LIGHT, PAPER, new_axes, settings
from pollinet.days import calendar_day_of_year, short_date
from pollinet.summary import CalendarRow

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW_IN, FRAME_IN = 0.34, 1.5
BAR, WHISKER = 0.56, 0.22
"""Heights of the median bar and of the lighter ends, in rows."""

LEAST_DAYS_SHOWN = 28


def draw_calendar(
    rows: Sequence[CalendarRow], start: date, *, title: str, ax: Axes | None = None
) -> Axes:
    """Draw the usual bloom of every row over the dates of the season.

    Parameters
    ----------
    rows : in the order they are to be shown, rows of one group together.
    start : first day of the season that the spans are counted from.
    ax : axes to draw on; new ones, of a height that fits the rows, by default.

    Returns
    -------
    The axes. The dark bar is the median scenario, the white notch its full bloom; the light ends
    reach to where eight scenarios in ten begin and end.
    """
    places = _places(rows)
    with settings():
        axes = ax or new_axes(FRAME_IN + ROW_IN * (max(places, default=0) + 1))
        for row, place in zip(rows, places, strict=True):
            _draw_row(axes, row, place)
        _headings(axes, rows, places)
        _dates(axes, rows, start)
        axes.set_ylim(max(places, default=0) + 0.8, -1.4)
        axes.set_yticks(places, [row.label for row in rows])
        axes.tick_params(axis="y", length=0)
        axes.set_title(title, loc="left", fontsize=11)
        _legend(axes)
    return axes


def _places(rows: Sequence[CalendarRow]) -> list[float]:
    """Height of each row; a new group leaves room for its heading."""
    places: list[float] = []
    for number, row in enumerate(rows):
        new_group = number > 0 and row.group != rows[number - 1].group
        places.append(0.0 if number == 0 else places[-1] + (2.0 if new_group else 1.0))
    return places


def _draw_row(axes: Axes, row: CalendarRow, place: float) -> None:
    span = row.span
    if span is None:
        middle = sum(axes.get_xlim()) / 2
        axes.annotate("bloom time not known", (middle, place), ha="center", va="center", color=DARK)
        return
    axes.barh(place, span.latest - span.earliest, WHISKER, span.earliest, color=LIGHT)
    axes.barh(place, span.end - span.start, BAR, span.start, color=DARK)
    axes.plot([span.full, span.full], [place - BAR / 2, place + BAR / 2], color=PAPER, lw=2)


def _headings(axes: Axes, rows: Sequence[CalendarRow], places: Sequence[float]) -> None:
    for number, (row, place) in enumerate(zip(rows, places, strict=True)):
        if number == 0 or row.group != rows[number - 1].group:
            axes.annotate(
                row.group, (0, place - 0.95), xycoords=("axes fraction", "data"),
                va="center", weight="bold",
            )  # fmt: skip


def _dates(axes: Axes, rows: Sequence[CalendarRow], start: date) -> None:
    """A line for every Monday-like step of seven days, labelled with dates of the site."""
    spans = [row.span for row in rows if row.span is not None]
    first = min((span.earliest for span in spans), default=0.0)
    last = max((span.latest for span in spans), default=first)
    missing = max(0.0, LEAST_DAYS_SHOWN - (last - first)) / 2
    first, last = int(first - missing) - 2, int(last + missing) + 3
    step = 7 * max(1, round((last - first) / 70))
    ticks = list(range(first, last + 1, step))
    labels = [short_date(calendar_day_of_year(start, 24 * tick)) for tick in ticks]
    axes.set_xlim(first, last)
    axes.set_xticks(ticks, labels)
    axes.grid(axis="x", color=LIGHT, lw=0.6)
    axes.set_axisbelow(True)


def _legend(axes: Axes) -> None:
    from matplotlib.patches import Patch

    axes.figure.legend(
        handles=[
            Patch(color=DARK, label="in bloom, median winter (white: full bloom)"),
            Patch(color=LIGHT, label="spread: 8 scenarios in 10 lie inside"),
        ],
        loc="outside lower center",
        ncols=2,
        frameon=False,
    )


def calendar_description(rows: Sequence[CalendarRow], start: date) -> str:
    """The calendar in words, for those who cannot see it."""
    said = []
    for row in rows:
        if row.span is None:
            said.append(f"{row.group}, {row.label}: bloom time not known")
            continue
        first, full, last = (
            short_date(calendar_day_of_year(start, 24 * day))
            for day in (row.span.start, row.span.full, row.span.end - 1e-3)
        )
        said.append(f"{row.group}, {row.label}: {first} to {last}, full bloom {full}")
    return "; ".join(said)
