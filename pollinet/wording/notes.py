"""Notes in words: what can be seen under the tree, what was, and what it changed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Final

from pollinet.days import day_of_year
from pollinet.language import N_, _, joined, ngettext, short_date
from pollinet.readers.observations import WHOLE_GARDEN, WITHDRAWN, kinds
from pollinet.summary.noted import NoteEffect
from pollinet.wording.check import VERDICTS
from pollinet.wording.sentences import days

KINDS: Final[Mapping[str, str]] = {
    "stage": N_("Bloom"),
    "leafing": N_("First leaves"),
    "clusters": N_("Flower clusters"),
    "cluster-score": N_("Flower clusters by eye, 0 none to 5 covered"),
    "clusters-per-100-spurs": N_("Flower clusters on 100 spurs"),
    "dead": N_("Flowers with a brown or black middle, of those cut open"),
    "malformed": N_("Malformed flowers, of those looked at"),
    "set": N_("Clusters with fruit after the drop of early summer, of those counted"),
    "first-set": N_("Clusters with fruit four weeks after bloom, of those counted"),
    "fruits": N_("Fruits picked"),
    "seeds": N_("Good seeds in a fruit, mean of those cut"),
    "shoots": N_("Longest new shoots"),
    "diameter": N_("Thickness of the limb, a hand from the trunk"),
    "frost": N_("Frost"),
    "bees": N_("Bees on the limb in ten minutes of a mild day"),
    "flowers-habit": N_("How the flowers came"),
    "disease": N_("Signs of disease"),
    "pruned": N_("Pruned last winter"),
    "nitrogen": N_("Nitrogen given, manure and compost too"),
    "sun": N_("Sun on a clear summer day"),
    "larvae": N_("Fallen fruitlets with a larva, of those opened"),
    "open": N_("Test, clusters left open: with fruit, of all marked"),
    "hand": N_("Test, clusters pollinated by hand: with fruit, of all"),
    "bagged": N_("Test, clusters in bags: with fruit, of all"),
    "forced": N_("Test, buds of shoots kept warm: opened, of all"),
    "boron": N_("Boron in the leaves"),
}
"""Every kind of observation, as it stands before its value."""

STAGES: Final[Mapping[str, str]] = {
    "start": N_("First flowers"),
    "full": N_("Full bloom"),
    "end": N_("Petals fallen"),
}
"""The stages of bloom, as they stand alone."""

STAGE_BUTTONS: Final[Mapping[str, str]] = {**STAGES, "end": N_("Petals fall")}
"""The same on what is pressed to note them."""

VALUES: Final[Mapping[str, str]] = {
    **STAGES,
    "compact": N_("all at once"),
    "straggling": N_("over weeks, leaves late"),
    "ooze": N_("ooze"),
    "crook": N_("shoot tips bent like a crook"),
    "blackened": N_("blackened clusters"),
    "mosaic": N_("rings, lines or mosaic on leaves"),
    "some": N_("some"),
    "much": N_("much"),
    "canker": N_("canker"),
    "other": N_("something else"),
    "none": N_("none"),
    "hard": N_("hard"),
    "light": N_("light"),
}
"""Values that are words."""

UNITS: Final[Mapping[str, str]] = {unit: unit for unit in ("cm", "mm", "°C", "mg/kg")} | {
    "hours": N_("hours")
}
"""Units that are told; those of counts are in the words of their kind."""


def seen_words(kind: str, value: str, unit: str = "") -> str:
    """What was seen: `Full bloom`, `Fruits picked: 214`, `Frost: -1.5 °C`."""
    if value == WITHDRAWN:
        return _("{kind}: taken back").format(kind=_(KINDS[kind]))
    if kind == "stage":
        return _(STAGES[value])
    if len(kinds()[kind].allowed) == 1:
        return _(KINDS[kind])
    told = _(VALUES[value]) if value in VALUES else value
    known = unit or kinds()[kind].unit
    shown = _(UNITS[known]) if known in UNITS else unit if unit != kinds()[kind].unit else ""
    text = " ".join(filter(None, (told, shown)))
    return _("{kind}: {value}").format(kind=_(KINDS[kind]), value=text)


def place_words(limb: str) -> str:
    """The limb of a note, or the whole garden."""
    return _("the whole garden") if limb == WHOLE_GARDEN else limb


def day_words(text: str) -> str:
    """The day of a note with its year, or the year alone."""
    if len(text) == len("2026"):
        return text
    day = date.fromisoformat(text)
    return _("{day} {year}").format(day=short_date(day_of_year(day.month, day.day)), year=day.year)


def taken_in_words(written: int, known: int, wrong: int) -> str:
    """How many notes of a text were new, known and wrong."""
    counted = [
        ngettext("{number} new note", "{number} new notes", written),
        ngettext("{number} known", "{number} known", known) if known else "",
        ngettext("{number} wrong", "{number} wrong", wrong) if wrong else "",
    ]
    numbers = (written, known, wrong)
    told = [text.format(number=count) for text, count in zip(counted, numbers, strict=True) if text]
    return _("{notes}.").format(notes=joined(told))


def effect_words(effect: NoteEffect) -> str:
    """What notes changed in the answers, in a sentence or two."""
    return " ".join([*_moved(effect), *_judged(effect)]) or _("The answers stay as they are.")


def _moved(effect: NoteEffect) -> Iterator[str]:
    shown = sorted(effect.moved, key=lambda one: -abs(one.days))[:MOST_MOVED]
    if not shown:
        return
    told = [
        (_("{variety} {day} ({days} later)") if one.days > 0 else
         _("{variety} {day} ({days} earlier)")).format(
            variety=one.variety, day=short_date(one.full), days=days(abs(one.days)))
        for one in shown
    ]  # fmt: skip
    rest = len(effect.moved) - len(shown)
    if rest:
        more = ngettext("{number} more", "{number} more", rest)
        told.append(more.format(number=rest))
    yield _("Full bloom is foretold anew: {varieties}.").format(varieties=joined(told))


def _judged(effect: NoteEffect) -> Sequence[str]:
    return [
        _("{limb} was {before} and is {now}.").format(
            limb=one.limb, before=_(VERDICTS[one.before]), now=_(VERDICTS[one.now])
        )
        for one in effect.judged
    ]


MOST_MOVED = 3
"""Varieties whose new dates are told one by one: own convention."""
