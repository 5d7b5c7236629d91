"""`pollinet pollinizer`: the one variety to add, where, and a jar of blossom until it flowers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from gardens import O1, O3, O8, neighbour, scions, tree, variety, written

from pollinet.demo import demo_files, write_demo
from pollinet.readers.catalogue import fruits

Run = Callable[..., Any]


def test_o1_d3_is_the_one_and_the_others_do_nothing(tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("pollinizer", written(tmp_path, *O1), "--json")
    assert answer.code == 0
    (best,) = answer.data["candidates"]
    assert (best["variety"], best["covers"], best["own_reliability"]) == ("D3", ["D1"], 1)
    # D1 and D3 share 7 days, all of the pollen accepted.
    (gain,) = best["gains"]
    assert (gain["limb"], gain["now"], gain["then"], gain["overlap_days"]) == ("D1", 0, 1, 7)
    (jar,) = answer.data["jars"]
    assert [s["variety"] for s in jar["sources"]] == ["D3"]


def test_o3_the_variety_of_like_chill_is_chosen(tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("pollinizer", written(tmp_path, *O3))
    assert answer.code == 0
    assert answer.out.startswith("Graft K: then H has a donor")


def test_o8_both_optima_are_listed_before_the_one_that_leaves_c(
    tmp_path: Path, pollinet: Run
) -> None:
    answer = pollinet("pollinizer", written(tmp_path, *O8), "--json")
    ranked = [(c["variety"], c["covers"]) for c in answer.data["candidates"]]
    assert sorted(ranked[:2]) == [("X1", ["A", "B", "C"]), ("X2", ["A", "B", "C"])]
    assert ranked[2] == ("X3", ["A", "B"])
    # Worked by hand: X1 shares exactly 3 days with C, X2 exactly 3 with A.
    shared = {
        (c["variety"], g["limb"]): g["overlap_days"]
        for c in answer.data["candidates"]
        for g in c["gains"]
    }
    assert (shared["X1", "C"], shared["X2", "A"], shared["X2", "C"]) == (3, 3, 7)


def test_a_tree_out_of_reach_can_give_a_jar(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O8, neighbour("N", 400))
    jars = {j["limb"]: j["sources"] for j in pollinet("pollinizer", plan, "--json").data["jars"]}
    assert {limb: sources[0]["id"] for limb, sources in jars.items()} == dict.fromkeys("ABC", "N")
    text = pollinet("pollinizer", plan).out
    assert "N (next door" in text
    assert "fire blight" in text and "plant-health" in text
    near = written(tmp_path, *O8, neighbour("N", 14))
    assert pollinet("pollinizer", near, "--json").data["jars"] == []


def test_blossom_of_blocked_wood_is_never_advised(tmp_path: Path, pollinet: Run) -> None:
    ill = [part.replace('"X1"\n', '"X1"\nblocked = "canker"\n', 1) if "[[scion]]" in part else part
           for part in O8]  # fmt: skip
    data = pollinet("pollinizer", written(tmp_path, *ill), "--json").data
    assert "X1" not in {s["variety"] for j in data["jars"] for s in j["sources"]}
    assert "X1" not in {c["variety"] for c in data["candidates"]}


def test_a_candidate_without_a_donor_comes_last_and_is_told(tmp_path: Path, pollinet: Run) -> None:
    # G serves A and is served by nobody: A is triploid.
    parts = (
        tree("A"),
        scions("G"),
        variety("A", "S1S2S3", [110, 120], ploidy=3),
        variety("G", "S4S5", [110, 120]),
    )
    answer = pollinet("pollinizer", written(tmp_path, *parts), "--json")
    (choice,) = answer.data["candidates"]
    assert (choice["covers"], choice["closed"], choice["own_reliability"]) == (["A"], False, 0)
    assert answer.code == 1
    assert "no donor itself" in answer.data["answer"]


def test_what_lifts_nothing_by_a_whole_winter_is_no_advice(tmp_path: Path, pollinet: Run) -> None:
    # Of twenty springs A shares the first with C, the second with K; B all with K but the second,
    # and all with C but the first: A has 1 winter of 20 and 2 with K, B has 19 and then all.
    early, late = [110, 120], [140, 150]
    parts = (
        tree("A B C"),
        scions("K"),
        variety("A", "S1S2S3", [early] * 20, ploidy=3),
        variety("B", "S4S5", [late] * 20),
        variety("C", "S6S7", [early] + [late] * 19),
        variety("K", "S8S9", [late, early] + [late] * 18),
    )
    plan = written(tmp_path, *parts)
    answer = pollinet("pollinizer", plan, "--json")
    assert (answer.code, answer.data["uncovered"]) == (1, ["A"])
    assert (answer.data["candidates"], answer.data["how"]) == ([], None)
    text = pollinet("pollinizer", plan).out
    assert text.startswith("Nothing at hand helps A") and "--from catalogue" in text
    assert "Where:" not in text and "Sticks of" not in text
    assert pollinet("scions", plan).out.startswith("No scion here would help.")


def test_no_room_is_told_with_the_answer(tmp_path: Path, pollinet: Run) -> None:
    full = [part.replace("spare_limbs = 3", "spare_limbs = 0") for part in O1]
    answer = pollinet("pollinizer", written(tmp_path, *full))
    assert "no limb to spare on tree" in answer.out


def test_one_tree_alone_can_be_asked_for(tmp_path: Path, pollinet: Run) -> None:
    write_demo(tmp_path, demo_files())
    plan = tmp_path / "plan.toml"
    cherry = pollinet("pollinizer", plan, "--tree", "cherry", "--json").data
    assert {c["species"] for c in cherry["candidates"]} == {"sweet cherry"}
    assert cherry["uncovered"] == ["C-mid"]
    apple = pollinet("pollinizer", plan, "--tree", "apple")
    assert apple.code == 0
    assert apple.out.startswith("Nothing has to be added")
    wrong = pollinet("pollinizer", plan, "--tree", "chery")
    assert wrong.code == 2
    assert "cherry" in wrong.err


def test_what_is_not_known_is_said_so(tmp_path: Path, pollinet: Run) -> None:
    (best, *_) = pollinet("pollinizer", written(tmp_path, *O8), "--json").data["candidates"]
    assert best["chill_met"] is None
    assert best["vigour"] is None
    assert best["harvest"] is None


def test_a_crab_is_told_beside_its_place(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O1)
    before = pollinet("pollinizer", plan, "--json").data["candidates"]
    (best,) = before
    own = plan.parent / "catalogues" / fruits()[best["species"]].folder
    own.mkdir(parents=True)
    header = "variety,property,value,unit,context,source,status,note\n"
    (own / "facts.csv").write_text(f"{header}D3,crab,yes,,,own,plan,\n", encoding="utf-8")
    (crab,) = pollinet("pollinizer", plan, "--json").data["candidates"]
    assert crab == {**best, "crab": True} and best["crab"] is None
    assert "D3 is a crab apple" in pollinet("pollinizer", plan).out
