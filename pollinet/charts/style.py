"""One look for all charts: greys that stay apart in print, text that stays text in SVG."""

from __future__ import annotations

from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

DARK, MIDDLE, LIGHT, PAPER = "#333333", "#777777", "#c4c4c4", "#ffffff"
"""Greys that differ by at least 25 points of lightness, so a copier keeps them apart."""

A5_WIDTH_IN = 8.27
"""Width at which text of 9 points is legible when an A4 sheet is reduced to A5. [inch]"""

SUFFIXES = (".svg", ".png", ".pdf")

_SETTINGS: dict[str, Any] = {
    "svg.hashsalt": "pollinet",
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
    "font.family": "DejaVu Sans",
    "font.size": 9,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
}


def settings() -> AbstractContextManager[None]:
    """A context in which charts are drawn and saved."""
    import matplotlib

    return matplotlib.rc_context(_SETTINGS)


def new_axes(height_in: float, width_in: float = A5_WIDTH_IN) -> Axes:
    """Axes on a figure of its own, without pyplot."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width_in, height_in), layout="constrained").subplots()


def save(figure: Figure, path: Path, *, title: str, description: str) -> None:
    """Write a figure as its suffix says, the same bytes every time.

    `description` is what a screen reader says in place of the picture.
    """
    suffix = path.suffix.lower()
    metadata: dict[str, Any] = {"Title": title}
    if suffix == ".svg":
        metadata |= {"Date": None, "Description": description}
    elif suffix == ".pdf":
        metadata |= {"CreationDate": None, "Subject": description}
    else:
        metadata |= {"Description": description}
    with settings():
        figure.savefig(path, dpi=150, metadata=metadata)
