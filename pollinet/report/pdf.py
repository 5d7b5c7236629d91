"""The report as a PDF on A4."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pollinet.charts.fonts import HOUSE
from pollinet.report.blocks import (
    Block,
    Bullets,
    Grid,
    Paragraph,
    Picture,
    Report,
    Section,
    words_of,
)
from pollinet.report.paper import A4_MM, Placed, new_pdf, with_drawings

if TYPE_CHECKING:
    from fpdf import FPDF

MARGIN_MM, FOOT_MM = 17.0, 18.0
LINE_MM, GAP_MM = 5.0, 2.5
HEADING_MM, LEAST_TEXT_MM = 12.0, 18.0
"""Height of a heading, and how much text must fit below it: else it moves to the next page."""

BULLET_MM = 4.0
"""Indent of a bullet, and of its text behind it."""

WIDTH_MM = A4_MM[0] - 2 * MARGIN_MM
ROOM_MM = A4_MM[1] - MARGIN_MM - FOOT_MM - HEADING_MM
"""Highest drawing: a page with a heading over it."""


def pdf_of(report: Report) -> bytes:
    """The whole document, pages numbered."""
    pdf = new_pdf(report.title, report.subtitle, letters=words_of(report), numbered=True)
    pdf.set_margins(MARGIN_MM, MARGIN_MM, MARGIN_MM)
    pdf.set_auto_page_break(True, margin=FOOT_MM)
    pdf.add_page()
    _text(pdf, report.title, size=17, bold=True)
    _text(pdf, report.subtitle)
    drawings: list[Placed] = []
    for section in report.sections:
        _section(pdf, section, drawings)
    return with_drawings(bytes(pdf.output()), drawings)


def _section(pdf: FPDF, section: Section, drawings: list[Placed]) -> None:
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
        _block(pdf, block, drawings)


def _is_grid(blocks: Sequence[Block], place: int) -> bool:
    return place < len(blocks) and isinstance(blocks[place], Grid)


def _least_below(pdf: FPDF, blocks: Sequence[Block]) -> float:
    """What must fit on the page where these begin: text, and what it leads to. [mm]"""
    height = 0.0
    for block in blocks:
        if isinstance(block, Picture):
            whole = height + size_on_page(block)[1]
            return whole if whole <= ROOM_MM else LEAST_TEXT_MM
        if isinstance(block, Grid):
            return height + LEAST_TEXT_MM if height < ROOM_MM / 2 else LEAST_TEXT_MM
        if not isinstance(block, Paragraph):
            break
        pdf.set_font(HOUSE, "B" if block.strong else "", 10)
        lines = pdf.multi_cell(
            WIDTH_MM, LINE_MM, block.text, align="L", dry_run=True, output="LINES"
        )
        height += LINE_MM * len(lines) + GAP_MM * 0.4  # type: ignore[arg-type]
    return LEAST_TEXT_MM


def _block(pdf: FPDF, block: Block, drawings: list[Placed]) -> None:
    match block:
        case Paragraph(text, strong):
            _text(pdf, text, bold=strong)
        case Bullets(items):
            for item in items:
                _bullet(pdf, item)
        case Grid():
            _grid(pdf, block)
        case Picture():
            drawings.append(_picture(pdf, block))


def _bullet(pdf: FPDF, text: str) -> None:
    pdf.set_font(HOUSE, "", 10)
    # A bullet on the last line of a page would stay behind its text.
    if pdf.will_page_break(LINE_MM):
        pdf.add_page()
    pdf.set_x(MARGIN_MM + BULLET_MM)
    pdf.cell(BULLET_MM, LINE_MM, "•")
    _text(pdf, text, indent=2 * BULLET_MM)


def _text(pdf: FPDF, text: str, *, size: float = 10, bold: bool = False, indent: float = 0) -> None:
    pdf.set_font(HOUSE, "B" if bold else "", size)
    pdf.set_x(MARGIN_MM + indent)
    pdf.multi_cell(
        WIDTH_MM - indent, LINE_MM * size / 10, text, align="L", new_x="LMARGIN", new_y="NEXT"
    )
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
                row.cell(cell)
    pdf.ln(GAP_MM)


def _picture(pdf: FPDF, picture: Picture) -> Placed:
    """Leave room for a chart on this page or, if it is too high for the rest, the next one."""
    width, height = size_on_page(picture)
    if pdf.will_page_break(height):
        pdf.add_page()
    top = pdf.get_y()
    pdf.set_y(top + height + GAP_MM)
    figure = picture.chart.figure
    return Placed(figure, pdf.page - 1, MARGIN_MM + (WIDTH_MM - width) / 2, top, width, height)


def size_on_page(picture: Picture) -> tuple[float, float]:
    """Width and height of a chart on the page. [mm]"""
    wide, high = picture.chart.figure.get_size_inches()
    width = min(WIDTH_MM, ROOM_MM * wide / high)
    return width, width * high / wide
