"""The page in a real browser: keyboard, script on and off, swaps, two tabs, axe-core."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import chromium
import pytest

from pollinet.page.server import Served, serve

if TYPE_CHECKING:
    from selenium.webdriver import Chrome
    from selenium.webdriver.support.ui import WebDriverWait

pytestmark = pytest.mark.skipif(bool(chromium.missing()), reason=chromium.missing() or "present")

WAIT_S = 20
"""Longest wait for a swap on a machine that is busy. [s]"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with chromium.chromium() as driver:
        yield driver


def _running(plan: Path) -> Iterator[Served]:
    served = serve(plan, language="en")
    thread = threading.Thread(target=served.run, daemon=True)
    thread.start()
    try:
        yield served
    finally:
        served.stop()
        thread.join(WAIT_S)


@pytest.fixture(scope="module")
def looked_at(demo: Path) -> Iterator[str]:
    """Address of a page that is looked at and not written to, without its last slash."""
    for served in _running(demo / "plan.toml"):
        yield served.address.rstrip("/")


@pytest.fixture
def written_to(plan: Path) -> Iterator[str]:
    """Address of a page on a garden of its own."""
    for served in _running(plan):
        yield served.address.rstrip("/")


SCREENS = (
    "/",
    "/limb/C-mid",
    "/try?try=change:C-mid:Kordia",
    "/try?try=change:C-mid:Moon",
    "/write?try=change:C-mid:Kordia",
    "/compare?a=graft:cherry:new:Sam&b=graft:cherry:new:Kordia",
    "/spring?limb=C-mid",
    "/lost-label/C-mid",
    "/lost-label/C-mid?picked=07-02",
    "/orchard",
    "/notes",
    "/variety/Kordia",
    "/variety",
    "/know/Kordia?fruit=sweet+cherry",
    "/cover",
    "/cover?donors=2",
    "/pollinizer",
    "/wood",
    "/triploids",
    "/without",
    "/diagnose/C-mid",
    "/papers",
    "/papers/labels",
    "/papers/work",
    "/papers/chill",
    "/papers/balance",
    "/papers/weather",
    "/papers/suits?variety=Kordia",
    "/stock",
    "/stock/add/limb?tree=cherry",
    "/place",
    "/text",
    "/begin",
    "/nothing-here",
)


@pytest.mark.parametrize("address", SCREENS)
def test_every_screen_is_accessible(browser: Chrome, looked_at: str, address: str) -> None:
    """At 320 and 1200 px, in light and dark; with all that is folded open."""
    for width in (320, 1200):
        for dark in (False, True):
            chromium.shown(browser, looked_at + address, width, dark=dark)
            browser.execute_script("document.querySelectorAll('details').forEach(d => d.open = 1)")
            assert chromium.violations(browser) == [], (width, dark)
        assert chromium.overflow(browser) == 0, width
        assert chromium.smallest_text(browser) >= 12, width
    assert _errors(browser) == []


def test_every_screen_can_be_read_at_twice_its_size(browser: Chrome, looked_at: str) -> None:
    for address in SCREENS:
        # 200 % zoom of a window of 640 pixels has the layout of one of 320, with twice the letters.
        chromium.shown(browser, looked_at + address, 640)
        browser.execute_script("document.documentElement.style.zoom = 2")
        assert chromium.overflow(browser) == 0


def test_a_swap_changes_the_answer_and_keeps_the_page(browser: Chrome, looked_at: str) -> None:
    chromium.shown(browser, looked_at + "/", 360)
    browser.execute_script("window.same = true")
    _click(browser, "a.try")
    _until(browser, "9 of 9 limbs have")
    assert browser.execute_script("return window.same") is True
    assert "/try?try=graft" in browser.current_url
    browser.back()
    _until(browser, "7 of 8 limbs have")
    assert _errors(browser) == []


def test_a_try_takes_two_touches_from_the_garden(browser: Chrome, looked_at: str) -> None:
    chromium.shown(browser, looked_at + "/limb/C-mid", 360)
    _click(browser, "#other > summary")
    field = browser.find_element("css selector", "#other input[name=variety]")
    field.send_keys("Kordia\n")
    _until(browser, "8 of 8 limbs have")
    _click(browser, ".trying a.undo")
    _until_gone(browser, ".trying")


def test_the_keyboard_is_enough(browser: Chrome, looked_at: str) -> None:
    from selenium.webdriver.common.keys import Keys

    chromium.shown(browser, looked_at + "/", 1200)
    seen = set()
    for _ in range(60):
        browser.switch_to.active_element.send_keys(Keys.TAB)
        focused = browser.execute_script(
            "const e = document.activeElement, s = getComputedStyle(e);"
            "return [e.tagName, e.textContent.trim().slice(0, 30), s.outlineStyle, s.outlineWidth]"
        )
        if focused[0] == "BODY":
            break
        seen.add(focused[1])
        assert focused[2] != "none" and focused[3] != "0px", focused
    links = browser.execute_script(
        "return [...document.querySelectorAll('a, button, summary')].filter(e => e.checkVisibility"
        "()).map(e => e.textContent.trim().slice(0, 30))"
    )
    assert set(links) <= seen


def test_without_script_all_is_there(looked_at: str, plan: Path) -> None:
    with chromium.chromium() as driver:
        driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        driver.get(looked_at + "/limb/C-mid")
        driver.find_element("css selector", "#other > summary").click()
        driver.find_element("css selector", "#other input[name=variety]").send_keys("Kordia\n")
        end = time.monotonic() + WAIT_S
        while "8 of 8 limbs have" not in driver.page_source and time.monotonic() < end:
            time.sleep(0.1)
        assert "8 of 8 limbs have" in driver.page_source
        assert "/try?try=change" in driver.current_url


def test_a_try_is_written_and_taken_back(browser: Chrome, written_to: str, plan: Path) -> None:
    before = plan.read_bytes()
    chromium.shown(browser, written_to + "/write?try=change:C-mid:Kordia", 360)
    _click(browser, "button.main")
    _until(browser, "Written into the plan")
    assert plan.read_bytes() == before.replace(b'"Regina"', b'"Kordia"')
    _click(browser, ".said button")
    _until(browser, "7 of 8 limbs have")
    assert plan.read_bytes() == before
    assert _errors(browser) == []


def test_two_touches_note_full_bloom(browser: Chrome, written_to: str, plan: Path) -> None:
    chromium.shown(browser, written_to + "/orchard", 360)
    _click(browser, '.tile:has([value="C-low"])')
    _click(browser, '[name="seen"][value="full"]')
    _until(browser, "Kept.")
    log = plan.with_name("records.csv")
    assert ",C-low,stage,full," in log.read_text(encoding="utf-8")
    assert browser.find_element("css selector", '.tile [value="C-low"]').is_selected()
    assert chromium.violations(browser, "color-contrast-enhanced") == []
    _click(browser, ".said button")
    _until(browser, "Taken back.")
    assert ",C-low,stage,-," in log.read_text(encoding="utf-8")
    assert _errors(browser) == []


def test_two_tabs_and_a_hand(browser: Chrome, written_to: str, plan: Path) -> None:
    chromium.shown(browser, written_to + "/write?try=change:C-mid:Kordia", 360)
    first = browser.current_window_handle
    browser.switch_to.new_window("tab")
    browser.get(written_to + "/write?try=change:C-mid:Sam")
    _click(browser, "button.main")
    _until(browser, "Written into the plan")
    browser.close()
    browser.switch_to.window(first)
    _click(browser, "button.main")
    _until(browser, "was changed meanwhile")
    assert b'"Sam"' in plan.read_bytes() and b'"Kordia"\ngrafted' not in plan.read_bytes()
    plan.write_text(plan.read_text(encoding="utf-8") + "\nbroken = [", encoding="utf-8")
    browser.get(written_to + "/")
    assert "must be put right" in browser.page_source


def test_a_stopped_server_is_told(browser: Chrome, plan: Path) -> None:
    for served in _running(plan):
        chromium.shown(browser, served.address, 360)
    _click(browser, ".limb a")
    _until(browser, "does not answer")


def test_from_an_empty_folder_to_a_printed_report(browser: Chrome, tmp_path: Path) -> None:
    """A newcomer with two varieties on one cherry: place, tree, limbs, wood, answer, paper."""
    plan = tmp_path / "garden" / "plan.toml"
    for served in _running(plan):
        chromium.shown(browser, served.address, 360)
        _fill(browser, latitude="47,2", longitude="8° 30' E", elevation_m="450")
        _press(browser, "Next")
        _press(browser, "Add a tree")
        _press(browser, "sweet cherry")
        _fill(browser, variety="Regina", spare="2")
        _press(browser, "Add", "button.main")
        _press(browser, "Add a limb")
        _fill(browser, variety="Burlat")
        _press(browser, "Add", "button.main")
        _press(browser, "Next")
        _until(browser, "Add a tree next door")
        _press(browser, "Next")
        _press(browser, "Add wood")
        _press(browser, "sweet cherry")
        _fill(browser, variety="Kordia")
        _press(browser, "Add", "button.main")
        _press(browser, "Next")
        assert not plan.exists()
        _press(browser, "Write my plan")
        _until(browser, "2 limbs")
        assert 'variety = "Burlat"' in plan.read_text(encoding="utf-8")
        browser.get(served.address + "papers/report")
        _press(browser, "Work it out")
        _until(browser, "The report is ready.")
        browser.get(served.address + "download/report.html")
        _until(browser, "Regina")
        assert chromium.printed(browser).startswith(b"%PDF")
        assert _errors(browser) == []


def test_a_wrong_weather_file_is_told_and_not_kept(
    browser: Chrome, written_to: str, plan: Path, tmp_path: Path
) -> None:
    before = sorted(one.name for one in plan.parent.iterdir())
    wrong = tmp_path / "shopping.csv"
    wrong.write_text("apples,2\npears,3\n", encoding="utf-8")
    chromium.shown(browser, written_to + "/place", 360)
    browser.find_element("id", "record").send_keys(str(wrong))
    _press(browser, "Use this record")
    _until_there(browser, "#problems")
    assert sorted(one.name for one in plan.parent.iterdir()) == before


def test_notes_are_made_under_the_tree(browser: Chrome, written_to: str, plan: Path) -> None:
    """Full bloom of a limb in three touches: the screen, the limb, the stage."""
    chromium.shown(browser, written_to + "/", 360)
    _press(browser, "In the orchard")
    _press(browser, "Regina", ".tile")
    _press(browser, "Full bloom", ".stages button")
    _until(browser, "Kept")
    assert "C-mid" in (plan.parent / "records.csv").read_text(encoding="utf-8")


def test_forty_limbs_are_answered_and_fit(browser: Chrome, tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    names = ("Regina", "Kordia", "Van", "Sam", "Lambert", "Burlat", "Lapins", "Stella")
    limbs = "".join(
        f'[[tree.limb]]\nid = "limb {i}"\nvariety = "{names[i % len(names)]}"\n' for i in range(40)
    )
    plan.write_text(
        '[site]\nname = "the long row"\nlatitude = 47.2\nlongitude = 8.5\nelevation_m = 450\n'
        f'[[tree]]\nid = "row"\nspecies = "sweet cherry"\n{limbs}',
        encoding="utf-8",
    )
    for served in _running(plan):
        for address in ("", "spring?limb=limb+3", "try?try=change:limb%201:Sam", "orchard"):
            for width in (320, 1200):
                chromium.shown(browser, served.address + address, width)
                assert chromium.overflow(browser) == 0, address
                assert chromium.smallest_text(browser) >= 12, address
            assert chromium.violations(browser) == [], address


def test_nothing_is_asked_elsewhere(browser: Chrome, looked_at: str) -> None:
    for address in SCREENS:
        chromium.shown(browser, looked_at + address, 360)
        # The entries may come a moment after the page is there.
        asked = _wait(browser).until(
            lambda driver: driver.execute_script(
                "return performance.getEntriesByType('resource').map(e => e.name)"
            ),
            address,
        )
        assert all(one.startswith(looked_at) for one in asked)


def _fill(browser: Chrome, **values: str) -> None:
    for name, value in values.items():
        _until_there(browser, f"main input[name={name}]:not([type=hidden])")
        field = browser.find_element("css selector", f"main input[name={name}]:not([type=hidden])")
        field.clear()
        field.send_keys(value)


def _press(browser: Chrome, words: str, selector: str = "a, button, summary") -> None:
    """Press the first that says these words, as soon as it is there."""
    from selenium.common.exceptions import WebDriverException
    from selenium.webdriver.support.ui import WebDriverWait

    def pressed(driver: Chrome) -> bool:
        for one in driver.find_elements("css selector", selector):
            # A swap may take it away meanwhile: then it is looked for again.
            if one.is_displayed() and words in (one.text.strip(), one.text.split("\n")[-1]):
                one.click()
                return True
        return False

    wait = WebDriverWait(browser, WAIT_S, 0.05, ignored_exceptions=[WebDriverException])
    wait.until(pressed, words)


def _wait(browser: Chrome) -> WebDriverWait[Chrome]:
    from selenium.webdriver.support.ui import WebDriverWait

    return WebDriverWait(browser, WAIT_S, 0.05)


def _until_there(browser: Chrome, selector: str) -> None:
    _wait(browser).until(lambda driver: driver.find_elements("css selector", selector), selector)


def _click(browser: Chrome, selector: str) -> None:
    browser.find_element("css selector", selector).click()


def _until(browser: Chrome, text: str) -> None:
    _wait(browser).until(lambda driver: text in driver.find_element("tag name", "body").text, text)


def _until_gone(browser: Chrome, selector: str) -> None:
    _wait(browser).until(
        lambda driver: not driver.find_elements("css selector", selector), selector
    )


def _errors(browser: Chrome) -> list[str]:
    """What the console has said of this page; an answer of 4xx that was asked for is no error."""
    here = browser.execute_script("return location.origin")
    told = [entry["message"] for entry in browser.get_log("browser")]
    return [text for text in told if text.startswith(here) and "status of 4" not in text]
