"""`pollinet plan …` in the demo garden: what it writes reads again, and mistakes write nothing."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from gardens import studied

from pollinet.study import open_plan

Run = Callable[..., Any]


def test_a_limb_is_added_and_counts(plan: Path, pollinet: Run) -> None:
    words = ("--tree", "cherry", "--id", "C-new", "--variety", "kordia", "--grafted", 2024)
    said = pollinet("plan", "add-limb", plan, *words)
    assert said.code == 0 and "Limb C-new (Kordia) stands on tree cherry" in said.out
    made, _, _ = open_plan(plan)
    assert made is not None
    limb = next(limb for limb in made.limbs if limb.id == "C-new")
    assert (limb.tree, limb.variety.name, limb.grafted, limb.crops) == (
        "cherry",
        "Kordia",
        2024,
        True,
    )
    assert made.trees[1].spare_limbs == 0


def test_a_full_tree_is_told(plan: Path, pollinet: Run) -> None:
    for name, told in (("one", "It can carry 0 more grafts"), ("two", "no place for another")):
        words = ("--tree", "cherry", "--id", name, "--variety", "Kordia")
        said = pollinet("plan", "add-limb", plan, *words)
        assert said.code == 0 and told in " ".join(said.out.split())
    words = ("--tree", "cherry", "--id", "three", "--variety", "Kordia", "--spare", "2")
    assert "It can carry 2 more grafts" in pollinet("plan", "add-limb", plan, *words).out


def test_a_graft_beyond_the_next_spring_is_told(plan: Path, pollinet: Run) -> None:
    words = ("--tree", "cherry", "--id", "C-new", "--variety", "Kordia", "--grafted")
    next_year = date.today().year + 1
    assert "warning" not in pollinet("plan", "add-limb", plan, *words, next_year).err
    assert pollinet("plan", "remove-limb", plan, "C-new").code == 0
    said = pollinet("plan", "add-limb", plan, *words, next_year + 1)
    assert said.code == 0 and "warning" in said.err and "more than a year ahead" in said.findings
    codes = [one["code"] for one in pollinet("check", plan, "--json").data["findings"]]
    assert "graft-to-come" in codes


def test_neighbours_and_scions_are_added(plan: Path, pollinet: Run) -> None:
    words = ("--species", "apple", "--variety", "Idared", "--metres", "12.5", "--id", "fence")
    assert pollinet("plan", "add-neighbour", plan, *words).code == 0
    words = ("--species", "sweet cherry", "--variety", "Stella", "--blocked", "mildew", "--no-crop")
    assert pollinet("plan", "add-scion", plan, *words).code == 0
    made, _, _ = open_plan(plan)
    assert made is not None
    assert (made.neighbours[-1].id, made.neighbours[-1].distance_m) == ("fence", 12.5)
    scion = made.scions[-1]
    assert (scion.variety.name, scion.blocked, scion.crops) == ("Stella", "mildew", False)


def test_a_felled_tree_next_door_leaves_its_notes(plan: Path, pollinet: Run) -> None:
    note = ("--stage", "full", "--date", "2024-04-12")
    assert pollinet("record", plan, "neighbour-1", *note).code == 0
    log = (plan.parent / "records.csv").read_bytes()
    said = pollinet("plan", "remove-neighbour", plan, "neighbour-1")
    assert said.code == 0 and "neighbour-1 is no longer in the plan" in said.out
    assert "passed over" in said.out
    study = studied(plan)
    assert (plan.parent / "records.csv").read_bytes() == log
    assert study.plan.lost == {"neighbour-1"} and study.records.observations == ()
    assert "neighbour-1" not in [tree.id for tree in study.plan.neighbours]
    again = pollinet("plan", "remove-neighbour", plan, "neighbour-1")
    assert again.code == 2 and 'the plan has no neighbour "neighbour-1"' in again.findings


def test_a_renamed_limb_keeps_its_notes(plan: Path, pollinet: Run) -> None:
    note = ("--stage", "full", "--date", "2024-04-12")
    assert pollinet("record", plan, "A-top", *note).code == 0
    before = studied(plan)
    log = (plan.parent / "records.csv").read_bytes()
    said = pollinet("plan", "rename", plan, "A-top", "A-summit")
    assert said.code == 0 and "records.csv only grows" in said.out
    after = studied(plan)
    assert (plan.parent / "records.csv").read_bytes() == log
    assert after.records.bloom == before.records.bloom
    assert [seen.limb for seen in after.records.observations] == ["A-summit"]
    # The log knows the old id, so it cannot come to mean another limb.
    words = ("--tree", "apple", "--id", "A-top", "--variety", "Gala")
    assert "A-top" in pollinet("plan", "add-limb", plan, *words).err


def test_the_notes_of_a_lost_limb_stand_in_nobodys_way(plan: Path, pollinet: Run) -> None:
    note = ("--stage", "full", "--date", "2024-04-12")
    assert pollinet("record", plan, "A-top", *note).code == 0
    assert pollinet("plan", "remove-limb", plan, "A-top").code == 0
    study = studied(plan)
    assert study.records.observations == ()
    refused = pollinet("record", plan, "A-top", *note)
    assert refused.code == 2 and "A-top" in refused.err


def test_trees_and_neighbours_are_renamed_and_limbs_moved(plan: Path, pollinet: Run) -> None:
    with plan.open("a", encoding="utf-8") as file:
        file.write('\n[[tree]]\nid = "b"\nspecies = "apple"\n[[tree.limb]]\n')
        file.write('id = "b1"\nvariety = "Gala"\n')
    # A [[tree]] below the scions: the layout cannot be changed without moving the grower's lines.
    assert "all [[tree]] together" in pollinet("plan", "rename", plan, "b", "shed").err
    text = plan.read_text(encoding="utf-8")
    head, tail = text.split("# --- next door")
    rest, tree = tail.split('\n[[tree]]\nid = "b"')
    plan.write_text(f'{head}[[tree]]\nid = "b"{tree}\n# --- next door{rest}', encoding="utf-8")
    for words in (("rename", "b", "shed"), ("rename", "neighbour-2", "fence")):
        assert pollinet("plan", words[0], plan, *words[1:]).code == 0
    assert pollinet("plan", "move", plan, "A-top", "--to", "shed").code == 0
    made, _, _ = open_plan(plan)
    assert made is not None
    assert [limb.id for limb in made.trees[2].limbs] == ["b1", "A-top"]
    assert [tree.id for tree in made.neighbours] == ["neighbour-1", "fence"]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("add-limb", "--tree", "chery", "--id", "x", "--variety", "Sam"), "nearest: cherry"),
        (("add-limb", "--tree", "cherry", "--id", "C-top", "--variety", "Sam"), "stands 2 times"),
        (("add-limb", "--tree", "cherry", "--id", "x", "--variety", "Kordja"), "Kordia"),
        (
            ("add-limb", "--tree", "apple", "--id", "x", "--variety", "Gala", "--grafted", "19"),
            "1800",
        ),
        (("remove-limb", "A-tip"), "nearest: A-top"),
        (("move", "A-top", "--to", "cherry"), "no variety of sweet cherry"),
        (("rename", "A-top", "C-top"), "stands 2 times"),
        (("add-neighbour", "--species", "aple", "--variety", "Gala", "--metres", "3"), "apple"),
        (
            ("add-neighbour", "--species", "apple", "--variety", "Gala", "--metres", "-3"),
            "at least",
        ),
        (("add-scion", "--species", "apple", "--variety", "Gala", "--cost", "0"), "at least 0.001"),
    ],
)
def test_a_mistake_writes_nothing(
    words: tuple[str, ...], told: str, plan: Path, pollinet: Run
) -> None:
    before = plan.read_bytes()
    said = pollinet("plan", words[0], plan, *words[1:])
    assert said.code == 2 and told in said.err
    assert plan.read_bytes() == before
    assert sorted(os.listdir(plan.parent)) == ["plan.toml", "weather.csv"]


def test_all_mistakes_are_told_at_once(plan: Path, pollinet: Run) -> None:
    words = ("--tree", "cherry", "--id", "C-top", "--variety", "Kordja", "--grafted", "19")
    data = pollinet("plan", "add-limb", plan, *words, "--json").data
    assert {one["code"] for one in data["findings"]} == {
        "repeated-id",
        "unknown-variety",
        "wrong-value",
    }


def test_a_plan_that_is_broken_may_be_put_right(plan: Path, pollinet: Run) -> None:
    text = plan.read_text(encoding="utf-8").replace('variety = "Garnet"', 'variety = "Granet"')
    plan.write_text(text, encoding="utf-8")
    assert pollinet("plan", "rename", plan, "A-top", "x").code == 2
    assert pollinet("plan", "remove-limb", plan, "C-top").code == 0


def test_byte_order_mark_rights_and_links_stay(plan: Path, pollinet: Run) -> None:
    plan.write_bytes(b"\xef\xbb\xbf" + plan.read_bytes())
    plan.chmod(0o640)
    link = plan.with_name("link.toml")
    link.symlink_to(plan)
    assert pollinet("plan", "rename", link, "A-top", "x").code == 0
    assert link.is_symlink()
    assert plan.read_bytes().startswith(b"\xef\xbb\xbf#")
    assert plan.stat().st_mode & 0o777 == 0o640
