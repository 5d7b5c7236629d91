"""What a chart looks like, measured by the renderer rather than compared with a picture."""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from functools import cache
from itertools import combinations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from pollinet.charts.style import settings

SLACK = 1.5
"""Pixels at 100 to the inch that two texts may share: the extent of a text includes its leading."""


@cache
def texts(figure: Figure) -> list[tuple[str, Text, Bbox]]:
    """Every text that shows, with its extent in pixels."""
    canvas = FigureCanvasAgg(figure)
    with settings(), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        canvas.draw()
        renderer = canvas.get_renderer()
        hidden = _hidden(figure)
        drawn = [
            text
            for text in figure.findobj(Text)
            if text.get_visible() and text.get_text().strip() and id(text) not in hidden
        ]
        return [(text.get_text(), text, Text.get_window_extent(text, renderer)) for text in drawn]


def _hidden(figure: Figure) -> set[int]:
    """Labels of ticks outside of the axes' limits exist as objects and are not drawn."""
    hidden = set()
    for axes in figure.axes:
        for axis, limits in ((axes.xaxis, axes.get_xlim()), (axes.yaxis, axes.get_ylim())):
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if not axes.axison or not min(limits) <= tick.get_loc() <= max(limits):
                    hidden |= {id(tick.label1), id(tick.label2)}
    return hidden


def overlaps(figure: Figure) -> list[tuple[str, str]]:
    """Pairs of texts that lie over one another."""
    boxes = [(words, box) for words, _, box in texts(figure)]
    return [
        (one, other)
        for (one, first), (other, second) in combinations(boxes, 2)
        if _shared(first.x0, first.x1, second.x0, second.x1) > SLACK
        and _shared(first.y0, first.y1, second.y0, second.y1) > SLACK
    ]


def _shared(low: float, high: float, other_low: float, other_high: float) -> float:
    return min(high, other_high) - max(low, other_low)


def cut(figure: Figure) -> list[str]:
    """Texts that reach over the edge of the figure."""
    width, height = figure.bbox.width, figure.bbox.height
    return [
        words
        for words, _, box in texts(figure)
        if box.x0 < -SLACK or box.y0 < -SLACK or box.x1 > width + SLACK or box.y1 > height + SLACK
    ]


def smallest_text(figure: Figure) -> float:
    """Size of the smallest text. [points]"""
    return min(text.get_fontsize() for _, text, _ in texts(figure))


def luminance(colour: object) -> float:
    """Relative luminance (Web Content Accessibility Guidelines 2.2, definition)."""
    channels = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return sum(part * c for part, c in zip((0.2126, 0.7152, 0.0722), channels, strict=True))


def contrast(one: object, other: object) -> float:
    """Contrast of two colours, 1 to 21 (Web Content Accessibility Guidelines 2.2, 1.4.3)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def lightness(colour: object) -> float:
    """CIE 1976 lightness L*, 0 to 100 (CIE 015:2018)."""
    y = luminance(colour)
    return 116 * y ** (1 / 3) - 16 if y > (6 / 29) ** 3 else y * (29 / 3) ** 3


SIGHTS: Mapping[str, np.ndarray] = {
    "protanopia": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
                            [-0.003882, -0.048116, 1.051998]]),
    "deuteranopia": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
                              [-0.011820, 0.042940, 0.968881]]),
    "tritanopia": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602],
                            [0.004733, 0.691367, 0.303900]]),
    "all colours": np.eye(3),
}  # fmt: skip
"""What linear RGB becomes without one kind of cone: Machado, Oliveira and Fernandes 2009, IEEE
Transactions on Visualization and Computer Graphics 15:1291, severity 1."""

TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""From linear sRGB (IEC 61966-2-1)."""


def difference(one: object, other: object, sight: str) -> float:
    """CIE 1976 colour difference between two colours, as somebody sees them (CIE 015:2018)."""
    first, second = (_lab(colour, SIGHTS[sight]) for colour in (one, other))
    return float(np.linalg.norm(first - second))


def _lab(colour: object, seen: np.ndarray) -> np.ndarray:
    rgb = np.array(to_rgb(colour))
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    xyz = TO_XYZ @ np.clip(seen @ linear, 0, 1) / TO_XYZ.sum(axis=1)
    root = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    x, y, z = root
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])
