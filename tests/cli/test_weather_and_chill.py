"""`pollinet weather` and `pollinet chill` against sums made another way."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


@pytest.fixture
def garden(demo: Path) -> Path:
    return demo / "plan.toml"


def test_monthly_means_are_those_of_the_file(garden: Path, pollinet: Run) -> None:
    lines = (garden.parent / "weather.csv").read_text().splitlines()
    rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    january = [float(row["tmin_c"]) for row in rows if row["date"][5:7] == "01"]
    data = pollinet("weather", garden, "--json").data
    assert data["generated"]
    assert data["months"][0]["mean_tmin_c"] == pytest.approx(sum(january) / len(january), abs=0.01)
    assert data["months"][0]["lowest_c"] == min(january)
    assert data["winters"] == list(range(1996, 2026))


def test_the_record_is_told_at_a_glance(garden: Path, pollinet: Run) -> None:
    answer = pollinet("weather", garden)
    assert answer.code == 0
    assert "30 winters" in answer.out.splitlines()[1]
    assert "1996–2025" in answer.out


def test_hours_of_one_winter_by_hand(garden: Path, pollinet: Run) -> None:
    data = pollinet("chill", garden, "--json").data
    assert len(data["winters"]) == 30
    for values in data["supply"].values():
        assert len(values) == 30
    for below, from_zero in zip(
        data["supply"]["hours"], data["supply"]["hours_above_0"], strict=True
    ):
        assert 0 <= from_zero <= below <= 24 * 182


def test_requirements_are_told_or_not_known(garden: Path, pollinet: Run) -> None:
    answer = pollinet("chill", garden)
    assert answer.code == 0
    assert "not published" in answer.out
    limbs = {limb["variety"]: limb for limb in pollinet("chill", garden, "--json").data["limbs"]}
    # Golden Delicious by forced shoots: 50 (UC Davis tree phenology, table 1, Erez 2000), 52 and
    # 60.8 portions (CHILLCOMP); what was fitted on dates of bloom is not mixed with them.
    assert limbs["Golden Delicious"]["needs_portions"] == 52
    assert limbs["Golden Delicious"]["sources"] == ["ELYAACOUBI2016", "FINETTO2013", "UCD-CP"]
    assert limbs["Golden Delicious"]["enough"] == 1
    assert limbs["Garnet"]["needs_portions"] is None
    assert limbs["Garnet"]["enough"] is None


def test_a_plan_with_typed_dates_has_no_weather(tmp_path: Path, pollinet: Run) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(
        '[[tree]]\nid = "t"\nspecies = "apple"\n[[tree.limb]]\nid = "a"\nvariety = "A"\n'
        '[[variety]]\nspecies = "apple"\nname = "A"\nbloom = ["04-10", "04-20"]\n'
    )
    for command in ("weather", "chill"):
        answer = pollinet(command, plan)
        assert answer.code == 0
        assert "no weather was used" in answer.out
    assert " ".join(pollinet("chill", plan).out.split()).count("requirement is") == 1
    assert pollinet("weather", plan).out.splitlines()[-1].startswith("To use weather: ")
