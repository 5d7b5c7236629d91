"""Redraw the pictures of the page that the README shows: `python tests/redraw_screens.py`.

Needs Debian's chromium and chromium-driver, or whatever else puts both on the path.
"""

from __future__ import annotations

import io
import sys
import threading
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent / "browser"))

import chromium

from pollinet.demo import demo_files, write_demo
from pollinet.page.server import serve

FIGURES = Path(__file__).resolve().parent.parent / "figures" / "page"

SCREENS = {
    "garden": ("/", 390, 780),
    "limb": ("/limb/C-mid", 390, 780),
    "try-out": ("/try?try=change:C-mid:Kordia", 390, 780),
    "orchard": ("/orchard?limb=C-mid", 390, 780),
    "spring": ("/spring?limb=C-mid", 1100, 700),
}
"""Address, width and height of each picture. [CSS pixels]"""


def redraw(out: Path) -> None:
    """Write a picture of each screen of the demo into a folder."""
    with TemporaryDirectory() as folder, chromium.chromium() as driver:
        served = serve(write_demo(Path(folder), demo_files()), language="en")
        threading.Thread(target=served.run, daemon=True).start()
        try:
            for name, (address, width, height) in SCREENS.items():
                chromium.shown(driver, served.address.rstrip("/") + address, width, height=height)
                (out / f"{name}.png").write_bytes(_small(driver.get_screenshot_as_png()))
        finally:
            served.stop()


def _small(png: bytes) -> bytes:
    """The same in 64 colours: a quarter of the bytes."""
    from PIL import Image

    out = io.BytesIO()
    picture: Any = Image.open(io.BytesIO(png)).convert("RGB")
    picture.quantize(64, dither=Image.Dither.NONE).save(out, "png", optimize=True)
    return out.getvalue()


if __name__ == "__main__":
    if chromium.missing():
        sys.exit(chromium.missing())
    FIGURES.mkdir(exist_ok=True)
    redraw(FIGURES)
