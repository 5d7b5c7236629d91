"""How to graft, on the page and in the file for the telephone."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from browsing import browser_on, on_demo
from gardens import scions, tree, variety, written

from pollinet.page.commands import IN_WORDS, without_commands
from pollinet.page.take_along import take_along_html
from pollinet.study import open_study

BLOOM = [110, 120]


@pytest.mark.parametrize("address", ["/wood", "/pollinizer?tree=cherry"])
def test_the_screens_say_when_and_how_much(tmp_path: Path, address: str) -> None:
    with on_demo(tmp_path) as browser:
        shown = browser.text(address)
    assert "When (sweet cherry" in shown and "graft under the bark" in shown
    assert "3 of Lambert" in shown and "cherries take on each other" in shown


def test_wood_that_does_not_help_leads_on(tmp_path: Path) -> None:
    plan = written(tmp_path, tree("A B"), *(variety(x, "S1S2", BLOOM) for x in "AB"))
    page = browser_on(plan).get("/wood").text
    assert 'href="/pollinizer' in page and "`pollinet" not in page


@pytest.mark.parametrize(
    ("language", "button"), [("en", "Among all of the catalogue"), ("de", "Im ganzen Katalog")]
)
def test_a_sentence_names_the_button_and_no_option(
    tmp_path: Path, language: str, button: str
) -> None:
    """The button that it names stands on the same screen."""
    plan = written(tmp_path, tree("A B"), *(variety(x, "S1S2", BLOOM) for x in "AB"))
    shown = browser_on(plan, language).text("/pollinizer")
    assert shown.count(button) == 2
    assert "--from" not in shown


def test_the_file_for_the_telephone_names_no_command(tmp_path: Path) -> None:
    """Where it was made tells what else takes the notes in; its last words name the screen."""
    plan = written(tmp_path, tree("A B"), *(variety(x, "S1S2", BLOOM) for x in "AB"))
    study = open_study(plan).study
    assert study is not None
    text = take_along_html(study, date(2001, 4, 1))
    assert "What could be added: see “what to add” on the garden" in text
    assert "paste it on the page under “In the orchard”. Each note" in text
    assert "pollinet record" not in text and "pollinet pollinizer" not in text


def test_every_command_with_a_screen_has_words(tmp_path: Path) -> None:
    for command, (_endpoint, words) in IN_WORDS.items():
        assert without_commands(f"See `pollinet {command} PLAN`.") == (
            f"See “{words}” on the garden's page."
        )
    assert without_commands("See `pollinet nowhere`.") == "See `pollinet nowhere`."


def test_wood_at_hand_is_told_on_the_page_in_german(tmp_path: Path) -> None:
    plan = written(
        tmp_path, tree("A"), scions("D"), variety("A", "S1S2", BLOOM), variety("D", "S3S4", BLOOM)
    )
    shown = browser_on(plan, "de").text("/wood")
    assert "So wird veredelt" in shown and "2 von D" in shown and "Wann (Apfel" in shown
