"""Pollinizer rows in an orchard: how near every main row is to one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

PATTERNS = {
    "every third row": (3, (1,)),
    "two rows to four": (6, (2, 3)),
    "every fourth row": (4, (2,)),
}
"""Length of the repeated pattern and the rows in it that are pollinizers, counted from 0. The first
two are those of Penn State, Tree Fruit Production Guide (tfpg.cas.psu.edu/184.htm): solid rows are
preferred, two pollinizer rows to four main rows; every third row for varieties that set shyly."""


@dataclass(frozen=True)
class RowLayout:
    """One way to lay out the rows. `rows`: True for a pollinizer row.

    share : part of the rows that are pollinizers. adjacent : part of the main rows with a
    pollinizer row right beside them. farthest_m : longest way from a main row. [m]
    """

    name: str
    rows: tuple[bool, ...]
    share: float
    adjacent: float
    farthest_m: float

    @property
    def drawing(self) -> str:
        """Main rows as M and pollinizer rows as P, one letter a row."""
        return "".join("P" if pollinizer else "M" for pollinizer in self.rows)


def layout(name: str, rows: Sequence[bool], spacing_m: float) -> RowLayout:
    """Judge a layout given row by row; it must have a main and a pollinizer row."""
    places = [i for i, pollinizer in enumerate(rows) if pollinizer]
    ways = [min(abs(i - p) for p in places) for i, pollinizer in enumerate(rows) if not pollinizer]
    return RowLayout(
        name,
        tuple(rows),
        len(places) / len(rows),
        sum(way == 1 for way in ways) / len(ways),
        max(ways) * spacing_m,
    )


def layouts(rows: int, spacing_m: float) -> tuple[RowLayout, ...]:
    """The usual patterns on so many rows, each begun at its best row; the nearest first."""
    found = []
    for name, (period, places) in PATTERNS.items():
        starts = [[(i + shift) % period in places for i in range(rows)] for shift in range(period)]
        able = [one for one in starts if any(one) and not all(one)]
        if able:
            # Of equally near ones the one with fewest pollinizer rows, begun as in the table.
            judged = [layout(name, one, spacing_m) for one in able]
            found.append(min(judged, key=lambda j: (j.farthest_m, -j.adjacent, j.share)))
    return tuple(sorted(found, key=lambda j: (-j.adjacent, j.farthest_m, j.share)))
