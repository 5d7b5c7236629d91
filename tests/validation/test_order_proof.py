"""The order of apples at panels left out: the committed figures, and one panel anew."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from prove_harvest import read_panels
from prove_order import TABLE, Row, foretold


def committed() -> dict[str, Row]:
    with TABLE.open(encoding="utf-8", newline="") as stream:
        return {
            row["place"]: Row(
                row["place"],
                int(row["varieties"]),
                *(float(row[key]) for key in Row._fields[2:]),
            )
            for row in csv.DictReader(stream)
        }


def test_apples_bloom_in_the_order_that_is_foretold() -> None:
    rows = committed().values()
    assert len(rows) >= 4
    for row in rows:
        assert row.varieties >= 60
        assert row.order >= 0.7
        assert row.rmse < 4.0


def test_a_panel_is_foretold_as_committed(reference_weather: Path) -> None:
    """Else run `prove_order.py --write`."""
    seen = read_panels(reference_weather.parent / "cultivars", "day_begin")
    kept = committed()["Laimburg"]
    told = foretold("Laimburg", {name: days for name, days in seen.items() if name != "Laimburg"})
    errors = [told[name] - day for name, day in seen["Laimburg"].items() if name in told]
    assert sum(errors) / len(errors) == pytest.approx(kept.bias, abs=0.5)
