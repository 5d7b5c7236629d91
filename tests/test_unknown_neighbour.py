"""A neighbour's tree of which nobody knows the variety is any one of its fruit, and says so."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pollinet.domain import VarietyId
from pollinet.study import Study, open_study

Run = Callable[..., Any]

PLAN = """
[site]
name = "garden"
latitude = 47.0
{normals}[aim]
draws = 64
[[tree]]
id = "old"
species = "apples"
[[tree.limb]]
id = "limb"
variety = "{limb}"
[[variety]]
species = "apple"
name = "Mine"
s_genotype = "S2S5"
bloom = ["04-20", "05-02"]
"""

NORMALS = """
[site.normals]
tmin_c = [-3, -2, 1, 4, 9, 12, 14, 14, 10, 6, 1, -2]
tmax_c = [3, 5, 10, 15, 20, 23, 25, 25, 20, 14, 8, 4]
"""

NEXT_DOOR = """
[[neighbour]]
species = "apple"
variety = "{name}"
distance_m = 5
"""

RECORD = """
[[variety]]
species = "apple"
name = "Grandma's red"
s_genotype = "S3S7"
bloom = ["04-20", "05-02"]
"""


def written(
    folder: Path, *names: str, limb: str = "Mine", more: str = "", normals: str = NORMALS
) -> Path:
    plan = folder / "plan.toml"
    near = "".join(NEXT_DOOR.format(name=name) for name in names)
    plan.write_text(PLAN.format(limb=limb, normals=normals) + near + more, encoding="utf-8")
    return plan


def opened(plan: Path) -> Study:
    result = open_study(plan)
    assert result.study is not None, result.findings
    return result.study


@pytest.mark.parametrize(
    ("name", "severity"),
    [("Grandma's red", "warning"), ("?", "note"), ("crab apple", "note"), ("any", "note")],
)
def test_it_stops_nothing_and_is_told(tmp_path: Path, name: str, severity: str) -> None:
    study = opened(written(tmp_path, name))
    [finding] = [f for f in study.findings if f.code == "unknown-neighbour"]
    assert (finding.severity, finding.place) == (severity, 'neighbour "neighbour-1", variety')
    assert "[[variety]]" in finding.cure
    [near] = study.plan.neighbours
    assert not near.known and study.known[near.variety].fertility.genotype is None


def test_it_serves_as_any_of_its_fruit(tmp_path: Path) -> None:
    """Nothing is sure of it, all is possible, and what is expected lies between."""
    [limb] = opened(written(tmp_path, "Grandma's red")).coverage
    assert limb.sure == 0.0
    assert 0.0 < limb.reliability < limb.possible_reliability


def test_each_tree_is_drawn_for_itself_unless_both_have_one_name(tmp_path: Path) -> None:
    def names(*typed: str) -> list[VarietyId]:
        return [near.variety for near in opened(written(tmp_path, *typed)).plan.neighbours]

    assert len(set(names("?", "?"))) == 2
    assert len(set(names("Grandma's red", "Grandma's red"))) == 1


def test_described_it_is_known(tmp_path: Path) -> None:
    study = opened(written(tmp_path, "Grandma's red", more=RECORD))
    assert all(near.known for near in study.plan.neighbours)
    assert "unknown-neighbour" not in {finding.code for finding in study.findings}
    # Bloom on the same days, and alleles that share none: covered for certain.
    assert study.coverage[0].verdict == "sure"


def test_an_unknown_limb_stays_an_error_that_says_how_to_describe_it(tmp_path: Path) -> None:
    result = open_study(written(tmp_path, "Discovery", limb="Golden Delicous"))
    [finding] = [f for f in result.findings if f.severity == "error"]
    assert finding.code == "unknown-variety"
    assert "Golden Delicious" in finding.cure and "[[variety]]" in finding.cure


def test_without_weather_it_stops_nothing_either(tmp_path: Path) -> None:
    study = opened(written(tmp_path, "?", normals=""))
    assert "no-dates" in {finding.code for finding in study.findings}
    [limb] = study.coverage
    assert limb.possible_reliability == 0.0


def test_a_name_of_another_fruit_is_told(tmp_path: Path) -> None:
    [finding] = [
        f for f in opened(written(tmp_path, "Conference")).findings if f.code == "unknown-neighbour"
    ]
    assert "Conference" in finding.message


def test_what_was_typed_is_told(tmp_path: Path, pollinet: Run) -> None:
    plan = written(tmp_path, "Reine des Reinettes", limb="Coxs Orange")
    answer = pollinet("check", str(plan), "--json")
    [limb] = answer.data["limbs"]
    assert (limb["variety"], limb["typed"]) == ("Cox's Orange Pippin", "Coxs Orange")
    for command in (("check",), ("donors", "limb")):
        words = pollinet(command[0], str(plan), *command[1:]).out.replace("\n", " ")
        assert "Coxs Orange = Cox's Orange Pippin" in words
        assert "Reine des Reinettes = King of the Pippins" in words
    donors = pollinet("donors", str(plan), "limb", "--json").data
    assert donors["typed"] == "Coxs Orange"


def many_names(folder: Path) -> Path:
    """A plan with three other names, one a trade name, and one of another spelling."""
    names = ("Reine des Reinettes", "Pink Lady", "Cox", "Fuji apple")
    limbs = "".join(f'[[tree.limb]]\nid = "l{i}"\nvariety = "{x}"\n' for i, x in enumerate(names))
    plan = folder / "plan.toml"
    site = f"[site]\nlatitude = 47\n{NORMALS}"
    text = f'{site}[[tree]]\nid = "t"\nspecies = "apple"\n{limbs}'
    plan.write_text(text, encoding="utf-8")
    return plan


TOGETHER = (
    "Names as the catalogue has them: Reine des Reinettes = King of the Pippins; "
    "Pink Lady (trade name) = Cripps Pink; Cox = Cox's Orange Pippin"
)


def test_other_names_are_told_in_one_paragraph(tmp_path: Path, pollinet: Run) -> None:
    plan = many_names(tmp_path)
    told = pollinet("scions", str(plan))
    words = " ".join(told.err.split())
    assert f"note: plan.toml: {TOGETHER}." in words
    # What was spelled otherwise might be a slip, and keeps its place.
    assert 'limb "l3", variety: Fuji apple = Fuji, as the catalogue writes it.' in words
    assert words.count("Cripps Pink") == 1
    found = pollinet("scions", str(plan), "--json").data["findings"]
    codes = [one["code"] for one in found]
    assert (codes.count("synonym"), codes.count("trade-name"), codes.count("spelling")) == (2, 1, 1)


def test_check_tells_other_names_behind_its_answer(tmp_path: Path, pollinet: Run) -> None:
    plan = many_names(tmp_path)
    for command in (("check",), ("donors", "l0")):
        told = pollinet(command[0], str(plan), *command[1:])
        assert f"{TOGETHER}; Fuji apple = Fuji." in " ".join(told.out.split())
        assert "Pink Lady" not in told.err
        assert "Fuji apple = Fuji" in told.err


def test_errors_stand_before_other_names(tmp_path: Path, pollinet: Run) -> None:
    plan = many_names(tmp_path)
    plan.write_text(plan.read_text("utf-8").replace('"Fuji apple"', '"Fujji"'), encoding="utf-8")
    told = " ".join(pollinet("check", str(plan)).err.split())
    assert told.index("Nearest: Fuji") < told.index(TOGETHER)


def test_one_other_name_keeps_its_place(tmp_path: Path, pollinet: Run) -> None:
    told = pollinet("scions", str(written(tmp_path, "Discovery", limb="Pink Lady"))).err
    assert 'limb "limb", variety: Pink Lady = Cripps Pink: fruit' in " ".join(told.split())


def test_what_was_typed_is_told_without_a_plan(pollinet: Run) -> None:
    pair = pollinet("cross", "Pink Lady", "Gala")
    assert pair.out.startswith("Partly, Cripps Pink pollinates Gala")
    assert "As typed: Pink Lady = Cripps Pink." in pair.out
    data = pollinet("cross", "Pink Lady", "Gala", "--json").data
    assert (data["male_typed"], data["female_typed"]) == ("Pink Lady", None)
    told = pollinet("variety", "Reine des Reinettes", "--json").data
    assert (told["variety"], told["typed"]) == ("King of the Pippins", "Reine des Reinettes")
    sold = pollinet("variety", "Cripps Pink", "--json").data
    assert "Pink Lady" not in sold["other_names"]


def test_strength_of_a_cross_between_kinds_is_told(pollinet: Run) -> None:
    """Growers do not count on apricots for peaches (READ-102 of the catalogue)."""
    data = pollinet("cross", "Goldrich", "Redhaven", "--json").data
    assert (data["strength"], data["verdict"]) == ("not relied upon", "unknown")
    assert "not relied upon" in pollinet("cross", "Goldrich", "Redhaven").out
    alike = pollinet("cross", "Fuji", "Gala", "--json").data
    assert alike["strength"] is None
