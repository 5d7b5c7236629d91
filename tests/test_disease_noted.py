"""Signs of disease in the log: the tree takes no graft and gives no wood, and that is said first.

What is expected: a tree with fire blight is neither grafted nor cut for scions
(extension.illinois.edu/hortanswers); `blackened` counts, too, as only a laboratory tells blossom
blast from fire blight. Two years: common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import gardens
import pytest

Run = Callable[..., Any]

HEAD = "date,limb,kind,value,unit,note\n"
GARDEN = (
    gardens.tree("A B", spare=1),
    gardens.scions("C"),
    gardens.variety("A", "S1S2", [110, 120]),
    gardens.variety("B", "S1S2", [110, 120]),
    gardens.variety("C", "S3S4", [110, 120]),
)


def noted(folder: Path, log: str, *parts: str) -> Path:
    (folder / "records.csv").write_text(HEAD + log, encoding="utf-8")
    return gardens.written(folder, *(parts or GARDEN))


@pytest.mark.parametrize("sign", ["ooze", "crook", "blackened"])
def test_a_tree_under_suspicion_takes_no_graft(tmp_path: Path, pollinet: Run, sign: str) -> None:
    healthy = pollinet("scions", noted(tmp_path, ""), "--json").data
    assert [one["tree"] for one in healthy["scions"]] == ["tree"]
    plan = noted(tmp_path, f"2026,B,disease,{sign},,\n")
    found = pollinet("scions", plan, "--json").data
    assert all(one["tree"] is None for one in found["scions"])
    assert "disease-noted" in [one["code"] for one in found["findings"]]
    candidates = pollinet("pollinizer", plan, "--json").data["candidates"]
    assert all(place["spare_limbs"] == 0 for one in candidates for place in one["trees"])
    work = pollinet("work", plan, "--from", "2026-11-30", "--json").data
    assert not [task for task in work["tasks"] if task["task"].startswith("graft")]


def test_the_suspicion_is_said_by_check_and_by_diagnose(tmp_path: Path, pollinet: Run) -> None:
    plan = noted(tmp_path, "2026,B,disease,crook,,\n2026,B,clusters,0,,\n")
    told = pollinet("check", plan)
    assert "fire blight" in told.err and "Tree tree" in told.err
    answer = pollinet("diagnose", plan, "B", "--json").data
    assert answer["answer"].startswith("First: its tree is under suspicion of fire blight")
    # A tip bent like a crook says nothing of a mosaic on the leaves.
    virus = next(one for one in answer["causes"] if one["cause"] == "virus")
    assert not virus["evidence_against"]
    assert "shoot tips bent like a crook" in pollinet("diagnose", plan, "B").out


@pytest.mark.parametrize(
    ("log", "suspected"),
    [
        ("2026,A,disease,mosaic,,\n", False),
        ("2026,A,disease,none,,\n", False),
        ("2025,A,disease,ooze,,\n2026,A,fruits,3,,\n", True),
        ("2024,A,disease,ooze,,\n2025,A,fruits,3,,\n2026,A,fruits,3,,\n", False),
        # Canker of apple is a fungus; of a stone fruit it may be the bacterium.
        ("2026,A,disease,canker,,\n", False),
    ],
)
def test_which_notes_are_a_suspicion(
    tmp_path: Path, pollinet: Run, log: str, suspected: bool
) -> None:
    found = pollinet("check", noted(tmp_path, log), "--json").data["findings"]
    assert ("disease-noted" in [one["code"] for one in found]) == suspected


def test_canker_on_a_cherry_is_a_suspicion(tmp_path: Path, pollinet: Run) -> None:
    cherry = [part.replace('"apple"', '"sweet cherry"') for part in GARDEN]
    plan = noted(tmp_path, "2026,A,disease,canker,,\n", *cherry)
    assert "bacterial canker" in pollinet("check", plan).err


def test_no_blossom_is_carried_from_a_neighbour_under_suspicion(
    tmp_path: Path, pollinet: Run
) -> None:
    parts = (*GARDEN[:1], *GARDEN[2:], gardens.neighbour("C", 900))
    jars = pollinet("pollinizer", noted(tmp_path, "", *parts), "--json").data["jars"]
    assert [one["id"] for one in jars[0]["sources"]] == ["C"]
    plan = noted(tmp_path, "2026,C,disease,ooze,,\n", *parts)
    assert not any(jar["sources"] for jar in pollinet("pollinizer", plan, "--json").data["jars"])
