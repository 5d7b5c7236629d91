"""What a weak coverage is put down to: worked out by hand from the definition of effective days.

Effective days are shared days times accepted share, nearness, flight and chill; three are wanted.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from gardens import limbs, neighbour, tree, variety, written

Run = Callable[..., Any]


def test_half_accepted_pollen_leaves_half_of_five_days(tmp_path: Path, pollinet: Run) -> None:
    path = written(
        tmp_path, tree("A B"), variety("A", "S1S2", [100, 104]), variety("B", "S2S3", [100, 104])
    )
    told = pollinet("check", path, "--json")
    assert [limbs(told.data)[name]["weak_by"] for name in "AB"] == ["pollen", "pollen"]
    assert limbs(told.data)["A"]["donors"][0]["effective_days"] == 2.5
    # Both are served alike: neither is weak beside the other.
    assert "weak" not in pollinet("check", path).out


def test_a_donor_over_the_fence_is_far(tmp_path: Path, pollinet: Run) -> None:
    """Nearness falls from 1 at 18 m to 0.05 at 100 m, so that 4 days are too few at 70 m."""
    path = written(
        tmp_path,
        tree("A"),
        neighbour("N", 70),
        variety("A", "S1S2", [100, 103]),
        variety("N", "S3S4", [100, 103]),
    )
    found = limbs(pollinet("check", path, "--json").data)["A"]
    assert (found["strength"], found["weak_by"]) == ("weak", "distance")


def test_a_strong_coverage_is_put_down_to_nothing(tmp_path: Path, pollinet: Run) -> None:
    path = written(
        tmp_path, tree("A B"), variety("A", "S1S2", [100, 104]), variety("B", "S3S4", [100, 104])
    )
    assert limbs(pollinet("check", path, "--json").data)["A"]["weak_by"] is None
    assert "weak" not in pollinet("check", path).out.lower()


def test_a_donor_that_cannot_flower_yet_is_named(tmp_path: Path, pollinet: Run) -> None:
    """A graft on a bearing tree flowers in its second or third year (4-H leaflet, bearing.csv)."""
    path = written(
        tmp_path, tree("A B"), variety("A", "S1S2", [100, 110]), variety("B", "S3S4", [100, 110])
    )
    text = path.read_text(encoding="utf-8")
    lately, long_ago = date.today().year, date.today().year - 3
    for grafted, told in ((lately, True), (long_ago, False)):
        limb = 'id = "B"\nvariety = "B"\n'
        assert limb in text
        path.write_text(text.replace(limb, f"{limb}grafted = {grafted}\n"), encoding="utf-8")
        said = " ".join(pollinet("check", path).out.split())
        assert (
            f"B (grafted in {grafted}, first flowers {grafted + 2} to {grafted + 3})" in said
        ) is told


def test_poor_weather_for_bees_is_not_told_of_what_the_wind_serves(
    tmp_path: Path, pollinet: Run
) -> None:
    """Hazel is wind-pollinated; winters of much rain and ten degrees leave no bees in the air."""
    days = range(365)
    rows = ["date,tmin_c,tmax_c,rain_mm"]
    for winter in (2001, 2002, 2003):
        first = date(winter, 1, 1)
        rows += [f"{first + timedelta(day)},4,9,5" for day in days]
    (tmp_path / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    nuts = [variety(name, f"S{i}S{i + 1}", [100, 110]).replace("apple", "hazelnut")
            for i, name in ((1, "G"), (3, "H"))]  # fmt: skip
    parts = (
        tree("A B"),
        tree("G H").replace('"tree"', '"nuts"').replace("apple", "hazelnut"),
        variety("A", "S1S2", [100, 110]),
        variety("B", "S3S4", [100, 110]),
        *nuts,
    )
    path = written(tmp_path, *parts)
    out = " ".join(pollinet("check", path, "--weather", tmp_path / "weather.csv").out.split())
    assert "Bees have few good hours during the bloom of apple:" in out
