"""What each variety does without others: own pollen, pollen for others, fruit without seed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from gardens import saved, studied

from pollinet.study import Study
from pollinet.summary.alone import alone_of

Run = Callable[..., Any]

# Fruit, variety, own pollen, gives pollen, without seed. Conference: Quinet and Jacquemart 2013;
# Packham's Triumph: Langridge 1976; Aranjuez: Sanzol and Herrero 2007; the others are common
# practice: Stella is self-fertile, Jonagold a triploid, J.H. Hale male-sterile.
KNOWN = (
    ("pear", "Conference", "no", "yes", True),
    ("pear", "Packham's Triumph", "no", "yes", True),
    ("pear", "Agua de Aranjuez", "no", "yes", False),
    ("apple", "Jonagold", "no", "no", None),
    ("apple", "Arkansas Black", "no", "disputed", None),
    ("sweet cherry", "Stella", "yes", "yes", None),
    ("peach", "J.H. Hale", "no", "no", None),
    ("European plum", "Avalon", "partly", "yes", None),
    ("European plum", "Cambridge Gage", "disputed", "yes", None),
)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One tree a fruit, and an apple of which nothing is told; bloom is typed for all."""
    text = "[site]\nlatitude = 47\n[aim]\ndraws = 4\n"
    varieties = [(fruit, name) for fruit, name, *_ in KNOWN] + [("apple", "Seedling")]
    for fruit in dict.fromkeys(fruit for fruit, _ in varieties):
        text += f'[[tree]]\nid = "{fruit}"\nspecies = "{fruit}"\n'
        text += "".join(
            f'[[tree.limb]]\nid = "{name}"\nvariety = "{name}"\n'
            for of, name in varieties if of == fruit
        )  # fmt: skip
    text += "".join(
        f'[[variety]]\nspecies = "{fruit}"\nname = "{name}"\nbloom = ["04-10", "04-20"]\n'
        for fruit, name in varieties
    )
    return saved(tmp_path_factory.mktemp("alone"), text)


@pytest.fixture(scope="module")
def study(plan: Path) -> Study:
    return studied(plan)


@pytest.mark.parametrize(("fruit", "name", "own", "gives", "seedless"), KNOWN)
def test_known_varieties(
    fruit: str, name: str, own: str, gives: str, seedless: bool | None, study: Study
) -> None:
    (variety,) = (limb.variety for limb in study.plan.limbs if limb.variety.name == name)
    told = alone_of(study, variety)
    assert (told.self_fertile, told.gives_pollen, told.seedless) == (own, gives, seedless)
    assert not told.presumed


def test_what_is_usual_is_told_as_presumed(study: Study) -> None:
    (variety,) = (limb.variety for limb in study.plan.limbs if limb.variety.name == "Seedling")
    assert alone_of(study, variety).presumed


def test_details_tell_each_variety_once(plan: Path, pollinet: Run) -> None:
    out = pollinet("check", plan, "--details").out
    lines = [" ".join(line.split()) for line in out.splitlines()]
    assert "Conference pear not self-fertile; may set fruit without seed" in lines
    assert "Jonagold apple not self-fertile; gives no good pollen" in lines
    assert "Seedling apple presumably not self-fertile, as usual for the fruit" in lines
    assert sum("never counted on." in line for line in lines) == 1
    assert "Without others" not in pollinet("check", plan).out


def test_they_stand_in_the_data(plan: Path, pollinet: Run) -> None:
    limbs = {limb["id"]: limb for limb in pollinet("check", plan, "--json").data["limbs"]}
    for _, name, own, gives, seedless in KNOWN:
        told = [limbs[name][key] for key in ("self_fertile", "gives_pollen", "sets_without_seed")]
        assert told == [own, gives, seedless]
    assert limbs["Conference"]["alone"] == "not self-fertile; may set fruit without seed"
