"""The work of a year on one sheet of A4, for the shed door."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from pollinet.charts.fonts import HOUSE
from pollinet.language import _
from pollinet.report.paper import A4_MM, new_pdf, put_text
from pollinet.study import Study
from pollinet.summary.work import YearOfWork
from pollinet.wording.work import (
    MIND,
    caution_lines,
    dates_line,
    disease_lines,
    first_bloom_lines,
    kind_rows,
    over_lines,
    rests_lines,
    room_lines,
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

MOST_ROWS = 45
"""More rows than that do not fit, whatever their letters."""

PLACES = (8, 5, 3, 2, 1)
"""Where rows do not fit: so many places told of each kind of work, the first that fits."""

SHARES = (31, 36, 51)
"""Widths of the columns behind the box to tick."""

BOX = "☐"

Row: TypeAlias = tuple[str, str, str]
"""When, what, where."""


@dataclass(frozen=True)
class WorkSheet:
    """What the sheet says: rows of when, what, where, in order of time.

    kinds : shorter rows, one a kind of work, for `PLACES`; with these go `short_notes`.
    """

    title: str
    answer: str
    rows: tuple[Row, ...]
    kinds: tuple[tuple[Row, ...], ...]
    notes: tuple[str, ...]
    short_notes: tuple[str, ...]


def sheet_of(study: Study, year: YearOfWork) -> WorkSheet:
    """The sheet of a garden: the answer, what is needed in order of time, and what to mind."""
    rows = work_rows(year.tasks)
    notes = (
        *disease_lines(study.findings),
        *over_lines(year.over),
        *which_lines(year.tasks, year.near),
        *room_lines(year.tasks),
        *first_bloom_lines(year.may_flower, year.spring),
        *rests_lines(year.tasks, year.undated),
        *undated_lines(year.undated_grafts),
        dates_line(year.tasks),
    )
    return WorkSheet(
        _("Work: {site}").format(site=study.plan.site.name),
        work_answer(year.tasks, year.today),
        tuple((row.when, row.what, row.where) for row in rows),
        tuple(tuple(kind_rows(year.tasks, places)) for places in PLACES),
        (*notes, *caution_lines([row.task for row in rows])),
        (*notes, _(MIND)),
    )


def sheet_words(sheet: WorkSheet) -> Iterator[str]:
    """All text on the sheet."""
    yield from (sheet.title, sheet.answer, BOX, *sheet.notes, *sheet.short_notes)
    for row in sheet.rows:
        yield from row


def sheet_pdf(sheet: WorkSheet) -> bytes:
    """One page, in letters as large as fit; where not even small ones do, a row a kind of work."""
    sizes = SIZES if len(sheet.rows) <= MOST_ROWS else ()
    tries = [
        *((sheet.rows, sheet.notes, size) for size in sizes),
        *((rows, sheet.short_notes, SIZES[-1]) for rows in sheet.kinds),
    ]
    for rows, notes, size in tries:
        pdf = _drawn(sheet, rows, notes, size)
        fits = pdf.page_no() == 1
        # What is written closes the files of its fonts, too.
        made = bytes(pdf.output())
        if fits:
            break
    return made


def _drawn(sheet: WorkSheet, rows: Sequence[Row], notes: Sequence[str], size: float) -> FPDF:
    """The sheet on as many pages as it takes."""
    pdf = new_pdf(sheet.title, sheet.answer, letters=sheet_words(sheet), purpose="work sheet")
    pdf.set_margins(MARGIN_MM, TOP_MM, MARGIN_MM)
    pdf.set_auto_page_break(True, margin=FOOT_MM)
    pdf.add_page()
    _text(pdf, sheet.title, 16, bold=True)
    _text(pdf, sheet.answer, size, bold=True)
    _grid(pdf, rows, size)
    for note in notes:
        _text(pdf, note, max(size - 1, SIZES[-1]))
    return pdf


def _text(pdf: FPDF, text: str, size: float, *, bold: bool = False) -> None:
    put_text(pdf, text, size * TEXT_MM_PER_POINT, size=size, bold=bold)
    pdf.ln(1.2)


def _grid(pdf: FPDF, rows: Sequence[Row], size: float) -> None:
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
