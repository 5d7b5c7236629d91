"""When each variety is first picked, the earliest on top."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from math import ceil

from markupsafe import Markup

from pollinet.days import NOMINAL_YEAR
from pollinet.language import _, joined, number, short_date
from pollinet.strips.drawing import (
    BAR_PX,
    Axis,
    bar,
    grid,
    named,
    row,
    scale,
    strip,
    upright,
)
from pollinet.summary.suits import Picking

ROUND_DAYS = 4
"""Days shown before the first and after the last."""


def harvest_strip(pickings: Sequence[Picking], sd_days: float) -> Markup:
    """The order of harvest; what is not known is told in a sentence.

    sd_days : how far any estimate may be off. [days]
    """
    known = [(picking, picking.day) for picking in pickings if picking.day is not None]
    unknown = [picking.label for picking in pickings if picking.day is None]
    note = _("Any date may be off by ± {days} days.").format(days=number(sd_days))
    if unknown:
        note = f"{note} {_('Not known: {names}.').format(names=joined(unknown))}"
    told = Markup('<p class="marks">{}</p>').format(note)
    return strip("harvest", _rows(known, sd_days)) + told if known else told


def _rows(known: Sequence[tuple[Picking, float]], sd_days: float) -> Iterator[Markup]:
    days = [day for _picking, day in known]
    first, last = min(days) - sd_days - ROUND_DAYS, max(days) + sd_days + ROUND_DAYS
    # Days of the year count from 1; the axis counts from its first day.
    axis = Axis(int(first) - 1, ceil(last), date(NOMINAL_YEAR, 1, 1))
    lines = grid(axis)
    yield scale(axis)
    for picking, day in known:
        when = short_date(round(day))
        words = _("{label}: {date}").format(label=picking.label, date=when)
        drawn = bar(axis, day - 1 - sd_days, day - 1 + sd_days, "own", 4)
        yield row(
            named(picking.label), words, drawn + upright(axis, day - 1, "picked", BAR_PX), lines,
            when,
        )  # fmt: skip
