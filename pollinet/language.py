"""The language of sentences, dates and numbers.

Messages stand in the code in English, as whole sentences with named places, and are looked up where
they are said. The catalogues are in `pollinet/locale`; DEVELOPERS.md tells how they are made.
"""

from __future__ import annotations

import gettext as _gettext
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from functools import cache
from pathlib import Path

from pollinet import messages
from pollinet.days import month_and_day
from pollinet.messages import Message

ENGLISH = "en"
LANGUAGES = (ENGLISH, "de")
LOCALE = Path(__file__).parent / "locale"

_CHOSEN = ContextVar("language", default=ENGLISH)


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Say everything within in this language, one of `LANGUAGES`."""
    token = _CHOSEN.set(language)
    try:
        yield
    finally:
        _CHOSEN.reset(token)


def chosen() -> str:
    """The language spoken now, as a code of ISO 639-1."""
    return _CHOSEN.get()


@cache
def _catalogue(language: str) -> _gettext.NullTranslations:
    if language == ENGLISH:
        return _gettext.NullTranslations()
    return _gettext.translation("pollinet", LOCALE, [language])


def N_(message: str) -> str:
    """Mark a message that is looked up later, with `_`."""
    return message


def _(message: str) -> str:
    """A message in the language spoken now."""
    # The empty message is the head of a catalogue.
    return _catalogue(chosen()).gettext(message) if message else ""


def ngettext(one: str, many: str, number: int) -> str:
    """A message about a number of things, in the form that the language has for it."""
    return _catalogue(chosen()).ngettext(one, many, number)


def pgettext(context: str, message: str) -> str:
    """A message whose words mean several things; `context` tells which."""
    return _catalogue(chosen()).pgettext(context, message)


def npgettext(context: str, one: str, many: str, number: int) -> str:
    """`ngettext` with a context, such as the case that the sentence asks for."""
    return _catalogue(chosen()).npgettext(context, one, many, number)


def told(text: str) -> str:
    """What a reader or a stage said, in the language spoken now; plain text stays as it is."""
    if chosen() == ENGLISH or not isinstance(text, Message):
        return text
    pattern = ngettext(text.pattern, text.many, text.number) if text.many else _(text.pattern)
    return pattern.format(**{name: _value(value) for name, value in text.values.items()})


def _value(value: object) -> object:
    if isinstance(value, str):
        return told(value)
    return _Decimal(value) if isinstance(value, float) else value


class _Decimal(float):
    """A number that is written with the language's decimal mark, whatever the format."""

    def __format__(self, form: str) -> str:
        return number(float(self), form)


def joined(words: Sequence[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`; `last`: `and` or `or`."""
    return told(messages.joined(words, last))


# --- numbers and dates -----------------------------------------------------------------------


def number(value: float, form: str = "g") -> str:
    """A number by a format specification, with the language's decimal mark."""
    return format(value, form).replace(".", pgettext("decimal mark", "."))


MONTHS = (N_("Jan"), N_("Feb"), N_("Mar"), N_("Apr"), N_("May"), N_("Jun"),
          N_("Jul"), N_("Aug"), N_("Sep"), N_("Oct"), N_("Nov"), N_("Dec"))  # fmt: skip


def short_date(day: int) -> str:
    """A day of the year (no leap day) as a grower writes it: `10 Apr`."""
    month, of_month = month_and_day(day)
    return _("{day} {month}").format(day=of_month, month=_(MONTHS[month - 1]))


def day_and_year(day: date) -> str:
    """A date as it is written out: `30 Nov 2026`."""
    written = _("{day} {month}").format(day=day.day, month=_(MONTHS[day.month - 1]))
    return f"{written} {day.year}"


def date_range(first: int, last: int) -> str:
    """Two days of the year: `8–22 Apr`, `27 Mar – 4 May`."""
    (month, begin), (end_month, end) = month_and_day(first), month_and_day(last)
    if first == last:
        return short_date(first)
    if month == end_month and last > first:
        text = _("{first}–{last} {month}")
        return text.format(first=begin, last=end, month=_(MONTHS[month - 1]))
    return f"{short_date(first)} – {short_date(last)}"
