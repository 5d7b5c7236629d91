"""How many winters out of ten a limb stays covered when all winters and springs grow warmer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from pollinet.charts.style import (
    LINE_IN,
    SCREEN,
    Form,
    Row,
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
)
from pollinet.charts.verdicts import ATTENTION, mark_legend, put_mark
from pollinet.language import N_, _, joined, ngettext, number
from pollinet.summary.outlook import Course
from pollinet.wording.sentences import first_of, tenths

if TYPE_CHECKING:
    from matplotlib.axes import Axes

BAR_IN = 0.26
MOST_NAMED = 6
"""Limbs named in one sentence."""

CAPTION = N_(
    "Every hour of the record is moved by the same amount, so winters differ from one another as "
    "much as before: a trial, not a forecast."
)


def crossing(courses: Sequence[Course]) -> list[Course]:
    """Those that are covered at one step and not at another; the first to fall first."""
    moved = [course for course in courses if len(set(course.covered)) > 1]
    return sorted(moved, key=lambda course: (course.fall is None, course.fall, course.shares[-1]))


def draw_warming(
    courses: Sequence[Course],
    degrees: Sequence[float],
    level: float,
    *,
    title: str,
    steady: Sequence[Course] = (),
    form: Form = SCREEN,
    ax: Axes | None = None,
) -> Axes:
    """Draw what becomes of limbs when winters grow warmer: from the ring to the mark.

    Parameters
    ----------
    courses : the rows, see `crossing`. steady : the others, told in a sentence.
    degrees : the steps of warming, ascending. [°C]
    level : share of winters that the plan asks for.
    """
    others = " ".join(_others(steady))
    if not courses:
        said = f"{warming_answer(steady, degrees)}\n{others}\n{_(CAPTION)}"
        return sentence_chart(said, title, form, ax)
    names = [course.label for course in courses]
    told = [_verdict(course, degrees) for course in courses]
    rows = stacked(names, BAR_IN, form, [LINE_IN] + [0.0] * (len(courses) - 1), told)
    with settings(form):
        axes = ax or new_axes(rows.height, form)
        of_winters(axes, rows.height, level, form)
        for row, course in zip(rows, courses, strict=True):
            _draw_course(axes, row, course, form)
        tell_rows(axes, rows, form)
        name_rows(axes, rows, form, [course.verdicts[-1] in ATTENTION for course in courses])
        axes.set_xlabel(_("winters of ten with a donor"))
        title_of(axes, title, form)
        note = f"{others}\n{_(CAPTION)}".strip()
        legend_below(axes, _legend(courses, degrees, form), form, note=note)
        fit_height(axes, rows.height)
    return axes


def _draw_course(axes: Axes, row: Row, course: Course, form: Form) -> None:
    tens = [10 * share for share in course.shares]
    axes.plot(tens, [row.y] * len(tens), "|-", color=form.inks.wood, lw=1.6, ms=5, zorder=1)
    axes.plot(tens[0], row.y, "o", ms=8, mfc=form.inks.paper, mec=form.inks.wood, mew=1.6)
    put_mark(axes, tens[-1], row.y, course.verdicts[-1], form=form, size=0.8, zorder=3)


def _legend(courses: Sequence[Course], degrees: Sequence[float], form: Form) -> Iterator[Any]:
    from matplotlib.lines import Line2D

    ring: dict[str, Any] = {"marker": "o", "mfc": form.inks.paper, "mec": form.inks.wood}
    yield Line2D([], [], ls="", ms=8, mew=1.6, label=_("as it is"), **ring)
    text = _("{degrees} °C: {verdict}")
    for drawn, words in mark_legend({course.verdicts[-1] for course in courses}, form):
        yield drawn, text.format(degrees=degrees_words(degrees[-1]), verdict=words)


def _others(steady: Sequence[Course]) -> Iterator[str]:
    """Who is covered at every step, and who at none."""
    always = [course.label for course in steady if all(course.covered)]
    never = [course.label for course in steady if not any(course.covered)]
    if always:
        yield _("Covered at every step: {limbs}.").format(limbs=first_of(always, MOST_NAMED))
    if never:
        yield _("Covered at none: {limbs}.").format(limbs=first_of(never, MOST_NAMED))


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
    return _("not covered from {degrees} °C").format(degrees=degrees_words(degrees[fall]))


# --- words -----------------------------------------------------------------------------------


def degrees_words(step: float) -> str:
    """A step of warming: `+2`; none: `as it is`."""
    return number(step, "+g") if step else _("as it is")


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
    named = [text.format(limb=label, degrees=degrees_words(degrees[fall])) for fall, label in lost]
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
                degrees=degrees_words(degrees[-1]), verdict=verdict,
            )
        )  # fmt: skip
    return "; ".join(said)
