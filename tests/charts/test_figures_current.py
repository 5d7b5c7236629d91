"""The pictures in `figures/demo` are those that the program draws of the demo today."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
from redraw_figures import redraw

from pollinet.cli.chart import KINDS

TOLERANCE = 0.5
"""How far a number may be off: other builds of one library round otherwise. [SVG units]"""


def texts(svg: str) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", svg)


def numbers(svg: str) -> np.ndarray:
    """All numbers of the drawing; names, which are hashes of what they name, left out."""
    body = re.sub(r'(id="|url\(#|href="#)[^")]*', "", svg[svg.index("<defs>") :])
    return np.array(re.findall(r"-?\d+\.?\d*", re.sub(r"<text.*?</text>", "", body)), dtype=float)


def library(svg: str) -> str:
    return re.findall(r"Matplotlib v[\w.]+", svg)[0]


def test_the_readme_shows_every_figure_and_every_kind(checkout: Path) -> None:
    readme = (checkout / "README.md").read_text("utf-8")
    shown = re.findall(r'(?:\]\(|src=")(figures/demo/[^")]+)', readme)
    kept = [f"figures/demo/{file.name}" for file in (checkout / "figures" / "demo").iterdir()]
    assert sorted(shown) == sorted(kept)
    kinds = {Path(file).stem.split("-")[0] for file in shown}
    assert kinds == set(KINDS)


def test_figures_are_up_to_date(checkout: Path, tmp_path: Path, capsys) -> None:
    assert redraw(tmp_path) == 0
    drawn, kept = ({file.name: file.read_text("utf-8") for file in folder.glob("*.svg")}
                   for folder in (tmp_path, checkout / "figures" / "demo"))  # fmt: skip
    cure = "run: python tests/redraw_figures.py"
    assert sorted(drawn) == sorted(kept), cure
    for name, svg in drawn.items():
        assert texts(svg) == texts(kept[name]), f"{name} is out of date; {cure}"
        if library(svg) == library(kept[name]):
            one, other = numbers(svg), numbers(kept[name])
            assert one.shape == other.shape, f"{name} is out of date; {cure}"
            assert np.allclose(one, other, atol=TOLERANCE), f"{name} is out of date; {cure}"
