"""Lines of a plain text, as commands print them, as paragraphs and lists of a page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass
class Item:
    """A point of a list. more : lines that stand below it."""

    text: str
    more: list[str] = field(default_factory=list)


@dataclass
class Part:
    """A paragraph with the list that follows it."""

    text: str = ""
    items: list[Item] = field(default_factory=list)


def parts_of(lines: Iterable[str]) -> list[Part]:
    """Paragraphs and lists: a point begins with `- `, what stands below it is indented."""
    found: list[Part] = []
    for line in lines:
        last = found[-1] if found else None
        if line.startswith("- "):
            if last is None:
                found.append(last := Part())
            last.items.append(Item(line[2:]))
        elif line.startswith(" ") and last is not None and last.items:
            last.items[-1].more.append(line.strip())
        elif line:
            found.append(Part(line))
    return found
