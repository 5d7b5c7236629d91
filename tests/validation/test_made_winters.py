"""Made-up winters against real ones: committed figures always, some anew where data are at hand."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from prove_winters import FEW, PLACES, RESULTS, compared

OUTSIDE = {
    ("Vienna", "portions"),  # real cold months hang together more than made ones
    ("Bonn", "gdh"),  # its cell strays less than Klein-Altendorf, 10 km away, at 1.11
    ("Jork", "gdh"),  # 19 springs, and a cell between land and estuary
    ("Gwangju", "gdh"),
}
"""Places whose SD is not met within a fifth."""


def committed() -> list[dict[str, str]]:
    with RESULTS.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_made_winters_are_like_real_ones_in_mean_and_spread() -> None:
    rows = [row for row in committed() if int(row["winters"]) >= FEW]
    assert {row["place"] for row in committed()} == set(PLACES) and len(rows) == 17
    for row in rows:
        place = row["place"]
        for what, most in (("portions", 0.055), ("gdh", 0.055)):
            real, made = float(row[what]), float(row[f"{what}_made"])
            assert made == pytest.approx(real, rel=most), (place, what)
            ratio = float(row[f"{what}_sd_ratio"])
            assert (0.8 <= ratio <= 1.2) != ((place, what) in OUTSIDE), (place, what, ratio)
    for what, bounds in (("portions", (0.9, 1.1)), ("gdh", (0.9, 1.1))):
        ratios = [float(row[f"{what}_sd_ratio"]) for row in rows]
        assert bounds[0] < np.mean(ratios) < bounds[1]
        assert np.sqrt(np.mean(np.log(ratios) ** 2)) < 0.19


@pytest.mark.parametrize("place", ["Klein-Altendorf", "Sfax", "Seoul"])
def test_the_committed_figures_come_out_again(place: str, reference_weather: Path) -> None:
    (row,) = (row for row in committed() if row["place"] == place)
    found = compared(reference_weather, place, winters=120)
    assert (found.winters, found.portions) == (int(row["winters"]), float(row["portions"]))
    # An SD of 120 winters is known to 7 %, that of their mean to a tenth of it.
    assert found.portions_made == pytest.approx(float(row["portions_made"]), abs=3.5)
    assert found.portions_sd_made == pytest.approx(float(row["portions_sd_made"]), rel=0.25)
    assert found.gdh_sd_made == pytest.approx(float(row["gdh_sd_made"]), rel=0.25)
