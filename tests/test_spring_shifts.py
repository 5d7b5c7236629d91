"""How far whole springs move is told of each fruit, apart from what is not known of its dates."""

from __future__ import annotations

import re

import pytest

from pollinet.study import Study, open_study
from pollinet.summary.limbs import spring_shifts
from pollinet.wording.check import spring_note

MILD = """
[site]
latitude = -31.9
longitude = 116.15
elevation_m = 280
"""
LIMBS = {"peach": ("Flordaprince", "J.H. Hale"), "apple": ("Anna", "Granny Smith")}


@pytest.fixture(scope="module")
def mild(tmp_path_factory: pytest.TempPathFactory) -> Study:
    """A garden with few cold days, far from where the dates of its fruits were noted."""
    trees = "".join(
        f'[[tree]]\nid = "{fruit}"\nspecies = "{fruit}"\n'
        + "".join(f'[[tree.limb]]\nid = "{name}"\nvariety = "{name}"\n' for name in names)
        for fruit, names in LIMBS.items()
    )
    plan = tmp_path_factory.mktemp("mild") / "plan.toml"
    plan.write_text(MILD + trees, encoding="utf-8")
    study = open_study(plan).study
    assert study is not None
    return study


def test_each_fruit_has_its_own_days_and_one_with_little_known_says_so(mild: Study) -> None:
    apple, peach = spring_shifts(mild)
    # Springs move kinds of fruit by like days: what differs is how well their dates are known.
    assert peach.own_days == pytest.approx(apple.own_days, rel=0.5)
    assert peach.days > 2 * peach.own_days and peach.little_known
    assert not apple.little_known
    moved, *unknown = spring_note([apple, peach])
    days = {fruit: int(told) for told, fruit in re.findall(r"(\d+) days \((\w+)\)", moved)}
    assert days == {"apple": round(apple.days), "peach": round(peach.days)}
    assert [text.split(": ")[0] for text in unknown] == [
        f"Springs alone would move peach by {round(peach.own_days)} days"
    ]


def test_typed_dates_have_nothing_to_tell() -> None:
    assert spring_note([]) == []
