"""Gardens of a folder together: fences are no borders to bees, and a tree is counted once.

Alleles and days are typed, so that distance alone decides. The same trees in one plan, placed by
hand on a plane, must have the same answers.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from math import cos, hypot, pi, radians
from pathlib import Path
from typing import Any

import pytest
from gardens import neighbour, tree, variety
from test_positions import VARIETIES, placed

import pollinet as pollinet_package
from pollinet.answers.collection import Collection, collection_facts, collection_of
from pollinet.globe import EARTH_RADIUS_M, offset_m
from pollinet.network.checker import is_cover
from pollinet.study import Study, open_study
from pollinet.study.collection import open_collection

Run = Callable[..., Any]

LATITUDE, LONGITUDE = 46.50000, 7.20000
METRE_NORTH = 360 / (2 * pi * EARTH_RADIUS_M)
METRE_EAST = METRE_NORTH / cos(radians(LATITUDE))


def garden(folder: Path, name: str, east: float, north: float, *parts: str, aim: str = "") -> None:
    """A plan in a folder of its own, so many metres from the first garden."""
    own = folder / name
    own.mkdir(parents=True)
    place = (
        f"latitude = {LATITUDE + north * METRE_NORTH:.7f}\n"
        f"longitude = {LONGITUDE + east * METRE_EAST:.7f}\n"
    )
    text = f"[site]\n{place}{aim}" + "".join(parts)
    (own / "plan.toml").write_text(text, encoding="utf-8")


def told(folder: Path) -> Collection:
    opened = open_collection(folder)
    assert opened.groups, opened.findings
    return collection_of(opened, collection_facts(opened), folder)


def verdicts(answer: Collection) -> dict[str, str]:
    return {f"{limb.garden}/{limb.id}": limb.verdict for limb in answer.limbs}


def test_offsets_are_those_of_the_sphere() -> None:
    # A minute of arc along a meridian is a nautical mile, 1,852 m (BIPM, The International System
    # of Units, 9th edition, table 8), on a sphere of the Earth's size to a few metres.
    east, north = offset_m((46.5, 7.2), (46.5 + 1 / 60, 7.2))
    assert east == 0
    assert north == pytest.approx(1852, abs=3)
    # Across the date line it is no way round the world.
    assert offset_m((0.0, 179.9999), (0.0, -179.9999))[0] == pytest.approx(22.2, abs=0.1)


@pytest.mark.parametrize("metres", [10, 60, 99, 101, 400])
def test_a_fence_is_no_border_to_pollen(metres: float, tmp_path: Path) -> None:
    garden(tmp_path / "many", "west", 0, 0, placed("t", "", "A"), *VARIETIES)
    garden(tmp_path / "many", "east", metres, 0, placed("u", "", "B"), *VARIETIES)
    answer = told(tmp_path / "many")

    garden(tmp_path / "one", "all", 0, 0, placed("t", "[0, 0]", "A"),
           placed("u", f"[{metres}, 0]", "B"), *VARIETIES)  # fmt: skip
    study = opened(tmp_path / "one" / "all" / "plan.toml")
    one = {study.network.nodes[row.node].id: row for row in study.coverage}

    assert verdicts(answer) == {"west/t-A": one["t-A"].verdict, "east/u-B": one["u-B"].verdict}
    assert {limb.winters_expected for limb in answer.limbs} == {one["t-A"].reliability}
    assert all(limb.only_across_fences == (limb.verdict == "sure") for limb in answer.limbs)
    assert [limb.verdict_by_own for limb in answer.limbs] == ["lacking", "lacking"]
    linked = {one.name: one.together_with for one in answer.gardens}
    assert linked == ({"east": ("west",), "west": ("east",)} if metres < 100
                      else {"east": (), "west": ()})  # fmt: skip


def opened(path: Path) -> Study:
    found = open_study(path)
    assert found.study is not None, found.findings
    return found.study


def test_positions_count_from_the_site(tmp_path: Path) -> None:
    # Spots 150 m apart, yet the trees stand 20 m from each other.
    garden(tmp_path, "a", 0, 0, placed("t", "[70, 0]", "A"), *VARIETIES)
    garden(tmp_path, "b", 150, 0, placed("u", "[-60, 0]", "B"), *VARIETIES)
    answer = told(tmp_path)
    assert set(verdicts(answer).values()) == {"sure"}
    assert answer.limbs[0].best_donor_m == pytest.approx(20, abs=0.2)
    assert {(one.giver, one.donor, one.receiver) for one in answer.across_fences} == {
        ("a", "t-A", "b"), ("b", "u-B", "a")
    }  # fmt: skip


def test_gardens_hang_together_over_others(tmp_path: Path) -> None:
    for name, east in (("a", 0), ("b", 80), ("c", 160), ("far", 500)):
        garden(tmp_path, name, east, 0, placed("t", "", "A" if name != "b" else "B"), *VARIETIES)
    answer = told(tmp_path)
    assert {one.name: one.together_with for one in answer.gardens} == {
        "a": ("b", "c"), "b": ("a", "c"), "c": ("a", "b"), "far": ()
    }  # fmt: skip
    assert verdicts(answer)["far/t-A"] == "lacking"


def test_what_only_one_garden_tells_a_distance_to_is_out_of_reach_of_the_others(
    tmp_path: Path,
) -> None:
    garden(tmp_path, "a", 0, 0, placed("t", "", "A"), neighbour("D", 30), *VARIETIES)
    garden(tmp_path, "b", 50, 0, placed("u", "", "C"), *VARIETIES)
    # D serves A next door to it; C is 50 m away on the other side, as far as anybody knows.
    assert verdicts(told(tmp_path)) == {"a/t-A": "sure", "b/u-C": "lacking"}


def test_a_neighbours_tree_with_a_place_serves_both_gardens(tmp_path: Path) -> None:
    near = '[[neighbour]]\nid = "n"\nspecies = "apple"\nvariety = "D"\nposition_m = [30, 0]\n'
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), near, *VARIETIES)
    garden(tmp_path, "b", 50, 0, placed("u", "", "C"), *VARIETIES)
    assert verdicts(told(tmp_path)) == {"a/t-A": "sure", "b/u-C": "sure"}


@pytest.mark.parametrize(
    "near",
    [
        neighbour("B", 48),
        '[[neighbour]]\nid = "B"\nspecies = "apple"\nvariety = "B"\nposition_m = [47, 3]\n',
    ],
)
def test_a_tree_that_is_told_twice_is_counted_once(near: str, tmp_path: Path) -> None:
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), near, *VARIETIES)
    garden(tmp_path, "b", 50, 0, placed("u", "", "B"), *VARIETIES)
    answer = told(tmp_path)
    assert [(one.garden, one.neighbour, one.other, one.tree) for one in answer.told_twice] == [
        ("a", "B", "b", "u")
    ]
    # Its loss leaves the other garden's limb bare, which a copy of it would have hidden.
    lost = {(loss.garden, loss.tree): loss for loss in answer.losses}
    assert [(limb.garden, limb.id) for limb in lost["b", "u"].uncovers] == [("a", "t-A")]
    assert lost["b", "u"].in_other_gardens == 1


def test_a_neighbour_of_another_variety_or_place_is_another_tree(tmp_path: Path) -> None:
    near = '[[neighbour]]\nid = "n"\nspecies = "apple"\nvariety = "B"\nposition_m = [30, 0]\n'
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), near, neighbour("D", 50),
           *VARIETIES)  # fmt: skip
    garden(tmp_path, "b", 50, 0, placed("u", "", "B"), *VARIETIES)
    assert told(tmp_path).told_twice == ()


def test_another_variety_on_one_spot_is_told(tmp_path: Path, pollinet: Run) -> None:
    near = '[[neighbour]]\nid = "n"\nspecies = "apple"\nvariety = "D"\nposition_m = [50, 0]\n'
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), near, *VARIETIES)
    garden(tmp_path, "b", 50, 0, placed("u", "", "B"), *VARIETIES)
    (group,) = open_collection(tmp_path).groups
    (clash,) = group.clashes
    assert (clash.garden, clash.neighbour, clash.other, clash.varieties) == ("a", "n", "b", ("B",))
    assert "a/n (D) stands where b/u has B" in pollinet("collection", tmp_path).out


def test_the_smallest_set_serves_all_gardens_and_takes_their_wood(tmp_path: Path) -> None:
    # Two gardens of A only, 60 m apart; D grows at a third, too far from both of them.
    garden(tmp_path, "a", 0, 0, placed("t", "", "A", spare=1), *VARIETIES)
    garden(tmp_path, "b", 60, 0, placed("u", "", "A", spare=1), *VARIETIES)
    garden(tmp_path, "c", 150, 0, placed("v", "", "D", spare=1), *VARIETIES)
    opened = open_collection(tmp_path)
    facts = collection_facts(opened)
    answer = collection_of(opened, facts, tmp_path)
    assert verdicts(answer) == {"a/t-A": "lacking", "b/u-A": "sure", "c/v-D": "sure"}
    (one,) = answer.sets
    (graft,) = one.grafts
    assert graft.variety == "D"
    assert graft.wood_from == ("c",)
    assert graft.garden in ("a", "b")
    network, cover = opened.groups[0].study.cover()
    assert is_cover(network, cover.added)


def test_losses_of_trees_are_those_of_the_joint_plan(tmp_path: Path) -> None:
    spots = {"a": (0, "A"), "b": (30, "B"), "c": (60, "C"), "d": (90, "D")}
    for name, (east, kind) in spots.items():
        garden(tmp_path / "many", name, east, 0, placed("t", "", kind), *VARIETIES)
    trees = [placed(name, f"[{east}, 0]", kind) for name, (east, kind) in spots.items()]
    garden(tmp_path / "one", "all", 0, 0, *trees, *VARIETIES)
    study = opened(tmp_path / "one" / "all" / "plan.toml")
    expected = {}
    for name, (_east, kind) in spots.items():
        then = study.lose_tree(name)
        covered = {f"{x}/t-{k}" for x, (_e, k) in spots.items() if x != name
                   for row in then.coverage
                   if row.covered and then.network.nodes[row.node].id == f"{x}-{k}"}  # fmt: skip
        expected[name] = {f"{x}/t-{k}" for x, (_e, k) in spots.items() if x != name} - covered
        assert kind
    answer = told(tmp_path / "many")
    found = {loss.garden: {f"{one.garden}/{one.id}" for one in loss.uncovers}
             for loss in answer.losses}  # fmt: skip
    assert found == {name: limbs for name, limbs in expected.items() if limbs}


def test_a_plan_with_errors_is_left_out_and_told(tmp_path: Path) -> None:
    garden(tmp_path, "good", 0, 0, placed("t", "", "A B"), *VARIETIES)
    garden(tmp_path, "bad", 10, 0, placed("t", "", "Nosuch"), *VARIETIES)
    answer = told(tmp_path)
    assert answer.left_out == (str(Path("bad") / "plan.toml"),)
    assert "1 plan with errors is left out" in answer.answer
    assert any(found.file == "bad/plan.toml" for found in answer.findings)
    assert answer.exit_code == 1


def test_settings_weather_and_descriptions_that_differ_are_told(tmp_path: Path) -> None:
    garden(tmp_path, "a", 0, 0, "[aim]\nlevel = 0.5\n", placed("t", "", "A"), *VARIETIES)
    other = variety("A", "S1S2", [100, 104])
    garden(tmp_path, "b", 20, 0, placed("u", "", "B"), other, VARIETIES[1])
    opened = open_collection(tmp_path)
    codes = {found.code for found in opened.findings}
    assert {"aims-differ", "told-otherwise"} <= codes
    (group,) = opened.groups
    assert group.study.plan.aim.level == 0.8


def test_a_place_that_is_told_roughly_is_said(tmp_path: Path) -> None:
    for name, degrees in (("a", "7.20"), ("b", "7.20"), ("c", "7.2001234")):
        (tmp_path / name).mkdir()
        text = f"[site]\nlatitude = 46.501234\nlongitude = {degrees}\n"
        parts = (text, placed("t", "", "A"), *VARIETIES)
        (tmp_path / name / "plan.toml").write_text("".join(parts), encoding="utf-8")
    (tmp_path / "nowhere.toml").write_text("[site]\n" + "".join(parts[1:]), encoding="utf-8")
    told_of = {found.file: found.code for found in open_collection(tmp_path).findings
               if found.code in ("rough-place", "no-place")}  # fmt: skip
    assert set(told_of.values()) == {"rough-place", "no-place"}
    assert sum(code == "rough-place" for code in told_of.values()) == 2


def test_other_files_are_passed_over(tmp_path: Path) -> None:
    garden(tmp_path, "good", 0, 0, placed("t", "", "A B"), *VARIETIES)
    (tmp_path / "pyproject.toml").write_text("[tool.x]\ny = 1\n", encoding="utf-8")
    (tmp_path / "good" / "notes.txt").write_text("[site]", encoding="utf-8")
    assert [one.name for one in told(tmp_path).gardens] == ["good"]


def test_the_command_tells_it_and_draws_it(tmp_path: Path, pollinet: Run) -> None:
    garden(tmp_path / "many", "a", 0, 0, placed("t", "", "A", spare=1), *VARIETIES)
    garden(tmp_path / "many", "b", 60, 20, placed("u", "", "B"), placed("w", "[5, 5]", "D"),
           *VARIETIES)  # fmt: skip
    garden(tmp_path / "many", "c", 900, 20, tree("C"), *VARIETIES)
    out = tmp_path / "map.svg"
    result = pollinet("collection", tmp_path / "many", "--map", out)
    assert result.code == 1
    assert "In 3 gardens 3 of 4 limbs have a viable donor." in result.out
    assert "Needs something:" in result.out
    assert max(map(len, result.out.splitlines())) <= 100
    drawn = out.read_text(encoding="utf-8")
    assert "north is up" in drawn
    answer = Collection.from_json(pollinet("collection", tmp_path / "many", "--json").out)
    assert json.loads(answer.to_json())["gardens"][2]["together_with"] == []
    german = pollinet("collection", tmp_path / "many", "--language", "de").out
    assert "In 3 Gärten" in german


@pytest.mark.parametrize("made", [None, "empty", "file"])
def test_a_folder_without_plans_is_told(made: str | None, tmp_path: Path, pollinet: Run) -> None:
    folder = tmp_path / "gardens"
    if made == "empty":
        folder.mkdir()
    elif made == "file":
        folder.write_text("", encoding="utf-8")
    result = pollinet("collection", folder)
    assert result.code == 2
    assert "folder" in result.err


def test_the_python_interface_gives_the_same_and_raises(tmp_path: Path) -> None:
    with pytest.raises(pollinet_package.BadPlan, match="no such"):
        pollinet_package.collection(tmp_path / "nowhere")
    garden(tmp_path, "a", 0, 0, placed("t", "", "A B"), *VARIETIES)
    assert pollinet_package.collection(str(tmp_path)).to_json() == told(tmp_path).to_json()


def test_an_answer_on_many_gardens_can_be_verified(tmp_path: Path, pollinet: Run) -> None:
    many = tmp_path / "many"
    garden(many, "a", 0, 0, placed("t", "", "A"), *VARIETIES)
    garden(many, "b", 60, 20, placed("u", "", "B"), *VARIETIES)
    answer = tmp_path / "answer.json"
    answer.write_text(pollinet("collection", many, "--json").out, encoding="utf-8")
    assert pollinet("verify", answer).code == 0
    plan = many / "b" / "plan.toml"
    plan.write_text(plan.read_text(encoding="utf-8").replace('"S3S4"', '"S1S2"'), encoding="utf-8")
    said = pollinet("verify", answer)
    assert said.code == 1
    assert "b/plan.toml" in said.out
    assert "a/plan.toml" not in said.out


def test_the_map_keeps_the_true_distances(tmp_path: Path) -> None:
    from pollinet.charts.collection_map import draw_collection
    from pollinet.charts.fences import APART_IN

    spots = {"a": (0, 0), "b": (60, 20), "c": (20, 70)}
    for (name, (east, north)), kind in zip(spots.items(), "ABD", strict=True):
        garden(tmp_path, name, east, north, placed("t", "", kind), *VARIETIES)
    axes, _title, words = draw_collection(collection_facts(open_collection(tmp_path)))
    marks = [line.get_xydata()[0] for line in axes.get_lines()
             if len(line.get_xydata()) == 1]  # fmt: skip
    drawn = {name: next(m for m in marks[place:]) for place, name in enumerate(spots)}
    wide = hypot(*(drawn["b"] - drawn["a"])) / hypot(60, 20)
    high = hypot(*(drawn["c"] - drawn["a"])) / hypot(20, 70)
    assert wide == pytest.approx(high, rel=0.01)
    assert drawn["c"][1] < drawn["a"][1], "north is up"
    assert wide * 20 > APART_IN
    assert "has its pollen from" in words
