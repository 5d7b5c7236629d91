"""Commands that sentences name, and the screens that do the same, in words."""

from __future__ import annotations

import re

from pollinet.language import N_, _
from pollinet.wording.commands import COMMAND

IN_WORDS = {"record": ("orchard.show", N_("note it")),
            "fit": ("notes.show", N_("what your notes changed")),
            "pollinizer": ("grafting.pollinizer", N_("what to add")),
            "check": ("garden.show", N_("what the garden lacks")),
            "cover": ("cover.show", N_("what to graft")),
            "scions": ("grafting.wood", N_("which wood")),
            "triploids": ("grafting.triploids", N_("limbs without good pollen")),
            "without": ("grafting.without", N_("what a loss does")),
            "season": ("papers.season", N_("the picking season")),
            "chill": ("papers.chill", N_("winter chill")),
            "balance": ("papers.balance", N_("the balance of the limbs")),
            "variety": ("variety.find", N_("look the variety up and add what you know")),
            "weather": ("papers.weather", N_("the weather")),
            "work": ("papers.work", N_("the work of the year")),
            "report": ("papers.show", N_("papers")),
            "labels": ("papers.labels", N_("labels"))}  # fmt: skip
"""Screens that do the same as a command that a sentence names."""


BUTTON = re.compile(r"--from catalogue\b")
"""An option that a sentence names by itself, for which the screens have a button."""


def with_buttons(text: str) -> str:
    """A sentence, or a part of one outside its commands, that names buttons and no options."""
    button = N_("Among all of the catalogue")
    return BUTTON.sub(lambda found: _("“{button}”").format(button=_(button)), text)


def without_commands(text: str) -> str:
    """A sentence for a file that no command can be given from: it names screens instead."""

    def named(found: re.Match[str]) -> str:
        screen = IN_WORDS.get(found[1] or found[2])
        if screen is None:
            return found[0]
        return _("“{screen}” on the garden's page").format(screen=_(screen[1]))

    return COMMAND.sub(named, text)
