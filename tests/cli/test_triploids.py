"""`pollinet triploids`: one donor is needed; the second is for that donor, if at all."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from gardens import O1, O2, O8, neighbour, tree, variety, written

Run = Callable[..., Any]

T = variety("T", "S1S2S3", [110, 121], ploidy=3)


def test_o1_the_second_donor_is_for_the_first(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O1)
    answer = pollinet("triploids", plan, "--json")
    assert answer.code == 1
    (limb,) = answer.data["limbs"]
    assert (limb["id"], limb["covered"], limb["donor"]["variety"]) == ("T", True, "D1")
    assert limb["donor"]["overlap_days"] == 9
    assert (limb["second_donor"], limb["second_donor_needed"]) == ("needed", True)
    assert limb["would_help"] == ["D3"]
    assert "for D1" in answer.data["answer"]


def test_o2_a_self_fertile_donor_needs_no_second(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O2)
    answer = pollinet("triploids", plan, "--json")
    assert answer.code == 0
    (limb,) = answer.data["limbs"]
    assert (limb["donor"]["variety"], limb["donor"]["overlap_days"]) == ("F", 9)
    assert limb["second_donor"] == "self-fertile"
    assert [server["variety"] for server in limb["donor_served_by"]] == ["F"]
    text = pollinet("triploids", plan).out
    assert "no second donor is needed" in text
    # A statement often met and wrong: "a triploid always needs two donors".
    assert "It needs one viable donor" in text


def test_a_donor_next_door_needs_none_and_a_served_one_neither(
    tmp_path: Path, pollinet: Run
) -> None:
    d1 = variety("D1", "S2S5", [108, 118])
    next_door = written(tmp_path, tree("T"), T, d1, neighbour("D1", 10))
    (limb,) = pollinet("triploids", next_door, "--json").data["limbs"]
    assert limb["second_donor"] == "neighbours-tree"
    d3 = variety("D3", "S3S7", [112, 122])
    served = written(tmp_path, tree("T D1 D3"), T, d1, d3)
    answer = pollinet("triploids", served, "--json")
    assert answer.code == 0
    (limb,) = answer.data["limbs"]
    assert limb["second_donor"] == "served"


def test_a_triploid_without_any_donor_says_that_first(tmp_path: Path, pollinet: Run) -> None:
    late = variety("D4", "S4S9", [126, 136])
    answer = pollinet("triploids", written(tmp_path, tree("T D4"), T, late), "--json")
    assert answer.code == 1
    (limb,) = answer.data["limbs"]
    assert (limb["covered"], limb["donor"], limb["second_donor"]) == (False, None, "no-first-donor")


def test_a_triploid_never_serves_a_triploid(tmp_path: Path, pollinet: Run) -> None:
    other = variety("V", "S4S5S7", [110, 121], ploidy=3)
    answer = pollinet("triploids", written(tmp_path, tree("T V"), T, other), "--json")
    assert [limb["donor"] for limb in answer.data["limbs"]] == [None, None]


def test_no_triploid_is_an_answer_too(tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("triploids", written(tmp_path, *O8))
    assert answer.code == 0
    assert answer.out.startswith("No limb here is known to be triploid")


def test_a_triploid_that_gives_pollen_is_listed_too(tmp_path: Path, pollinet: Run) -> None:
    giver = variety("G", "S4S5S7", [110, 121], ploidy=3, pollen_ok=True)
    plan = written(tmp_path, tree("T G"), T, giver)
    answer = pollinet("triploids", plan, "--json")
    assert [(x["id"], x["good_pollen_by"]) for x in answer.data["limbs"]] == [
        ("T", None),
        ("G", "plan"),
    ]
    by_name = {limb["id"]: limb for limb in answer.data["limbs"]}
    assert by_name["T"]["donor"]["variety"] == "G" and by_name["G"]["donor"] is None
    told = pollinet("triploids", plan).out
    assert "G is triploid and counted as a donor: the plan says so (pollen_ok)." in told


def test_a_self_fertile_triploid_does_not_serve_itself(tmp_path: Path, pollinet: Run) -> None:
    # The design: "pollen_ok: false for triploids", and a donor is viable only with good pollen.
    alone = variety("T", "S1S2S3", [110, 121], ploidy=3, self_fertile=True)
    assert pollinet("check", written(tmp_path, tree("T"), alone)).code == 1
    # The grower is the source that its pollen works.
    told = variety("T", "S1S2S3", [110, 121], ploidy=3, self_fertile=True, pollen_ok=True)
    assert pollinet("check", written(tmp_path, tree("T"), told)).code == 0


def test_several_limbs_lack_one(tmp_path: Path, pollinet: Run) -> None:
    other = variety("U", "S1S2S3", [110, 121], ploidy=3)
    plan = written(tmp_path, tree("T U"), T, other)
    answer = pollinet("triploids", plan, "--json").data["answer"]
    assert "T and U lack one" in answer


def test_why_another_donor_than_the_best_is_told(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, tree("T D"), T, neighbour("N", 5),
                   variety("D", "S4S5", [112, 120]), variety("N", "S6S7", [110, 121]))  # fmt: skip
    best = pollinet("check", plan, "--json").data["limbs"][0]["donors"][0]["id"]
    told = pollinet("triploids", plan, "--json").data["limbs"][0]["donor"]["id"]
    assert (best, told) == ("N", "D")
    out = " ".join(pollinet("triploids", plan).out.split())
    assert "T: N (5 m) is the best donor of all, next door; D is told" in out


def test_a_donor_is_named_alike_in_every_answer(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, tree("T D"), T, neighbour("N", 5),
                   variety("D", "S4S5", [112, 120]), variety("N", "S6S7", [110, 121]))  # fmt: skip

    def named(donors: list[dict[str, Any]]) -> list[tuple[str, str]]:
        return [(donor["id"], donor["variety"]) for donor in donors]

    checked = pollinet("check", plan, "--json").data["limbs"][0]["donors"]
    listed = pollinet("donors", plan, "T", "--json").data["donors"]
    (limb,) = pollinet("triploids", plan, "--json").data["limbs"]
    assert named(checked) == named(listed) == [("N", "N"), ("D", "D")]
    assert named([limb["donor"]]) == [("D", "D")]
    assert named(limb["donor_served_by"]) == [("N", "N")]
    # It is another than the first of `check`, and the schema says which.
    about = pollinet("schema", "triploids").data["$defs"]["PollenlessAnswer"]["properties"]
    assert "best limb that has a donor itself" in str(about["donor"])


def test_a_donor_that_need_not_crop_needs_no_second(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O1)
    text = plan.read_text(encoding="utf-8")
    donor = 'id = "D1"\nvariety = "D1"\n'
    assert donor in text
    plan.write_text(text.replace(donor, donor + "crops = false\n"), encoding="utf-8")
    (limb,) = pollinet("triploids", plan, "--json").data["limbs"]
    assert (limb["donor"]["variety"], limb["second_donor"]) == ("D1", "need-not-crop")
    assert limb["second_donor_needed"] is False
