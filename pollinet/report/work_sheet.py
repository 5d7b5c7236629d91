"""The work of a year on one sheet of A4, for the shed door."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pollinet.charts.fonts import HOUSE
from pollinet.language import _, ngettext
from pollinet.report.paper import A4_MM, new_pdf
from pollinet.study import Study
from pollinet.summary.work import YearOfWork
from pollinet.wording.work import (
    caution_lines,
    dates_line,
    first_bloom_lines,
    over_lines,
    rests_lines,
    undated_lines,
    which_lines,
    work_answer,
    work_rows,
)

if TYPE_CHECKING:
    from fpdf import FPDF

MARGIN_MM, TOP_MM, FOOT_MM = 17.0, 13.0, 10.0
WIDTH_MM = A4_MM[0] - 2 * MARGIN_MM
TEXT_MM_PER_POINT = 0.48
"""Height of a line by the size of its letters."""

SIZES = (11.0, 10.0, 9.0)
"""Sizes of letters, the first that holds all is taken; none below that of charts. [points]"""

SHARES = (26, 42, 50)
"""Widths of the columns behind the box to tick."""

BOX = "☐"


@dataclass(frozen=True)
class WorkSheet:
    """What the sheet says. rows : when, what, where, in order of time."""

    title: str
    answer: str
    rows: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...]


def sheet_of(study: Study, year: YearOfWork) -> WorkSheet:
    """The sheet of a garden: the answer, what is needed in order of time, and what to mind."""
    rows = work_rows(year.tasks)
    return WorkSheet(
        _("Work: {site}").format(site=study.plan.site.name),
        work_answer(year.tasks, year.today),
        tuple((row.when, row.what, row.where) for row in rows),
        (
            *over_lines(year.over),
            *which_lines(year.tasks),
            *first_bloom_lines(year.may_flower, year.spring),
            *rests_lines(year.tasks, year.undated),
            *undated_lines(year.undated_grafts),
            dates_line(year.tasks),
            *caution_lines([row.task for row in rows]),
        ),
    )


def sheet_words(sheet: WorkSheet) -> Iterator[str]:
    """All text on the sheet."""
    yield from (sheet.title, sheet.answer, BOX, *sheet.notes)
    for row in sheet.rows:
        yield from row


def sheet_pdf(sheet: WorkSheet) -> bytes:
    """One page: in letters as large as fit; where even small ones do not, the last rows are told
    of in one line."""
    for size in SIZES:
        pdf = _drawn(sheet, size, sheet.rows)
        if pdf.page_no() == 1:
            return bytes(pdf.output())
    fewest, most = 0, len(sheet.rows) - 1
    best = _drawn(sheet, SIZES[-1], ())
    while fewest <= most:
        kept = (fewest + most + 1) // 2
        pdf = _drawn(sheet, SIZES[-1], sheet.rows[:kept])
        if pdf.page_no() > 1:
            most = kept - 1
        else:
            best, fewest = pdf, kept + 1
    return bytes(best.output())


def _drawn(sheet: WorkSheet, size: float, rows: Sequence[tuple[str, str, str]]) -> FPDF:
    """The sheet with some of its rows, on as many pages as it takes."""
    pdf = new_pdf(sheet.title, sheet.answer, letters=sheet_words(sheet), purpose="work sheet")
    pdf.set_margins(MARGIN_MM, TOP_MM, MARGIN_MM)
    pdf.set_auto_page_break(True, margin=FOOT_MM)
    pdf.add_page()
    _text(pdf, sheet.title, 16, bold=True)
    _text(pdf, sheet.answer, size, bold=True)
    _grid(pdf, rows, size)
    more = len(sheet.rows) - len(rows)
    if more:
        text = ngettext(
            "and {number} task more: pollinet work PLAN --out work.ics gives all.",
            "and {number} tasks more: pollinet work PLAN --out work.ics gives all.",
            more,
        )
        _text(pdf, text.format(number=more), size)
    for note in sheet.notes:
        _text(pdf, note, max(size - 1, SIZES[-1]))
    return pdf


def _text(pdf: FPDF, text: str, size: float, *, bold: bool = False) -> None:
    pdf.set_font(HOUSE, "B" if bold else "", size)
    height = size * TEXT_MM_PER_POINT
    pdf.multi_cell(WIDTH_MM, height, text, align="L", new_x="LMARGIN", new_y="NEXT")
    pdf.ln(1.2)


def _grid(pdf: FPDF, rows: Sequence[tuple[str, str, str]], size: float) -> None:
    from fpdf.fonts import FontFace

    if not rows:
        return
    pdf.set_font(HOUSE, "", size)
    with pdf.table(
        width=WIDTH_MM, col_widths=(5, *SHARES), text_align="L",
        line_height=size * TEXT_MM_PER_POINT, borders_layout="HORIZONTAL_LINES",
        headings_style=FontFace(emphasis="B"), padding=(0.7, 0.8), v_align="TOP",
    ) as table:  # fmt: skip
        for cells in (("", _("When"), _("What"), _("Where")), *((BOX, *row) for row in rows)):
            row = table.row()
            for cell in cells:
                row.cell(cell)
    pdf.ln(2)
