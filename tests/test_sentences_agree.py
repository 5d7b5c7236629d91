"""Sentences agree with the numbers that they tell, and say no unit twice."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pollinet.domain import VarietyId
from pollinet.language import speaking
from pollinet.study import open_study
from pollinet.wording.sentences import first_of, memory_text
from pollinet.wording.verdicts import verdict_sentence

Run = Callable[..., Any]

SITE = "[site]\nlatitude = 48\nlongitude = 9\nelevation_m = 300\n"


def plan_of(folder: Path, fruit: str, **limbs: str) -> Path:
    """A plan of one tree with these limbs: what stands behind each variety in its table."""
    file = folder / "plan.toml"
    tree = f'[[tree]]\nid = "t"\nspecies = "{fruit}"\n'
    rows = (f'[[tree.limb]]\nid = "{name}"\n{rest}\n' for name, rest in limbs.items())
    file.write_text(SITE + tree + "".join(rows), encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("language", "told"),
    [("en", "0 of 1 limb has a viable donor"), ("de", "0 von 1 Ast hat")],
)
def test_none_of_one_is_told_as_of_one(
    tmp_path: Path, pollinet: Run, language: str, told: str
) -> None:
    plan = plan_of(tmp_path, "apple", a='variety = "Bramley\'s Seedling"')
    assert told in " ".join(pollinet("check", plan, "--language", language).out.split())


def test_a_count_in_the_log_is_told_by_its_kind_alone(tmp_path: Path, pollinet: Run) -> None:
    plan = plan_of(tmp_path, "apple", a='variety = "Gala"')
    for kind, value in (("--clusters", "60"), ("--fruits", "20"), ("--shoots", "30")):
        pollinet("record", plan, "a", kind, value, "--year", "2025")
    lines = pollinet("record", plan).out.splitlines()
    assert "- 2025, a: clusters 60" in lines and "- 2025, a: fruits 20" in lines
    assert "- 2025, a: shoots 30 cm" in lines


def test_the_first_fruit_of_a_young_graft_is_told_by_its_year(
    tmp_path: Path, pollinet: Run
) -> None:
    plan = plan_of(tmp_path, "apple", a='variety = "Gala"\ngrafted = 2024', b='variety = "Elstar"')
    pollinet("record", plan, "a", "--clusters", "0", "--year", "2025")
    said = " ".join(pollinet("diagnose", plan, "a", "--year", "2025").out.split())
    # Grafts on a bearing tree bear from their second year on: bearing.csv.
    assert "grafted in 2024; its fruit usually begins in 2026 or later" in said


def test_a_fruit_that_sets_itself_is_not_told_as_most_of_it(tmp_path: Path) -> None:
    limbs = {"a": 'variety = "J.H. Hale"', "b": 'variety = "Flordaprince"'}
    study = open_study(plan_of(tmp_path, "peach", **limbs)).study
    assert study is not None
    donor, receiver = (VarietyId("peach", name) for name in ("Flordaprince", "J.H. Hale"))
    (share,) = (
        share
        for row in study.coverage
        for share in row.donors
        if study.network.nodes[row.node].variety == receiver
        and study.network.nodes[share.node].variety == donor
    )
    assert share.verdict.code == "assumed-compatible" and share.verdict.probability == 1
    assert "most" not in verdict_sentence(share.verdict)


def test_names_after_of_and_those_that_stand_alone_differ_in_german() -> None:
    names = ["A", "B", "C", "D"]
    with speaking("de"):
        assert first_of(names, 2) == "A, B und 2 weitere"
        assert f"von {first_of(names, 2, after_of=True)}" == "von A, B und 2 weiteren"
        memory = [("bloom", name) for name in names]
        assert "Blüte von A, B, C und D" in memory_text(memory, 4)
        assert "Blüte von A, B und 2 weiteren" in memory_text(memory, 2)


def test_one_limb_that_no_set_helps_is_told_as_one_in_german(tmp_path: Path, pollinet: Run) -> None:
    plan = plan_of(tmp_path, "apple", a='variety = "Gala"')
    scion = '[[scion]]\nspecies = "apple"\nvariety = "Jonagold"\n'
    roomy = plan.read_text(encoding="utf-8").replace('id = "t"', 'id = "t"\nspare_limbs = 1')
    plan.write_text(roomy + scion, encoding="utf-8")
    said = " ".join(pollinet("cover", plan, "--language", "de").out.split())
    assert "hätten a " not in said and "zu wenige Winter mit Befruchter" in said
