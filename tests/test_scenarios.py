"""Whole plans whose right answer was worked out outside the program.

The scenarios O1, O2, O3 and O8 are invented gardens, worked out by hand and by a separate script
under the gametophytic rule: a diploid grain passes where its allele is not in the style, a
triploid gives nothing, days in bloom are counted with both ends, three shared days are needed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

HEAD = """
[site]
name = "nowhere"
latitude = 47
[aim]
min_overlap_days = 3
"""


def variety(name: str, genotype: str, bloom: object, **more: object) -> str:
    rows = {"s_genotype": f'"{genotype}"', "bloom_days": bloom, "bloom_sd_days": 0, **more}
    lines = "\n".join(f"{key} = {value}" for key, value in rows.items())
    return f'[[variety]]\nspecies = "apple"\nname = "{name}"\n{lines}\n'


def tree(limbs: str, spare: int = 3) -> str:
    head = f'[[tree]]\nid = "tree"\nspecies = "apple"\nspare_limbs = {spare}\n'
    return head + "".join(f'[[tree.limb]]\nid = "{x}"\nvariety = "{x}"\n' for x in limbs.split())


def scions(names: str) -> str:
    return "".join(f'[[scion]]\nspecies = "apple"\nvariety = "{x}"\n' for x in names.split())


def written(folder: Path, *parts: str) -> Path:
    path = folder / "plan.toml"
    path.write_text(HEAD + "".join(parts), encoding="utf-8")
    return path


def limbs(data: Mapping[str, Any]) -> dict[str, Any]:
    return {limb["id"]: limb for limb in data["limbs"]}


@pytest.fixture
def o1(tmp_path: Path) -> Path:
    return written(
        tmp_path,
        tree("T D1"),
        scions("D2 D3 D4"),
        variety("T", "S1S2S3", [110, 121], ploidy=3),
        variety("D1", "S2S5", [108, 118]),
        variety("D2", "S2S5", [109, 119]),
        variety("D3", "S3S7", [112, 122]),
        variety("D4", "S4S9", [126, 136]),
    )


def test_o1_a_triploid_is_covered_and_its_donor_is_not(o1: Path, pollinet: Run) -> None:
    answer = pollinet("check", o1, "--json")
    assert answer.code == 1
    triploid, donor = limbs(answer.data)["T"], limbs(answer.data)["D1"]
    assert triploid["covered"]
    (by_d1,) = triploid["donors"]
    assert (by_d1["variety"], by_d1["overlap_days"]) == ("D1", 9)
    assert by_d1["compatible_fraction"] == 0.5
    assert not donor["covered"]
    assert donor["reliability"] == 0
    assert any("triploid" in reason["text"] for reason in donor["reasons"])


def test_o1_exactly_d3_is_added(o1: Path, pollinet: Run) -> None:
    answer = pollinet("cover", o1, "--json")
    assert answer.code == 0
    assert answer.data["status"] == "optimal"
    assert answer.data["added"] == ["D3"]
    assert answer.data["alternatives"] == [["D3"]]
    assert answer.data["proof"]["gap"] == 0


def test_o2_one_self_fertile_partner_is_enough(tmp_path: Path, pollinet: Run) -> None:
    plan = written(
        tmp_path,
        tree("T F"),
        variety("T", "S2S4S9", [112, 123], ploidy=3),
        variety("F", "S1S5", [110, 120], self_fertile="true"),
    )
    answer = pollinet("check", plan, "--json")
    assert answer.code == 0
    triploid = limbs(answer.data)["T"]
    assert [(d["variety"], d["overlap_days"]) for d in triploid["donors"]] == [("F", 9)]
    assert limbs(answer.data)["F"]["covered"]
    answer = pollinet("cover", plan, "--json")
    assert (answer.data["status"], answer.data["added"]) == ("nothing to add", [])


SPRINGS = {
    "H": "112–121,110–119,115–124,113–122,109–118,114–123,125–138,127–142,111–120,124–136",
    "L": "109–118,107–116,112–121,110–119,106–115,111–120,108–117,107–116,108–117,109–118",
    "K": "113–122,111–120,116–125,114–123,110–119,115–124,122–133,123–136,112–121,121–132",
}


def springs(name: str) -> list[list[int]]:
    return [[int(day) for day in spring.split("–")] for spring in SPRINGS[name].split(",")]


def test_o3_warm_winters_are_counted_not_averaged(tmp_path: Path, pollinet: Run) -> None:
    # L misses K in the same three warm springs, so it is asked to give pollen only.
    pollen_only = 'id = "L"\n', 'id = "L"\ncrops = false\n'
    plan = written(
        tmp_path,
        tree("H L").replace(*pollen_only),
        scions("K"),
        variety("H", "S1S2", springs("H")),
        variety("L", "S3S4", springs("L")),
        variety("K", "S5S7", springs("K")),
    )
    answer = pollinet("check", plan, "--json")
    receiver = limbs(answer.data)["H"]
    assert receiver["reliability"] == pytest.approx(0.7)
    assert not receiver["covered"]
    answer = pollinet("cover", plan, "--json")
    assert answer.data["added"] == ["K"]
    assert answer.data["reliability"] >= 0.8


@pytest.fixture
def o8(tmp_path: Path) -> Path:
    return written(tmp_path, *_o8())


def _o8() -> tuple[str, ...]:
    return (
        tree("A B C"),
        scions("X1 X2 X3"),
        variety("A", "S3S5", [105, 114]),
        variety("B", "S3S5", [108, 117]),
        variety("C", "S2S7", [116, 126]),
        variety("N", "S10S24", [103, 119]),
        variety("X1", "S1S9", [107, 118]),
        variety("X2", "S3S7", [112, 122]),
        variety("X3", "S5S9", [104, 111]),
    )


def test_o8_all_are_covered_while_the_neighbour_stands(tmp_path: Path, pollinet: Run) -> None:
    crab = '[[neighbour]]\nspecies = "apple"\nvariety = "N"\ndistance_m = 14\n'
    answer = pollinet("check", written(tmp_path, *_o8(), crab), "--json")
    assert answer.code == 0
    (by_n,) = [d for d in limbs(answer.data)["C"]["donors"] if d["variety"] == "N"]
    assert by_n["overlap_days"] == 4


def test_o8_none_is_covered_when_it_is_felled(o8: Path, pollinet: Run) -> None:
    answer = pollinet("check", o8, "--json")
    assert answer.code == 1
    assert [limb["covered"] for limb in answer.data["limbs"]] == [False] * 3
    answer = pollinet("cover", o8, "--json")
    assert sorted(answer.data["alternatives"]) == [["X1"], ["X2"]]
    assert answer.data["proof"]["bound"] == 1


def test_an_unknown_genotype_is_never_a_silent_yes(tmp_path: Path, pollinet: Run) -> None:
    nameless = variety("U", "", [108, 118]).replace('s_genotype = ""\n', "")
    plan = written(tmp_path, tree("A U"), variety("A", "S3S5", [105, 114]), nameless)
    answer = pollinet("check", plan, "--json")
    limb = limbs(answer.data)["A"]
    assert not limb["covered"]
    assert limb["reliability"] == 0
    assert limb["reliability_if_unknown_pollen_works"] == 1
    assert limb["reasons"][0]["code"] == "unknown-compatibility"


def test_a_blocked_scion_is_shown_and_never_chosen(o1: Path, pollinet: Run) -> None:
    text = o1.read_text(encoding="utf-8")
    o1.write_text(text.replace('variety = "D3"\n', 'variety = "D3"\nblocked = "canker"\n'))
    answer = pollinet("cover", o1, "--json")
    assert answer.code == 1
    assert answer.data["status"] == "infeasible"
    assert answer.data["blocked"] == [{"variety": "D3", "why": "canker"}]
    (miss,) = answer.data["uncovered"]
    assert miss["limb"] == "D1"
    assert "canker" in pollinet("cover", o1).out


def test_no_room_on_the_tree_is_named(o1: Path, pollinet: Run) -> None:
    text = o1.read_text(encoding="utf-8").replace("spare_limbs = 3", "spare_limbs = 0")
    o1.write_text(text, encoding="utf-8")
    answer = pollinet("cover", o1, "--json")
    assert answer.code == 1
    assert answer.data["uncovered"][0]["code"] == "no-spare-limb"
