"""A warmer outlook: what is known was observed in the climate of today."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import awkward_gardens
import numpy as np
import pytest
from gardens import HILL, saved, studied

from pollinet.study import Study

Run = Callable[..., Any]

PLAN = (
    HILL
    + """[[tree.limb]]
id = "typed"
variety = "Own"
[[variety]]
species = "sweet cherry"
name = "Own"
s_genotype = "S2S5"
bloom = ["04-05", "04-16"]
"""
)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return saved(tmp_path_factory.mktemp("outlook"), PLAN)


@pytest.fixture(scope="module")
def study(plan: Path) -> Study:
    return studied(plan)


def test_nothing_warmer_changes_nothing(study: Study) -> None:
    same = study.warmer(0.0)
    assert (same.bloom.full_h == study.bloom.full_h).all()


def test_bloom_comes_earlier_where_chill_is_plentiful(study: Study) -> None:
    # Sarisu 2021 (Pol. J. Environ. Stud. 30:351-359): about 4 days a degree in sweet cherry.
    days = (study.bloom.full_h - study.warmer(1.0).bloom.full_h).mean(axis=(1, 2)) / 24
    assert ((days > 2) & (days < 8)).all()


def test_typed_dates_move_too(study: Study) -> None:
    """Dates typed by the grower hold for the climate of today, not for a warmer one."""
    row = [name.name for name in study.bloom.varieties].index("Own")
    assert (study.warmer(2.0).bloom.full_h[row] < study.bloom.full_h[row]).mean() > 0.95


def test_chill_falls_with_warmth(study: Study) -> None:
    now, then = study.chill_supply, study.warmer(3.0).chill_supply
    assert now is not None
    assert then is not None
    assert (then.hours < now.hours).all()


def test_check_and_chill_tell_both(plan: Path, pollinet: Run) -> None:
    data = pollinet("check", plan, "--warmer", 1.5, "--json").data
    assert data["warmer"]["degrees_c"] == 1.5
    now = {limb["id"]: limb["bloom"]["full"] for limb in data["limbs"]}
    then = {limb["id"]: limb["bloom"]["full"] for limb in data["warmer"]["limbs"]}
    assert all(then[name] < now[name] for name in now)
    answer = pollinet("check", plan, "--warmer", 1.5)
    assert "+1.5 °C" in answer.out
    assert max(map(len, answer.out.splitlines())) <= 100
    data = pollinet("chill", plan, "--warmer", 1.5, "--json").data
    assert sum(data["warmer"]["supply"]["hours"]) < sum(data["supply"]["hours"])
    assert pollinet("check", plan, "--warmer", 40).code == 2


def test_cover_tells_both(tmp_path: Path, pollinet: Run) -> None:
    assert pollinet("demo", "--out", tmp_path).code == 0
    plan = tmp_path / "plan.toml"
    data = pollinet("cover", plan, "--warmer", 2, "--json").data
    assert data["warmer"]["degrees_c"] == 2
    assert data["warmer"]["status"] in ("optimal", "infeasible", "nothing to add")
    plain = pollinet("cover", plan, "--json").data
    assert data["added"] == plain["added"]
    assert "2 °C warmer" in pollinet("cover", plan, "--warmer", 2).out


@pytest.mark.parametrize("command", ["check", "chill", "cover"])
def test_without_weather_nothing_grows_warmer(command: str, tmp_path: Path, pollinet: Run) -> None:
    plan = awkward_gardens.written("one limb", tmp_path)
    answer = pollinet(command, plan, "--warmer", 2)
    assert "nothing that --warmer could make warmer" in answer.findings
    data = pollinet(command, plan, "--warmer", 2, "--json").data
    assert "nothing-to-warm" in [finding["code"] for finding in data["findings"]]
    assert "warmer" not in pollinet(command, plan).err


def test_the_text_of_chill_tells_both_supplies(plan: Path, pollinet: Run) -> None:
    data = pollinet("chill", plan, "--warmer", 1.5, "--json").data
    text = " ".join(pollinet("chill", plan, "--warmer", 1.5).out.split())
    now, then = text.split("The same with every hour +1.5 °C:")
    alone = " ".join(pollinet("chill", plan).out.split())
    assert now.strip() == alone.strip()
    for part, told in ((now, data["supply"]), (then, data["warmer"]["supply"])):
        portions = sorted(told["portions"])
        row = re.search(r"Dynamic Model\)((?: \d+)+)", part)
        assert row is not None
        lowest, _worst, middle, highest = map(int, row[1].split())
        assert (lowest, highest) == (round(portions[0]), round(portions[-1]))
        assert middle == pytest.approx(np.median(portions), abs=0.5)
