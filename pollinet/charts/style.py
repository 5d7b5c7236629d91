"""One look for all charts: greys that stay apart in print, text that stays text in SVG."""

from __future__ import annotations

import io
import re
import textwrap
import warnings
from contextlib import AbstractContextManager, contextmanager
from itertools import accumulate, pairwise
from math import ceil
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from pollinet.charts.fonts import HOUSE, lend_fonts
from pollinet.files import made_by

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

DARK, MIDDLE, LIGHT, PAPER = "#333333", "#737373", "#c4c4c4", "#ffffff"
"""Greys that differ by at least 20 points of lightness, so a copier keeps them apart."""

A5_WIDTH_IN = 8.27
"""Width of an A4 page. Reduced to A5, text of 8 points is still one of 5.7. [inch]"""

SMALL_PT = 8.0
"""Smallest text of any chart. [points]"""

LINE_IN = 0.15
"""Height of a line of 9 points. [inch]"""

SHEET_IN = 14.0
"""Highest stack of rows: shrunk to one page of A4, text of 8 points is still one of 5. [inch]"""

LABEL_WIDTH = 34
"""Letters of a row's label in one line."""

TITLE_WIDTH = 84
"""Letters of a title in one line."""

NOTE_WIDTH = 100
"""Letters of a note under a chart in one line."""

SUFFIXES = (".svg", ".png", ".pdf")

_SETTINGS: dict[Any, Any] = {
    "svg.hashsalt": "pollinet",
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
    "font.family": HOUSE,
    "font.size": 9,
    "hatch.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    # Dollar signs in names are letters, not formulas.
    "text.parse_math": False,
}


def settings() -> AbstractContextManager[None]:
    """A context in which charts are drawn and saved."""
    import matplotlib

    return matplotlib.rc_context(_SETTINGS)


def new_axes(height_in: float, width_in: float = A5_WIDTH_IN) -> Axes:
    """Axes on a figure of its own, without pyplot."""
    from matplotlib.figure import Figure

    return Figure(figsize=(width_in, height_in), layout="constrained").subplots()


def title_of(axes: Axes, title: str) -> None:
    """Set the title, in lines that fit the page: over the whole figure where it is ours alone."""
    text, figure = wrapped(title, TITLE_WIDTH), _own_figure(axes)
    if figure is not None:
        figure.suptitle(text, x=0.012, ha="left", fontsize=11)
    else:
        axes.set_title(text, loc="left", fontsize=11)


def _own_figure(axes: Axes) -> Figure | None:
    """The figure of axes that `new_axes` made; None for axes that stand in another's figure."""
    figure = axes.get_figure(root=True)
    if figure is None or len(figure.axes) > 1 or figure.get_layout_engine() is None:
        return None
    return figure


def row_edges(labels: Iterable[str], row_in: float) -> list[float]:
    """Upper edges of rows, and the lower one of the last, in rows; long labels get more room."""
    edges = [0.0]
    for label in labels:
        needed = LINE_IN * (label.count("\n") + 1.6) / row_in
        edges.append(edges[-1] + max(1.0, needed))
    return edges


def middles(edges: Sequence[float]) -> list[float]:
    """The middle of each row."""
    return [(low + high) / 2 for low, high in pairwise(edges)]


def sheets(labels: Sequence[str], row_in: float, above: Sequence[float] = ()) -> list[slice]:
    """Cut rows into as few sheets as hold them legibly, each about as high as the others.

    labels : of the rows. row_in : height of a row with a label of one line. [inch]
    above : rows left free above each row, for headings.
    """
    edges = row_edges([wrapped(label, LABEL_WIDTH) for label in labels], row_in)
    free = above or [0.0] * len(labels)
    heights = [
        row_in * (low - high + gap) for (high, low), gap in zip(pairwise(edges), free, strict=True)
    ]
    count = max(1, ceil(sum(heights) / SHEET_IN - 1e-9))
    while True:
        parts = _parts(heights, count)
        high = [sum(heights[part]) for part in parts if part.stop - part.start > 1]
        if max(high, default=0.0) <= SHEET_IN:
            return parts
        count += 1


def _parts(heights: Sequence[float], count: int) -> list[slice]:
    """Rows in so many stacks of about one height: a row goes where its middle lies."""
    ends = list(accumulate(heights))
    each = (ends[-1] if ends else 0.0) / count
    stacks = [int((end - high / 2) / each) for end, high in zip(ends, heights, strict=True)]
    cuts = [row for row in range(1, len(stacks)) if stacks[row] != stacks[row - 1]]
    return [slice(*pair) for pair in pairwise([0, *cuts, len(heights)])]


def legend_below(axes: Axes, handles: Iterable[Any], columns: int = 2, *, note: str = "") -> None:
    """A legend under the chart, outside of its axes, below a note.

    handles : each with its label, or a pair of what is drawn, one over the other, and its label.
    """
    pairs = [x if isinstance(x, tuple) else (x, x.get_label()) for x in handles]
    figure = _own_figure(axes)
    place: dict[str, Any] = {"loc": "outside lower center"}
    if figure is None:
        place = {"loc": "upper center", "bbox_to_anchor": (0.5, -0.12)}
    legend = (figure or axes).legend(
        [drawn for drawn, _ in pairs], [label for _, label in pairs], ncols=columns,
        frameon=False, fontsize=SMALL_PT, handlelength=2.4,
        title="\n".join(wrapped(line, NOTE_WIDTH) for line in note.splitlines()),
        title_fontsize=SMALL_PT, **place,
    )  # fmt: skip
    legend.get_title().set_multialignment("center")


def swatch(colour: str, label: str, hatch: str = "") -> Patch:
    """A field of colour for a legend, with a line round it so that white shows on white."""
    from matplotlib.patches import Patch

    return Patch(facecolor=colour, edgecolor=DARK, linewidth=0.6, hatch=hatch, label=label)


def wrapped(text: str, width: int) -> str:
    """Text in lines of a width; words longer than that are broken, nothing is cut off."""
    return "\n".join(textwrap.wrap(text, width)) or text


# --- saving ----------------------------------------------------------------------------------


def picture_bytes(
    figure: Figure, suffix: str, title: str, description: str, purpose: str = "chart"
) -> bytes:
    """A figure as the bytes of an SVG, PNG or PDF file, the same every time.

    description : what a screen reader says in place of the picture.
    purpose : what the picture is for, so that only one of the same purpose is written over.
    """
    import matplotlib

    maker = f"{made_by(purpose)}, Matplotlib v{matplotlib.__version__}"
    metadata: dict[str, Any] = {"Title": title, "Creator": maker}
    if suffix == ".svg":
        metadata |= {"Date": None}
    elif suffix == ".pdf":
        metadata |= {"CreationDate": None, "Subject": description}
    else:
        metadata |= {"Description": description}
    drawn = io.BytesIO()
    with _saving():
        _save(figure, drawn, suffix[1:], metadata=metadata)
    if suffix != ".svg":
        return drawn.getvalue()
    return _told(drawn.getvalue().decode(), description).encode()


def pages_bytes(figures: Iterable[Figure]) -> bytes:
    """Figures as the pages of one PDF, which holds each font once."""
    from matplotlib.backends.backend_pdf import PdfPages

    drawn = io.BytesIO()
    with _saving(), PdfPages(drawn, metadata={"CreationDate": None}) as pages:
        for figure in figures:
            _save(figure, pages, "pdf")
    return drawn.getvalue()


@contextmanager
def _saving() -> Iterator[None]:
    with settings(), warnings.catch_warnings():
        # Letters that no font has are drawn by the reader of an SVG; elsewhere as a box.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def _save(figure: Figure, file: Any, form: str, **more: Any) -> None:
    lend_fonts(figure)
    figure.savefig(file, format=form, dpi=150, **more)


def _told(svg: str, description: str) -> str:
    """An SVG that presents itself as one picture, with its title and description."""
    svg = re.sub(r"<svg ", '<svg role="img" ', svg, count=1)
    return svg.replace("</title>", f"</title>\n <desc>{escape(description)}</desc>", 1)
