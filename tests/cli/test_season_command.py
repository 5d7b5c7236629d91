"""`pollinet season` end to end, on gardens whose answer is worked out by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from gardens import O8, scions, springs, tree, variety, written

from pollinet.demo import demo_files, write_demo

Run = Callable[..., Any]


def note_harvests(plan: Path, days: Mapping[str, int], pollinet: Run) -> Path:
    """Write days from full bloom to harvest into the grower's own tables beside the plan."""
    for name, after in days.items():
        words = ("variety", "add", name, "--species", "apple", "--plan", plan)
        assert pollinet(*words, "--set", f"days_bloom_to_harvest={after}").code == 0
    return plan


@pytest.fixture
def o8(tmp_path: Path, pollinet: Run) -> Path:
    days = {"A": 100, "B": 100, "C": 100, "X1": 100, "X2": 140}
    return note_harvests(written(tmp_path, *O8), days, pollinet)


def test_o8_a_scion_may_serve_all_and_lengthen_the_season(o8: Path, pollinet: Run) -> None:
    data = pollinet("season", o8, "--max", 1, "--json").data
    # With the neighbour felled no limb has a donor, so none bears.
    assert (data["today"]["days_with_fruit"], data["today"]["reliability"]) == (0, 0)
    assert [row["bears"] for row in data["ripening"]] == [False] * 3
    # A, B and C are full on days 109, 112 and 120 and picked 100 days later, on days 209 (28 July),
    # 212 and 220: 25 days with fruit, the last fortnight included. X2 is full on day 116 and picked
    # 140 days later, on day 256, after a gap: 14 days more.
    (choice,) = data["choices"]
    assert choice["added"] == ["X2"]
    assert (choice["days_with_fruit"], choice["reliability"]) == (25 + 14, 1)
    assert (choice["first_pick"], choice["last_pick"]) == ("07-28", "09-13")
    assert data["exact"]
    assert data["sets_tried"] == 4
    assert data["scions_without_harvest"] == ["X3"]
    assert "No fruit to count on as it stands" in pollinet("season", o8).out


@pytest.fixture
def o3(tmp_path: Path, pollinet: Run) -> Path:
    """O3 with a second scion: E blooms with L, which fails H in three warm springs, and is picked
    fifty days after the others."""
    plan = written(
        tmp_path,
        tree("H L").replace('id = "L"\n', 'id = "L"\ncrops = false\n'),
        scions("K E"),
        variety("H", "S1S2", springs("H")),
        variety("L", "S3S4", springs("L")),
        variety("K", "S5S7", springs("K")),
        variety("E", "S5S7", springs("L")),
    )
    return note_harvests(plan, {"H": 100, "L": 100, "K": 100, "E": 150}, pollinet)


def test_o3_a_longer_season_has_its_price(o3: Path, pollinet: Run) -> None:
    answer = pollinet("season", o3, "--max", 1, "--json")
    assert answer.code == 0
    told = [(c["added"], c["reliability"], c["enough"]) for c in answer.data["choices"]]
    assert told == [(["K"], 1.0, True), (["E"], 0.7, False)]
    # K is picked a day after H, E far behind it; L gives pollen only.
    days = [c["days_with_fruit"] for c in (answer.data["today"], *answer.data["choices"])]
    assert days == [14, 15, 28]
    assert "A longer season has its price" in answer.data["answer"]
    both = pollinet("season", o3, "--json").data
    assert [c["added"] for c in both["choices"]] == [["K", "E"]]
    assert "costs nothing here" in both["answer"]


def test_the_chart_tells_the_same(o3: Path, pollinet: Run) -> None:
    picture = o3.parent / "season.svg"
    assert pollinet("season", o3, "--max", 1, "--chart", picture).code == 0
    told = ElementTree.parse(picture).getroot().findtext("{http://www.w3.org/2000/svg}desc")
    assert told is not None
    assert "graft K: 15 days, 10 of 10; graft E: 28 days, 7 of 10" in told
    for name in ("season.txt", "nowhere/season.svg"):
        assert pollinet("season", o3, "--chart", o3.parent / name).code == 2


def test_without_scions_the_garden_is_what_it_is(o3: Path, pollinet: Run) -> None:
    answer = pollinet("season", o3, "--max", 0, "--json")
    assert answer.code == 0
    assert answer.data["choices"] == [answer.data["today"]]
    assert "there is no scion, or no room for one" in answer.data["answer"]


def test_unknown_harvests_are_named_and_left_out(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, *O8)
    said = pollinet("season", plan)
    assert said.code == 0
    assert said.out.startswith("The picking season cannot be told")
    assert "left out of the season: A, B and C." in " ".join(said.out.split())
    data = pollinet("season", plan, "--json").data
    assert [row["pick"] for row in data["ripening"]] == [None] * 3
    assert {c["days_with_fruit"] for c in (data["today"], *data["choices"])} == {0}


def test_the_table_fits(tmp_path: Path, pollinet: Run) -> None:
    plan = write_demo(tmp_path, demo_files())
    lines = pollinet("season", plan).out.splitlines()
    assert max(map(len, lines)) <= 100
    assert len(lines) < 60
    assert any("days without fruit" in line for line in lines)


def test_nothing_is_free_where_a_limb_has_no_donor(tmp_path: Path, pollinet: Run) -> None:
    """Z blooms weeks after all others: whatever is grafted, it has no donor."""
    plan = written(
        tmp_path,
        tree("A B Z", spare=1),
        scions("X"),
        variety("A", "S1S2", [110, 120]),
        variety("B", "S3S4", [110, 120]),
        variety("Z", "S5S7", [150, 160]),
        variety("X", "S8S9", [110, 120]),
    )
    note_harvests(plan, {"A": 100, "B": 100, "X": 130}, pollinet)
    answer = pollinet("season", plan, "--json").data["answer"]
    assert "costs nothing" not in answer
    assert "28 days with X, but Z has no donor: see to its pollen first" in answer


def test_unknown_harvests_stand_in_a_list_not_in_the_order(o8: Path, pollinet: Run) -> None:
    text = o8.read_text(encoding="utf-8")
    limb = '[[tree.limb]]\nid = "U"\nvariety = "U"\n'
    o8.write_text(
        text.replace("[[scion]]", f"{limb}[[scion]]", 1) + variety("U", "S7S8", [110, 120]),
        encoding="utf-8",
    )
    order = pollinet("season", o8).out.partition("Order of ripening")[2]
    table, _, notes = order.partition("Days with fruit:")
    assert "not known" not in table
    assert "left out of the season: U." in " ".join(notes.split())
