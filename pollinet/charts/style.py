"""One look for all charts: what each colour, mark and width means, and how pictures are saved.

Dark needs attention, in every picture; bloom is a middling tone; one accent for what is in
question. The marks of the verdicts stand in `verdicts`.
"""

from __future__ import annotations

import io
import re
import textwrap
import unicodedata
import warnings
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from itertools import accumulate, pairwise
from math import ceil
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from pollinet.charts.fonts import HOUSE, codes_for_missing, lend_fonts, lent_for
from pollinet.files import made_by
from pollinet.language import _

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Patch

SMALL_PT = 9.0
"""Smallest text of any chart, in every form: 12 pixels of a screen. [points]"""

TITLE_PT = 11.0

LETTER = 0.62
"""Width of a letter of the house font, of the usual mixture, with some room. [parts of its size]"""

NO_BREAK = "\N{NO-BREAK SPACE}"

LINE_IN = 0.155
"""Height of a line of small text. [inch]"""

TIGHT_IN = 0.045
"""Least room between one row and the next. [inch]"""


@dataclass(frozen=True)
class Inks:
    """What each colour of a picture means; own convention.

    ink : words. attention : what needs something; nothing else is as dark. bloom : a limb in bloom,
    of a middling tone. soft : spread, and all that stands behind. line : grids. paper : the ground.
    accent : the one limb or try-out in question. leaf : what is well. wood : limbs, paths of
    pollen. frost, honey : nights of frost, days of bees.
    steps : five shades, from what is well to what needs something.
    hatch : over the accent, where it has no colour of its own.
    """

    ink: str
    attention: str
    bloom: str
    soft: str
    line: str
    paper: str
    accent: str
    leaf: str
    wood: str
    frost: str
    honey: str
    steps: tuple[str, str, str, str, str]
    hatch: str = ""


GREYS = Inks(
    ink="#333333", attention="#333333", bloom="#737373", soft="#c4c4c4", line="#c4c4c4",
    paper="#ffffff", accent="#737373", leaf="#737373", wood="#737373", frost="#737373",
    honey="#737373", steps=("#ffffff", "#dddddd", "#b0b0b0", "#737373", "#333333"), hatch="////",
)  # fmt: skip
"""For paper: attention, bloom, soft and paper differ by at least 20 points of lightness, so a
copier keeps them apart."""

GARDEN = Inks(
    ink="#33291f", attention="#6a1b3a", bloom="#d07f9c", soft="#f0d6de", line="#e2d9cd",
    paper="#ffffff", accent="#145c9b", leaf="#4f7a32", wood="#8b6f55", frost="#5f8fb5",
    honey="#cf9a2e", steps=("#eef4e6", "#cfdcb4", "#dca793", "#b8617c", "#6a1b3a"),
)  # fmt: skip
"""For a screen: blossom, leaf and wood, plums for what needs attention, water for the accent."""


@dataclass(frozen=True)
class Form:
    """What a picture is drawn for: it is shown at this width, so no text is smaller than drawn.

    width_in : of the whole picture. [inch] sheet_in : highest stack of rows on one sheet. [inch]
    narrow : too narrow for words beside the rows; they stand above them.
    """

    width_in: float
    sheet_in: float
    inks: Inks
    narrow: bool = False

    def letters(self, points: float = SMALL_PT) -> int:
        """How many letters of a size fit into one line."""
        return int(self.width_in * 72 / (points * LETTER))

    @property
    def label_letters(self) -> int:
        """Letters of a row's label in one line."""
        return self.letters() - 4 if self.narrow else int(0.36 * self.letters())


SCREEN = Form(8.27, 14.0, GARDEN)
"""A column of 794 pixels at 96 to the inch (CSS Values and Units 3)."""

PAGE = Form(6.9, 7.4, GREYS)
"""An A4 page between its margins."""

TELEPHONE = Form(3.4, 14.0, GARDEN, narrow=True)
"""A screen of 360 pixels between its margins: 326 at 96 to the inch; 9 points are 12 of them."""

FORMS = {"screen": SCREEN, "paper": PAGE, "telephone": TELEPHONE}


def form_of(name: str | None, suffix: str) -> Form:
    """The form of a name, or without one what a kind of file is for: a PDF is printed."""
    return FORMS[name or ("paper" if suffix.lower() == ".pdf" else "screen")]


SUFFIXES = (".svg", ".png", ".pdf")

_SETTINGS: dict[Any, Any] = {
    "svg.hashsalt": "pollinet",
    "svg.fonttype": "none",
    "pdf.fonttype": 42,
    "font.family": HOUSE,
    "font.size": SMALL_PT,
    "hatch.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    # Dollar signs in names are letters, not formulas.
    "text.parse_math": False,
}


def settings(form: Form = SCREEN) -> AbstractContextManager[None]:
    """A context in which charts are drawn and saved."""
    import matplotlib

    ink = form.inks.ink
    colours: dict[Any, Any] = dict.fromkeys(
        ("text.color", "axes.labelcolor", "xtick.color", "ytick.color", "axes.edgecolor"), ink
    )
    return matplotlib.rc_context(
        {**_SETTINGS, **colours, "grid.color": form.inks.line, "hatch.color": form.inks.paper}
    )


def new_axes(height_in: float, form: Form = SCREEN) -> Axes:
    """Axes on a figure of its own, without pyplot; `fit_height` gives them their own height."""
    from matplotlib.figure import Figure

    # Room for whatever stands round the axes: there is no layout without it.
    return Figure(figsize=(form.width_in, height_in + 9), layout="constrained").subplots()


def fit_height(axes: Axes, height_in: float) -> None:
    """Make the figure as high as its axes of this height and all round them need. [inch]

    Axes that stand in another's figure stay as they are.
    """
    figure = _own_figure(axes)
    if figure is None:
        return
    lend_fonts(figure)
    for _twice in range(2):
        with _quiet(), codes_for_missing(figure):
            figure.draw_without_rendering()
        missing = height_in - axes.get_window_extent().height / figure.dpi
        figure.set_figheight(figure.get_figheight() + missing)


def title_of(axes: Axes, title: str, form: Form = SCREEN) -> None:
    """Set the title, in lines that fit the page: over the whole figure where it is ours alone."""
    text, figure = wrapped(title, form.letters(TITLE_PT)), _own_figure(axes)
    if figure is not None:
        figure.suptitle(text, x=0.012, ha="left", fontsize=TITLE_PT)
    else:
        axes.set_title(text, loc="left", fontsize=TITLE_PT)


def sentence_chart(text: str, title: str, form: Form = SCREEN, ax: Axes | None = None) -> Axes:
    """A sentence in place of a picture that would show nothing."""
    lines = "\n".join(wrapped(line, form.letters() - 2) for line in text.splitlines() if line)
    height = LINE_IN * (lines.count("\n") + 2)
    with settings(form):
        axes = ax or new_axes(height, form)
        axes.set_axis_off()
        axes.annotate(lines, (0, 1), xycoords="axes fraction", va="top", fontsize=SMALL_PT)
        title_of(axes, title, form)
        fit_height(axes, height)
    return axes


def _own_figure(axes: Axes) -> Figure | None:
    """The figure of axes that `new_axes` made; None for axes that stand in another's figure."""
    figure = axes.get_figure(root=True)
    if figure is None or len(figure.axes) > 1 or figure.get_layout_engine() is None:
        return None
    return figure


# --- rows ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Row:
    """Where a row stands. [inches from the top]

    label : its words, in lines. words : the middle of these. y : the middle of what is drawn.
    told : what is told of it, behind it or at the end of the line of its label.
    """

    label: str
    words: float
    y: float
    told: str = ""


@dataclass(frozen=True)
class Stack:
    """Rows one below the other. height : of all. [inch]"""

    rows: tuple[Row, ...]
    height: float

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)


def row_heights(labels: Sequence[str], bar_in: float, form: Form) -> list[float]:
    """How high each row is with its words beside it, or above it on a narrow form. [inch]"""
    lines = [LINE_IN * (1 + wrapped(label, form.label_letters).count("\n")) for label in labels]
    if form.narrow:
        return [words + bar_in + 1.5 * TIGHT_IN for words in lines]
    return [max(bar_in, words) + TIGHT_IN for words in lines]


def stacked(
    labels: Sequence[str],
    bar_in: float,
    form: Form,
    above: Sequence[float] = (),
    told: Sequence[str] = (),
) -> Stack:
    """Place rows.

    bar_in : height of what is drawn in each. above : room left above each, for headings. [inch]
    told : what is told of each, for `tell_rows`; it joins a label that leaves no room beside it.
    """
    rows, top = [], 0.0
    free = above or [0.0] * len(labels)
    ends = list(told or [""] * len(labels))
    if form.narrow:
        fits = [len(label) + len(end) + 2 <= form.label_letters
                for label, end in zip(labels, ends, strict=True)]  # fmt: skip
        labels = [label if fit or not end else f"{label}: {end.replace(' ', NO_BREAK)}"
                  for label, end, fit in zip(labels, ends, fits, strict=True)]  # fmt: skip
        ends = [end if fit else "" for end, fit in zip(ends, fits, strict=True)]
    heights = row_heights(labels, bar_in, form)
    for label, height, gap, end in zip(labels, heights, free, ends, strict=True):
        top += gap
        words = y = top + height / 2
        if form.narrow:
            y = top + height - bar_in / 2 - TIGHT_IN
            words = (top + y - bar_in / 2) / 2
        rows.append(Row(forwards(wrapped(label, form.label_letters)), words, y, end))
        top += height
    return Stack(tuple(rows), top)


def forwards(label: str) -> str:
    """A label whose mark stands first, also before a name that is written from right to left."""
    turned = any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in label)
    return f"\N{LEFT-TO-RIGHT MARK}{label}" if turned else label


def name_rows(axes: Axes, rows: Iterable[Row], form: Form, bold: Sequence[bool] = ()) -> None:
    """Write the names of rows beside the axes, or above each on a narrow form."""
    rows = tuple(rows)
    strong = [*bold, *[False] * (len(rows) - len(bold))]
    looks: list[dict[str, Any]] = [
        {"fontsize": SMALL_PT, "fontweight": "bold" if one else "normal",
         "color": form.inks.attention if one else form.inks.ink}
        for one in strong
    ]  # fmt: skip
    # Labels of ticks would be written anew at each drawing, see `codes_for_missing`.
    axes.set_yticks([row.y for row in rows], [""] * len(rows))
    side = "left" if form.narrow else "right"
    for row, look in zip(rows, looks, strict=True):
        axes.annotate(
            row.label, (0, row.words if form.narrow else row.y), (0 if form.narrow else -5, 0),
            xycoords=("axes fraction", "data"), textcoords="offset points", va="center", ha=side,
            linespacing=1.1, bbox={"fc": form.inks.paper, "ec": "none", "pad": 0.5},
            annotation_clip=False, **look,
        )  # fmt: skip
    axes.tick_params(axis="y", length=0)


def tell_rows(axes: Axes, rows: Iterable[Row], form: Form) -> None:
    """Write what is told of each row behind it, or at the end of its name's line."""
    for row in (row for row in rows if row.told):
        x, y, side = (1.0, row.words, "right") if form.narrow else (1.01, row.y, "left")
        axes.annotate(
            row.told, (x, y), xycoords=("axes fraction", "data"), va="center", ha=side,
            fontsize=SMALL_PT, annotation_clip=False,
            bbox={"fc": form.inks.paper, "ec": "none", "pad": 0.5},
        )  # fmt: skip


def of_winters(axes: Axes, height_in: float, level: float, form: Form) -> None:
    """Let the axis be winters of ten, with the level that the plan asks for as a dashed line."""
    inks = form.inks
    axes.set(xlim=(-0.3, 10.4), ylim=(height_in, 0), xticks=range(0, 11, 2))
    axes.axvline(10 * level, color=inks.ink, lw=1.2, ls=(0, (4, 3)), zorder=0)
    axes.annotate(
        _("asked for"), (10 * level, LINE_IN / 2), ha="center", va="center",
        fontsize=SMALL_PT, bbox={"fc": inks.paper, "ec": "none", "pad": 1},
    )  # fmt: skip
    axes.grid(axis="x", lw=0.6)
    axes.set_axisbelow(True)


def sheets(
    labels: Sequence[str], bar_in: float, form: Form = SCREEN, above: Sequence[float] = ()
) -> list[slice]:
    """Cut rows into as few sheets as hold them legibly, each about as high as the others.

    labels, bar_in, above : as `stacked` takes them.
    """
    free = above or [0.0] * len(labels)
    heights = [
        height + gap for height, gap in zip(row_heights(labels, bar_in, form), free, strict=True)
    ]
    count = max(1, ceil(sum(heights) / form.sheet_in - 1e-9))
    while True:
        parts = _parts(heights, count)
        high = [sum(heights[part]) for part in parts if part.stop - part.start > 1]
        if max(high, default=0.0) <= form.sheet_in:
            return parts
        count += 1


def _parts(heights: Sequence[float], count: int) -> list[slice]:
    """Rows in so many stacks of about one height: a row goes where its middle lies."""
    ends = list(accumulate(heights))
    each = (ends[-1] if ends else 0.0) / count
    stacks = [int((end - high / 2) / each) for end, high in zip(ends, heights, strict=True)]
    cuts = [row for row in range(1, len(stacks)) if stacks[row] != stacks[row - 1]]
    return [slice(*pair) for pair in pairwise([0, *cuts, len(heights)])]


def legend_below(
    axes: Axes, handles: Iterable[Any], form: Form = SCREEN, *, columns: int = 2, note: str = ""
) -> None:
    """A legend under the chart, outside of its axes, below a note.

    handles : each with its label, or a pair of what is drawn, one over the other, and its label.
    columns : at most; a narrow form has one.
    """
    pairs = [x if isinstance(x, tuple) else (x, x.get_label()) for x in handles]
    wide = form.letters() // (1 if form.narrow else columns)
    figure = _own_figure(axes)
    place: dict[str, Any] = {"loc": "outside lower center"}
    if figure is None:
        place = {"loc": "upper center", "bbox_to_anchor": (0.5, -0.12)}
    legend = (figure or axes).legend(
        [drawn for drawn, _ in pairs], [wrapped(label, wide - 7) for _, label in pairs],
        ncols=1 if form.narrow else columns, frameon=False, fontsize=SMALL_PT, handlelength=2.2,
        title="\n".join(wrapped(line, form.letters()) for line in note.splitlines()),
        title_fontsize=SMALL_PT, borderpad=0.2, **place,
    )  # fmt: skip
    legend.get_title().set_multialignment("left" if form.narrow else "center")


def swatch(colour: str, label: str, hatch: str = "", edge: str = GREYS.ink) -> Patch:
    """A field of colour for a legend, with a line round it so that white shows on white."""
    from matplotlib.patches import Patch

    return Patch(facecolor=colour, edgecolor=edge, linewidth=0.6, hatch=hatch, label=label)


def letters_of(text: str) -> int:
    """How many usual letters a text is as wide as."""
    wide = sum(unicodedata.east_asian_width(letter) in "WF" for letter in text)
    # Letters of Chinese, Japanese and Korean are as wide as two others, a code in place of one
    # is some six letters long.
    missing = sum(map(text.count, lent_for(text).missing))
    return len(text) + wide + 5 * missing


def wrapped(text: str, width: int) -> str:
    """Text in lines of a width; words longer than that are broken, nothing is cut off."""
    if letters_of(text) == len(text):
        return "\n".join(textwrap.wrap(text, max(1, width))) or text
    lines = [""]
    for word in re.split(r"[ \t\n]+", text):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if letters_of(longer) <= width:
            lines[-1] = longer
        elif letters_of(word) <= width:
            lines.append(word)
        else:
            for letter in longer.removeprefix(lines[-1]):
                lines += [""] * (bool(lines[-1]) and letters_of(lines[-1] + letter) > width)
                lines[-1] += letter
    return "\n".join(line.strip(" ") for line in lines)


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
    with settings(), _quiet():
        yield


@contextmanager
def _quiet() -> Iterator[None]:
    with warnings.catch_warnings():
        # Letters that no font has are drawn by the reader of an SVG; elsewhere as a box.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def _save(figure: Figure, file: Any, form: str, **more: Any) -> None:
    lend_fonts(figure)
    if figure.get_layout_engine() is not None:
        # Laid out once: a second layout would move everything by a hair, and change the bytes.
        figure.draw_without_rendering()
        figure.set_layout_engine("none")
    # Whoever reads an SVG may have the letters; in other files they would be boxes for ever.
    with nullcontext() if form == "svg" else codes_for_missing(figure):
        figure.savefig(file, format=form, dpi=150, **more)


def _told(svg: str, description: str) -> str:
    """An SVG that presents itself as one picture, with its title and description."""
    svg = re.sub(r"<svg ", '<svg role="img" ', svg, count=1)
    return svg.replace("</title>", f"</title>\n <desc>{escape(description)}</desc>", 1)
