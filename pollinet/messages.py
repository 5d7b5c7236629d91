"""Sentences that remember how they were made, so that they can be said in another language.

Readers and stages speak English and know no language. What they say is an English text, fit for a
program or a test; the pattern and the values behind it are kept for those who translate. Patterns
are marked by the functions here: `tests/language/messages.py` collects them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

Value = object
"""What stands at a named place: text, a number, a date, or a `Message` in its turn."""


class Message(str):
    """An English text with the pattern and the values that it was made from.

    pattern : the English pattern with named places; for a number of things, that for one of them.
    many : the pattern for several things; empty where nothing is counted.
    number : how many things are counted.
    values : what stands at the named places.
    """

    __slots__ = ("many", "number", "pattern", "values")
    pattern: str
    many: str
    number: int
    values: Mapping[str, Value]

    def __new__(
        cls,
        text: str,
        pattern: str = "",
        values: Mapping[str, Value] | None = None,
        many: str = "",
        number: int = 1,
    ) -> Message:
        """A text; use `say` and its kin, which make it from its pattern."""
        made = super().__new__(cls, text)
        made.pattern, made.many, made.number = pattern or text, many, number
        made.values = dict(values or {})
        return made


NOTHING = Message("")


def mark(pattern: str) -> str:
    """Mark a pattern for translation that is given to `say` later."""
    return pattern


def say(pattern: str, /, **values: Value) -> Message:
    """A message from a pattern with named places: `say("found {value}", value=3)`."""
    return Message(pattern.format(**values), pattern, values)


def say_number(one: str, many: str, number: int, /, **values: Value) -> Message:
    """A message about a number of things, which may stand at the place `{number}`.

    one, many : the pattern for one thing and that for several, with the same places.
    """
    known = {"number": number, **values}
    return Message((one if number == 1 else many).format(**known), one, known, many, number)


def listing(parts: Sequence[Value], between: str = ", ") -> Message:
    """Parts in a row, each said in its own way; for what is no sentence: names, dates, days."""
    values = {f"part{place}": part for place, part in enumerate(parts)}
    return say(between.join(f"{{{name}}}" for name in values), **values)


def joined(words: Sequence[Value], last: str = "and") -> Message:
    """`a`, `a and b`, `a, b and c`; `last`: `and` or `or`."""
    if len(words) < 2:
        return listing(words)
    first = listing(words[:-1])
    if last == "and":
        return say("{first} and {last}", first=first, last=words[-1])
    return say("{first} or {last}", first=first, last=words[-1])
