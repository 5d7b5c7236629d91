"""Clones and sports in a plan: one variety to each other, and their own dates to themselves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gardens import MONTHS, grown, limbs

from pollinet.domain import Fertility, TypedBloom, Variety, VarietyId
from pollinet.readers.varieties import like_parent

Run = Callable[..., Any]


def plan(folder: Path, limb_names: str, *varieties: str, species: str = "apple") -> Path:
    path = folder / "plan.toml"
    tree = grown(species, limb_names.split(","), "t")
    own = "".join(f'[[variety]]\nspecies = "{species}"\n{rows}\n' for rows in varieties)
    path.write_text(f"[site]\nlatitude = 47\n{tree}{own}", encoding="utf-8")
    return path


def variety(name: str, genotype: str = "", bloom: object = None, **more: object) -> str:
    rows = [f'name = "{name}"']
    rows += [f's_genotype = "{genotype}"'] if genotype else []
    rows += [f"bloom_days = {bloom}", "bloom_sd_days = 0"] if bloom else []
    rows += [f'{key} = "{value}"' for key, value in more.items()]
    return "\n".join(rows)


def test_a_clone_keeps_its_own_dates_beside_its_parent(tmp_path: Path, pollinet: Run) -> None:
    """R 120-130 and B 122-132 share nine days; A 100-110 shares none with either."""
    path = plan(
        tmp_path,
        "A,R,B",
        variety("A", "S1S2", [100, 110]),
        variety("R", "", [120, 130], clone_of="A"),
        variety("B", "S3S4", [122, 132]),
    )
    found = limbs(pollinet("check", path, "--json").data)
    assert [found[name]["covered"] for name in "ARB"] == [False, True, True]
    assert found["R"]["donors"][0]["overlap_days"] == 9
    assert found["R"]["bloom"]["start"] == "04-30"


def test_a_clone_takes_what_it_lacks_from_its_parent(tmp_path: Path, pollinet: Run) -> None:
    """A sport of the triploid Jonagold (S2S3S9) is triploid: its pollen serves nobody."""
    path = plan(
        tmp_path,
        "Red J,Y",
        variety("Red J", "", [110, 120], clone_of="Jonagold"),
        variety("Y", "S5S7", [110, 120]),
    )
    found = limbs(pollinet("check", path, "--json").data)
    assert found["Red J"]["covered"]
    assert not found["Y"]["covered"]
    assert "triploid" in found["Y"]["reasons"][0]["text"]


@pytest.mark.parametrize(
    ("sport", "parent", "own"),
    [
        ("My Van", "Van", variety("My Van", clone_of="Van")),
        ("Compact Lambert", "Lambert", ""),  # a sport of the catalogue without dates of its own
    ],
)
def test_a_sport_blooms_as_its_parent_whether_that_is_in_the_plan_or_not(
    sport: str, parent: str, own: str, tmp_path: Path, pollinet: Run
) -> None:
    def dates(names: str) -> dict[str, Any]:
        path = plan(tmp_path, names, *([own] if own else []), species="sweet cherry")
        text = path.read_text(encoding="utf-8")
        path.write_text(text.replace("latitude = 47\n", f"latitude = 47\n{MONTHS}"), "utf-8")
        found = limbs(pollinet("check", path, "--json").data)
        return {name: found[name]["bloom"] for name in names.split(",")}

    alone, both = dates(sport), dates(f"{sport},{parent}")
    assert alone[sport] is not None
    assert both[parent] == both[sport] == alone[sport]


def test_a_sport_takes_typed_dates_and_only_recalled_what_it_takes() -> None:
    parent, own = VarietyId("apple", "A"), VarietyId("apple", "Red A")
    known = Fertility(parent, "A", ploidy=2, self_fertile=False, memory=("ploidy", "self_fertile"))
    typed = TypedBloom(((98.0, 108.0),))
    sport = like_parent(
        Variety(own, Fertility(own, "Red A", ploidy=2)), Variety(parent, known, typed_bloom=typed)
    )
    assert sport.typed_bloom == typed
    assert sport.fertility.clone == "A"
    assert sport.fertility.memory == ("self_fertile",)


def test_a_clone_of_a_clone_is_the_first_variety(tmp_path: Path, pollinet: Run) -> None:
    path = plan(
        tmp_path,
        "X,Y,Z",
        variety("Z", "", [110, 120], clone_of="Y"),
        variety("Y", "", [110, 120], clone_of="X"),
        variety("X", "S1S2", [110, 120]),
    )
    found = limbs(pollinet("check", path, "--json").data)
    assert not any(found[name]["covered"] for name in "XYZ")
    assert all(found[name]["reliability_if_unknown_pollen_works"] == 0 for name in "XYZ")


@pytest.mark.parametrize(
    ("varieties", "code"),
    [
        ((("X", "S1S2", "Y"), ("Y", "S1S2", "X")), "clone-circle"),
        ((("X", "S1S2", "X"), ("Y", "S3S4", "")), "clone-circle"),
        ((("X", "S1S2", ""), ("Y", "S1S3", "X")), "clone-contradiction"),
        ((("X", "S1S2S3", ""), ("Y", "S1S2", "X")), "clone-contradiction"),
    ],
)
def test_impossible_clones_are_findings(
    varieties: tuple[tuple[str, str, str], ...], code: str, tmp_path: Path, pollinet: Run
) -> None:
    own = [
        variety(name, alleles, [110, 120], **({"clone_of": parent} if parent else {}))
        for name, alleles, parent in varieties
    ]
    answer = pollinet("check", plan(tmp_path, "X,Y", *own), "--json")
    assert answer.code == 2
    assert code in {finding["code"] for finding in answer.data["findings"]}


def test_a_synonym_described_in_the_plan_is_the_variety(tmp_path: Path, pollinet: Run) -> None:
    """Red Delicious is Delicious (synonym of the catalogue): they do not pollinate each other."""
    names = "Delicious,Red Delicious"
    both = [variety(name, "", [110, 120]) for name in names.split(",")]
    answer = pollinet("check", plan(tmp_path, names, *both), "--json")
    assert answer.code == 2
    errors = [f["code"] for f in answer.data["findings"] if f["severity"] == "error"]
    assert errors == ["repeated-variety"]
    answer = pollinet("check", plan(tmp_path, names, both[1]), "--json")
    found = answer.data["limbs"]
    assert {limb["variety"] for limb in found} == {"Delicious"}
    assert all(limb["bloom"]["start"] == "04-20" for limb in found)
    assert all(limb["reliability_if_unknown_pollen_works"] == 0 for limb in found)


def test_a_pollen_part_mutant_is_its_own_donor(tmp_path: Path, pollinet: Run) -> None:
    """S4' grains pass every cherry style (Schuster 2020, class SC; the rule as in Stella)."""
    path = plan(
        tmp_path,
        "X,Y",
        variety("X", "S3S4'", [100, 110]),
        variety("Y", "S3S4", [100, 110]),
        species="sweet cherry",
    )
    found = limbs(pollinet("check", path, "--json").data)
    assert found["X"]["covered"]
    assert found["X"]["donors"][0]["id"] == "X"
    assert found["Y"]["covered"]


def test_dates_do_not_depend_on_the_candidates(tmp_path: Path, pollinet: Run) -> None:
    """Looking at the catalogue's sports must not move the limbs that stand."""
    assert pollinet("demo", "--out", tmp_path).code == 0
    path = tmp_path / "plan.toml"
    now = limbs(pollinet("check", path, "--json").data)["A-mid-north"]
    answer = pollinet("donors", path, "A-mid-north", "--from", "catalogue", "--json")
    here = {donor["id"]: donor["reliability"] for donor in answer.data["donors"]}
    for donor in now["donors"]:
        assert here[donor["id"]] == pytest.approx(donor["reliability"])
