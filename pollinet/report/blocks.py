"""What a printed page is made of: data that the HTML and the PDF writer both walk through."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from pollinet.charts.album import Chart


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


Block: TypeAlias = Paragraph | Bullets | Grid | Picture


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
