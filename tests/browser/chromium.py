"""A headless Chromium for tests of pages: widths, paper, pictures, and axe-core's findings.

`axe.min.js` beside this file is axe-core 4.14.1 as it is published, under the Mozilla Public
License 2.0 (`axe.LICENSE`); it is used by the tests alone and not shipped in the package.
"""

from __future__ import annotations

import base64
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

AXE = Path(__file__).with_name("axe.min.js")

FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--force-device-scale-factor=1", "--hide-scrollbars",
)  # fmt: skip

RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
"""Groups of axe-core's rules that are run."""


def missing() -> str:
    """Why there is no browser to test with; empty: there is one."""
    if find_spec("selenium") is None:
        return "selenium is not installed"
    names = ("chromium", "chromedriver")
    absent = [name for name in names if shutil.which(name) is None]
    return f"not installed: {', '.join(absent)}" if absent else ""


@contextmanager
def chromium() -> Iterator[Chrome]:
    """A browser with a fresh profile, closed at the end."""
    from selenium.webdriver import Chrome, ChromeOptions
    from selenium.webdriver.chrome.service import Service

    with TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        options = ChromeOptions()
        options.binary_location = shutil.which("chromium") or ""
        for flag in (*FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        driver = Chrome(options, Service(shutil.which("chromedriver")))
        try:
            yield driver
        finally:
            driver.quit()


def shown(
    driver: Chrome, address: str, width: int, *, height: int = 800, dark: bool = False
) -> None:
    """Open an address in a window of this width; `dark`: for eyes that wish it. [CSS pixels]"""
    metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})
    driver.get(address)


def overflow(driver: Chrome) -> int:
    """How much wider the page is than its window: what must be scrolled sideways. [CSS pixels]"""
    script = "return document.documentElement.scrollWidth - document.documentElement.clientWidth"
    return int(driver.execute_script(script))


def smallest_text(driver: Chrome) -> float:
    """The smallest text that is seen, HTML and SVG alike. [CSS pixels]"""
    script = """
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    let least = 1e9;
    while (walker.nextNode()) {
      const parent = walker.currentNode.parentElement;
      if (!walker.currentNode.data.trim() || !parent.checkVisibility()) continue;
      if (parent.closest('title, desc, script, style')) continue;
      let scale = 1;
      const svg = parent.closest('svg');
      if (svg && svg.viewBox.baseVal && svg.viewBox.baseVal.width)
        scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
      least = Math.min(least, scale * parseFloat(getComputedStyle(parent).fontSize));
    }
    return least;"""
    return float(driver.execute_script(script))


def clipped(driver: Chrome) -> list[str]:
    """Words that are cut off: by their own box, or dates by the drawing that they stand in."""
    script = """
    const wrong = [];
    for (const box of document.querySelectorAll('main *')) {
      if (box.closest('svg, .unseen, select') || !box.checkVisibility()) continue;
      const hides = getComputedStyle(box).overflowX !== 'visible';
      if (hides && box.scrollWidth > box.clientWidth + 1) wrong.push(box.textContent.trim());
    }
    for (const text of document.querySelectorAll('svg text')) {
      if (!text.checkVisibility() || getComputedStyle(text).display === 'none') continue;
      const inner = text.getBoundingClientRect(), outer = text.closest('svg.bar, svg')
        .getBoundingClientRect();
      if (inner.right > outer.right + 1 || inner.left < outer.left - 1)
        wrong.push(text.textContent);
    }
    return wrong;"""
    return list(driver.execute_script(script))


def overlapping(driver: Chrome) -> list[str]:
    """Pairs of words in the rows of strips that lie over each other."""
    script = """
    const wrong = [];
    const words = box => {
      const walker = document.createTreeWalker(box, NodeFilter.SHOW_TEXT), found = [];
      while (walker.nextNode()) {
        if (walker.currentNode.parentElement.closest('.unseen')) continue;
        const range = document.createRange();
        range.selectNodeContents(walker.currentNode);
        found.push(...range.getClientRects());
      }
      return found;
    };
    for (const rows of document.querySelectorAll('.strip')) {
      const boxes = [...rows.querySelectorAll('.name, .told, .group, text')]
        .filter(box => box.checkVisibility() && box.textContent.trim())
        .map(box => [box.textContent.trim(),
          box.matches('text') ? [box.getBoundingClientRect()] : words(box)]);
      for (let i = 0; i < boxes.length; i++) for (let j = i + 1; j < boxes.length; j++)
        if (boxes[i][1].some(a => boxes[j][1].some(b => a.left < b.right - 1 && b.left < a.right - 1
          && a.top < b.bottom - 2 && b.top < a.bottom - 2)))
          wrong.push(boxes[i][0] + ' / ' + boxes[j][0]);
    }
    return wrong;"""
    return list(driver.execute_script(script))


def violations(driver: Chrome, *more: str) -> list[str]:
    """What axe-core finds wrong: the rule, what it says, and where. more : rules beside `RULES`."""
    driver.execute_script(AXE.read_text(encoding="utf-8"))
    also = {rule: {"enabled": True} for rule in more}
    options = {"runOnly": {"type": "tag", "values": list(RULES)}, "rules": also}
    found: dict[str, Any] = driver.execute_async_script(
        "const done = arguments[1]; axe.run(document, arguments[0]).then(done, e => done("
        "{violations: [{id: 'axe', help: String(e), nodes: []}]}))",
        options,
    )
    return [
        f"{rule['id']}: {rule['help']}: {'; '.join(str(node['target']) for node in rule['nodes'])}"
        for rule in found["violations"]
    ]


def picture(driver: Chrome) -> bytes:
    """The whole page as PNG, however long."""
    settings = {"captureBeyondViewport": True, "format": "png"}
    return base64.b64decode(driver.execute_cdp_cmd("Page.captureScreenshot", settings)["data"])


def printed(driver: Chrome) -> bytes:
    """The page as its print rules have it, on the paper that these name, as PDF."""
    settings = {"preferCSSPageSize": True, "printBackground": True}
    return base64.b64decode(driver.execute_cdp_cmd("Page.printToPDF", settings)["data"])
