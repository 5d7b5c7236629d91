"""Pages of a PDF in millimetres: letters of every script that the font has, charts as drawings."""

from __future__ import annotations

import io
import logging
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pollinet.charts.fonts import HOUSE, NOT_DRAWN, lent_for
from pollinet.language import _, chosen

if TYPE_CHECKING:
    from fpdf import FPDF

A4_MM = (210.0, 297.0)
MISSING = "□"
LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"
MADE = datetime(2000, 1, 1, tzinfo=UTC)
"""Date written into every file, so that the same plan gives the same bytes; it tells nothing."""

_POINTS_PER_MM = 72 / 25.4


@dataclass(frozen=True)
class Placed:
    """A drawing (a PDF of one page) and where it goes: page from 0, box from above. [mm]"""

    drawing: bytes
    page: int
    x: float
    y: float
    width: float
    height: float


def new_pdf(
    title: str,
    subject: str,
    size_mm: tuple[float, float] = A4_MM,
    *,
    letters: Iterable[str] = (),
    numbered: bool = False,
) -> FPDF:
    """An empty document in the charts' own font.

    letters : all text that it is to hold, for the fonts that this needs.
    numbered : with the number of each page.
    """
    import matplotlib
    from fpdf import FPDF

    # What is left out of a font is told to the log, once for each letter; a box shows it as well.
    logging.getLogger("fpdf").setLevel(logging.ERROR)
    logging.getLogger("fontTools").setLevel(logging.ERROR)

    class Pages(FPDF):
        """Pages with a foot, on which a letter that the font lacks is a box, not nothing."""

        def normalize_text(self, text: str) -> str:
            known = {code for font in self.fonts.values() for code in getattr(font, "cmap", {})}
            return "".join(
                letter if letter.isspace() or ord(letter) in known else stand_in(letter)
                for letter in super().normalize_text(text)
            )

        def footer(self) -> None:
            if numbered:
                self.set_y(-12)
                self.set_font(HOUSE, "", 8)
                page = _("{page} of {pages}").format(page=self.page_no(), pages="{nb}")
                room = self.epw - self.get_string_width(f"  ·  {page}")
                name = shortened(title, lambda text: self.get_string_width(text) <= room)
                # A title that ends in Hebrew or Arabic does not draw the number to itself.
                self.cell(0, 5, f"{name}{LEFT_TO_RIGHT}  ·  {page}", align="R")

    pdf = Pages(unit="mm", format=size_mm)
    pdf.set_creation_date(MADE)
    pdf.set_title(title)
    pdf.set_subject(subject)
    pdf.set_creator("Pollinet")
    pdf.set_lang(chosen())
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    pdf.add_font(HOUSE, "", fonts / "DejaVuSans.ttf")
    pdf.add_font(HOUSE, "B", fonts / "DejaVuSans-Bold.ttf")
    lent = lent_for(letters).fonts
    for font in lent:
        pdf.add_font(font.name, "", font.file)
        pdf.add_font(font.name, "B", font.file)
    pdf.set_fallback_fonts([font.name for font in lent])
    # Letters of scripts that run from right to left are joined and ordered by HarfBuzz.
    pdf.set_text_shaping(True)
    pdf.set_font(HOUSE, "", 10)
    return pdf


def stand_in(letter: str) -> str:
    """A box for a letter that no font has; nothing for what leaves nothing on paper."""
    return "" if unicodedata.category(letter) in NOT_DRAWN else MISSING


def shortened(text: str, fits: Callable[[str], bool]) -> str:
    """A text that fits: its end gives way to an ellipsis."""
    if fits(text):
        return text
    lengths = range(len(text) - 1, 0, -1)
    cut = (f"{text[:length].rstrip()}…" for length in lengths)
    return next((short for short in cut if fits(short)), "")


def with_drawings(pages: bytes, drawings: Sequence[Placed]) -> bytes:
    """The document with each drawing in its box; drawings keep their letters and lines."""
    from pypdf import PdfReader, PdfWriter, Transformation

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pages)))
    for placed in drawings:
        page = writer.pages[placed.page]
        drawing = PdfReader(io.BytesIO(placed.drawing)).pages[0]
        scale = placed.width * _POINTS_PER_MM / float(drawing.mediabox.width)
        below = float(page.mediabox.height) - (placed.y + placed.height) * _POINTS_PER_MM
        place = Transformation().scale(scale).translate(placed.x * _POINTS_PER_MM, below)
        page.merge_transformed_page(drawing, place)
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()
