"""A limb whose flowers lack winter chill is told so, and sent to no jar of blossom.

In the hills near Perth (Western Australia) apricots get their chill in some winters of ten alone; a
self-fertile one has all the pollen that it wants.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

PLAN = """
[site]
latitude = -31.9
longitude = 116.15
elevation_m = 280

[[tree]]
id = "apricot"
species = "apricot"
spare_limbs = 1
[[tree.limb]]
id = "moor"
variety = "Moorpark"
[[tree.limb]]
id = "harg"
variety = "Hargrand"
"""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    path = tmp_path / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path


def test_check_names_chill_and_no_want_of_pollen(plan: Path, pollinet: Run) -> None:
    told = pollinet("check", plan)
    said = " ".join(told.out.split())
    assert "moor (Moorpark)" in said.partition(" get too little winter chill here")[0]
    assert said.count("too little winter chill here for its") == 2
    assert "too seldom" not in said
    row = {limb["id"]: limb for limb in pollinet("check", plan, "--json").data["limbs"]}["moor"]
    assert row["verdict"] == "lacking"
    assert [donor["id"] for donor in row["donors"]][:1] == ["moor"]
    assert row["reasons"][0]["code"] == "chill"


def test_no_pollen_is_brought_to_flowers_without_chill(plan: Path, pollinet: Run) -> None:
    tasks = pollinet("work", plan, "--json").data["tasks"]
    helped = {limb for task in tasks if task["task"] in ("jar", "hand") for limb in task["limbs"]}
    assert "moor" not in helped
    jars = pollinet("pollinizer", plan, "--json").data["jars"]
    assert "moor" not in {jar["limb"] for jar in jars}
    said = " ".join(pollinet("cover", plan).out.split())
    assert "moor (Moorpark): its own pollen serves it in 7 of 10 winters" in said
    assert "it would be 7 of 10; too little winter chill here for its flowers" in said


def test_where_sources_disagree_about_a_need_it_speaks_against_no_variety(
    plan: Path, pollinet: Run
) -> None:
    """Cripps Pink: 73 portions by forced shoots, 38 and 57 by fits on its bloom (CHILLCOMP)."""
    apples = PLAN.replace("apricot", "apple").replace("Moorpark", "Anna")
    plan.write_text(apples.replace("Hargrand", "Granny Smith"), encoding="utf-8")
    (view,) = pollinet("suits", plan, "Cripps Pink", "--json").data["varieties"]
    assert "chill" not in view["against"]
    assert "chill sources" in view["not_known"]
    assert "sources differ" in " ".join(pollinet("suits", plan, "Cripps Pink").out.split())


def test_diagnosis_and_chill_tell_one_figure(plan: Path, pollinet: Run) -> None:
    """Published or drawn, in the south as on a hill in the Carpathians."""
    hill = PLAN.replace("-31.9", "48.9").replace("116.15", "20.3").replace("280", "610")
    hill = hill.replace("apricot", "sweet cherry").replace("Moorpark", "Regina")
    there = plan.with_name("hill.toml")
    there.write_text(hill.replace("Hargrand", "Bing"), encoding="utf-8")
    for path in (plan, there):
        for limb in pollinet("chill", path, "--json").data["limbs"]:
            enough = limb["drawn_enough"] if limb["enough"] is None else limb["enough"]
            asked = ("diagnose", path, limb["id"], "--year", "2026", "--json")
            assert pollinet(*asked).data["measures"]["chill_usual"]["value"] == enough
    # Regina needs more than Bing (Campoy et al. 2019): seven winters of ten are not nearly all.
    assert "nearly every winter" not in pollinet("diagnose", there, "moor", "--year", "2026").out


def test_blossom_alone_does_not_speak_for_accepted_pollen(plan: Path, pollinet: Run) -> None:
    """Nobody knows whether pollen of Moorpark serves Hargrand: that both bloom shows no partner."""
    asked = ("diagnose", plan, "harg", "--year", "2026", "--json")
    cause = {one["cause"]: one for one in pollinet(*asked).data["causes"]}["no-overlap"]
    assert cause["evidence_against"] == []
