"""`pollinet scions`: the list to cut or order; O1 was worked out by hand (`test_scenarios.py`)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import awkward_gardens as g
import gardens
import pytest
from gardens import saved

Run = Callable[..., Any]

SURE = "bloom_sd_days = 0\n"


def o1(*scions: str) -> str:
    return (
        g.tree([("T", "T"), ("D1", "D1")]) + "".join(scions)
        + g.variety("T", "S1S2S3", (110, 121)) + SURE + "ploidy = 3\n"
        + g.variety("D1", "S2S5", (108, 118)) + SURE
        + g.variety("D2", "S2S5", (109, 119)) + SURE
        + g.variety("D3", "S3S7", (112, 122)) + SURE
        + g.variety("D4", "S4S9", (126, 136)) + SURE
    )  # fmt: skip


@pytest.fixture
def written(tmp_path: Path) -> Callable[[str], Path]:
    def write(body: str) -> Path:
        return saved(tmp_path, g.HEAD.format(site='"nowhere"', latitude=47) + body)

    return write


def test_exactly_d3_is_wanted(written: Callable[[str], Path], pollinet: Run) -> None:
    plan = written(o1(g.scion("D2"), g.scion("D3"), g.scion("D4")))
    answer = pollinet("scions", plan, "--json")
    assert answer.code == 0
    (wanted,) = answer.data["scions"]
    assert wanted.items() >= {"variety": "D3", "species": "apple", "at_hand": True,
                              "graft_on": ["old tree"], "carries": ["T", "D1"],
                              "tree": "old tree"}.items()  # fmt: skip


def test_a_limb_is_named_that_no_donor_carries_alone(
    written: Callable[[str], Path], pollinet: Run
) -> None:
    """F reaches T in the first of five springs, D in the other four: neither is sure alone."""
    near, late = (110, 120), (150, 160)
    plan = written(
        "level = 0.9\n"
        + g.tree([("T", "T")]) + g.neighbour("F", 20) + g.scion("D")
        + g.variety("T", "S1S2", *[near] * 5) + SURE
        + g.variety("F", "S5S6", (110, 160), *[(180, 190)] * 4) + SURE
        + g.variety("D", "S3S4", late, *[near] * 4) + SURE
    )  # fmt: skip
    answer = pollinet("scions", plan, "--json")
    (wanted,) = answer.data["scions"]
    assert (wanted["variety"], wanted["carries"]) == ("D", ["T"])


def test_the_list_says_what_to_mind(written: Callable[[str], Path], pollinet: Run) -> None:
    plan = written(o1(g.scion("D3"), g.scion("D2", "oozing cankers")))
    answer = pollinet("scions", plan)
    assert answer.out.startswith("Cut D3.")
    assert "oozing cankers" in answer.out
    for word in ("plant-health", "register", "clears nothing", "Fire blight", "Knives"):
        assert word in answer.out
    assert max(map(len, answer.out.splitlines())) <= 100


def test_wood_that_is_not_at_hand_is_ordered(written: Callable[[str], Path], pollinet: Run) -> None:
    answer = pollinet("scions", written(o1()), "--from", "catalogue", "--json")
    assert answer.code == 0
    assert all(not scion["at_hand"] for scion in answer.data["scions"])
    assert answer.data["answer"].startswith("Order ")


def test_nothing_helps(written: Callable[[str], Path], pollinet: Run) -> None:
    plan = written(o1(g.scion("D4")))
    answer = pollinet("scions", plan)
    assert answer.code == 1
    assert answer.out.startswith("No scion here would help.")
    told = pollinet("scions", plan, "--json")
    assert (told.code, told.data["scions"]) == (1, [])
    # T has D1, half of whose pollen it accepts; a triploid gives D1 none, and D4 blooms too late.
    assert told.data["uncovered"] == ["D1"]


def test_nothing_is_needed(tmp_path: Path, pollinet: Run) -> None:
    answer = pollinet("scions", g.written("southern new year", tmp_path))
    assert answer.code == 0
    assert answer.out.startswith("No scions are needed.")


def test_where_nothing_is_enough_the_best_use_of_a_free_place_is_told(
    tmp_path: Path, pollinet: Run
) -> None:
    # Two limbs that refuse each other; C serves both, and A and B serve C: enough. With D, which
    # only half of the springs overlaps, no set is enough; it is still the best use of the place.
    late = [[110, 120], [110, 120]]
    plan = gardens.written(
        tmp_path,
        gardens.tree("A B", spare=1),
        gardens.scions("D"),
        _springs("A", "S1S2", late),
        _springs("B", "S1S2", late),
        _springs("D", "S3S4", [[110, 120], [150, 160]]),
    )
    answer = pollinet("scions", plan, "--json")
    assert answer.code == 1 and not answer.data["scions"]
    assert "best used by D, on tree" in answer.data["answer"]
    assert "A 0 → 5; B 0 → 5" in answer.data["answer"]
    work = pollinet("work", plan, "--from", "2026-11-30").out
    assert "best used by D, on tree" in " ".join(work.split())


def _springs(name: str, genotype: str, springs: list[list[int]]) -> str:
    return gardens.variety(name, genotype, springs)
