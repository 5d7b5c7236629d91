"""Positions of trees: distance between the grower's own trees counts, and scions go to a tree.

Alleles and days are typed, so that distance alone decides. Under the plan's defaults pollen counts
in full up to 18 m and not at all beyond 100 m.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from itertools import combinations
from math import hypot
from pathlib import Path
from typing import Any

import pytest
from gardens import grown, neighbour, scions, studied, tree, variety, written

from pollinet.network.checker import is_cover
from pollinet.network.proximity import distance_m, distances_m, proximity
from pollinet.study import Study, open_study

Run = Callable[..., Any]

VARIETIES = (
    variety("A", "S1S2", [108, 118]),
    variety("B", "S3S4", [108, 118]),
    variety("C", "S1S2", [109, 119]),
    variety("D", "S5S6", [109, 119]),
    variety("E", "S7S8", [110, 120]),
)


def placed(name: str, position: str, limbs: str, spare: int = 0) -> str:
    """A tree of apples whose limbs are called by their varieties; empty position: none."""
    where = json.loads(position) if position else None
    kinds = {f"{name}-{kind}": kind for kind in limbs.split()}
    return grown("apple", kinds, name, spare_limbs=spare, position_m=where)


def opened(folder: Path, *parts: str) -> Study:
    return studied(written(folder, *parts))


def covered(study: Study) -> set[str]:
    return {study.network.nodes[row.node].id for row in study.coverage if row.covered}


@pytest.mark.parametrize(
    ("east", "expected"),
    [(0, {"near-A", "far-B"}), (18, {"near-A", "far-B"}), (100, {"near-A", "far-B"}), (101, set())],
)
def test_own_trees_serve_each_other_within_reach(
    east: int, expected: set[str], tmp_path: Path
) -> None:
    trees = placed("near", "[0, 0]", "A") + placed("far", f"[{east}, 0]", "B")
    study = opened(tmp_path, trees, *VARIETIES)
    assert covered(study) == expected
    # The days count as a neighbour's would at that distance.
    days = float(proximity(east, 18.0, 100.0)) * 11
    effective = [row.donors[0].effective_days for row in study.coverage if row.donors]
    assert effective == pytest.approx([days] * len(expected))


def test_limbs_of_one_tree_stand_on_one_spot(tmp_path: Path) -> None:
    study = opened(tmp_path, placed("one", "[40, -3]", "A B"), *VARIETIES)
    assert (distances_m(study.network.nodes) == 0).all()


def test_distance_is_that_of_the_positions(tmp_path: Path) -> None:
    next_door = neighbour("D", 40).replace("distance_m = 40", "position_m = [-30, 40]")
    study = opened(
        tmp_path, placed("one", "[0, 0]", "A"), placed("two", "[30, 0]", "B"), next_door, *VARIETIES
    )
    a, b, d = study.network.nodes
    assert distance_m(a, b) == 30
    assert distance_m(a, d) == hypot(30, 40)
    assert distance_m(b, d) == hypot(60, 40)
    assert study.plan.neighbours[0].distance_m == 50
    assert distances_m(study.network.nodes).tolist() == [
        [distance_m(one, other) for other in study.network.nodes] for one in study.network.nodes
    ]


def test_a_plan_whose_trees_stand_together_answers_as_one_without_positions(
    tmp_path: Path, pollinet: Run
) -> None:
    told = {}
    for where in ("", "[3, 4]"):
        plan = written(
            tmp_path, placed("one", where, "A C", 1), placed("two", where, "C", 2),
            scions("B D E"), *VARIETIES,
        )  # fmt: skip
        told[where] = [pollinet(command, plan, "--json").data for command in ("check", "cover")]
        for answer in told[where]:
            answer.pop("findings")
            answer.pop("made_of")  # the digest of the plan
        (graft,) = told[where][1]["grafts"]
        assert graft.pop("farthest_m") == (0 if where else None)
    assert told[""] == told["[3, 4]"]


PLOT = (
    placed("north", "[0, 300]", "A", 1),
    placed("south", "[0, 0]", "A C", 1),
    placed("beside", "[5, 0]", "C", 2),
    scions("B D"),
    *VARIETIES,
)
"""A and C share their alleles: all limbs need a donor, on both sides of the plot."""


def test_each_side_gets_a_scion_of_its_own(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *PLOT)
    answer = pollinet("cover", plan, "--json").data
    assert answer["status"] == "optimal"
    assert [graft["tree"] for graft in answer["grafts"]] == ["north", "beside"]
    assert answer["grafts"][0]["carries"] == ["north-A"]
    assert answer["grafts"][1]["other_trees"] == ["south"]
    assert answer["grafts"][1]["farthest_m"] == 5
    assert [graft["why"] for graft in answer["grafts"]] == ["reach", "reach"]
    both = {"B on north", "D on north"}, {"B on beside", "D on beside"}
    assert {frozenset(one) for one in answer["alternatives"]} == {
        frozenset((x, y)) for x in both[0] for y in both[1]
    }
    text = " ".join(pollinet("cover", plan).out.split())
    assert "Graft B on north and B on beside" in text
    assert "from where its pollen reaches" in text


def test_sets_for_several_trees_are_the_brute_force_optimum(tmp_path: Path) -> None:
    study = opened(tmp_path, *PLOT)
    network, found = study.cover()
    room = {"north": 1, "beside": 3}
    grafts = [i for i, node in enumerate(network.nodes) if node.kind == "candidate"]
    good = [
        chosen
        for size in range(4)
        for chosen in combinations(grafts, size)
        if all(sum(network.nodes[i].tree == t for i in chosen) <= n for t, n in room.items())
        and is_cover(network, chosen)
    ]
    least = min(map(len, good))
    assert set(found.alternatives) == {chosen for chosen in good if len(chosen) == least}


def test_a_wish_says_on_which_tree(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *PLOT)
    vague = pollinet("cover", plan, "--must", "D")
    assert vague.code == 2
    assert '"D on north", "D on beside"' in vague.findings
    told = pollinet("cover", plan, "--must", "D on north", "--json").data
    assert all("D on north" in chosen for chosen in told["alternatives"])
    never = pollinet("cover", plan, "--never", "B", "--json").data
    assert never["alternatives"] == [["D on north", "D on beside"]]


def test_donors_and_pollinizer_name_the_tree(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *PLOT)
    donors = pollinet("donors", plan, "south-A", "--json").data
    assert {(one["tree"], one["distance_m"]) for one in donors["donors"]} == {("beside", 5.0)}
    away = {one["reason"] for one in donors["refused"] if one["id"].endswith("on north")}
    assert away == {"300 m away, too far"}
    added = pollinet("pollinizer", plan, "--json").data
    places = {one["id"]: [place["tree"] for place in one["trees"]] for one in added["candidates"]}
    assert places["scion B, apple on north"] == ["north"]
    assert places["scion B, apple on beside"] == ["south", "beside"]
    only = pollinet("pollinizer", plan, "--tree", "south", "--json").data
    assert all(one["id"].endswith("on beside") for one in only["candidates"])


FAR = placed("one", "[0, 0]", "A")


@pytest.mark.parametrize(
    ("parts", "code", "severity", "words"),
    [
        ((placed("one", "[0, 6000]", "A"),), "wrong-value", "error", "at most 5000"),
        ((placed("one", "[0]", "A"),), "wrong-value", "error", "a list of 2 values"),
        ((placed("one", '["x", 1]', "A"),), "wrong-value", "error", "a number"),
        ((FAR, placed("two", "", "B")), "unplaced-tree", "warning", '"two"'),
        (
            (FAR, neighbour("D", 40) + "position_m = [0, 90]\n"),
            "distance-and-position", "warning", "90 to 90 m from your trees",
        ),
        (
            (tree("A"), neighbour("D", 40).replace("distance_m = 40", "position_m = [0, 90]")),
            "missing-key", "error", "no tree of your own has one",
        ),
        (
(FAR, neighbour("D", 40).replace("distance_m = 40", "")),
            "missing-key", "error", '"distance_m" is missing',
        ),
    ],
)  # fmt: skip
def test_what_is_wrong_with_places_is_told(
    parts: tuple[str, ...], code: str, severity: str, words: str, tmp_path: Path
) -> None:
    found = open_study(written(tmp_path, *parts, *VARIETIES)).findings
    told = [(f.code, f.severity) for f in found if words in f.message]
    assert told == [(code, severity)], found


def test_a_distance_that_agrees_is_no_finding(tmp_path: Path) -> None:
    near = neighbour("D", 40) + "position_m = [0, 45]\n"
    study = opened(tmp_path, FAR, near, *VARIETIES)
    assert study.findings == ()
    assert study.plan.neighbours[0].distance_m == 40


def test_what_a_tree_stands_on_is_no_matter_of_distance(tmp_path: Path) -> None:
    one, other = (
        placed(name, "", limbs).replace("spare_limbs", f'rootstock = "{root}"\nspare_limbs')
        for name, limbs, root in (("t", "A", "M9"), ("u", "B", "a seedling"))
    )
    study = opened(tmp_path, one, other, neighbour("D", 30), *VARIETIES)
    assert covered(study) == {"t-A", "u-B"}
    donors = {node.id: node.distance_m for node in study.network.nodes}
    assert donors["D"] == 30
    assert [tree.rootstock for tree in study.plan.trees] == ["M9", "a seedling"]
    row = next(row for row in study.coverage if study.network.nodes[row.node].id == "t-A")
    assert {study.network.nodes[share.node].id for share in row.donors} == {"u-B", "D"}
