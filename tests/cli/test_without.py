"""`pollinet without`: the plan after a loss, and every single loss."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from gardens import O8, neighbour, scions, tree, variety, written

from pollinet.demo import demo_files, write_demo

Run = Callable[..., Any]


@pytest.fixture
def o8(tmp_path: Path) -> Path:
    return written(tmp_path, *O8, neighbour("N", 14))


def test_o8_the_felled_neighbour_uncovers_all_three(o8: Path, pollinet: Run) -> None:
    answer = pollinet("without", o8, "N", "--json")
    assert answer.code == 1
    assert answer.data["lost"] == ["N"]
    assert [(x["covered_now"], x["covered"], x["reliability"]) for x in answer.data["limbs"]] == [
        (True, False, 0)
    ] * 3
    assert sorted(answer.data["then"]["alternatives"]) == [["X1"], ["X2"]]
    assert "pollinet pollinizer" in pollinet("without", o8, "N").out


def test_the_answer_counts_the_limbs_that_the_table_shows_to_fall(
    tmp_path: Path, pollinet: Run
) -> None:
    # Of twenty springs B misses the first two, A the first; A and C refuse each other. Without N,
    # A has 18 instead of 19, nine whole winters of ten either way, and C 18 instead of 20.
    late, early = [140, 150], [60, 70]
    parts = (
        tree("A B C"),
        variety("A", "S1S2", [[80, 90]] + [late] * 19),
        variety("B", "S3S4", [early] * 2 + [late] * 18),
        variety("C", "S1S2", [late] * 20),
        variety("N", "S5S6", [late] * 20),
        neighbour("N", 14),
    )
    plan = written(tmp_path, *parts)
    data = pollinet("without", plan, "N", "--json").data
    shares = {x["id"]: (x["reliability_now"], x["reliability"]) for x in data["limbs"]}
    assert shares == {"A": (0.95, 0.9), "B": (0.9, 0.9), "C": (1.0, 0.9)}
    out = " ".join(pollinet("without", plan, "N").out.split())
    assert "no limb loses cover, but 1 limb is served less." in out
    assert "C ● 10 of 10 ● 9 of 10" in out and "A ● 9 of 10 ● 9 of 10" in out


def test_o8_without_names_the_neighbour_is_the_critical_one(o8: Path, pollinet: Run) -> None:
    answer = pollinet("without", o8, "--json")
    assert answer.code == 0
    assert answer.data["critical"] == ["N"]
    assert answer.data["redundancy"] == {"A": 1, "B": 1, "C": 1}
    assert answer.data["mutual_groups"] == []
    (felled,) = [loss for loss in answer.data["losses"] if loss["uncovers"]]
    assert felled["uncovers"] == ["A", "B", "C"]


def test_the_loss_is_what_check_says_of_the_plan_without_it(tmp_path: Path, pollinet: Run) -> None:
    plan = write_demo(tmp_path, demo_files())
    after = pollinet("without", plan, "neighbour-1", "--json").data
    marker = '[[neighbour]]\nspecies = "apple"\nvariety = "Discovery"\ndistance_m = 25\n'
    text = plan.read_text(encoding="utf-8")
    assert marker in text
    plan.write_text(text.replace(marker, ""), encoding="utf-8")
    checked = pollinet("check", plan, "--json").data
    assert {x["id"]: x["reliability"] for x in after["limbs"]} == {
        x["id"]: x["reliability"] for x in checked["limbs"]
    }
    cover = pollinet("cover", plan, "--json").data
    assert after["then"]["alternatives"] == cover["alternatives"]


def test_every_loss_agrees_with_its_own_answer(tmp_path: Path, pollinet: Run) -> None:
    plan = write_demo(tmp_path, demo_files())
    for loss in pollinet("without", plan, "--json").data["losses"][::4]:
        after = pollinet("without", plan, loss["lost"], "--json").data
        uncovered = [x["id"] for x in after["limbs"] if x["covered_now"] and not x["covered"]]
        assert uncovered == loss["uncovers"]
        falls = {f["limb"]: f["then"] for f in loss["falls"]}
        assert {x["id"]: x["reliability"] for x in after["limbs"] if x["id"] in falls} == falls


def test_mutual_groups_are_the_strongly_connected_components(tmp_path: Path, pollinet: Run) -> None:
    plan = written(
        tmp_path,
        tree("P Q R"),
        variety("P", "S1S2", [110, 120]),
        variety("Q", "S3S4", [110, 120]),
        variety("R", "S5S6S7", [110, 120], ploidy=3),
    )
    data = pollinet("without", plan, "--json").data
    graph = nx.DiGraph([("P", "Q"), ("Q", "P"), ("P", "R"), ("Q", "R")])
    groups = [sorted(g) for g in nx.strongly_connected_components(graph) if len(g) > 1]
    assert data["mutual_groups"] == groups == [["P", "Q"]]
    assert data["redundancy"] == {"P": 1, "Q": 1, "R": 2}
    assert set(data["critical"]) == {"P", "Q"}


def test_a_tree_stands_for_its_limbs_and_a_wrong_name_is_told(o8: Path, pollinet: Run) -> None:
    answer = pollinet("without", o8, "tree")
    assert answer.code == 0
    assert "no limb is left" in answer.out
    wrong = pollinet("without", o8, "M", "neighbor", "--json")
    assert wrong.code == 2
    assert [f["code"] for f in wrong.data["findings"]] == ["unknown-limb"] * 2


def test_two_limbs_of_one_variety_back_each_other_up(tmp_path: Path, pollinet: Run) -> None:
    twice = tree("A B").replace('id = "B"\nvariety = "B"', 'id = "B"\nvariety = "B"\n'
                                '[[tree.limb]]\nid = "B2"\nvariety = "B"')  # fmt: skip
    plan = written(tmp_path, twice, scions(""), variety("A", "S1S2", [110, 120]),
                   variety("B", "S3S4", [110, 120]))  # fmt: skip
    data = pollinet("without", plan, "--json").data
    assert data["critical"] == ["A"]
    assert pollinet("without", plan, "B").code == 0
    assert pollinet("without", plan, "B", "B2").code == 1


def test_the_catalogue_can_help_after_a_loss(tmp_path: Path, pollinet: Run) -> None:
    # Both as published: Golden Delicious S2S3 and Idared S3S7, so that each leaves an allele new.
    limbs = "".join(
        f'[[tree.limb]]\nid = "{x}"\nvariety = "{x}"\n' for x in ("Golden Delicious", "Idared")
    )
    head = '[[tree]]\nid = "tree"\nspecies = "apple"\nspare_limbs = 2\n'
    bloom = ("Golden Delicious", "Idared", "Gala", "Elstar")
    plan = written(
        tmp_path, head, limbs, *(f'[[variety]]\nspecies = "apple"\nname = "{x}"\n'
                                 "bloom_days = [110, 120]\nbloom_sd_days = 0\n" for x in bloom)
    )  # fmt: skip
    none = pollinet("without", plan, "Idared", "--json")
    assert (none.code, none.data["then"]["added"]) == (1, [])
    found = pollinet("without", plan, "Idared", "--from", "catalogue", "--json")
    assert found.code == 1 and found.data["lost"] == ["Idared"]
    assert len(found.data["then"]["added"]) == 1
    assert "Equally small" in pollinet("without", plan, "Idared", "--from", "catalogue").out


def test_equal_sets_stand_in_the_order_of_cover(tmp_path: Path, pollinet: Run) -> None:
    # Vigour as published (NE-183 trial): Honeycrisp and Braeburn low, Shizuka high. In the order of
    # the plan Shizuka would come first.
    parts = (
        tree("Honeycrisp D"),
        scions("Shizuka Braeburn"),
        variety("Honeycrisp", "S1S2", [110, 120], ploidy=2),
        variety("D", "S5S6", [110, 120]),
        variety("Shizuka", "S3S4", [110, 120], ploidy=2, pollen_ok=True),
        variety("Braeburn", "S3S4", [110, 120], ploidy=2),
    )
    then = pollinet("without", written(tmp_path, *parts), "D", "--json").data["then"]
    assert then["alternatives"] == [["Braeburn"], ["Shizuka"]]
    alone = written(tmp_path, tree("Honeycrisp"), *parts[1:3], *parts[4:])
    cover = pollinet("cover", alone, "--trade-off", "--json").data
    assert cover["alternatives"] == then["alternatives"]
    assert [step["added"] for step in cover["trade_off"]["by_number"]] == [[], ["Braeburn"]]
