"""Harvests of apples foretold at places left out: the committed figures, and the proof itself."""

from __future__ import annotations

import csv
from pathlib import Path
from statistics import fmean

import pytest
from prove_harvest import PANELS, TABLE, Row, prove, seen_days, slope, summers

from pollinet.advice.harvest import EARLIER_PER_C, HARVEST_SD_DAYS, RIPENING_C, ripening_c
from pollinet.readers.catalogue import load_catalogue


def committed() -> list[Row]:
    with TABLE.open(encoding="utf-8", newline="") as stream:
        return [
            Row(row["place"], *(float(row[key]) for key in Row._fields[1:]))  # type: ignore[arg-type]
            for row in csv.DictReader(stream)
        ]


def root_mean_square(rows: list[Row]) -> float:
    return fmean(row.rmse**2 for row in rows) ** 0.5


def test_harvests_are_carried_between_panels_within_twelve_days() -> None:
    rows = committed()
    assert len(rows) == 8 and sum(row.varieties for row in rows) > 1500
    assert root_mean_square([row for row in rows if row.place in PANELS]) <= 12
    assert root_mean_square(rows) == pytest.approx(HARVEST_SD_DAYS, abs=0.5)
    assert min(row.order for row in rows) >= 0.7
    # Once days after bloom made all harvests of a place 17 to 29 days too early.
    assert max(abs(row.bias) for row in rows) < 8


def test_the_committed_figures_are_current(reference_weather: Path) -> None:
    """Else run `prove_harvest.py --write`."""
    folder = reference_weather.parent / "cultivars"
    for made, kept in zip(prove(folder), committed(), strict=True):
        assert made.place == kept.place and made.varieties == kept.varieties
        assert made.rmse == pytest.approx(kept.rmse, abs=0.11)
        assert made.order == pytest.approx(kept.order, abs=0.02)
    assert slope(folder) == pytest.approx(EARLIER_PER_C, abs=0.3)


def test_hardly_any_apple_is_picked_after_a_month_too_cool_to_ripen(
    reference_weather: Path,
) -> None:
    catalogue, _ = load_catalogue(["apple"])
    seen, warmth = seen_days(reference_weather.parent / "cultivars", catalogue), summers(catalogue)
    before = [ripening_c(day, warmth[place]) for place in seen for day in seen[place].values()]
    assert len(before) == 3953 and sum(mean < RIPENING_C for mean in before) == 5
    # Where autumn ends the season, the latest come close to it.
    coolest = min(ripening_c(day, warmth["Skierniewice"]) for day in seen["Skierniewice"].values())
    assert RIPENING_C - 1 < coolest < RIPENING_C
