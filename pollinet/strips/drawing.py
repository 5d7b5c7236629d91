"""What all strips are made of: an axis of days, bars in percent of it, rows with their labels."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from math import ceil

from markupsafe import Markup

from pollinet.days import calendar_day_of_year
from pollinet.language import _, short_date
from pollinet.network.coverage import LimbVerdict
from pollinet.summary.limbs import BloomSpan
from pollinet.wording.check import LEGEND, MARKS, STATES

BAR_PX, LINE_PX, ROW_PX = 14, 4, 22
"""Heights of a bar, of the line of a variety's own spread, and of a row. [CSS pixels]"""

MOST_TICKS = 5
"""Dates over a strip, so that they stand apart on the narrowest."""

LAST_TICK = 80.0
"""A date further right would be cut off. [percent]"""

NEED = ("open", "lacking")
NOTHING = Markup("")


@cache
def style_sheet() -> str:
    """The rules for strips, as they are shipped."""
    return files("pollinet.strips").joinpath("strips.css").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Axis:
    """Days from the left to the right edge. [days since `start`]"""

    first: float
    last: float
    start: date

    def at(self, day: float) -> float:
        """Where a day stands. [percent]"""
        return 100 * (min(max(day, self.first), self.last) - self.first) / (self.last - self.first)

    @property
    def ticks(self) -> tuple[int, ...]:
        """Days that are told as dates, a week or some weeks apart."""
        weeks = max(1, ceil((self.last - self.first) / 7 / MOST_TICKS))
        days = range(int(self.first) + 2, int(self.last) + 1, 7 * weeks)
        return tuple(day for day in days if self.at(day) <= LAST_TICK)


# --- shapes --------------------------------------------------------------------------------------


def joined(parts: Iterable[str]) -> Markup:
    """Markup in a row; what is plain text is escaped."""
    return NOTHING.join(parts)


def bar(axis: Axis, begin: float, end: float, kind: str, height: float = BAR_PX) -> Markup:
    """A bar of some days, round the middle of the row. kind : its class in the style sheet."""
    return Markup('<rect class="{}" x="{:.2f}%" width="{:.2f}%" y="{:g}" height="{:g}"/>').format(
        kind, axis.at(begin), axis.at(end) - axis.at(begin), -height / 2, height
    )


def upright(axis: Axis, day: float, kind: str, height: float = BAR_PX) -> Markup:
    """A line of that height across the middle of the row."""
    return Markup('<line class="{}" x1="{:.2f}%" x2="{:.2f}%" y1="{:g}" y2="{:g}"/>').format(
        kind, axis.at(day), axis.at(day), -height / 2, height / 2
    )


def dotted(axis: Axis, begin: float, end: float, kind: str) -> Markup:
    """A bar of dots, round the middle of the row."""
    return Markup('<line class="{}" x1="{:.2f}%" x2="{:.2f}%"/>').format(
        kind, axis.at(begin), axis.at(end)
    )


def bloom_bar(axis: Axis, span: BloomSpan, kind: str, over: str = NOTHING) -> Markup:
    """Days in bloom, with a notch at full bloom; over : drawn between the two."""
    return joined(
        (bar(axis, span.start, span.end, kind), over, upright(axis, span.full, f"notch of-{kind}"))
    )


def unknown_bloom() -> Markup:
    """Words in place of a bar."""
    return Markup('<text class="date" x="2%" y="4">{}</text>').format(_("bloom time not known"))


def band(axis: Axis, begin: float, end: float) -> Markup:
    """Some days as a pale field, as high as the row."""
    return Markup('<rect class="band" x="{:.2f}%" width="{:.2f}%" height="100%"/>').format(
        axis.at(begin), axis.at(end) - axis.at(begin)
    )


def grid(axis: Axis) -> Markup:
    """A line at each date, as high as the row."""
    line = Markup('<line class="grid" x1="{0:.2f}%" x2="{0:.2f}%" y2="100%"/>')
    return joined(line.format(axis.at(day)) for day in axis.ticks)


# --- rows ----------------------------------------------------------------------------------------


def row(
    name: Markup, words: str, drawn: Markup, behind: Markup = NOTHING, told: str = "",
    kind: str = "",
) -> Markup:  # fmt: skip
    """A label, its bar, and what is told of it.

    words : the bar for those who cannot see it. behind : drawn first, as high as the row.
    """
    return Markup(
        '<div class="row {kind}"><div class="name">{name}</div>'
        '<svg class="bar" role="img" width="100%" height="{height}"><title>{words}</title>'
        '{behind}<svg y="50%" overflow="visible">{drawn}</svg></svg>'
        '<div class="told">{told}</div></div>'
    ).format(
        kind=kind, name=name, height=ROW_PX, words=words, behind=behind, drawn=drawn, told=told
    )


def named(label: str, verdict: LimbVerdict | None = None) -> Markup:
    """A label with the mark of its verdict before it, also where it is written to the left."""
    if verdict is None:
        return Markup("<bdi>{}</bdi>").format(label)
    return Markup(
        '<span class="mark" aria-hidden="true">{}</span>&nbsp;<bdi>{}</bdi> '
        '<span class="unseen">({})</span>'
    ).format(MARKS[verdict], label, _(STATES[verdict]))


def heading(words: str) -> Markup:
    """What stands over a group of rows."""
    return Markup('<div class="group"><bdi>{}</bdi></div>').format(words)


def scale(axis: Axis) -> Markup:
    """The dates, once over all rows; the rows tell theirs in words."""
    date_at = Markup('<text class="date" x="{:.2f}%" dx="3" y="13">{}</text>')
    dates = joined(
        date_at.format(axis.at(day), short_date(calendar_day_of_year(axis.start, 24 * day)))
        for day in axis.ticks
    )
    return Markup(
        '<div class="row scale"><div class="name"></div>'
        '<svg class="bar" aria-hidden="true" width="100%" height="18">{}{}</svg>'
        '<div class="told"></div></div>'
    ).format(grid(axis), dates)


def swatch(kind: str, words: str) -> Markup:
    """An entry of the key: a small bar of that class, and what it says."""
    shape = {
        "catkins": '<line class="catkins" x1="0" x2="24" y1="7" y2="7"/>',
        "own": '<rect class="own" x="1" width="22" y="5" height="4"/>',
        "shift": '<path class="shift" d="M1 7H23M1 3V11M12 3V11M23 3V11"/>',
        "own-note": '<path class="own-note" d="M12 2L17 7L12 12L7 7Z"/>',
    }.get(kind, '<rect class="{}" x="1" width="22" y="2" height="10"/>')
    drawn = Markup(shape).format(kind)
    return Markup(
        '<li><svg class="swatch" aria-hidden="true" width="24" height="14">{}</svg> {}</li>'
    ).format(drawn, words)


def strip(
    kind: str, rows: Iterable[Markup], swatches: Sequence[Markup] = (), *, marks: bool = False
) -> Markup:
    """The whole block. swatches : entries of the key. marks : whether the marks are told, too."""
    key = Markup('<ul class="key">{}</ul>').format(joined(swatches)) if swatches else ""
    note = Markup('<p class="marks">{}</p>').format(_(LEGEND)) if marks else ""
    return Markup('<div class="strip {}"><div class="rows">{}</div>{}{}</div>').format(
        kind, joined(rows), note, key
    )
