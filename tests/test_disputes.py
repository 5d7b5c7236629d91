"""What sources disagree about, from the plan to the answer: named, with the cheapest test.

Italian Prune: an Austrian teaching text calls it partly self-fertile, Utah State University yes.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from gardens import limbs, saved

Run = Callable[..., Any]

PLAN = """
[site]
latitude = 48.2
[[tree]]
id = "plum"
species = "European plum"
[[tree.limb]]
id = "a"
variety = "Italian Prune"
[[variety]]
species = "European plum"
name = "Italian Prune"
bloom = ["04-10", "04-20"]
"""


def plan(folder: Path, more: str = "") -> Path:
    return saved(folder, PLAN + more)


def test_a_limb_that_hangs_on_a_dispute_is_open_and_names_it(tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("check", plan(tmp_path), "--json")
    limb = limbs(answer.data)["a"]
    assert (limb["verdict"], limb["winters_sure"], limb["winters_possible"]) == ("open", 0.0, 1.0)
    assert 0.2 < limb["winters_expected"] < 0.5  # one source of three
    [question] = limb["hangs_on"]
    assert (question["code"], question["varieties"]) == ("disputed-own-pollen", ["Italian Prune"])
    assert "bag some flowers" in question["settle"]
    text = pollinet("check", plan(tmp_path)).out.replace("\n", " ")
    assert "sources disagree about the self-fertility of Italian Prune" in text
    german = pollinet("check", plan(tmp_path), "--language", "de").out.replace("\n", " ")
    assert (
        "Die Quellen sind uneins, wie es um die Selbstfruchtbarkeit von Italian Prune steht"
        in german
    )


def test_what_the_plan_says_ends_the_dispute(tmp_path: Path, pollinet: Run) -> None:
    for told, verdict in (("true", "sure"), ("false", "lacking")):
        path = plan(tmp_path, f"self_fertile = {told}\n")
        limb = limbs(pollinet("check", path, "--json").data)["a"]
        assert (limb["verdict"], limb["hangs_on"]) == (verdict, [])


def test_variety_shows_both_values_with_source_status_and_weight(pollinet: Run) -> None:
    data = pollinet("variety", "Italian Prune", "--json").data
    assert data["self_fertile"] is None
    [dispute] = data["disputes"]
    assert dispute["property"] == "self_compatibility"
    partial, yes = dispute["values"]
    assert (partial["value"], yes["value"]) == ("partial", "yes")
    assert {"source": "READ-002", "status": "published"} in partial["told_by"]
    assert yes["told_by"] == [{"source": "USU2007", "status": "published"}]
    assert abs(partial["weight"] + yes["weight"] - 1.0) < 0.01
    assert data["own_pollen"]["verdict"] == "unknown"
    assert any("sources disagree" in line for line in data["missing"])
    text = pollinet("variety", "Italian Prune").out.replace("\n", " ")
    assert "self-fertile: partly or yes (disputed)" in text
    assert "Disputed: sets fruit with own pollen: partial (READ-002, published;" in text


def test_an_outweighed_value_is_shown_as_such(pollinet: Run) -> None:
    text = pollinet("variety", "Montmorency", "--species", "sour cherry").out.replace("\n", " ")
    assert "self-fertile: yes" in text
    assert "partial (READ-034, published), outweighed, not used" in text


def test_varieties_find_a_disputed_value_by_either_side(pollinet: Run) -> None:
    for value in ("yes", "no"):
        found = pollinet("varieties", "European plum", "--where", f"self_fertile={value}", "--json")
        rows = {row["variety"]: row for row in found.data["varieties"]}
        assert rows["d'Agen"]["self_fertile"] is None
        told = {one["value"] for one in rows["d'Agen"]["disputes"][0]["values"]}
        assert told == {"yes", "no"}
    names = [
        {row["variety"] for row in pollinet("varieties", "pear", "--where", f"s_genotype~{allele}",
                                            "--json").data["varieties"]}
        for allele in ("S102", "S108")
    ]  # fmt: skip
    assert all("Louise Bonne of Jersey" in found for found in names)


PEARS = """
[site]
latitude = 48.2
[[tree]]
id = "pear"
species = "pear"
[[tree.limb]]
id = "a"
variety = "Louise Bonne of Jersey"
[[tree.limb]]
id = "b"
variety = "Williams"
[[variety]]
species = "pear"
name = "Louise Bonne of Jersey"
bloom = ["04-10", "04-20"]
[[variety]]
species = "pear"
name = "Williams"
bloom = ["04-11", "04-21"]
"""


def test_a_disputed_genotype_is_named_for_both_limbs_of_the_pair(
    tmp_path: Path, pollinet: Run
) -> None:
    """S101S102 is that of Williams; S101S108 (Bagheri and Ershadi 2019) would serve it by half."""
    path = saved(tmp_path, PEARS)
    found = limbs(pollinet("check", path, "--json").data)
    for name in "ab":
        assert found[name]["verdict"] == "open"
        assert 0.2 < found[name]["winters_expected"] < 0.8
        [question] = found[name]["hangs_on"]
        assert question["code"] == "disputed-alleles"
        assert question["varieties"] == ["Louise Bonne of Jersey"]
        assert "measured genotype" in question["settle"]
    # One draw serves both questions: they are served in the same winters.
    assert found["a"]["winters_expected"] == found["b"]["winters_expected"]
    for alleles, verdict in (("S101S102", "lacking"), ("S101S108", "sure")):
        told = PEARS.replace('Jersey"\nbloom', f'Jersey"\ns_genotype = "{alleles}"\nbloom')
        path.write_text(told, encoding="utf-8")
        found = limbs(pollinet("check", path, "--json").data)
        assert {found[name]["verdict"] for name in "ab"} == {verdict}
