"""Whole plans whose right answer was worked out outside the program (see `gardens`)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gardens import O1, O2, O3, O8, limbs, neighbour, scions, tree, variety, written

Run = Callable[..., Any]


@pytest.fixture
def o1(tmp_path: Path) -> Path:
    return written(tmp_path, *O1)


def test_o1_a_triploid_is_covered_and_its_donor_is_not(o1: Path, pollinet: Run) -> None:
    answer = pollinet("check", o1, "--json")
    assert answer.code == 1
    triploid, donor = limbs(answer.data)["T"], limbs(answer.data)["D1"]
    assert triploid["covered"]
    (by_d1,) = triploid["donors"]
    assert (by_d1["variety"], by_d1["overlap_days"]) == ("D1", 9)
    assert by_d1["compatible_fraction"] == 0.5
    assert not donor["covered"]
    assert donor["reliability"] == 0
    assert any("triploid" in reason["text"] for reason in donor["reasons"])


def test_o1_exactly_d3_is_added(o1: Path, pollinet: Run) -> None:
    answer = pollinet("cover", o1, "--json")
    assert answer.code == 0
    assert answer.data["status"] == "optimal"
    assert answer.data["added"] == ["D3"]
    assert answer.data["alternatives"] == [["D3"]]
    assert answer.data["proof"]["gap"] == 0


def test_o2_one_self_fertile_partner_is_enough(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O2)
    answer = pollinet("check", plan, "--json")
    assert answer.code == 0
    triploid = limbs(answer.data)["T"]
    assert [(d["variety"], d["overlap_days"]) for d in triploid["donors"]] == [("F", 9)]
    assert limbs(answer.data)["F"]["covered"]
    answer = pollinet("cover", plan, "--json")
    assert (answer.data["status"], answer.data["added"]) == ("nothing to add", [])


def test_o3_warm_winters_are_counted_not_averaged(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O3)
    answer = pollinet("check", plan, "--json")
    receiver = limbs(answer.data)["H"]
    assert receiver["reliability"] == pytest.approx(0.7)
    assert not receiver["covered"]
    answer = pollinet("cover", plan, "--json")
    assert answer.data["added"] == ["K"]
    assert answer.data["reliability"] >= 0.8


@pytest.fixture
def o8(tmp_path: Path) -> Path:
    return written(tmp_path, *O8)


def test_o8_all_are_covered_while_the_neighbour_stands(tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("check", written(tmp_path, *O8, neighbour("N", 14)), "--json")
    assert answer.code == 0
    (by_n,) = [d for d in limbs(answer.data)["C"]["donors"] if d["variety"] == "N"]
    assert by_n["overlap_days"] == 4


def test_o8_none_is_covered_when_it_is_felled(o8: Path, pollinet: Run) -> None:
    answer = pollinet("check", o8, "--json")
    assert answer.code == 1
    assert [limb["covered"] for limb in answer.data["limbs"]] == [False] * 3
    answer = pollinet("cover", o8, "--json")
    assert sorted(answer.data["alternatives"]) == [["X1"], ["X2"]]
    assert answer.data["proof"]["bound"] == 1


@pytest.mark.parametrize(
    ("parts", "word", "together", "even_share"),
    [
        # T 110–121 and D1 108–118: nine of the fourteen days with blossom are shared.
        (O1, "even", 9 / 14, 1),
        # H and L share 7 of 13 days in seven springs and none in the three warm ones.
        (O3, "even", 7 / 13, 0.7),
        # A ends on day 114, C begins on day 116: never all three.
        (O8, "lopsided", 0, 0),
    ],
)
def test_the_look_of_the_trees_in_bloom(
    parts: tuple[str, ...],
    word: str,
    together: float,
    even_share: float,
    tmp_path: Path,
    pollinet: Run,
) -> None:
    look = pollinet("balance", written(tmp_path, *parts), "--json").data["looks"]["tree"]["bloom"]
    assert look["word"] == word
    assert look["together"] == pytest.approx(together)
    assert look["even_share"] == pytest.approx(even_share)


def test_an_unknown_genotype_is_neither_a_silent_yes_nor_a_no(
    tmp_path: Path, pollinet: Run
) -> None:
    nameless = variety("U", "", [108, 118]).replace('s_genotype = ""\n', "")
    plan = written(tmp_path, tree("A U"), variety("A", "S3S5", [105, 114]), nameless)
    answer = pollinet("check", plan, "--json")
    limb = limbs(answer.data)["A"]
    assert limb["verdict"] == "likely"
    assert limb["winters_sure"] == 0
    assert 0.8 <= limb["reliability"] < 1
    assert limb["reliability_if_unknown_pollen_works"] == 1
    assert limb["hangs_on"][0]["code"] == "donor-alleles"
    assert limb["donors"][0]["compatible_fraction"] is None


def test_a_blocked_scion_is_shown_and_never_chosen(o1: Path, pollinet: Run) -> None:
    text = o1.read_text(encoding="utf-8")
    o1.write_text(text.replace('variety = "D3"\n', 'variety = "D3"\nblocked = "canker"\n'))
    answer = pollinet("cover", o1, "--json")
    assert answer.code == 1
    assert answer.data["status"] == "infeasible"
    assert answer.data["blocked"] == [{"variety": "D3", "why": "canker"}]
    (miss,) = answer.data["uncovered"]
    assert miss["limb"] == "D1"
    assert "canker" in pollinet("cover", o1).out


def test_no_room_on_the_tree_is_named(o1: Path, pollinet: Run) -> None:
    text = o1.read_text(encoding="utf-8").replace("spare_limbs = 3", "spare_limbs = 0")
    o1.write_text(text, encoding="utf-8")
    answer = pollinet("cover", o1, "--json")
    assert answer.code == 1
    assert answer.data["uncovered"][0]["code"] == "no-spare-limb"


def test_two_donors_are_told_as_two(tmp_path: Path, pollinet: Run) -> None:
    """A has B alone in every spring: one donor, where two different ones are asked for."""
    plan = written(
        tmp_path,
        tree("A B"),
        variety("A", "S1S2", [110, 120]),
        variety("B", "S3S4", [110, 120]),
    )
    text = plan.read_text(encoding="utf-8").replace("[aim]\n", "[aim]\ndonors = 2\n")
    plan.write_text(text, encoding="utf-8")
    data = pollinet("check", plan, "--json").data
    assert "0 of 2 limbs have two different viable donors" in data["answer"]
    assert "two different donors are asked for" in limbs(data)["A"]["reasons"][0]["text"]
    assert "each be enough alone" not in pollinet("without", plan).out


def test_a_garden_in_which_nothing_must_crop(tmp_path: Path, pollinet: Run) -> None:
    one = tree("A").replace('id = "A"\n', 'id = "A"\ncrops = false\n')
    plan = written(tmp_path, one, variety("A", "S1S2", [110, 120]))
    answer = pollinet("check", plan)
    assert answer.code == 0
    assert answer.out.startswith("No limb has to crop")


def test_no_spare_limb_is_no_answer_for_a_pollinizer(tmp_path: Path, pollinet: Run) -> None:
    parts = (variety("A", "S1S2", [110, 120]), variety("B", "S3S4", [110, 120]))
    plan = written(tmp_path, tree("A", spare=0), scions("B"), *parts)
    assert pollinet("pollinizer", plan).code == pollinet("cover", plan).code == 1
    plan = written(tmp_path, tree("A", spare=1), scions("B"), *parts)
    assert pollinet("pollinizer", plan).code == pollinet("cover", plan).code == 0
