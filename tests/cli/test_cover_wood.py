"""`pollinet cover`: wood at hand or to order, off-years, and trees that may be felled.

Days and alleles are typed: all limbs and scions bloom together, and what shares no allele serves.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gardens import neighbour, scions, studied, tree, variety, written

Run = Callable[..., Any]

SAME = (variety("A", "S1S2", [108, 118]), variety("B", "S1S2", [108, 118]))
DONORS = (
    variety("D", "S3S4", [109, 119]),
    variety("E", "S5S6", [109, 119]),
    variety("F", "S7S8", [109, 119]),
)


def small(*parts: str) -> tuple[str, ...]:
    """The same of a fruit of which the catalogue has few varieties."""
    return tuple(part.replace('"apple"', '"hybrid pear"') for part in parts)


def words(answer: Any) -> str:
    return " ".join(answer.out.split())


def test_the_answer_tells_wood_at_hand_from_wood_to_order(tmp_path: Path, pollinet: Run) -> None:
    """D is typed in the plan and not among the scions: it would have to be ordered."""
    plan = written(tmp_path, *small(tree("A B"), scions("E"), *SAME, *DONORS[:2]))
    at_hand = pollinet("cover", plan, "--from", "catalogue", "--json").data
    assert at_hand["added"] == ["E"]
    assert at_hand["to_order"] == []
    assert {tuple(one) for one in at_hand["alternatives"]} >= {("E",), ("D",)}
    assert at_hand["grafts"][0]["at_hand"] is True
    ordered = pollinet("cover", plan, "--from", "catalogue", "--never", "E", "--json").data
    assert ordered["to_order"] == ordered["added"] == ["D"]
    assert ordered["fewest_ordered"] is True
    text = words(pollinet("cover", plan, "--from", "catalogue", "--never", "E"))
    assert "D (to order or swap) goes on tree" in text
    assert "no set as small has less wood to order" in text


def test_more_wood_at_hand_can_be_preferred_to_fewer_to_order(
    tmp_path: Path, pollinet: Run
) -> None:
    """M serves both limbs and must be ordered; of the scions one serves each limb alone."""
    parts = small(
        tree("A B"),
        scions("P Q"),
        variety("A", "S1S2", [100, 110]),
        variety("B", "S1S2", [120, 130]),
        variety("M", "S3S4", [104, 126]),
        variety("P", "S3S5", [100, 110], self_fertile=True),
        variety("Q", "S4S6", [120, 130], self_fertile=True),
    )
    plan = written(tmp_path, *parts)
    asked = ("cover", plan, "--from", "catalogue")
    few = pollinet(*asked, "--json").data
    assert (few["added"], few["to_order"], few["smaller"]) == (["M"], ["M"], [])
    own = pollinet(*asked, "--prefer", "at-hand", "--json").data
    assert (own["added"], own["to_order"], own["smaller"]) == (["P", "Q"], [], ["M"])
    text = words(pollinet(*asked, "--prefer", "at-hand"))
    assert "Proven: no set has less wood to order." in text
    assert "With more wood to order fewer varieties do: M." in text
    assert "no smaller set has as little to order" in text


FELLED = (
    tree("A"),
    neighbour("D", 10) + "may_be_felled = true\n",
    scions("E"),
    SAME[0],
    *DONORS,
)


def test_a_tree_that_may_be_felled_is_not_the_only_donor(tmp_path: Path, pollinet: Run) -> None:
    standing = written(tmp_path, *(part.replace("may_be_felled = true", "") for part in FELLED))
    assert pollinet("cover", standing, "--json").data["status"] == "nothing to add"
    plan = written(tmp_path, *FELLED)
    check = pollinet("check", plan, "--json")
    assert check.code == 0
    assert check.data["may_be_felled"] == [{"tree": "D", "uncovers": ["A"]}]
    assert "D (10 m) may be felled: A would lack a donor then." in words(pollinet("check", plan))
    cover = pollinet("cover", plan, "--json").data
    assert cover["added"] == ["E"]
    text = words(pollinet("cover", plan))
    assert "Asked for also when one of these is felled, one at a time: D (10 m)." in text
    bare = pollinet("cover", plan, "--never", "E")
    assert bare.code == 1
    assert "When D (10 m) is lost, no choice of these varieties keeps A covered." in words(bare)


def test_springs_are_told_without_the_tree_and_after_a_loss(tmp_path: Path, pollinet: Run) -> None:
    """The graft flowers in its second or third spring; until then all hangs on the neighbour."""
    plan = written(tmp_path, *FELLED)
    asked = ("cover", plan, "--years", "--spring", "2027", "--json")
    told = {row["id"]: row["springs"] for row in pollinet(*asked).data["springs"]}
    shares = [(one["cautious"], one["hopeful"]) for one in told["A"][:3]]
    assert shares == [(0, 1), (0, 1), (1, 1)]
    lost = pollinet(*asked, "--survive-loss").data["springs"]
    after = [(one["cautious"], one["hopeful"]) for one in lost[0]["springs"][:3]]
    assert after == [(0, 0), (0, 1), (1, 1)]
    text = words(pollinet(*asked[:-1]))
    assert "The lower number holds also without a tree that may be felled." in text


@pytest.mark.parametrize("place", ["limb", "neighbour"])
def test_a_donor_with_off_years_is_not_enough_alone(
    place: str, tmp_path: Path, pollinet: Run
) -> None:
    one = (
        tree("A") + '[[tree.limb]]\nid = "D"\nvariety = "D"\nbiennial = true\n'
        if place == "limb"
        else tree("A") + neighbour("D", 10) + "biennial = true\n"
    )
    plan = written(tmp_path, one, scions("E"), SAME[0], *DONORS)
    check = pollinet("check", plan, "--json")
    limb = check.data["limbs"][0]
    assert limb["covered"] is False
    # Every other spring, in half of the draws the even ones.
    assert limb["reliability"] == 0.5
    assert check.data["flower_every_other_year"] == ["D"]
    assert "Flower every other year only: D." in words(pollinet("check", plan))
    cover = pollinet("cover", plan, "--json").data
    assert cover["added"] == ["E"]
    if place == "limb":
        # In its off-years it needs no donor; in the others A is one.
        assert check.data["limbs"][1]["reliability"] == 1


def test_tendencies_of_the_catalogue_count_where_they_are_asked_for(tmp_path: Path) -> None:
    """Golden Delicious is called biennial, and Gala not (catalogues/apple/facts.csv)."""
    typed = (
        variety(name, genotype, [108, 118])
        for name, genotype in (("Golden Delicious", "S2S3"), ("Gala", "S2S5"))
    )
    limbs = tree("x").replace('id = "x"\nvariety = "x"', 'id = "x"\nvariety = "Gala"')
    parts = (limbs, neighbour("Golden Delicious", 5), *typed)
    for aim, expected in (("", []), ("off_years = true\n", ["Golden Delicious"])):
        plan = written(tmp_path, *parts)
        plan.write_text(plan.read_text().replace("[aim]\n", f"[aim]\n{aim}"))
        study = studied(plan)
        assert [node.id for node in study.nodes() if node.biennial] == expected


def test_the_new_keys_can_be_written_by_command(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, "# my own remark\n", tree("A"), *SAME, *DONORS)
    plan.write_text(plan.read_text().replace('id = "tree"', 'id = "tree"\nposition_m = [0, 0]'))
    apple = ("--species", "apple")
    assert pollinet("plan", "add-neighbour", plan, *apple, "--variety", "D").code == 2
    away = ("--variety", "D", "--at", "30", "-40", "--may-be-felled", "--biennial", "--id", "d")
    assert pollinet("plan", "add-neighbour", plan, *apple, *away).code == 0
    limb = ("--tree", "tree", "--id", "E", "--variety", "E", "--biennial")
    assert pollinet("plan", "add-limb", plan, *limb).code == 0
    wood = (*apple, "--variety", "F", "--biennial")
    assert pollinet("plan", "add-scion", plan, *wood).code == 0
    study = studied(plan)
    (near,) = study.plan.neighbours
    assert (near.position_m, near.distance_m) == ((30, -40), 50)
    assert near.may_be_felled
    assert near.biennial
    assert [limb.biennial for limb in study.plan.limbs] == [False, True]
    assert study.plan.scions[0].biennial
    assert "# my own remark" in plan.read_text()
