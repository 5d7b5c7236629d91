"""The measured growth of the cover, as committed: `tests/benchmarks/measure_growth.py`."""

from __future__ import annotations

import csv
from pathlib import Path

TABLE = Path(__file__).parents[1] / "benchmarks" / "growth.csv"


def test_the_exact_cover_is_that_of_cp_sat_and_no_heuristic_beats_it() -> None:
    # Outside check: OR-tools CP-SAT, on the model without cuts.
    with TABLE.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    sizes: dict[tuple[str, ...], dict[str, str]] = {}
    for row in rows:
        key = (row["grows"], row["candidates"], row["scenarios"], row["seed"])
        sizes.setdefault(key, {})[row["method"]] = row["size"]
    assert len(sizes) == 33
    for found in sizes.values():
        assert found["exact"] == found["CP-SAT"] != ""
        assert all(int(found["exact"]) <= int(size) for size in found.values() if size)
