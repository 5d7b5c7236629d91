"""The report as a PDF on A4."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from pollinet.charts.fonts import HOUSE
from pollinet.language import _
from pollinet.report.blocks import (
    Block,
    Bullets,
    Grid,
    Paragraph,
    Picture,
    Report,
    Section,
    Strip,
    words_of,
)
from pollinet.report.paper import A4_MM, Placed, new_pdf, put_text, with_drawings
from pollinet.wording.commands import plain

if TYPE_CHECKING:
    from fpdf import FPDF

MARGIN_MM, TOP_MM, FOOT_MM = 17.0, 13.0, 15.0
LINE_MM, GAP_MM = 5.0, 2.5
HEADING_MM, LEAST_TEXT_MM = 12.0, 18.0
"""Height of a heading, and how much text must fit below it: else it moves to the next page."""

BULLET_MM = 4.0
"""Indent of a bullet, and of its text behind it."""

WIDTH_MM = A4_MM[0] - 2 * MARGIN_MM
PAGE_MM = A4_MM[1] - TOP_MM - FOOT_MM
"""Height between the margins."""

ROOM_MM = PAGE_MM - 35.0
"""Highest drawing: below it there is room for the head of a table and a row of it."""


@dataclass
class _Sheets:
    """The document as it grows. drawings : those placed. waiting : those for the next page.

    A drawing that does not fit on the rest of a page waits for the top of the next one, and what
    follows it fills the rest: so no page is left half empty.
    """

    drawings: list[Placed] = field(default_factory=list)
    waiting: list[Picture] = field(default_factory=list)

    def put(self, pdf: FPDF, picture: Picture) -> None:
        """Leave room for a drawing here, or keep it for the next page."""
        if self.waiting or pdf.will_page_break(size_on_page(picture)[1]):
            self.waiting.append(picture)
        else:
            self._place(pdf, picture)

    def put_waiting(self, pdf: FPDF) -> None:
        """Place at the top of a page what waits for it, as much as has room."""
        used = 0.0
        while self.waiting:
            used += size_on_page(self.waiting[0])[1] + GAP_MM
            if used > ROOM_MM + GAP_MM:
                break
            self._place(pdf, self.waiting.pop(0))

    def _place(self, pdf: FPDF, picture: Picture) -> None:
        width, height = size_on_page(picture)
        top = pdf.get_y()
        left = MARGIN_MM + (WIDTH_MM - width) / 2
        figure = picture.chart.figure
        self.drawings.append(Placed(figure, pdf.page - 1, left, top, width, height))
        pdf.set_y(top + height + GAP_MM)


def pdf_of(report: Report) -> bytes:
    """The whole document, pages numbered."""
    sheets = _Sheets()
    pdf = new_pdf(
        report.title, report.subtitle, letters=words_of(report), numbered=True,
        on_top=sheets.put_waiting,
    )  # fmt: skip
    pdf.set_margins(MARGIN_MM, TOP_MM, MARGIN_MM)
    pdf.set_auto_page_break(True, margin=FOOT_MM)
    pdf.add_page()
    _text(pdf, report.title, size=17, bold=True)
    _text(pdf, report.subtitle)
    for section in report.sections:
        _section(pdf, section, sheets)
    while sheets.waiting:
        pdf.add_page()
    return with_drawings(bytes(pdf.output()), sheets.drawings)


def _section(pdf: FPDF, section: Section, sheets: _Sheets) -> None:
    if pdf.will_page_break(HEADING_MM + _least_below(pdf, section.blocks)):
        pdf.add_page()
    else:
        pdf.ln(2 * GAP_MM)
    pdf.start_section(section.title)
    _text(pdf, section.title, size=13, bold=True)
    for place, block in enumerate(section.blocks):
        leads = isinstance(block, Paragraph) and _is_grid(section.blocks, place + 1)
        if leads and pdf.will_page_break(_least_below(pdf, section.blocks[place:])):
            pdf.add_page()
        _block(pdf, block, sheets)
        if place == 0 and isinstance(block, Picture) and block in sheets.waiting:
            _text(pdf, _("The picture follows."))


def _is_grid(blocks: Sequence[Block], place: int) -> bool:
    return place < len(blocks) and isinstance(blocks[place], Grid)


def _least_below(pdf: FPDF, blocks: Sequence[Block]) -> float:
    """What must fit on the page where these begin: text, and the table that it leads to. [mm]"""
    height = 0.0
    for block in blocks:
        if isinstance(block, Grid):
            return height + LEAST_TEXT_MM if height < PAGE_MM / 2 else LEAST_TEXT_MM
        if not isinstance(block, Paragraph):
            break
        pdf.set_font(HOUSE, "B" if block.strong else "", 10)
        lines = pdf.multi_cell(
            WIDTH_MM, LINE_MM, plain(block.text), align="L", dry_run=True, output="LINES"
        )
        height += LINE_MM * len(lines) + GAP_MM * 0.4  # type: ignore[arg-type]
    return LEAST_TEXT_MM


def _block(pdf: FPDF, block: Block, sheets: _Sheets) -> None:
    match block:
        case Paragraph(text, strong):
            _text(pdf, text, bold=strong)
        case Bullets(items):
            for item in items:
                _bullet(pdf, item)
        case Grid():
            _grid(pdf, block)
        case Picture():
            sheets.put(pdf, block)
        case Strip():
            raise TypeError("strips are for pages of HTML; ask for a report on paper")


def _bullet(pdf: FPDF, text: str) -> None:
    pdf.set_font(HOUSE, "", 10)
    # A bullet on the last line of a page would stay behind its text.
    if pdf.will_page_break(LINE_MM):
        pdf.add_page()
    pdf.set_x(MARGIN_MM + BULLET_MM)
    pdf.cell(BULLET_MM, LINE_MM, "•")
    _text(pdf, text, indent=2 * BULLET_MM)


def _text(pdf: FPDF, text: str, *, size: float = 10, bold: bool = False, indent: float = 0) -> None:
    put_text(pdf, text, LINE_MM * size / 10, size=size, bold=bold, indent_mm=indent)
    pdf.ln(GAP_MM * 0.4)


def _grid(pdf: FPDF, grid: Grid) -> None:
    from fpdf.fonts import FontFace

    pdf.set_font(HOUSE, "", 9)
    pdf.ln(GAP_MM * 0.6)
    with pdf.table(
        width=WIDTH_MM, col_widths=grid.shares, text_align="L", line_height=4.4,
        borders_layout="HORIZONTAL_LINES", headings_style=FontFace(emphasis="B"), padding=(0.8, 1),
        v_align="TOP",
    ) as table:  # fmt: skip
        for cells in (grid.headings, *grid.rows):
            row = table.row()
            for cell in cells:
                row.cell(plain(cell))
    pdf.ln(GAP_MM)


def size_on_page(picture: Picture) -> tuple[float, float]:
    """Width and height of a chart on the page. [mm]"""
    wide, high = picture.chart.figure.get_size_inches()
    width = min(WIDTH_MM, ROOM_MM * wide / high)
    return width, width * high / wide
