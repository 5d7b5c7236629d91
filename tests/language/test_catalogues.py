"""Every message has its German, with the same places in it, and what is shipped is what is read."""

from __future__ import annotations

import ast
import gettext
import io
import re
from itertools import pairwise
from pathlib import Path
from string import Formatter

import messages
import pytest

LANGUAGES = messages.languages()
LOOKED_UP = {"_": (0,), "N_": (0,), "ngettext": (0, 1), "pgettext": (0, 1), "npgettext": (0, 1, 2),
             "mark": (0,), "say": (0,), "say_number": (0, 1)}  # fmt: skip


def strings(entry: str | tuple[str, ...]) -> tuple[str, ...]:
    return entry if isinstance(entry, tuple) else (entry,)


def places(text: str) -> set[str]:
    return {name for _text, name, _form, _conversion in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_message_is_translated(language: str) -> None:
    catalogue = messages.translated(language)
    known = {(entry.context, entry.id) for entry in catalogue if not entry.fuzzy}
    wanted = {(entry.context, entry.id) for entry in messages.template()}
    assert wanted - known == set(), "run tests/language/messages.py and translate these"
    assert known - wanted == set(), "run tests/language/messages.py: these are no longer said"
    for entry in catalogue:
        assert all(strings(entry.string)), entry.id
        assert len(strings(entry.string)) == len(strings(entry.id))


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_named_places_are_the_same(language: str) -> None:
    for entry in messages.translated(language):
        pairs = zip(strings(entry.id), strings(entry.string), strict=True) if entry.id else ()
        for english, translated in pairs:
            assert places(english) == places(translated), entry.id


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_plural_has_the_forms_that_unicode_names(language: str) -> None:
    # Babel's plural rules are those of the Unicode CLDR, Language Plural Rules.
    from babel import Locale

    catalogue = messages.translated(language)
    shipped = gettext.GNUTranslations(io.BytesIO(messages.compiled(catalogue)))
    rule = Locale(language).plural_form
    one, many = "{number} limb", "{number} limbs"
    told = [shipped.npgettext("of so many", one, many, number) for number in range(30)]
    for (number, text), (other, next_text) in pairwise(enumerate(told)):
        assert (rule(number) == rule(other)) == (text == next_text)


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_compiled_is_what_is_written(language: str) -> None:
    with messages.po_file(language).with_suffix(".mo").open("rb") as file:
        shipped = gettext.GNUTranslations(file)
    made = gettext.GNUTranslations(
        io.BytesIO(messages.compiled(messages.translated(language)))
    )  # the head names the version of Babel and may differ
    for entry in messages.translated(language):
        if entry.id:
            one, *more = strings(entry.id)
            for number in (1, 2) if more else (1,):
                asked = (one, *more, number) if more else (one,)
                assert looked_up(shipped, entry.context, asked) == looked_up(
                    made, entry.context, asked
                )


def looked_up(catalogue: gettext.GNUTranslations, context: str | None, asked: tuple) -> str:
    name = ("n" if len(asked) > 1 else "") + ("p" if context else "") + "gettext"
    return getattr(catalogue, name)(*((context,) if context else ()), *asked)


def marked(path: Path) -> set[str]:
    """Every text that is looked up as it stands, by the syntax tree."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            for place in LOOKED_UP.get(node.func.id, ()):
                if place < len(node.args) and isinstance(node.args[place], ast.Constant):
                    found.add(node.args[place].value)
    return found


def test_no_marked_message_escapes_the_template() -> None:
    known: set[str | None] = set()
    for entry in messages.template():
        known |= {entry.context, *strings(entry.id)}
    sources = sorted((messages.ROOT / "pollinet").rglob("*.py"))
    said = set().union(*map(marked, sources))
    assert len(said) > 200
    assert said - known == set(), "a message inside of an f-string is not found by gettext's tools"


def test_the_template_is_up_to_date() -> None:
    from babel.messages.pofile import read_po

    with (messages.LOCALE / "pollinet.pot").open("rb") as file:
        written = {(entry.context, entry.id) for entry in read_po(file)}
    assert written == {(entry.context, entry.id) for entry in messages.template()}


def test_german_calls_the_grower_du() -> None:
    """One form of address throughout: `Sie` within a sentence is the other one."""
    polite = re.compile(r"[^.:!?;„(] (?:Sie|Ihnen|Ihr(?:e[mnrs]?)?)\b")
    catalogue = messages.translated("de")
    said = [text for entry in catalogue if entry.id for text in strings(entry.string)]
    assert polite.search("Notieren Sie die Blüte.") and not polite.search("Gut: Sie wächst.")
    assert [text for text in said if polite.search(text)] == []
