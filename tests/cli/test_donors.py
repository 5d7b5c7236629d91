"""`pollinet donors`: all donors of a limb, ranked, and the refused with reasons."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from gardens import O1, O3, O8, neighbour, tree, variety, written

Run = Callable[..., Any]


def test_o8_possible_donors_are_ranked_and_the_rest_refused(tmp_path: Path, pollinet: Run) -> None:
    # Worked by hand: C shares 7 days with X2 (half accepted), 3 with X1, 2 with B, none with X3.
    answer = pollinet("donors", written(tmp_path, *O8), "C", "--json")
    assert answer.code == 1
    donors = [(d["variety"], d["overlap_days"], d["compatible_fraction"], d["reliability"])
              for d in answer.data["donors"]]  # fmt: skip
    assert donors == [("X2", 7, 0.5, 1), ("X1", 3, 1, 1)]
    assert [d["effective_days"] for d in answer.data["donors"]] == [3.5, 3]
    refused = {r["variety"]: r["code"] for r in answer.data["refused"]}
    assert refused == {"A": "blooms-earlier", "B": "short-overlap", "X3": "blooms-earlier"}


def test_o3_winters_are_counted_and_the_least_overlap_is_told(
    tmp_path: Path, pollinet: Run
) -> None:
    # H and L share 3 days or more in 7 of 10 springs, none in 3; H and K in all, 9 at least.
    plan = written(tmp_path, *O3)
    answer = pollinet("donors", plan, "H", "--json")
    assert answer.code == 1
    by_name = {d["variety"]: d for d in answer.data["donors"]}
    assert list(by_name) == ["K", "L"]
    assert by_name["L"]["reliability"] == pytest.approx(0.7)
    assert by_name["L"]["overlap_least_days"] == 0
    assert (by_name["K"]["reliability"], by_name["K"]["overlap_least_days"]) == (1, 9)
    assert "4.9 (0–7)" in (said := pollinet("donors", plan, "H").out)
    assert "(where eight scenarios in ten lie)" in " ".join(said.split())
    for one in by_name.values():
        assert one["overlap_least_days"] <= one["overlap_low_days"] <= one["overlap_days"]
        assert one["overlap_days"] <= one["overlap_high_days"] <= one["overlap_most_days"]
    assert "K could be grafted" in answer.data["answer"]
    # L is there for its pollen only: asked for, its donors are told all the same.
    assert pollinet("donors", plan, "L").code == 0


def test_a_triploid_and_a_tree_out_of_reach_are_refused_by_name(
    tmp_path: Path, pollinet: Run
) -> None:
    far = neighbour("D3", 900)
    answer = pollinet("donors", written(tmp_path, *O1, far), "D1", "--json")
    codes = {r["id"]: (r["code"], r["reason"]) for r in answer.data["refused"]}
    assert "triploid" in codes["T"][1]
    assert codes["D3"][0] == "too-far"
    assert codes["scion D2, apple"][0] == "incompatible"


def test_unknown_alleles_are_a_chance(tmp_path: Path, pollinet: Run) -> None:
    nameless = variety("U", "", [108, 118]).replace('s_genotype = ""\n', "")
    plan = written(tmp_path, *O1, nameless, neighbour("U", 5))
    answer = pollinet("donors", plan, "D1", "--json")
    (unknown,) = [donor for donor in answer.data["donors"] if donor["variety"] == "U"]
    assert 0.5 < unknown["reliability"] < 1
    assert unknown["compatible_fraction"] is None
    assert 0.5 < unknown["chance_of_acceptance"] < 1
    assert answer.data["verdict"] in ("likely", "open")
    assert answer.data["winters_sure"] == 0


def test_a_limb_that_is_not_there_is_told_with_the_nearest(demo: Path, pollinet: Run) -> None:
    answer = pollinet("donors", demo / "plan.toml", "C-mdi")
    assert answer.code == 2
    assert "C-mid" in answer.err
    answer = pollinet("donors", demo / "plan.toml", "Regina", "--json")
    assert answer.code == 2
    (finding,) = answer.data["findings"]
    assert finding["code"] == "unknown-limb"
    assert "C-mid" in finding["cure"]
    # Case does not matter; the id is meant plainly enough.
    assert pollinet("donors", demo / "plan.toml", "c-mid").code in (0, 1)


def test_one_donor_is_told_as_one(demo: Path, pollinet: Run) -> None:
    said = " ".join(pollinet("donors", demo / "plan.toml", "C-mid").out.split())
    assert said.startswith("C-mid (Regina) has one donor here: C-top (Garnet), in ")
    assert "; the plan asks for 8 winters of 10. Lambert could be grafted" in said


def test_the_catalogue_adds_donors_and_hides_none_that_stands(demo: Path, pollinet: Run) -> None:
    plan = demo / "plan.toml"
    few = pollinet("donors", plan, "C-mid", "--json").data["donors"]
    text = pollinet("donors", plan, "C-mid", "--from", "catalogue")
    many = pollinet("donors", plan, "C-mid", "--from", "catalogue", "--json").data["donors"]
    assert len(many) > 50
    same = {d["id"]: d["reliability"] for d in few}
    assert {d["id"]: d["reliability"] for d in many if d["id"] in same} == same
    assert all(d["variety"] in text.out for d in few)
    assert max(map(len, text.out.splitlines())) <= 100
    key = [(-d["reliability"], -d["effective_days"]) for d in many]
    assert all(a <= (b[0], b[1] + 1e-3) for a, b in pairwise(key))


def test_donors_that_are_enough_together_alone_are_told_so(tmp_path: Path, pollinet: Run) -> None:
    """Of twenty springs A shares ten with B and the others with C."""
    late, early = [140, 150], [60, 70]
    parts = (
        tree("A B C"),
        variety("A", "S1S2", [late] * 20),
        variety("B", "S3S4", [late] * 10 + [early] * 10),
        variety("C", "S5S6", [early] * 10 + [late] * 10),
    )
    told = " ".join(pollinet("donors", written(tmp_path, *parts), "A").out.split())
    assert "2 donors here, none of them in at least 8 winters of 10; best: B, in 5 of 10; " in told
    assert "together in 10 of 10. ● sure" in told
