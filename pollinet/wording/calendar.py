"""The words of a bloom calendar, the same in every picture of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Literal, TypeAlias

from pollinet.days import calendar_day_of_year
from pollinet.language import _, short_date
from pollinet.summary.limbs import BloomSpan, CalendarRow, SpringShift
from pollinet.summary.spring import DayShares, shown_shares
from pollinet.wording.check import spoken
from pollinet.wording.sentences import days, tenths


def shift_label(shift: SpringShift) -> str:
    """How far a whole spring moves: `apple: whole spring ± 9 days`."""
    text = _("{fruit}: whole spring ± {days}")
    return text.format(fruit=_(shift.fruit), days=days(round(shift.days)))


def day_shares_label(found: DayShares, window: tuple[int, int]) -> str:
    """What a row of days shows, and how high its tallest column is within the window."""
    match found.of:
        case "frost of one winter":
            return _("nights below 0 °C")
        case "frost":
            text = _("nights below 0 °C (tallest: {tallest} of 10 winters)")
        case "bees":
            text = _("bees fly (tallest: {tallest} of 10 hours of daylight)")
    _days, shares = shown_shares(found, window)
    return text.format(tallest=tenths(float(shares.max(initial=0.0))))


def span_dates(span: BloomSpan, start: date) -> dict[str, str]:
    """First day, full bloom and last day of a span, as they stand in a sentence."""
    # The end is exclusive: the last day in bloom is the one that holds the moment before.
    ends = {"first": span.start, "last": span.end - 1e-3, "full": span.full}
    return {name: short_date(calendar_day_of_year(start, 24 * day)) for name, day in ends.items()}


def row_words(row: CalendarRow, start: date) -> str:
    """One row in words: its tree, its limbs, its verdict and its dates."""
    (label,) = spoken([row.label], [row.verdict])
    if row.span is None:
        return _("{group}, {limb}: bloom time not known").format(group=row.group, limb=label)
    text = _("{group}, {limb}: {first} to {last}, full bloom {full}")
    return text.format(group=row.group, limb=label, **span_dates(row.span, start))


def calendar_description(
    rows: Sequence[CalendarRow], start: date, shifts: Sequence[SpringShift] = ()
) -> str:
    """The calendar in words, for those who cannot see it."""
    return "; ".join([*map(shift_label, shifts), *(row_words(row, start) for row in rows)])


KeyPart: TypeAlias = Literal[
    "bloom", "own", "lacking", "open", "catkins", "usual", "shift", "own note"
]
"""What a calendar shows by a look of its own."""


def bloom_key(
    rows: Sequence[CalendarRow], *, winter: bool, shifts: bool, notes: bool
) -> dict[KeyPart, str]:
    """What each look says that is there. winter : whether the rows are those of one winter."""
    verdicts = {row.verdict for row in rows if row.span is not None}
    usual, single = _("in bloom, usually (white: full)"), _("in bloom, likeliest (white: full)")
    key: list[tuple[bool, KeyPart, str]] = [
        (True, "bloom", single if winter else usual),
        (any(row.own_days is not None for row in rows), "own", _("own spread, 8 scenarios in 10")),
        ("lacking" in verdicts, "lacking", _("in bloom, and lacks a donor")),
        ("open" in verdicts, "open", _("in bloom, and open")),
        (any(row.sheds for row in rows), "catkins", _("catkins shed pollen")),
        (any(row.usual is not None for row in rows), "usual", _("usual bloom")),
        (shifts, "shift", _("a whole spring moves, 8 in 10")),
        (notes, "own note", _("own note")),
    ]
    return {part: words for is_there, part, words in key if is_there}
