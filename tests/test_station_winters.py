"""A garden that says where it stands and names no weather has winters from the stations near it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import saved, studied

Run = Callable[..., Any]

PLACE = {"latitude": 47.5, "longitude": 8.7, "elevation_m": 480}
TREE = """[[tree]]
id = "cherry"
species = "sweet cherry"
spare_limbs = 2
[[tree.limb]]
id = "a"
variety = "Regina"
[[tree.limb]]
id = "b"
variety = "Kordia"
"""
TYPED = """[[variety]]
species = "sweet cherry"
name = "{name}"
bloom = {bloom}
"""


def garden(folder: Path, more: str = "", **place: float) -> Path:
    """A plan of one cherry at a place."""
    told = "\n".join(f"{key} = {value}" for key, value in place.items())
    return saved(folder, f"[site]\n{told}\n{TREE}{more}")


def test_a_place_is_enough_and_the_stations_are_named(tmp_path: Path, pollinet: Run) -> None:
    plan = garden(tmp_path, **PLACE)
    for command in ("check", "weather", "chill"):
        said = pollinet(command, plan)
        words = " ".join(said.out.split())
        assert said.code in (0, 1), said.err
        assert "generated, not measured (no weather file" in words
        # Zürich-Fluntern stands at 47.38 N, 8.57 E: 16 to 17 km by any great-circle calculator.
        assert "12 stations" in words and "nearest Zuerich/Fluntern (CH), 17 km" in words
        nearest = pollinet(command, plan, "--json").data["stations"][0]
        assert (nearest["id"], nearest["country"]) == ("06660", "CH")
        assert nearest["km"] == pytest.approx(16.5, abs=0.5)
    assert pollinet("check", plan, "--json").data["generated"] is True


def test_same_place_and_seed_same_bytes(tmp_path: Path) -> None:
    plan = garden(tmp_path, **PLACE)
    first, again = studied(plan), studied(plan)
    assert first.bloom.full_h.tobytes() == again.bloom.full_h.tobytes()
    other = studied(garden(tmp_path, "[aim]\nseed = 2\n", **PLACE))
    assert other.bloom.full_h.tobytes() != first.bloom.full_h.tobytes()


def test_winters_hold_what_stations_do_not_know(tmp_path: Path) -> None:
    study = studied(garden(tmp_path, **PLACE))
    climate, record = study.climate, study.record
    assert climate is not None and record is not None
    assert record.elevation_m == 480 and len(record.dates) > 29 * 365
    month = record.dates.astype("datetime64[M]").astype(int) % 12
    mean = np.array([record.tmax_c[month == m].mean() for m in range(12)])
    # Errors are spread evenly over the winters, so that their mean is what the stations tell: what
    # is left is the weather's own share, some 2 °C over the root of 30 winters.
    assert mean[:7] == pytest.approx(climate.tmax_c[:7], abs=1.6)
    assert mean.mean() == pytest.approx(np.mean(climate.tmax_c), abs=0.5)
    assert study.sums is not None
    unknown = studied(garden(tmp_path, **{k: PLACE[k] for k in ("latitude", "longitude")}))
    assert unknown.sums is not None and unknown.climate is not None
    assert unknown.climate.tmin_sd_c > climate.tmin_sd_c + 0.5


def test_a_height_that_is_not_told_is_found_with_its_cure(tmp_path: Path, pollinet: Run) -> None:
    plan = garden(tmp_path, latitude=47.5, longitude=8.7)
    said = pollinet("check", plan)
    assert said.code in (0, 1) and "elevation_m = …" in said.findings
    assert "no-elevation" in {
        found["code"] for found in pollinet("check", plan, "--json").data["findings"]
    }


@pytest.mark.parametrize(
    ("place", "told"),
    [
        ({"latitude": 47.5, "longitude": -140.0, "elevation_m": 5}, "km away"),
        ({"latitude": 12.0, "longitude": 8.5, "elevation_m": 470}, "in the tropics"),
        ({"latitude": 68.0, "longitude": 20.0, "elevation_m": 350}, "milder latitudes"),
    ],
)
def test_where_stations_tell_little_it_is_said(
    place: dict[str, float], told: str, tmp_path: Path, pollinet: Run
) -> None:
    said = pollinet("check", garden(tmp_path, **place))
    assert said.code in (0, 1) and told in said.findings
    assert "weak here" in said.findings and "pollinet fetch" in said.findings


def test_without_longitude_the_cure_is_the_place(tmp_path: Path, pollinet: Run) -> None:
    said = pollinet("check", garden(tmp_path, latitude=47.5))
    assert said.code == 2 and "latitude, longitude, elevation_m" in said.findings


def test_a_plan_with_typed_bloom_stays_as_typed(tmp_path: Path, pollinet: Run) -> None:
    one = '["04-10", "04-20"]'
    more = TYPED.format(name="Regina", bloom=one) + TYPED.format(name="Kordia", bloom=one)
    study = studied(garden(tmp_path, more, **PLACE))
    assert study.record is None and study.climate is None
    springs = '[["04-10", "04-20"], ["04-14", "04-25"]]'
    more = TYPED.format(name="Regina", bloom=springs) + TYPED.format(name="Kordia", bloom=springs)
    assert studied(garden(tmp_path, more, **PLACE)).record is None


def test_a_variety_that_is_not_dated_calls_for_winters(tmp_path: Path) -> None:
    one = TYPED.format(name="Regina", bloom='["04-10", "04-20"]')
    both = one + TYPED.format(name="Kordia", bloom='["04-10", "04-20"]')
    typed = studied(garden(tmp_path, both, **PLACE))
    mixed = typed.with_limb("b", variety="Van")
    text = garden(tmp_path, both, **PLACE).read_text("utf-8")
    (tmp_path / "plan.toml").write_text(
        text.replace('variety = "Kordia"', 'variety = "Van"'), "utf-8"
    )
    file = studied(tmp_path / "plan.toml")
    assert mixed.record is not None and file.record is not None
    assert mixed.bloom.full_h.tobytes() == file.bloom.full_h.tobytes()
    assert mixed.findings == file.findings
    assert mixed.with_limb("b", variety="Kordia").record is None


def test_a_change_keeps_the_winters(tmp_path: Path) -> None:
    study = studied(garden(tmp_path, **PLACE))
    changed = study.with_limb("b", variety="Van")
    assert changed.record is study.record and changed.climate is study.climate


def test_typed_normals_take_their_spread_from_the_place(tmp_path: Path) -> None:
    low = [-2.4, -2.3, 1.1, 4.8, 7.4, 12.5, 13.9, 13.6, 10.6, 6.5, 2.5, -0.5]
    high = [3.2, 5.3, 10.9, 16.3, 18.1, 23.1, 24.5, 24.9, 20.8, 14.8, 8.9, 5.2]
    normals = f"[site.normals]\ntmin_c = {low}\ntmax_c = {high}\n"
    portions = {}
    for name, place in {
        "here": PLACE,
        "inland": {**PLACE, "longitude": 73.0},  # the steppe of Kazakhstan
        "unknown": {"latitude": 47.5},
    }.items():
        told = "\n".join(f"{key} = {value}" for key, value in place.items())
        (tmp_path / "plan.toml").write_text(f"[site]\n{told}\n{normals}{TREE}", "utf-8")
        study = studied(tmp_path / "plan.toml")
        assert study.climate is None and study.record is not None and study.record.generated
        january = study.record.dates.astype("datetime64[M]").astype(int) % 12 == 0
        portions[name] = float(study.record.tmin_c[january].std())
    assert portions["inland"] > 1.3 * portions["here"]
    assert portions["unknown"] == pytest.approx(portions["here"], rel=0.25)


def test_start_names_the_stations_and_asks_about_the_sea(tmp_path: Path, pollinet: Run) -> None:
    words = ("--tree", "old:apple", "--limb", "old:low:Jonathan", "--yes")
    place = ("--latitude", "50.2", "--longitude", "-5.3", "--elevation", "40")
    said = pollinet("start", tmp_path / "coast", *place, *words)
    assert (
        said.code == 0
        and " km" in said.out
        and "the sea is within 5 km" in " ".join(said.out.split())
    )
    assert pollinet("check", tmp_path / "coast" / "plan.toml").code in (0, 1)
    place = ("--latitude", "46.4", "--longitude", "7.2", "--elevation", "900")
    said = pollinet("start", tmp_path / "hill", *place, *words, "--json")
    assert said.data["stations"][0]["km"] > 0
    said = pollinet("start", tmp_path / "nowhere", "--latitude", "46.4", *words)
    assert said.code == 0 and "Add longitude and elevation_m" in said.out
