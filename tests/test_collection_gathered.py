"""Gardens together: what their own tables, neighbours, wood, settings and weather become."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from test_collection import garden, opened, told, verdicts
from test_positions import VARIETIES, placed

from pollinet.answers.collection import collection_facts
from pollinet.charts.collection_map import _ground
from pollinet.domain import VarietyId
from pollinet.findings import Finding
from pollinet.study.collection import Collection, open_collection

Run = Callable[..., Any]


def next_door(name: str, kind: str, east: float, *more: str) -> str:
    lines = [f'id = "{name}"', 'species = "apple"', f'variety = "{kind}"',
             f"position_m = [{east}, 0]", *more]  # fmt: skip
    return "[[neighbour]]\n" + "\n".join(lines) + "\n"


def of_code(found: Collection, code: str) -> list[Finding]:
    return [one for one in found.findings if one.code == code]


def test_a_tree_next_door_to_two_gardens_is_one_tree(tmp_path: Path) -> None:
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), next_door("n", "D", 20), *VARIETIES)
    # Seen from b, 40 m to the east, the same spot, told half a metre off.
    garden(tmp_path, "b", 40, 0, placed("u", "[0, 0]", "C"), next_door("m", "D", -19.5), *VARIETIES)
    assert [one.id for one in open_collection(tmp_path).groups[0].study.plan.neighbours] == ["a/n"]
    answer = told(tmp_path)
    assert [(one.garden, one.neighbour, one.other, one.tree) for one in answer.told_twice] == [
        ("b", "m", "a", None)
    ]
    # It serves both, and its loss leaves both bare.
    assert verdicts(answer) == {"a/t-A": "sure", "b/u-C": "sure"}
    (loss,) = [one for one in answer.losses if one.tree == "n"]
    assert {f"{one.garden}/{one.id}" for one in loss.uncovers} == {"a/t-A", "b/u-C"}


@pytest.mark.parametrize(("kind", "east"), [("E", -19.5), ("D", -14)])
def test_of_another_variety_or_farther_off_it_is_another(
    kind: str, east: float, tmp_path: Path
) -> None:
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), next_door("n", "D", 20), *VARIETIES)
    garden(tmp_path, "b", 40, 0, placed("u", "[0, 0]", "C"), next_door("m", kind, east), *VARIETIES)
    (group,) = open_collection(tmp_path).groups
    assert [one.id for one in group.study.plan.neighbours] == ["a/n", "b/m"]


def test_a_neighbours_tree_that_may_be_felled_and_is_a_garden_s_own_is_said(
    tmp_path: Path,
) -> None:
    near = next_door("n", "B", 50, "may_be_felled = true")
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), near, *VARIETIES)
    garden(tmp_path, "b", 50, 0, placed("u", "", "B"), *VARIETIES)
    (said,) = of_code(open_collection(tmp_path), "felled-here")
    assert 'may_be_felled of "n"' in said.message and "a tree of b" in said.message
    # Counted as standing: nobody but its own garden fells it.
    assert verdicts(told(tmp_path)) == {"a/t-A": "sure", "b/u-B": "sure"}


def test_a_tree_of_an_unknown_variety_without_a_place_is_no_tree_of_another_garden(
    tmp_path: Path,
) -> None:
    near = '[[neighbour]]\nid = "n"\nspecies = "apple"\nvariety = "?"\ndistance_m = 50\n'
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), near, *VARIETIES)
    garden(tmp_path, "b", 50, 0, placed("u", "", "B"), *VARIETIES)
    (group,) = open_collection(tmp_path).groups
    assert group.same == ()
    assert [one.id for one in group.study.plan.neighbours] == ["a/n"]


def limbs(name: str, *kinds: str) -> str:
    """A tree of apples with a limb of each kind, on one spot with all others."""
    head = f'[[tree]]\nid = "{name}"\nspecies = "apple"\n'
    return head + "".join(
        f'[[tree.limb]]\nid = "{name}{i}"\nvariety = "{x}"\n' for i, x in enumerate(kinds)
    )


def test_own_tables_of_each_garden_count_for_all_as_one_table_would(
    tmp_path: Path, pollinet: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    kinds = {
        "a": ("Early Own", "S1S2", "10 Apr - 22 Apr"),
        "b": ("Late Own", "S3S4", "12 Apr - 24 Apr"),
    }
    few = "[aim]\ndraws = 4\n"
    garden(tmp_path / "one", "all", 0, 0, few, limbs("a", "Early Own"), limbs("b", "Late Own"))
    for name, (kind, pair, days) in kinds.items():
        garden(tmp_path / "many", name, 0, 0, few, limbs(name, kind))
        for folder in (tmp_path / "many" / name, tmp_path / "one" / "all"):
            monkeypatch.chdir(folder)
            words = ("--species", "apple", "--s-genotype", pair, "--bloom", days)
            assert pollinet("variety", "add", kind, *words).code == 0
    found = open_collection(tmp_path / "many")
    assert not of_code(found, "told-otherwise") and not of_code(found, "other-weather")
    (group,) = found.groups
    one = opened(tmp_path / "one" / "all" / "plan.toml")
    for kind, _pair, _days in kinds.values():
        name = VarietyId("apple", kind)
        assert group.study.catalogue.varieties[name] == one.catalogue.varieties[name]
    shares = [[(row.reliability, row.verdict) for row in study.coverage]
              for study in (group.study, one)]  # fmt: skip
    assert shares[0] == shares[1]
    assert {share for share, _verdict in shares[0]} == {1.0}


def test_of_a_variety_in_two_own_tables_the_first_counts_and_it_is_said(
    tmp_path: Path, pollinet: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, pair in (("a", "S1S2"), ("b", "S3S4")):
        garden(tmp_path, name, 0, 0, "[aim]\ndraws = 1\n", limbs(name, "Own"))
        monkeypatch.chdir(tmp_path / name)
        words = ("--species", "apple", "--s-genotype", pair, "--bloom", "10 Apr - 22 Apr")
        assert pollinet("variety", "add", "Own", *words).code == 0
    found = open_collection(tmp_path)
    (said,) = of_code(found, "told-otherwise")
    assert "Own is described otherwise by b than by a" in said.message
    genotype = (
        found.groups[0].study.catalogue.varieties[VarietyId("apple", "Own")].fertility.genotype
    )
    assert genotype is not None and genotype.alleles == ("S1", "S2")


def springs(name: str, pair: str, many: int) -> str:
    days = [[108, 118]] * many
    return (f'[[variety]]\nspecies = "apple"\nname = "{name}"\ns_genotype = "{pair}"\n'
            f"bloom_days = {days if many > 1 else days[0]}\nbloom_sd_days = 0\n")  # fmt: skip


def test_gardens_that_cannot_be_joined_are_looked_at_each_alone(tmp_path: Path) -> None:
    garden(tmp_path, "a", 0, 0, limbs("a", "A", "B"), springs("A", "S1S2", 2),
           springs("B", "S3S4", 2))  # fmt: skip
    garden(tmp_path, "b", 20, 0, limbs("b", "C"), springs("C", "S5S6", 3))
    found = open_collection(tmp_path)
    (said,) = of_code(found, "apart")
    assert "cannot be looked at together with b" in said.message
    assert "different numbers of springs" in said.message
    assert [[one.name for one in group.gardens] for group in found.groups] == [["a"], ["b"]]
    assert verdicts(told(tmp_path)) == {"a/a0": "sure", "a/a1": "sure", "b/b0": "lacking"}


def weather(folder: Path, years: int, warmer_c: float) -> None:
    first = date(2001, 1, 1)
    days = [first + timedelta(days=n) for n in range(365 * years)]
    rows = (
        f"{day},{warmer_c + abs(day.month - 7) * -3 + 15:.1f},{warmer_c + 25:.1f}" for day in days
    )
    folder.joinpath("weather.csv").write_text(
        "date,tmin_c,tmax_c\n" + "\n".join(rows) + "\n", "utf-8"
    )


def test_the_longest_measured_record_stands_for_all_and_it_is_said(tmp_path: Path) -> None:
    given = 'weather = "weather.csv"\n'
    for name, years in (("a", 2), ("b", 4)):
        garden(tmp_path, name, 0, 0, limbs(name, "Gala"), aim=given + "[aim]\ndraws = 1\n")
        weather(tmp_path / name, years, 0.0)
    garden(tmp_path, "c", 0, 0, limbs("c", "Fuji"), aim="[aim]\ndraws = 1\n")
    found = open_collection(tmp_path)
    (said,) = of_code(found, "other-weather")
    assert "a and c rest on other weather than b" in said.message
    (group,) = found.groups
    own = opened(tmp_path / "b" / "plan.toml").winters
    assert group.study.winters is not None and own is not None
    assert group.study.winters.harvest_years == own.harvest_years
    alone = opened(tmp_path / "a" / "plan.toml").winters
    assert alone is not None and len(alone.harvest_years) < len(own.harvest_years)


def test_wood_of_a_tree_whose_variety_nobody_knows_is_offered_to_nobody(tmp_path: Path) -> None:
    unknown = '[[tree]]\nid = "t"\nspecies = "apple"\n[[tree.limb]]\nid = "x"\nvariety = "?"\n'
    garden(tmp_path, "a", 0, 0, unknown, limbs("a", "A"), *VARIETIES)
    garden(tmp_path, "b", 20, 0, limbs("b", "B"), *VARIETIES)
    (group,) = open_collection(tmp_path).groups
    assert "a/x" in {limb.id for limb in group.study.plan.limbs}
    assert {scion.variety.name for scion in group.study.plan.scions} == {"A", "B"}


def test_the_map_shows_neighbours_trees_that_have_a_place(tmp_path: Path) -> None:
    near = '[[neighbour]]\nid = "far"\nspecies = "apple"\nvariety = "E"\ndistance_m = 30\n'
    garden(tmp_path, "a", 0, 0, placed("t", "[0, 0]", "A"), next_door("n", "D", 20), near,
           *VARIETIES)  # fmt: skip
    garden(tmp_path, "b", 40, 0, placed("u", "[0, 0]", "C"), *VARIETIES)
    (facts,) = collection_facts(open_collection(tmp_path))
    standing = {(one.garden, one.tree): one for one in _ground(facts).trees}
    assert set(standing) == {("a", "t"), ("b", "u"), ("a", "n")}
    assert (standing["a", "n"].kind, standing["a", "n"].varieties) == ("next door", ("D",))
    assert standing["a", "n"].position_m == pytest.approx((20, 0), abs=0.01)
