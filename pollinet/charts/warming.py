"""How many winters out of ten a limb stays covered when all winters and springs grow warmer."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import cycle, pairwise
from typing import TYPE_CHECKING, Any

from pollinet.charts.style import (
    DARK,
    LABEL_WIDTH,
    LIGHT,
    LINE_IN,
    MIDDLE,
    PAPER,
    SMALL_PT,
    legend_below,
    middles,
    new_axes,
    row_edges,
    settings,
    title_of,
    wrapped,
)
from pollinet.charts.verdicts import ATTENTION, Kind, mark_legend, put_mark
from pollinet.language import N_, _, joined, ngettext, number
from pollinet.summary.outlook import Course
from pollinet.wording.check import LEGEND, MARKS
from pollinet.wording.sentences import tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_LINES = 10
"""With more courses than these a line can no longer be followed: a table is drawn instead."""

LINES_IN, FRAME_IN = 3.0, 1.7
ROW_IN, TABLE_FRAME_IN = 0.28, 1.6
END_WIDTH = 32
MOST_NAMED = 6
"""Limbs named in one sentence."""


DASHES: Sequence[Any] = ("-", (0, (6, 2)), (0, (6, 2, 1, 2)), (0, (1.2, 1.6)))
"""Taken in turn from the top: lines that lie side by side differ. What they mean, markers say."""

CAPTION_WIDTH = 84
CAPTION = N_(
    "Every hour of the record is moved by the same amount, so winters differ from one another as "
    "much as before: a trial, not a forecast."
)


def draw_warming(
    courses: Sequence[Course],
    degrees: Sequence[float],
    level: float,
    *,
    title: str,
    ax: Axes | None = None,
) -> Axes:
    """Draw the coverage of every limb over degrees of warming.

    Parameters
    ----------
    courses : in the order of the plan; up to `MOST_LINES` become lines, more become a table.
    degrees : the steps of warming, ascending. [°C]
    level : share of winters that the plan asks for.

    Returns
    -------
    The axes, with the mark of the verdict on every limb at every step.
    """
    with settings():
        draw = _draw_lines if len(courses) <= MOST_LINES else _draw_table
        axes = draw(courses, degrees, level, ax)
        title_of(axes, title)
    return axes


# --- lines -----------------------------------------------------------------------------------


def _draw_lines(
    courses: Sequence[Course], degrees: Sequence[float], level: float, ax: Axes | None
) -> Axes:
    falling = sorted(courses, key=lambda course: (-course.shares[-1], -sum(course.shares)))
    labels = [_end_label(course, degrees) for course in falling]
    edges = row_edges(labels, LINE_IN)
    height = max(LINES_IN, LINE_IN * edges[-1])
    axes = ax or new_axes(FRAME_IN + height)
    axes.set(xlim=(degrees[0] - 0.5, degrees[-1] + 0.08), ylim=(-0.4, 10.5))
    per_row = 10.9 * LINE_IN / height
    wanted = [10 * course.shares[-1] for course in falling]
    room = [per_row * (low - high) for high, low in pairwise(edges)]
    places = spread(wanted, room, -0.4, 10.5)
    for course, label, place, dashes in zip(falling, labels, places, cycle(DASHES), strict=False):
        _draw_line(axes, course, degrees, dashes)
        _draw_label(axes, course, degrees[-1], place, label)
    _draw_level(axes, degrees, level)
    axes.set_xticks(list(degrees), [_degrees(step) for step in degrees])
    axes.set_yticks(range(0, 11, 2))
    axes.grid(axis="y", color=LIGHT, lw=0.6)
    axes.set_axisbelow(True)
    axes.set_ylabel(_("winters of ten with a donor"))
    _caption(axes)
    legend_below(axes, mark_legend(_kinds(courses)), columns=4)
    return axes


def _kinds(courses: Sequence[Course]) -> set[Kind]:
    return {verdict for course in courses for verdict in course.verdicts}


def _draw_line(axes: Axes, course: Course, degrees: Sequence[float], dashes: Any) -> None:
    tens = [10 * share for share in course.shares]
    axes.plot(degrees, tens, color=MIDDLE, lw=1.2, ls=dashes, zorder=2)
    for step, (x, y) in enumerate(zip(degrees, tens, strict=True)):
        put_mark(axes, x, y, course.verdicts[step], size=0.7, zorder=3)


def _draw_label(axes: Axes, course: Course, end: float, place: float, label: str) -> None:
    """The limb's name beside its line, with a thin line to it where it had to give way."""
    bold = "bold" if course.verdicts[-1] in ATTENTION else "normal"
    x, y = end + 0.06, 10 * course.shares[-1]
    axes.annotate(
        label, (x, y), xytext=(end + 0.26, place), textcoords="data", va="center", ha="left",
        fontsize=SMALL_PT, weight=bold, annotation_clip=False, linespacing=1.1,
        arrowprops={"arrowstyle": "-", "color": MIDDLE, "lw": 0.6, "shrinkA": 1, "shrinkB": 0,
                    "relpos": (0.0, 0.5)},
    )  # fmt: skip


def _end_label(course: Course, degrees: Sequence[float]) -> str:
    lines = (course.label, _verdict(course, degrees))
    return "\n".join(wrapped(line, END_WIDTH) for line in lines if line)


def _verdict(course: Course, degrees: Sequence[float]) -> str:
    """What becomes of a limb, in a few words; none where it stays covered."""
    fall, first = course.fall, course.covered[0]
    if fall is None and all(course.covered):
        return ""
    if fall is None:
        return _("not covered at every step") if first else _("covered when warmer")
    if fall == 0 and "open" in course.verdicts:
        return _("open or not covered, warmer or not")
    if fall == 0:
        return _("not covered, warmer or not")
    return _("not covered from {degrees} °C").format(degrees=_degrees(degrees[fall]))


def spread(wanted: Sequence[float], room: Sequence[float], low: float, high: float) -> list[float]:
    """Places near those wanted, highest first, that leave each label the room it needs.

    Labels give way to one another downwards, and all of them upwards from the lower edge.
    """
    places: list[float] = []
    ceiling = high
    for place, high_of_label in zip(wanted, room, strict=True):
        places.append(min(place, ceiling - high_of_label / 2))
        ceiling = places[-1] - high_of_label / 2
    floor = low
    for row in range(len(places) - 1, -1, -1):
        places[row] = max(places[row], floor + room[row] / 2)
        floor = places[row] + room[row] / 2
    return places


def _draw_level(axes: Axes, degrees: Sequence[float], level: float) -> None:
    axes.plot([degrees[0] - 0.5, degrees[-1] + 0.08], [10 * level] * 2, color=MIDDLE, lw=1.6,
              ls=(0, (4, 3)), zorder=1)  # fmt: skip
    axes.annotate(
        _("asked for"), (degrees[0] - 0.46, 10 * level), va="center", ha="left",
        fontsize=SMALL_PT, bbox={"fc": PAPER, "ec": "none", "pad": 1.5},
    )  # fmt: skip


# --- table -----------------------------------------------------------------------------------


def _draw_table(
    courses: Sequence[Course], degrees: Sequence[float], level: float, ax: Axes | None
) -> Axes:
    from matplotlib.patches import Rectangle

    names = [wrapped(course.label, LABEL_WIDTH) for course in courses]
    edges = row_edges(names, ROW_IN)
    axes = ax or new_axes(TABLE_FRAME_IN + ROW_IN * edges[-1])
    axes.set(xlim=(0, len(degrees)), ylim=(edges[-1], 0))
    for course, place in zip(courses, middles(edges), strict=True):
        for step, share in enumerate(course.shares):
            verdict = course.verdicts[step]
            dark = verdict in ATTENTION
            axes.add_artist(
                Rectangle((step + 0.02, place - 0.44), 0.96, 0.88, lw=0.6, ec=LIGHT,
                          fc=DARK if dark else PAPER)
            )  # fmt: skip
            axes.text(
                step + 0.5, place, f"{MARKS[verdict]} {tenths(share)}", ha="center", va="center",
                fontsize=SMALL_PT, color=PAPER if dark else DARK,
                weight="bold" if dark else "normal",
            )  # fmt: skip
    axes.set_xticks([step + 0.5 for step in range(len(degrees))], map(_degrees, degrees))
    axes.set_yticks(middles(edges), names, fontsize=SMALL_PT)
    axes.tick_params(length=0)
    axes.spines["bottom"].set_visible(False)
    _caption(axes)
    numbers = _("The numbers: winters of ten.")
    legend_below(axes, (), note=f"{_(LEGEND)} {numbers}")
    return axes


# --- words -----------------------------------------------------------------------------------


def _degrees(step: float) -> str:
    return number(step, "+g") if step else _("as it is")


def _caption(axes: Axes) -> None:
    words = _("winters and springs warmer by so many °C")
    told = wrapped(_(CAPTION), CAPTION_WIDTH)
    axes.set_xlabel(f"{words}\n\n{told}", fontsize=SMALL_PT)


def warming_answer(courses: Sequence[Course], degrees: Sequence[float]) -> str:
    """Who loses its donor as winters grow warmer, in one sentence, the first to do so first."""
    falls = [(course.fall, course.label) for course in courses]
    lost = sorted((fall, label) for fall, label in falls if fall)
    if not any(course.covered[0] for course in courses):
        return _("No limb is covered as it is.")
    if not lost:
        text = _("Every limb that is covered now stays so with all winters {degrees} °C warmer.")
        return text.format(degrees=number(degrees[-1]))
    text = _("{limb} from {degrees} °C")
    named = [text.format(limb=label, degrees=_degrees(degrees[fall])) for fall, label in lost]
    more = len(named) - MOST_NAMED
    if more > 0:
        others = ngettext("{number} other", "{number} others", more)
        named[MOST_NAMED:] = [others.format(number=more)]
    return _("Warmer winters would uncover {limbs}.").format(limbs=joined(named))


def warming_description(courses: Sequence[Course], degrees: Sequence[float]) -> str:
    """The chart in words, for those who cannot see it."""
    said = []
    for course in courses:
        text = _("{limb}: {first} of 10 winters, {last} of 10 with {degrees} °C; {verdict}")
        verdict = _verdict(course, degrees) or _("stays covered")
        said.append(
            text.format(
                limb=course.label, first=tenths(course.shares[0]), last=tenths(course.shares[-1]),
                degrees=_degrees(degrees[-1]), verdict=verdict,
            )
        )  # fmt: skip
    return "; ".join(said)
