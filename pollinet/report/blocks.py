"""What a printed page is made of: data that the HTML and the PDF writer both walk through."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

from markupsafe import Markup

from pollinet.charts.album import Chart
from pollinet.charts.fonts import words_in


@dataclass(frozen=True)
class Paragraph:
    """Running text. `strong`: an answer."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Bullets:
    """A list, one short text an item."""

    items: tuple[str, ...]


@dataclass(frozen=True)
class Grid:
    """A table. shares : relative widths of the columns."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[int, ...]


@dataclass(frozen=True)
class Picture:
    """A chart."""

    chart: Chart


@dataclass(frozen=True)
class Strip:
    """A strip of `pollinet.strips`, for a page of HTML alone."""

    html: Markup


Block: TypeAlias = Paragraph | Bullets | Grid | Picture | Strip


@dataclass(frozen=True)
class Section:
    """A heading with what stands under it. `anchor`: its name within the document."""

    anchor: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Report:
    """The whole document, answer first."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]


def words_of(report: Report) -> Iterator[str]:
    """All text of the document, that of its charts too."""
    yield from (report.title, report.subtitle)
    for section in report.sections:
        yield section.title
        for block in section.blocks:
            match block:
                case Paragraph(text):
                    yield text
                case Bullets(items):
                    yield from items
                case Grid(headings, rows):
                    yield from headings
                    yield from (cell for row in rows for cell in row)
                case Picture(chart):
                    yield words_in(chart.figure)
