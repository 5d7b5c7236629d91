"""Labels on sheets: tags for limbs and for bags of scions, each with its text as a QR code."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from pollinet.charts.boxes import Box
from pollinet.charts.fonts import HOUSE
from pollinet.domain import Node, Scion
from pollinet.language import _, day_and_year
from pollinet.messages import NOTHING, Message, say
from pollinet.network.coverage import LimbCoverage
from pollinet.report.paper import A4_MM, new_pdf, shortened
from pollinet.study import Study
from pollinet.summary.limbs import name_beside

if TYPE_CHECKING:
    from fpdf import FPDF

LARGE_PT, SMALL_PT = 13.0, 9.0
"""Print of a name, which shrinks to that of the other lines before any is left out. [points]"""

PADDING_MM = 2.5
LEAST_ROOM_MM = (25.0, 10.0)
"""Room for print below which a label cannot be read: two short lines. Own convention."""

MARGIN_MM = 5.0
"""Household printers reach no nearer to the edge of a sheet. Common practice, no source."""

OVER_MM = 1.0
"""How far marks above a capital stand out of their line at the largest print. [mm]"""

BEARING_MM = 0.3
"""How far some letters begin before their place. [mm]"""

LINE_MM = 0.1

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
    """A sheet of labels, which stand in the middle of it. [mm]

    margin : room along the edges of the sheet on which nothing is printed.
    """

    width: float = A4_MM[0]
    height: float = A4_MM[1]
    label_width: float = 70.0
    label_height: float = 37.0
    gap: float = 0.0
    margin: float = MARGIN_MM

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

    def room(self, number: int) -> Box:
        """Where a label may have print: inside of it, and of the sheet's margin."""
        x, y = self.corner(number)
        return Box(
            max(x + PADDING_MM, self.margin + BEARING_MM),
            max(y + PADDING_MM, self.margin + OVER_MM),
            min(x + self.label_width - PADDING_MM, self.width - self.margin),
            min(y + self.label_height - PADDING_MM, self.height - self.margin),
        )


# --- what they say ---------------------------------------------------------------------------


def limb_labels(study: Study, printed: date) -> tuple[Label, ...]:
    """A tag for every limb: variety, limb, graft year, donor, day of printing.

    A tag hangs for years, so it holds no forecast; the day tells how old its donor is.
    """
    nodes, rows = study.network.nodes, {row.node: row for row in study.coverage}
    labels = []
    for place, limb in enumerate(study.plan.limbs):
        grafted = _("grafted {year}").format(year=limb.grafted) if limb.grafted else ""
        where = f"{limb.id} · {_(limb.variety.species)}"
        lines = (where, grafted, _pollen(rows.get(place), nodes), _printed(printed))
        name = name_beside(limb.variety.name, [limb.id])
        labels.append(Label(name, tuple(filter(None, lines))))
    return tuple(labels)


def _pollen(row: LimbCoverage | None, nodes: Sequence[Node]) -> str:
    """The best donor of a limb by name."""
    if row is None:
        return _("need not crop")
    if not row.donors:
        return _("pollen: none")
    best = row.donors[0].node
    name = _("its own") if best == row.node else nodes[best].variety.name
    return _("pollen: {donor}").format(donor=name)


def _printed(day: date) -> str:
    return _("printed {date}").format(date=day_and_year(day))


def scion_labels(scions: Sequence[Scion], printed: date) -> tuple[Label, ...]:
    """A label for the bag of each scion: variety, fruit, why not to graft it, source, rights.

    What the plan does not tell can be written in by hand.
    """
    return tuple(
        Label(
            scion.variety.name,
            (
                _("scion · {fruit}").format(fruit=_(scion.variety.species)),
                *_blocked(scion),
                _("from {source}").format(source=scion.source or BLANK),
                _("rights: {note}").format(note=scion.rights or BLANK),
                _("cut on {day}").format(day=BLANK),
                _printed(printed),
            ),
        )
        for scion in scions
    )


def _blocked(scion: Scion) -> Iterator[str]:
    """Why it must not be grafted, in one line."""
    if scion.blocked is not None:
        yield _("do not graft: {why}").format(why=" ".join(scion.blocked.split()))


BLANK = "_" * 8
"""A line to write on."""


# --- the sheet -------------------------------------------------------------------------------


def sheet_problem(sheet: Sheet) -> Message:
    """Why labels of this size cannot be printed, in words; empty where they can."""
    if sheet.columns < 1 or sheet.rows < 1:
        return say("a label is larger than its sheet")
    rooms = [sheet.room(number) for number in range(sheet.columns * sheet.rows)]
    if any(x.width < LEAST_ROOM_MM[0] or x.height < LEAST_ROOM_MM[1] for x in rooms):
        least = f"{LEAST_ROOM_MM[0]:g} x {LEAST_ROOM_MM[1]:g}"
        return say(
            "a label must leave at least {least} mm for print, {padding} mm inside of its edge "
            "and {margin} mm inside of that of the sheet",
            least=least, padding=PADDING_MM, margin=sheet.margin,
        )  # fmt: skip
    return NOTHING


def labels_pdf(labels: Sequence[Label], sheet: Sheet, title: str) -> bytes:
    """The labels on as many sheets as they need, with thin lines to cut along."""
    words = [label.text for label in labels]
    pdf = new_pdf(title, "labels", (sheet.width, sheet.height), letters=words, purpose="labels")
    pdf.set_auto_page_break(False)
    for number, label in enumerate(labels):
        if number % (sheet.columns * sheet.rows) == 0:
            pdf.add_page()
        _draw_edges(pdf, sheet, *sheet.corner(number))
        _draw_label(pdf, label, sheet.room(number))
    return bytes(pdf.output())


def _draw_edges(pdf: FPDF, sheet: Sheet, x: float, y: float) -> None:
    """Thin lines to cut along, as far as a printer reaches."""
    pdf.set_draw_color(190)
    pdf.set_line_width(LINE_MM)
    inset = sheet.margin + LINE_MM
    across, down = (x, x + sheet.label_width), (y, y + sheet.label_height)
    left, right = (max(inset, min(edge, sheet.width - inset)) for edge in across)
    top, bottom = (max(inset, min(edge, sheet.height - inset)) for edge in down)
    for edge in {*across} & {left, right}:
        pdf.line(edge, top, edge, bottom)
    for edge in {*down} & {top, bottom}:
        pdf.line(left, edge, right, edge)


def _draw_label(pdf: FPDF, label: Label, room: Box) -> None:
    """Text and code beside each other; text alone where it is whole only so."""
    for share in CODE_SHARES:
        side = min(room.height, share * room.width)
        beside = side + PADDING_MM if side else 0.0
        print_ = _fitted(pdf, label, room.width - beside, room.height)
        if print_.whole:
            break
    if side:
        text = shortened(label.text, lambda text: len(text) <= MOST_QR_LETTERS)
        top = room.top + (room.height - side) / 2
        _draw_code(pdf, text, room.right - side, top, side)
    pdf.set_xy(room.left, room.top)
    for size, style, texts in ((print_.large, "B", print_.names), (SMALL_PT, "", print_.lines)):
        pdf.set_font(HOUSE, style, size)
        for text in texts:
            pdf.set_x(room.left)
            pdf.cell(print_.width, _line_mm(size), text, new_x="LEFT", new_y="NEXT")


CODE_SHARES = (0.4, 0.0, 0.46)
"""Widths of a code that are tried until the text is whole, as parts of the room of a label. Own
convention."""


class _Print(NamedTuple):
    """The lines of a label as they are printed.

    large : size of those of the name. [points]
    whole : whether nothing was left out; else the last line ends in an ellipsis.
    """

    large: float
    names: list[str]
    lines: list[str]
    width: float
    whole: bool


def _fitted(pdf: FPDF, label: Label, width: float, height: float) -> _Print:
    """The largest print of a name at which all lines fit and no word is broken.

    Else as many lines as there is room.
    """
    lines = [part for text in label.lines for part in _broken(pdf, text, "", SMALL_PT, width)]
    large = LARGE_PT
    while True:
        names = _broken(pdf, label.name, "B", large, width)
        broken = large > SMALL_PT and " ".join(names).split() != label.name.split()
        high = len(names) * _line_mm(large) + len(lines) * _line_mm(SMALL_PT)
        if high <= height + 1e-6 and not broken:
            return _Print(large, names, lines, width, whole=True)
        if large <= SMALL_PT:
            break
        large = max(SMALL_PT, large - 0.5)
    most = max(1, int((height + 1e-6) // _line_mm(SMALL_PT)))
    kept = [*((name, "B") for name in names), *((line, "") for line in lines)][:most]
    last, style = kept[-1]
    pdf.set_font(HOUSE, style, SMALL_PT)

    def marked(text: str) -> bool:
        return text.endswith("…") and pdf.get_string_width(text) <= width

    # One space more than there is, so that the end always gives way.
    kept[-1] = (shortened(f"{last} ", marked), style)
    return _Print(
        SMALL_PT,
        [text for text, bold in kept if bold],
        [text for text, bold in kept if not bold],
        width,
        whole=False,
    )


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
