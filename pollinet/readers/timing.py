"""The fitted timing tables: `timing.csv` (rules) and `timing_errors.csv` (errors and lengths)."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping

from pollinet.catalogue_files import catalogue_root, table_text
from pollinet.domain import Timing, TimingRule
from pollinet.errors import CatalogueMissing

OTHER_FRUITS = "other fruits"
"""Row that serves every fruit without observations from several sites."""


def load_timing(fruits: Iterable[str]) -> Mapping[str, Timing]:
    """Timing of each fruit; one without rows of its own borrows, and its timing says so."""
    rules, errors = _rows("timing.csv"), _rows("timing_errors.csv")
    return {fruit: _timing(fruit, rules, errors) for fruit in sorted(set(fruits))}


def _timing(fruit: str, rules: list[dict[str, str]], errors: list[dict[str, str]]) -> Timing:
    by_fruit = {row["fruit"]: row for row in errors}
    borrowed = fruit not in by_fruit
    row = by_fruit[OTHER_FRUITS if borrowed else fruit]
    own = tuple(
        TimingRule(float(rule["c0_portions"]), float(rule["k"]), float(rule["weight"]))
        for rule in rules
        if rule["fruit"] == row["rules_of"]
    )
    return Timing(
        rules=own,
        site_sd_days=float(row["site_sd_days"]),
        season_sd_days=float(row["season_sd_days"]),
        own_sd_days=float(row["own_sd_days"]),
        lead_days=float(row["lead_days"]),
        tail_days=float(row["tail_days"]),
        length_log_sd=float(row["length_log_sd"]),
        source=row["source"],
        borrowed=borrowed,
        carried_sd_days=float(row["carried_sd_days"]),
        length_site_log_sd=float(row["length_site_log_sd"]),
        length_season_log_sd=float(row["length_season_log_sd"]),
    )


def _rows(name: str) -> list[dict[str, str]]:
    text = table_text(catalogue_root(), name)
    if text is None:
        raise CatalogueMissing(f"{name} is not among the catalogues")
    return list(csv.DictReader(text.splitlines()))
