"""Notes under the tree in a real browser: the file for the telephone, offline, and home again."""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import awkward_gardens
import chromium
import pytest

from pollinet.cli import main

if TYPE_CHECKING:
    from selenium.webdriver import Chrome
    from selenium.webdriver.remote.webelement import WebElement

pytestmark = pytest.mark.skipif(bool(chromium.missing()), reason=chromium.missing() or "present")

Run = Callable[..., Any]
WAIT_S = 20
"""Longest wait on a machine that is busy. [s]"""

YESTERDAY = (date.today() - timedelta(days=1)).isoformat()


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with chromium.chromium() as driver:
        yield driver


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the plan of the demo and its file for the telephone."""
    folder = tmp_path_factory.mktemp("garden") / "demo"
    assert main(["demo", "--out", str(folder)]) in (0, 1)
    for name, language in (("garden.html", "en"), ("garten.html", "de")):
        words = ["page", str(folder / "plan.toml"), "--take-along", str(folder / name)]
        assert main([*words, "--language", language]) == 0
    return folder


@pytest.fixture
def telephone(browser: Chrome, garden: Path) -> Chrome:
    """The file open on a telephone of 320 pixels, with nothing noted."""
    chromium.shown(browser, (garden / "garden.html").as_uri(), 320)
    browser.execute_script("localStorage.clear()")
    browser.refresh()
    browser.get_log("browser")
    return browser


def at(browser: Chrome, selector: str) -> WebElement:
    return browser.find_element("css selector", selector)


def press(browser: Chrome, selector: str) -> None:
    element = at(browser, selector)
    browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
    element.click()


def limb(browser: Chrome, name: str) -> None:
    press(browser, f'.tile:has([value="{name}"])')


def fill(browser: Chrome, name: str, value: str) -> None:
    field = at(browser, f'#noting [name="{name}"]')
    field.clear()
    field.send_keys(value)


def on_day(browser: Chrome, day: str) -> None:
    browser.execute_script("document.getElementById('day').value = arguments[0]", day)


def text(browser: Chrome) -> str:
    return str(at(browser, "#text").get_property("value"))


def until(browser: Chrome, done: Callable[[], bool]) -> None:
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(browser, WAIT_S, 0.05).until(lambda _driver: done())


def errors(browser: Chrome) -> list[str]:
    return [entry["message"] for entry in browser.get_log("browser")]


def kept(browser: Chrome) -> list[str]:
    """The notes of the text without their ids."""
    return [line.partition(" | ")[2] for line in text(browser).splitlines()[1:]]


def note_three(browser: Chrome) -> None:
    on_day(browser, YESTERDAY)
    limb(browser, "C-mid")
    press(browser, '[value="full"][name="seen"]')
    limb(browser, "C-low")
    fill(browser, "clusters", "42")
    fill(browser, "frost", "-1,5")
    fill(browser, "note", "a | cold   night")
    press(browser, "#noting .main")


def test_three_notes_come_home_each_once(
    telephone: Chrome, garden: Path, tmp_path: Path, pollinet: Run
) -> None:
    note_three(telephone)
    assert "C-low" in at(telephone, "#said").text
    assert kept(telephone) == [
        f"{YESTERDAY} | C-mid | stage | full",
        f"{YESTERDAY} | all | frost | -1,5 | a | cold night",
        f"{YESTERDAY} | C-low | clusters | 42 | a | cold night",
    ]
    # Closed and opened again they are still there.
    telephone.refresh()
    assert at(telephone, "#count").text == "3 notes are kept here."
    shutil.copy(garden / "plan.toml", tmp_path)
    shutil.copy(garden / "weather.csv", tmp_path)
    notes = tmp_path / "notes.txt"
    notes.write_text(text(telephone), encoding="utf-8")
    for new, known in ((3, 0), (0, 3)):
        home = pollinet("record", tmp_path / "plan.toml", "--from", notes, "--json")
        assert (len(home.data["written"]), home.data["known"], home.code) == (new, known, 0)
    with (tmp_path / "records.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.reader(file) if not row[0].startswith("#")]
    assert [row[1:4] for row in rows[1:]] == [
        ["C-mid", "stage", "full"],
        ["all", "frost", "-1,5"],
        ["C-low", "clusters", "42"],
    ]
    assert errors(telephone) == []


def test_two_touches_note_full_bloom_today(telephone: Chrome) -> None:
    limb(telephone, "A-top")
    press(telephone, '[value="full"][name="seen"]')
    assert kept(telephone) == [f"{date.today().isoformat()} | A-top | stage | full"]
    # The limb stays chosen, and what is to be pressed stays in reach of the thumb.
    assert at(telephone, '[value="A-top"]').is_selected()


def test_the_last_note_is_taken_back_and_any_other(telephone: Chrome) -> None:
    note_three(telephone)
    press(telephone, "#said button")
    assert kept(telephone) == [f"{YESTERDAY} | C-mid | stage | full"]
    press(telephone, "#kept button")
    assert kept(telephone) == []
    assert at(telephone, "#count").text == "No notes are kept here."


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({}, "Press or fill in"),
        ({"clusters": "3"}, "Choose the limb"),
        ({"clusters": "many"}, "Flower clusters"),
        ({"set": "20/14"}, "Clusters with fruit"),
        ({"frost": "-1", "day": (date.today() + timedelta(days=2)).isoformat()}, "cannot lie"),
    ],
)
def test_what_cannot_be_is_told_under_the_tree(
    telephone: Chrome, fields: dict[str, str], told: str
) -> None:
    if "set" in fields:
        press(telephone, "#more-kinds summary")
    for name, value in fields.items():
        if name == "day":
            on_day(telephone, value)
        else:
            fill(telephone, name, value)
    press(telephone, "#noting .main")
    assert told in at(telephone, "#said").text
    assert kept(telephone) == []


def test_notes_are_deleted_only_when_that_is_said_twice(telephone: Chrome) -> None:
    note_three(telephone)
    press(telephone, "#delete")
    assert "3 of them have not been given back yet" in at(telephone, "#sure").text
    press(telephone, "#delete-no")
    assert len(kept(telephone)) == 3
    press(telephone, "#copy")
    press(telephone, "#delete")
    press(telephone, "#delete-yes")
    assert kept(telephone) == []
    telephone.refresh()
    assert kept(telephone) == []


def test_copied_text_is_the_text(telephone: Chrome) -> None:
    note_three(telephone)
    telephone.execute_script(
        "window.taken = null;"
        "Object.defineProperty(navigator, 'clipboard', {configurable: true, value:"
        " {writeText: (text) => (window.taken = text, Promise.resolve())}})"
    )
    press(telephone, "#copy")
    assert telephone.execute_script("return window.taken") == text(telephone)
    assert "Copied" in at(telephone, "#given").text


def test_the_file_that_is_saved_is_the_text(telephone: Chrome, tmp_path: Path) -> None:
    note_three(telephone)
    behaviour = {"behavior": "allow", "downloadPath": str(tmp_path)}
    telephone.execute_cdp_cmd("Browser.setDownloadBehavior", behaviour)
    press(telephone, "#save")
    saved = tmp_path / "notes.txt"
    until(telephone, saved.exists)
    assert saved.read_text(encoding="utf-8") == text(telephone)


def test_where_nothing_can_be_stored_the_address_keeps_it_and_that_is_said(
    browser: Chrome, garden: Path
) -> None:
    script = {
        "source": "Object.defineProperty(window, 'localStorage', "
        "{get() { throw new DOMException('refused', 'SecurityError'); }})"
    }
    made = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", script)
    try:
        chromium.shown(browser, (garden / "garden.html").as_uri(), 320)
        assert at(browser, "#not-kept").is_displayed()
        note_three(browser)
        press(browser, 'nav [href="#bloom"]')
        assert len(kept(browser)) == 3
        # What was not given back would be lost: the browser asks before it leaves.
        browser.execute_script("window.before = new Event('beforeunload', {cancelable: true});"
                               "window.dispatchEvent(window.before)")  # fmt: skip
        assert browser.execute_script("return window.before.defaultPrevented")
        press(browser, "#copy")
        until(browser, lambda: at(browser, "#given").text != "")
        browser.refresh()
        assert len(kept(browser)) == 3
    finally:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", made)


def test_strange_ids_and_words_come_home_as_they_are(
    browser: Chrome, tmp_path: Path, pollinet: Run
) -> None:
    tree = awkward_gardens.tree([("a|b 50% %7C", "One"), ("<i>'\"", "Two")])
    kinds = [awkward_gardens.variety(name, "S1S2", (110, 120)) for name in ("One", "Two")]
    plan = tmp_path / "plan.toml"
    head = '[site]\nname = "</script> & {number} %"\nlatitude = 46\n'
    plan.write_text(head + tree + "".join(kinds), encoding="utf-8")
    assert pollinet("page", plan, "--take-along", tmp_path / "g.html").code == 0
    chromium.shown(browser, (tmp_path / "g.html").as_uri(), 320)
    for place in (0, 1):
        browser.find_elements("css selector", ".tile")[place].click()
        press(browser, '[value="full"][name="seen"]')
    notes = tmp_path / "notes.txt"
    notes.write_text(text(browser), encoding="utf-8")
    home = pollinet("record", plan, "--from", notes, "--json")
    assert [note["limb"] for note in home.data["written"]] == ["a|b 50% %7C", "<i>'\""]
    assert errors(browser) == []


def test_one_of_forty_limbs_is_found_by_its_name_or_its_label(
    browser: Chrome, tmp_path: Path, pollinet: Run
) -> None:
    from selenium.webdriver.common.keys import Keys

    plan = awkward_gardens.written("forty limbs", tmp_path)
    assert pollinet("page", plan, "--take-along", tmp_path / "g.html").code == 0
    chromium.shown(browser, (tmp_path / "g.html").as_uri(), 320)
    for typed in ("a17", "variety 17", "Variety 17 A17-top · apple grafted 2019"):
        at(browser, "#find").clear()
        at(browser, "#find").send_keys(typed)
        shown = [one.text for one in browser.find_elements("css selector", ".tile") if one.text]
        assert [one.split("\n")[0] for one in shown] == ["A17-top"]
    at(browser, "#find").send_keys(Keys.ENTER)
    press(browser, '[value="end"][name="seen"]')
    assert kept(browser) == [f"{date.today().isoformat()} | A17-top | stage | end"]


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize(("name", "width"), [("garden.html", 1200), ("garten.html", 320)])
def test_it_can_be_read_in_the_sun(
    browser: Chrome, garden: Path, name: str, width: int, dark: bool
) -> None:
    chromium.shown(browser, (garden / name).as_uri(), width, dark=dark)
    browser.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert chromium.overflow(browser) <= 0
    assert chromium.smallest_text(browser) >= 16
    assert chromium.violations(browser, "color-contrast-enhanced") == []
    broken = browser.execute_script(
        "return [...document.querySelectorAll('.stages button')].filter(e => e.scrollWidth > "
        "e.clientWidth).map(e => e.textContent)"
    )
    assert broken == []
    low = browser.execute_script(
        "return [...document.querySelectorAll('#noting button:not(.unseen), #noting .tile, "
        "#noting select, nav a')].filter(e => e.getBoundingClientRect().height < "
        "(e.matches('.tile, .stages button') ? 56 : 44)).map(e => e.outerHTML)"
    )
    assert low == []


def test_the_preview_of_a_mail_without_script_says_what_to_do(
    browser: Chrome, garden: Path
) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        chromium.shown(browser, (garden / "garden.html").as_uri(), 320)
        assert at(browser, "#no-script").is_displayed()
        assert re.search(r"needs a donor", at(browser, "#garden").text)
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
