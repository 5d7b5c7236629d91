"""`pollinizer` and `scions` as a grower reads them: when, where, on what, how much, whose.

What grafts on what, how many sticks and when is common practice, no source; the gardens are
invented.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from gardens import neighbour, scions, tree, variety, written

from pollinet.advice.pollinizer import Jar
from pollinet.cli import main
from pollinet.domain import Node, VarietyId
from pollinet.wording.network import jar_lines

Run = Callable[..., Any]

BLOOM = [110, 120]
"""1 May and ten days on, of all varieties that are described here."""

WALL = """
[[tree]]
id = "wall"
species = "pear"
rootstock = "{root}"
spare_limbs = {spare}
[[tree.limb]]
id = "low"
variety = "Conference"
[[scion]]
species = "pear"
variety = "Winter Nelis"
{more}
"""


def pear(name: str, genotype: str) -> str:
    return variety(name, genotype, BLOOM, "pear")


PEARS = pear("Conference", "S101S102"), pear("Winter Nelis", "S103S104")


def wall(folder: Path, root: str = "Quince A", spare: int = 1, more: str = "") -> Path:
    return written(folder, WALL.format(root=root, spare=spare, more=more), *PEARS)


def how(told: Any) -> Any:
    return told.data["scions"][0]["how"]


def test_a_pear_that_parts_from_quince_goes_into_another_pear(
    tmp_path: Path, pollinet: Run
) -> None:
    plan = wall(tmp_path)
    told = how(pollinet("scions", plan, "--json"))
    assert told["on_rootstock"]["stock"] == "quince" and told["on_rootstock"]["parts"]
    assert told["graft_into"] == ["low"]
    for command in ("scions", "pollinizer"):
        shown = " ".join(pollinet(command, plan).out.split())
        assert "Winter Nelis parts from quince" in shown
        assert "graft it into low" in shown and "Beurre Hardy" in shown


def test_a_rootstock_of_its_own_fruit_needs_no_words(tmp_path: Path, pollinet: Run) -> None:
    told = pollinet("scions", wall(tmp_path, root="OHxF 87"))
    assert "parts from" not in told.out and "nearly every pear takes" in told.out


def test_a_rootstock_that_nobody_knows_is_said_so(tmp_path: Path, pollinet: Run) -> None:
    plan = wall(tmp_path, root="Grandfather's")
    assert how(pollinet("scions", plan, "--json"))["on_rootstock"] is None
    assert "no Grandfather's (wall)" in " ".join(pollinet("scions", plan).out.split())


def test_the_windows_come_in_order_and_before_and_after_bloom(
    tmp_path: Path, pollinet: Run
) -> None:
    windows = {
        one["task"]: one for one in how(pollinet("scions", wall(tmp_path), "--json"))["windows"]
    }

    def day(text: str) -> date:
        month, of = map(int, text.split("-"))
        return date(2001 if month < 10 else 2000, month, of)

    order = ["order-scions", "cut-scions", "graft-dormant", "graft-bark", "bud-summer"]
    assert list(windows) == order
    last = [day(windows[task]["last"]) for task in order]
    assert last == sorted(last)
    bloom = date(2001, 4, 20)
    # Dormant wood is cut and grafted before bloom, bark slips with the first leaves.
    assert day(windows["cut-scions"]["last"]) < day(windows["graft-dormant"]["first"])
    assert day(windows["graft-dormant"]["last"]) < bloom
    assert day(windows["graft-bark"]["first"]) < bloom < day(windows["graft-bark"]["last"])
    assert day(windows["bud-summer"]["first"]).month in (7, 8)


def test_windows_are_those_of_the_work_of_the_year(tmp_path: Path, pollinet: Run) -> None:
    plan = wall(tmp_path)
    windows = how(pollinet("scions", plan, "--json"))["windows"]
    tasks = pollinet("work", plan, "--from", "2000-10-01", "--json").data["tasks"]
    dated = {t["task"]: (t["first"][5:], t["last"][5:]) for t in tasks}
    for one in windows:
        # Wood at hand is not ordered.
        if one["task"] != "order-scions":
            assert (one["first"], one["last"]) == dated[one["task"]]


def test_wood_at_hand_is_not_ordered_and_its_source_and_rights_are_told(
    tmp_path: Path, pollinet: Run
) -> None:
    more = 'source = "the school garden"\nrights = "none known"'
    shown = pollinet("scions", wall(tmp_path, more=more)).out
    assert "order scions" not in shown and "Whom to ask" not in shown
    assert "wood from the school garden" in shown and "none known" in shown


def test_sticks_are_asked_for_with_the_take_that_they_rest_on(
    tmp_path: Path, pollinet: Run
) -> None:
    plan = wall(tmp_path)
    wood = how(pollinet("scions", plan, "--json"))["wood"]
    assert (wood["sticks"], wood["grafts"], wood["take"]) == (2, 2, 0.8)
    assert "common practice" in wood["source"]
    assert "2 of Winter Nelis" in pollinet("scions", plan).out


def test_without_room_the_doubled_limb_gives_way(tmp_path: Path, pollinet: Run) -> None:
    """B stands twice: one of its limbs is missed by nobody."""
    full = tree("A B", spare=0) + '[[tree.limb]]\nid = "B2"\nvariety = "B"\n'
    plan = written(
        tmp_path, full, scions("D"), variety("A", "S1S2", BLOOM), variety("B", "S1S2", BLOOM),
        variety("D", "S3S4", BLOOM),
    )  # fmt: skip
    told = pollinet("pollinizer", plan, "--json").data["how"]
    assert told["gives_way"] in ("B", "B2")
    assert "stands twice" in " ".join(pollinet("pollinizer", plan).out.split())


@pytest.mark.parametrize(("alone", "limb"), [(True, "L"), (False, None)])
def test_a_limb_that_another_needs_does_not_give_way(
    tmp_path: Path, pollinet: Run, alone: bool, limb: str | None
) -> None:
    """A and C are each other's only donors; L serves D alone, unless D needs nobody."""
    plan = written(
        tmp_path, tree("A C L", spare=0), scions("D"), variety("A", "S1S2", BLOOM),
        variety("C", "S3S4", BLOOM), variety("L", "S5S6", [150, 160]),
        variety("D", "S7S8", [150, 160], self_fertile=alone),
    )  # fmt: skip
    told = pollinet("pollinizer", plan, "--json").data
    assert told["candidates"][0]["covers"] == ["L"]
    assert told["how"]["gives_way"] == limb
    shown = " ".join(pollinet("pollinizer", plan).out.split())
    assert ("No limb can be spared for D" in shown) == (limb is None)


def test_a_tree_of_another_fruit_that_holds_it_is_named(tmp_path: Path, pollinet: Run) -> None:
    plum = (
        '[[tree]]\nid = "plum"\nspecies = "European plum"\nspare_limbs = 2\n'
        '[[tree.limb]]\nid = "P"\nvariety = "Victoria"\n'
    )
    quince = (
        '[[tree]]\nid = "cot"\nspecies = "apricot"\n[[tree.limb]]\nid = "A"\nvariety = "A"\n'
        '[[scion]]\nspecies = "apricot"\nvariety = "D"\n'
    )
    own = [variety(n, g, [90, 100], self_fertile=False).replace('"apple"', '"apricot"')
           for n, g in (("A", "S1S2"), ("D", "S3S4"))]  # fmt: skip
    plan = written(tmp_path, quince, plum, *own)
    told = pollinet("pollinizer", plan, "--json").data["how"]
    assert [one["tree"] for one in told["other_trees"]] == ["plum"]
    assert "could go on plum" in " ".join(pollinet("pollinizer", plan).out.split())


def test_whoever_has_it_is_asked_first(tmp_path: Path, pollinet: Run) -> None:
    """N stands 400 m away, too far for its pollen, and its wood is what A lacks."""
    plan = written(
        tmp_path, tree("A"), neighbour("N", 400), scions("N"), variety("A", "S1S2", BLOOM),
        variety("N", "S3S4", BLOOM),
    )  # fmt: skip
    told = pollinet("pollinizer", plan, "--json").data["how"]
    assert told["neighbours_with_it"] == ["N"]
    assert "ask next door, N has it" in pollinet("pollinizer", plan).out


def test_asking_around_is_said_once(tmp_path: Path, pollinet: Run) -> None:
    limbs = "A B C D E F G"
    plan = written(tmp_path, tree(limbs), *(variety(name, "S1S2", BLOOM) for name in limbs.split()))
    shown = pollinet("pollinizer", plan).out
    assert " ".join(shown.split()).count("no blossom is known that would serve") == 1
    assert len(shown.splitlines()) <= 50


def test_blossom_to_ask_for_is_named_by_limb_in_one_line() -> None:
    nodes = [Node(name, "limb", VarietyId("apple", name), name) for name in "ABC"]
    jars = [Jar(place, ()) for place in range(3)]
    (line,) = jar_lines(jars, nodes, {"A": ("X", "Y"), "B": ("Z",), "C": ("X", "Y")})
    assert line.endswith("for A and C that of X or Y; for B that of Z")
    assert len(jar_lines(jars, nodes, {"A": ("X",)})) == 2


def test_equally_good_scions_come_in_the_order_of_cover(tmp_path: Path, pollinet: Run) -> None:
    assert main(["demo", "--out", str(tmp_path / "demo")]) in (0, 1)
    plan = tmp_path / "demo" / "plan.toml"
    cover = pollinet("cover", plan, "--json").data
    told = pollinet("pollinizer", plan, "--tree", "cherry", "--json").data
    ranked = told["candidates"]
    sets = [names[0] for names in cover["alternatives"]]
    assert cover["added"] == sets[:1] and len(sets) > 1
    assert [one["variety"] for one in ranked[: len(sets)]] == sets
    assert told["answer"].startswith(f"Graft {sets[0]}")
    assert f"Graft {sets[0]}, " in " ".join(pollinet("check", plan).out.split())


@pytest.mark.parametrize(
    ("fruit", "word", "other"),
    [("apple", "Fire blight", "sharka"), ("European plum", "sharka", "Fire blight")],
)
def test_cautions_fit_the_fruit(
    tmp_path: Path, pollinet: Run, fruit: str, word: str, other: str
) -> None:
    parts = tree("A"), scions("D"), variety("A", "S1S2", BLOOM), variety("D", "S3S4", BLOOM)
    plain = [part.replace('"apple"', f'"{fruit}"') for part in parts]
    if fruit != "apple":
        plain = [re.sub(r"s_genotype = .*", "self_fertile = false", part) for part in plain]
    plan = written(tmp_path, *plain)
    told = pollinet("scions", plan, "--from", "catalogue")
    assert word in told.out and other not in told.out
    assert "variety register" in " ".join(told.out.split()) and "rules" in told.out
