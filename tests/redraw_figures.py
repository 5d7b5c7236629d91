"""Redraw the charts of the demo that the README shows: `python tests/redraw_figures.py`."""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from pollinet.cli import main
from pollinet.demo import demo_files, write_demo

FIGURES = Path(__file__).resolve().parent.parent / "figures" / "demo"


def redraw(out: Path) -> int:
    """Write every chart of the demo as SVG into a folder; returns the exit code."""
    with TemporaryDirectory() as folder:
        return main(["chart", str(write_demo(Path(folder), demo_files())), "--out", str(out)])


if __name__ == "__main__":
    for old in FIGURES.glob("*.svg"):
        old.unlink()
    sys.exit(redraw(FIGURES))
