"""The page in a real browser: keyboard, script on and off, swaps, two tabs, axe-core."""

from __future__ import annotations

import re
import shutil
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import chromium
import pytest

from pollinet.cli import main
from pollinet.page.server import Served, serve

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

pytestmark = pytest.mark.skipif(bool(chromium.missing()), reason=chromium.missing() or "present")

WAIT_S = 20
"""Longest wait for a swap on a machine that is busy. [s]"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Chrome]:
    with chromium.chromium() as driver:
        yield driver


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("page") / "demo"
    assert main(["demo", "--out", str(folder)]) in (0, 1)
    return folder


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
def plan(demo: Path, tmp_path: Path) -> Path:
    shutil.copytree(demo, tmp_path / "garden")
    return tmp_path / "garden" / "plan.toml"


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
    "/orchard",
    "/notes",
    "/nothing-here",
)


@pytest.mark.parametrize("address", SCREENS)
@pytest.mark.parametrize("width", [320, 1200])
@pytest.mark.parametrize("dark", [False, True])
def test_every_screen_is_accessible(
    browser: Chrome, looked_at: str, address: str, width: int, dark: bool
) -> None:
    chromium.shown(browser, looked_at + address, width, dark=dark)
    assert chromium.violations(browser) == []
    assert chromium.overflow(browser) == 0
    assert chromium.smallest_text(browser) >= 12


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
    field = browser.find_element("id", "variety")
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
        driver.find_element("id", "variety").send_keys("Kordia\n")
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


def test_nothing_is_asked_elsewhere(browser: Chrome, looked_at: str) -> None:
    for address in SCREENS:
        chromium.shown(browser, looked_at + address, 360)
        asked = browser.execute_script(
            "return performance.getEntriesByType('resource').map(e => e.name)"
        )
        assert asked and all(one.startswith(looked_at) for one in asked)


def _click(browser: Chrome, selector: str) -> None:
    browser.find_element("css selector", selector).click()


def _until(browser: Chrome, text: str) -> None:
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(browser, WAIT_S, 0.05).until(
        lambda driver: text in driver.find_element("tag name", "body").text, text
    )


def _until_gone(browser: Chrome, selector: str) -> None:
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(browser, WAIT_S, 0.05).until(
        lambda driver: not driver.find_elements("css selector", selector), selector
    )


def _errors(browser: Chrome) -> list[str]:
    """What the console has said; an answer of 4xx that was asked for is no error of the page."""
    told = [entry["message"] for entry in browser.get_log("browser")]
    return [text for text in told if not re.search(r"status of 4\d\d", text)]
