"""Labels on sheets: tags for limbs and for bags of scions, each with its text as a QR code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pollinet.charts.fonts import HOUSE
from pollinet.domain import Node
from pollinet.language import _, joined
from pollinet.messages import NOTHING, Message, say
from pollinet.network.coverage import LimbCoverage
from pollinet.report.paper import A4_MM, new_pdf
from pollinet.study import Study
from pollinet.summary.scions import ScionWanted
from pollinet.wording.check import MARKS, winters_cell

if TYPE_CHECKING:
    from fpdf import FPDF

LEAST_PT = 6.0
"""Smallest print on a label; text that does not fit even so loses its last lines. [points]"""

LARGE_PT, SMALL_PT = 13.0, 8.0
PADDING_MM = 2.5
LEAST_LABEL_MM = (30.0, 15.0)
QR_QUIET = 4
"""White modules that a QR code needs all round (ISO/IEC 18004)."""

MOST_QR_LETTERS = 300
"""Longer texts make a code too fine for a small label. Own convention."""


@dataclass(frozen=True)
class Label:
    """One label. name : the largest line. lines : what stands below it."""

    name: str
    lines: tuple[str, ...]

    @property
    def text(self) -> str:
        """What the QR code says: the same, line by line."""
        return "\n".join((self.name, *self.lines))


@dataclass(frozen=True)
class Sheet:
    """A sheet of labels; they stand in the middle of it. [mm]"""

    width: float = A4_MM[0]
    height: float = A4_MM[1]
    label_width: float = 70.0
    label_height: float = 37.0
    gap: float = 0.0

    @property
    def columns(self) -> int:
        """Labels side by side."""
        return int((self.width + self.gap + 1e-6) // (self.label_width + self.gap))

    @property
    def rows(self) -> int:
        """Labels one below the other."""
        return int((self.height + self.gap + 1e-6) // (self.label_height + self.gap))

    def corner(self, number: int) -> tuple[float, float]:
        """Upper left corner of a label on its sheet, counted from 0 along the rows. [mm]"""
        row, column = divmod(number % (self.columns * self.rows), self.columns)
        across = self.columns * (self.label_width + self.gap) - self.gap
        down = self.rows * (self.label_height + self.gap) - self.gap
        return (
            (self.width - across) / 2 + column * (self.label_width + self.gap),
            (self.height - down) / 2 + row * (self.label_height + self.gap),
        )


# --- what they say ---------------------------------------------------------------------------


def limb_labels(study: Study) -> tuple[Label, ...]:
    """A tag for every limb: variety, limb, graft year, verdict with its winters, donor."""
    nodes, rows = study.network.nodes, {row.node: row for row in study.coverage}
    labels = []
    for place, limb in enumerate(study.plan.limbs):
        grafted = _("grafted {year}").format(year=limb.grafted) if limb.grafted else ""
        pollen = _pollen(rows.get(place), nodes)
        where = f"{limb.id} · {_(limb.variety.species)}"
        labels.append(Label(limb.variety.name, tuple(filter(None, (where, grafted, *pollen)))))
    return tuple(labels)


def _pollen(row: LimbCoverage | None, nodes: Sequence[Node]) -> tuple[str, ...]:
    """The verdict on a limb with its winters, and its best donor."""
    if row is None:
        return (_("need not crop"),)
    winters = _("{tenths} of 10 winters").format(tenths=winters_cell(row))
    told = f"{MARKS[row.verdict]} {winters}"
    if not row.donors:
        return told, _("pollen: none")
    best = row.donors[0].node
    name = _("its own") if best == row.node else nodes[best].variety.name
    return told, _("pollen: {donor}").format(donor=name)


def scion_labels(wanted: Sequence[ScionWanted]) -> tuple[Label, ...]:
    """A label for the bag of each variety to graft, with room to write the date and the donor."""
    return tuple(
        Label(
            scion.variety.name,
            (
                _("scion · {fruit}").format(fruit=_(scion.variety.species)),
                _("for {limbs}").format(limbs=joined(scion.serves)) if scion.serves else "",
                _("cut on ______ from ______________"),
            ),
        )
        for scion in wanted
    )


# --- the sheet -------------------------------------------------------------------------------


def sheet_problem(sheet: Sheet) -> Message:
    """Why labels of this size cannot be printed, in words; empty where they can."""
    if sheet.label_width < LEAST_LABEL_MM[0] or sheet.label_height < LEAST_LABEL_MM[1]:
        least = f"{LEAST_LABEL_MM[0]:g} x {LEAST_LABEL_MM[1]:g}"
        return say("a label must be at least {least} mm to be read", least=least)
    if sheet.columns < 1 or sheet.rows < 1:
        return say("a label is larger than its sheet")
    return NOTHING


def labels_pdf(labels: Sequence[Label], sheet: Sheet, title: str) -> bytes:
    """The labels on as many sheets as they need, with thin lines to cut along."""
    words = [label.text for label in labels]
    pdf = new_pdf(title, "labels", (sheet.width, sheet.height), letters=words, purpose="labels")
    pdf.set_auto_page_break(False)
    for number, label in enumerate(labels):
        if number % (sheet.columns * sheet.rows) == 0:
            pdf.add_page()
        _draw_label(pdf, label, sheet, *sheet.corner(number))
    return bytes(pdf.output())


def _draw_label(pdf: FPDF, label: Label, sheet: Sheet, x: float, y: float) -> None:
    pdf.set_draw_color(190)
    pdf.set_line_width(0.1)
    pdf.rect(x, y, sheet.label_width, sheet.label_height)
    side = min(sheet.label_height - 2 * PADDING_MM, 0.36 * sheet.label_width)
    _draw_code(
        pdf, label.text[:MOST_QR_LETTERS], x + sheet.label_width - PADDING_MM - side,
        y + (sheet.label_height - side) / 2, side,
    )  # fmt: skip
    width = sheet.label_width - side - 3 * PADDING_MM
    room = sheet.label_height - 2 * PADDING_MM
    large, small, names, lines = _fitted(pdf, label, width, room)
    pdf.set_xy(x + PADDING_MM, y + PADDING_MM)
    for size, style, texts in ((large, "B", names), (small, "", lines)):
        pdf.set_font(HOUSE, style, size)
        for text in texts:
            pdf.set_x(x + PADDING_MM)
            pdf.cell(width, _line_mm(size), text, new_x="LEFT", new_y="NEXT")


def _fitted(
    pdf: FPDF, label: Label, width: float, room: float
) -> tuple[float, float, list[str], list[str]]:
    """Sizes of the two kinds of print at which all lines fit, and the lines. [points]"""
    large, small = LARGE_PT, SMALL_PT
    while True:
        names = _broken(pdf, label.name, "B", large, width)
        lines = [part for text in label.lines for part in _broken(pdf, text, "", small, width)]
        high = len(names) * _line_mm(large) + len(lines) * _line_mm(small)
        if high <= room or large <= LEAST_PT:
            break
        large, small = large - 0.5, max(LEAST_PT, small - 0.25)
    # The name goes before everything else; what is left of the room is for the other lines.
    left = int((room - len(names) * _line_mm(large) + 1e-6) // _line_mm(small))
    return large, small, names, lines[: max(left, 0)]


def _broken(pdf: FPDF, text: str, style: str, size: float, width: float) -> list[str]:
    pdf.set_font(HOUSE, style, size)
    # A cell has a margin of its own on both sides.
    pdf.c_margin = 0.0
    lines = pdf.multi_cell(width, _line_mm(size), text, align="L", dry_run=True, output="LINES")
    return list(lines)  # type: ignore[arg-type]


def _line_mm(size: float) -> float:
    return size * 1.2 * 25.4 / 72


def _draw_code(pdf: FPDF, text: str, x: float, y: float, side: float) -> None:
    """A QR code as black squares; medium error correction."""
    import segno

    code = segno.make_qr(text, error="m", encoding="utf-8", boost_error=False)
    matrix = tuple(code.matrix)
    module = side / (len(matrix) + 2 * QR_QUIET)
    pdf.set_fill_color(0)
    for row, cells in enumerate(matrix):
        for first, last in _runs(cells):
            pdf.rect(
                x + (first + QR_QUIET) * module, y + (row + QR_QUIET) * module,
                (last - first) * module, module, style="F",
            )  # fmt: skip


def _runs(cells: Sequence[int]) -> list[tuple[int, int]]:
    """Begin and end of each run of dark modules."""
    padded = (0, *cells, 0)
    edges = [place for place in range(len(cells) + 1) if padded[place] != padded[place + 1]]
    return list(zip(edges[::2], edges[1::2], strict=True))
