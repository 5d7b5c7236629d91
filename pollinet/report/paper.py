"""Pages of a PDF in millimetres: letters of every script that the font has, charts as drawings."""

from __future__ import annotations

import io
import logging
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pollinet.charts.fonts import CODE, HOUSE, NOT_DRAWN, lent_for
from pollinet.charts.style import pages_bytes
from pollinet.files import made_by
from pollinet.language import _, chosen
from pollinet.wording.commands import plain, with_code

if TYPE_CHECKING:
    from fpdf import FPDF
    from matplotlib.figure import Figure
    from pypdf import PageObject, PdfWriter

A4_MM = (210.0, 297.0)
MISSING = "□"
LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"
MADE = datetime(2000, 1, 1, tzinfo=UTC)
"""Date written into every file, so that the same plan gives the same bytes; it tells nothing."""

_POINTS_PER_MM = 72 / 25.4


@dataclass(frozen=True, eq=False)
class Placed:
    """A drawing and where it goes: page from 0, box from above. [mm]"""

    figure: Figure
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
    purpose: str = "report",
    on_top: Callable[[FPDF], None] = lambda pdf: None,
) -> FPDF:
    """An empty document in the charts' own font.

    letters : all text that it is to hold, for the fonts that this needs.
    numbered : with the number of each page.
    purpose : what the document is for, by which its file is known.
    on_top : called at the top of each new page, before what made it necessary.
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

        measuring = False

        def multi_cell(self, *args: Any, **more: Any) -> Any:
            # What is only measured near the end of a page makes a new one for a moment, too.
            before, self.measuring = self.measuring, self.measuring or more.get("dry_run", False)
            try:
                return super().multi_cell(*args, **more)
            finally:
                self.measuring = before

        def header(self) -> None:
            if not self.measuring:
                on_top(self)

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
    pdf.set_creator(made_by(purpose))
    pdf.set_lang(chosen())
    fonts = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    pdf.add_font(HOUSE, "", fonts / "DejaVuSans.ttf")
    pdf.add_font(HOUSE, "B", fonts / "DejaVuSans-Bold.ttf")
    lent = lent_for(letters).fonts
    for font in lent:
        pdf.add_font(font.name, "", font.file)
        pdf.add_font(font.name, "B", font.file)
    pdf.add_font(CODE, "", fonts / "DejaVuSansMono.ttf")
    pdf.add_font(CODE, "B", fonts / "DejaVuSansMono-Bold.ttf")
    pdf.set_fallback_fonts([font.name for font in lent])
    # Letters of scripts that run from right to left are joined and ordered by HarfBuzz.
    pdf.set_text_shaping(True)
    pdf.set_font(HOUSE, "", 10)
    return pdf


def stand_in(letter: str) -> str:
    """A box for a letter that no font has; nothing for what leaves nothing on paper."""
    return "" if unicodedata.category(letter) in NOT_DRAWN else MISSING


def put_text(
    pdf: FPDF, text: str, line_mm: float, *, size: float, bold: bool = False, indent_mm: float = 0
) -> None:
    """Running text from margin to margin, commands in letters of their own; the next line below.

    line_mm : height of a line. size : of letters. [points]
    """
    from fpdf.enums import WrapMode

    style, pieces = "B" if bold else "", with_code(text)
    left = pdf.l_margin + indent_mm
    pdf.set_font(HOUSE, style, size)
    if not any(code for _piece, code in pieces) or runs_both_ways(text):
        # Only this sets what runs from right to left in its order.
        pdf.set_x(left)
        pdf.multi_cell(0, line_mm, plain(text), align="L", new_x="LMARGIN", new_y="NEXT")
        return
    with pdf.text_columns(
        l_margin=left, line_height=line_mm / pdf.font_size, wrapmode=WrapMode.WORD
    ) as column:
        for piece, code in pieces:
            pdf.set_font(CODE if code else HOUSE, style, size)
            column.write(piece)
    pdf.set_x(pdf.l_margin)


def runs_both_ways(text: str) -> bool:
    """Whether some of its letters run from right to left."""
    return any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in text)


def shortened(text: str, fits: Callable[[str], bool]) -> str:
    """A text that fits: its end gives way to an ellipsis."""
    if fits(text):
        return text
    lengths = range(len(text) - 1, 0, -1)
    cut = (f"{text[:length].rstrip()}…" for length in lengths)
    return next((short for short in cut if fits(short)), "")


def with_drawings(pages: bytes, drawings: Sequence[Placed]) -> bytes:
    """The document with each drawing in its box; drawings keep their letters and lines."""
    from pypdf import PdfReader, PdfWriter

    writer = PdfWriter(clone_from=PdfReader(io.BytesIO(pages)))
    drawn = PdfReader(io.BytesIO(pages_bytes(placed.figure for placed in drawings)))
    on_page: dict[int, list[tuple[PageObject, Placed]]] = {}
    for drawing, placed in zip(drawn.pages, drawings, strict=True):
        on_page.setdefault(placed.page, []).append((drawing, placed))
    for page, found in on_page.items():
        _stamp(writer, writer.pages[page], found)
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()


def _stamp(
    writer: PdfWriter, page: PageObject, drawings: Sequence[tuple[PageObject, Placed]]
) -> None:
    """Put drawings on a page as they are, without reading through what they are made of."""
    from pypdf.generic import ArrayObject, DictionaryObject, NameObject, StreamObject

    forms, calls = DictionaryObject(), []
    for number, (drawing, placed) in enumerate(drawings):
        scale = placed.width * _POINTS_PER_MM / float(drawing.mediabox.width)
        below = float(page.mediabox.height) - (placed.y + placed.height) * _POINTS_PER_MM
        name, form = f"/Drawing{number}", StreamObject()
        contents = drawing.get_contents()
        assert contents is not None
        form.set_data(contents.get_data())
        form[NameObject("/Type")] = NameObject("/XObject")
        form[NameObject("/Subtype")] = NameObject("/Form")
        form[NameObject("/BBox")] = drawing.mediabox.clone(writer)
        form[NameObject("/Resources")] = drawing["/Resources"].clone(writer)
        forms[NameObject(name)] = writer._add_object(form.flate_encode())
        left = placed.x * _POINTS_PER_MM
        calls.append(f"q {scale:.5f} 0 0 {scale:.5f} {left:.3f} {below:.3f} cm {name} Do Q\n")
    # What the text of the page has set, such as the ends of lines, is not for the drawings.
    before, after = StreamObject(), StreamObject()
    before.set_data(b"q\n")
    after.set_data(f"\nQ\n{''.join(calls)}".encode())
    streams = (writer._add_object(before), page.raw_get("/Contents"), writer._add_object(after))
    page[NameObject("/Contents")] = ArrayObject(streams)
    page["/Resources"][NameObject("/XObject")] = forms  # type: ignore[index]
