"""The shipped table `chill_ranges.csv`: chill that varieties need that nobody studied."""

from __future__ import annotations

from dataclasses import fields

from pollinet.domain import ChillRange
from pollinet.readers.text_tables import shipped_rows


def load_chill_ranges(fruit: str) -> tuple[ChillRange, ...]:
    """Ranges of one fruit: of its chill classes, and of all its varieties."""
    return tuple(
        ChillRange(**{field.name: row[field.name] for field in fields(ChillRange)})
        for row in shipped_rows("chill_ranges.csv")
        if row["fruit"] == fruit
    )
