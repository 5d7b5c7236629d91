"""The fitted timing tables: `timing.csv` (rules) and `timing_errors.csv` (errors and lengths)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields

from pollinet.domain import Timing, TimingRule
from pollinet.readers.text_tables import shipped_rows

OTHER_FRUITS = "other fruits"
"""Row that serves every fruit that has none of its own."""


def load_timing(fruits: Iterable[str]) -> Mapping[str, Timing]:
    """Timing of each fruit; one without rules of its own borrows, and its timing says so."""
    return {fruit: _timing(fruit) for fruit in sorted(set(fruits))}


def _timing(fruit: str) -> Timing:
    by_fruit = {row["fruit"]: row for row in shipped_rows("timing_errors.csv")}
    row = by_fruit.get(fruit, by_fruit[OTHER_FRUITS])
    borrowed = row["rules_of"] != fruit
    rules = tuple(
        TimingRule(rule["forcing_day"], rule["k"], rule["weight"])
        for rule in shipped_rows("timing.csv")
        if rule["fruit"] == row["rules_of"]
    )
    told = {field.name: row[field.name] for field in fields(Timing) if field.name in row.cells}
    return Timing(**told, rules=rules, borrowed=borrowed)
