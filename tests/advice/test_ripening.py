"""Whether it is warm enough for a variety to ripen: the month before its pick."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pollinet.advice.harvest import Harvest, Summer, may_ripen, ripening_c
from pollinet.domain import PickWindow, VarietyId
from pollinet.study import open_study

Run = Callable[..., Any]

NORTH = (2.0, 2.0, 4.0, 7.0, 10.0, 13.0, 15.0, 15.0, 12.0, 9.0, 6.0, 3.0)


def test_the_month_before_a_day_is_averaged_over_new_year_too() -> None:
    assert ripening_c(200, Summer(50.0, (11.0,) * 12)) == pytest.approx(11)
    # The middles of months go straight: 15 November stands between 9 and 6, nearer to 6.
    assert 6 < ripening_c(319.5, Summer(50.0, NORTH)) < 9
    south = Summer(-40.0, (*NORTH[6:], *NORTH[:6]))
    assert ripening_c(319.5 + 182.5, south) == pytest.approx(
        ripening_c(319.5, Summer(50.0, NORTH)), abs=1e-9
    )
    assert np.isnan(ripening_c(200, Summer(50.0, (*NORTH[:6], float("nan"), *NORTH[7:]))))


def test_what_was_picked_in_the_garden_ripens_there(tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(
        f'[site]\n{SITES["cool"]}[[tree]]\nid = "t"\nspecies = "apple"\n'
        '[[tree.limb]]\nid = "l"\nvariety = "Cripps Pink"\n'
    )
    study = open_study(plan).study
    assert study is not None
    variety = study.known[VarietyId("apple", "Cripps Pink")]
    late, here = Harvest(variety.id, 325.0, "", "published"), Summer(57.0, NORTH)
    assert not may_ripen(variety, late, here)
    assert may_ripen(variety, replace(late, day=270.0), here)
    assert may_ripen(variety, late, Summer(57.0, (float("nan"),) * 12))
    own = PickWindow(325.0, 330.0, "", "own log", "plan", here=True)
    assert may_ripen(replace(variety, picking=(own,)), late, here)


SITES = {
    # Kinloss on the Moray Firth; Manjimup in Western Australia, where the variety was bred.
    "cool": "latitude = 57.6\nlongitude = -3.6\nelevation_m = 10\n",
    "home": "latitude = -34.2\nlongitude = 116.1\nelevation_m = 280\n",
}


@pytest.mark.parametrize("place", SITES)
def test_an_apple_of_a_long_season_is_doubtful_where_autumn_is_cool(
    place: str, tmp_path: Path, pollinet: Run
) -> None:
    """Cripps Pink is known for needing a long warm season, some 200 days (`memory`)."""
    plan = tmp_path / "plan.toml"
    plan.write_text(
        f'[site]\n{SITES[place]}[[tree]]\nid = "t"\nspecies = "apple"\nspare_limbs = 1\n'
        '[[tree.limb]]\nid = "l"\nvariety = "James Grieve"\n'
    )
    (found,) = pollinet("suits", plan, "Cripps Pink", "--json").data["varieties"]
    assert ("warmth" in found["against"]) == (place == "cool")
    assert (found["month_before_pick_c"] < 10) == (place == "cool")
    text = pollinet("suits", plan, "Cripps Pink").out
    assert ("hardly ripens: the 30 days before its pick" in " ".join(text.split())) == (
        place == "cool"
    )
    season = pollinet("season", plan, "--from", "catalogue", "--json").data
    assert ("Cripps Pink" in season["scions_too_cool"]) == (place == "cool")
    added = {name for choice in season["choices"] for name in choice["added"]}
    assert not added & set(season["scions_too_cool"])
