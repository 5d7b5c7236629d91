"""The table of years from grafting to the first flowers, `bearing.csv`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from pollinet.readers.text_tables import Row, shipped_rows

ANY_FRUIT = "any fruit"
"""Rows that serve every fruit without rows of its own."""


@dataclass(frozen=True)
class BearingAge:
    """Years from grafting to the first flowers; several sources give the widest range.

    first, late : in the earliest case, and in the latest usual case. [years]
    """

    first: int
    late: int
    sources: tuple[str, ...]
    memory: bool


def load_bearing(fruits: Iterable[str], method: str) -> Mapping[str, BearingAge]:
    """Bearing ages of some fruits after one way of beginning (`young tree`, …)."""
    rows = _rows(method)
    return {fruit: _age(fruit, rows) for fruit in sorted(set(fruits))}


def known_fruits(method: str) -> tuple[str, ...]:
    """Fruits that have rows of their own for one way of beginning."""
    return tuple(sorted({row["fruit"] for row in _rows(method)} - {ANY_FRUIT}))


def _rows(method: str) -> list[Row]:
    return [row for row in shipped_rows("bearing.csv") if row["method"] == method]


def _age(fruit: str, rows: Sequence[Row]) -> BearingAge:
    own = [row for row in rows if row["fruit"] == fruit]
    used = own or [row for row in rows if row["fruit"] == ANY_FRUIT]
    return BearingAge(
        min(row["first_year"] for row in used),
        max(row["late_year"] for row in used),
        tuple(dict.fromkeys(row["source"] for row in used)),
        any(row["status"] == "memory" for row in used),
    )
