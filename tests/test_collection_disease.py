"""Signs of disease in one garden's log, and all gardens of a folder together.

What is expected: the same as of the same trees in one plan with the same notes, whose wood is what
stands on its healthy trees. Which notes are a suspicion: see `test_disease_noted.py`.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import chain, combinations
from pathlib import Path
from typing import Any

import pytest
from gardens import neighbour, scions
from test_collection import garden, told, verdicts
from test_positions import VARIETIES, placed

from pollinet.answers.collection import Collection
from pollinet.study import open_study
from pollinet.study.collection import open_collection

Run = Callable[..., Any]

HEAD = "date,limb,kind,value,unit,note\n"
SPOTS = {"a": (0, "A"), "b": (60, "A"), "c": (150, "D"), "d": (150, "E")}
"""Two gardens of A alone, 60 m apart; D and E grow too far from the first of them."""
ILL = tuple(chain.from_iterable(combinations(SPOTS, n) for n in range(len(SPOTS) + 1)))


def note(folder: Path, *rows: str) -> None:
    folder.joinpath("records.csv").write_text(HEAD + "".join(f"{row}\n" for row in rows), "utf-8")


def many(folder: Path, ill: tuple[str, ...] = (), names: str = "abcd") -> Path:
    for name, (east, kind) in ((name, SPOTS[name]) for name in names):
        garden(folder, name, east, 0, placed("t", "[0, 0]", kind, spare=1), *VARIETIES)
        if name in ill:
            note(folder / name, f"2026,t-{kind},disease,ooze,,")
    return folder


@pytest.mark.parametrize("ill", ILL, ids="".join)
def test_it_is_as_in_one_plan_with_the_same_notes(tmp_path: Path, ill: tuple[str, ...]) -> None:
    (group,) = open_collection(many(tmp_path / "many", ill)).groups
    healthy = {kind for name, (_east, kind) in SPOTS.items() if name not in ill}
    trees = [placed(x, f"[{east}, 0]", kind, 1) for x, (east, kind) in SPOTS.items()]
    garden(tmp_path / "one", "all", 0, 0, *trees, scions(" ".join(sorted(healthy))), *VARIETIES)
    note(tmp_path / "one" / "all",
         *(f"2026,{x}-{SPOTS[x][1]},disease,ooze,," for x in ill))  # fmt: skip
    study = open_study(tmp_path / "one" / "all" / "plan.toml").study
    assert study is not None

    assert [one.holder for one in group.suspected] == [f"{x}/t" for x in ill]
    assert [one.holder for one in study.suspected] == list(ill)
    assert [row.reliability for row in group.study.coverage] == [
        row.reliability for row in study.coverage
    ]
    found = []
    for one in (group.study, study):
        network, cover = one.cover()
        chosen = [network.nodes[i] for i in cover.added]
        where = [{tree.id.partition("/")[0] for tree in one.trees_for(node)} for node in chosen]
        found.append(([node.variety for node in chosen], where, len(cover.uncovered),
                      cover.proof.status, [len(of) for of in cover.alternatives]))  # fmt: skip
        assert not any(places & set(ill) for places in where)
    assert found[0] == found[1]


def test_no_wood_comes_from_a_tree_under_suspicion_and_nothing_goes_on_it(tmp_path: Path) -> None:
    (one,) = told(many(tmp_path / "all")).sets
    assert [(graft.variety, graft.wood_from) for graft in one.grafts] == [("D", ("c",))]
    (one,) = told(many(tmp_path / "c", ("c",))).sets
    assert [(graft.variety, graft.wood_from) for graft in one.grafts] == [("E", ("d",))]
    (one,) = told(many(tmp_path / "a", ("a",))).sets
    assert [graft.garden for graft in one.grafts] == ["b"]


def test_wood_of_a_healthy_tree_of_the_variety_may_still_be_cut(tmp_path: Path) -> None:
    many(tmp_path, ("c", "d"))
    assert not told(tmp_path).sets[0].grafts
    garden(tmp_path, "e", 190, 0, placed("v", "", "D"), *VARIETIES)
    (one,) = told(tmp_path).sets
    assert [(graft.variety, graft.wood_from) for graft in one.grafts] == [("D", ("e",))]


@pytest.mark.parametrize(
    "near",
    [
        neighbour("D", 90),
        '[[neighbour]]\nid = "D"\nspecies = "apple"\nvariety = "D"\nposition_m = [90, 3]\n',
    ],
)
def test_signs_that_a_neighbour_noted_count_for_the_tree_itself(near: str, tmp_path: Path) -> None:
    many(tmp_path)
    plan = tmp_path / "b" / "plan.toml"
    plan.write_text(
        plan.read_text("utf-8").replace("[[variety]]", f"{near}[[variety]]", 1), "utf-8"
    )
    note(tmp_path / "b", "2026,D,disease,crook,,")
    answer = told(tmp_path)
    assert [(x.garden, x.neighbour, x.other) for x in answer.told_twice] == [("b", "D", "c")]
    (tree,) = answer.suspected or ()
    assert (tree.garden, tree.tree, tree.next_door, tree.disease) == (
        "c",
        "t",
        False,
        "fire blight",
    )
    assert [(x.limb, x.sign, x.year) for x in tree.signs] == [("t-D", "crook", 2026)]
    (finding,) = [found for found in answer.findings if found.code == "disease-noted"]
    assert (finding.file, finding.place) == ("b/records.csv", "c/t")
    assert [graft.variety for one in answer.sets for graft in one.grafts] == ["E"]


def test_a_tree_next_door_is_told_by_whose_log_has_it(tmp_path: Path) -> None:
    near = '[[neighbour]]\nid = "n"\nspecies = "apple"\nvariety = "E"\nposition_m = [30, 0]\n'
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), near, *VARIETIES)
    near = near.replace("[30", "[-30")
    garden(tmp_path, "b", 60, 0, placed("u", "[0, 0]", "B"), near, *VARIETIES)
    note(tmp_path / "b", "2026,n,disease,ooze,,", "2026,n,disease,ooze,,")
    (tree,) = told(tmp_path).suspected or ()
    assert (tree.garden, tree.tree, tree.next_door, tree.limbs) == ("a", "n", True, ())
    assert len(tree.signs) == 1


def test_it_is_said_first(tmp_path: Path, pollinet: Run) -> None:
    folder = many(tmp_path / "many", ("c",), "abc")
    garden(folder, "far", 2000, 0, placed("t", "", "A B"), *VARIETIES)
    note(folder / "far", "2026,t-A,disease,ooze,,")
    csv, picture = tmp_path / "limbs.csv", tmp_path / "map.svg"
    text = pollinet("collection", folder, "--csv", csv, "--map", picture)
    assert text.out.startswith(
        "First: under suspicion of a disease are c/t (fire blight) and far/t"
    )
    assert max(map(len, text.out.splitlines())) <= 100
    assert " ".join(text.err.split()).count("ooze noted in 2026") == 2
    assert "c/t (D), under suspicion of fire blight: leaves b/t-A" in text.out
    rows = csv.read_text("utf-8").splitlines()
    assert [row.split(",")[:3] for row in rows if row.startswith("fire blight")] == [
        ["fire blight", "c", "t-D"], ["fire blight", "far", "t-A"], ["fire blight", "far", "t-B"],
    ]  # fmt: skip
    data = json.loads(pollinet("collection", folder, "--json").out)
    assert list(data)[:3] == ["schema", "answer", "suspected"]
    assert Collection.from_data(data).to_data() == data
    german = pollinet("collection", folder, "--language", "de").out
    assert german.startswith("Zuerst: ")


def test_notes_that_are_no_suspicion_change_no_byte(tmp_path: Path) -> None:
    folder = many(tmp_path)
    before = told(folder)
    assert "suspected" not in before.to_data()
    assert "suspicion" not in before.to_frame()
    note(folder / "c", "2023,t-D,disease,ooze,,", "2025,t-D,disease,none,,",
         "2026,t-D,disease,mosaic,,")  # fmt: skip
    note(folder / "a", "2026,t-A,fruits,3,,")
    assert told(folder).to_json() == before.to_json()
    assert verdicts(before)["a/t-A"] == "lacking"
