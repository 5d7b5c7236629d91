"""Wrong statements that go round among growers must not come out of the program.

Each was met in print or on the web; the contrary is what the catalogue and the rules say.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]


def test_myth_two_trees_of_one_variety_serve_each_other(pollinet: Run) -> None:
    assert pollinet("cross", "Gala", "Gala", "--species", "apple", "--json").data["verdict"] == "no"


def test_myth_plum_pollinates_cherry(tmp_path: Path, pollinet: Run) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(
        '[site]\nlatitude = 47\n[[tree]]\nid = "t"\nspecies = "sweet cherry"\n'
        '[[tree.limb]]\nid = "c"\nvariety = "X"\n'
        '[[neighbour]]\nspecies = "European plum"\nvariety = "P"\ndistance_m = 5\n'
        '[[variety]]\nspecies = "sweet cherry"\nname = "X"\ns_genotype = "S1S2"\n'
        "bloom_days = [105, 115]\n"
        '[[variety]]\nspecies = "European plum"\nname = "P"\nself_fertile = true\n'
        "bloom_days = [105, 115]\n",
        encoding="utf-8",
    )
    (limb,) = pollinet("check", plan, "--json").data["limbs"]
    assert limb["donors"] == []


def test_myth_a_crab_is_a_universal_donor(tmp_path: Path, pollinet: Run) -> None:
    plan = tmp_path / "plan.toml"
    same = 's_genotype = "S1S2"\nbloom_days = [105, 115]\n'
    plan.write_text(
        '[site]\nlatitude = 47\n[[tree]]\nid = "t"\nspecies = "apple"\n'
        '[[tree.limb]]\nid = "a"\nvariety = "A"\n'
        '[[neighbour]]\nspecies = "apple"\nvariety = "Crab"\ndistance_m = 5\n'
        f'[[variety]]\nspecies = "apple"\nname = "A"\n{same}'
        f'[[variety]]\nspecies = "apple"\nname = "Crab"\n{same}',
        encoding="utf-8",
    )
    (limb,) = pollinet("check", plan, "--json").data["limbs"]
    assert limb["donors"] == [] and not limb["covered"]


@pytest.mark.parametrize("name", ["McIntosh"])
def test_myth_mcintosh_is_a_triploid(name: str, pollinet: Run) -> None:
    data = pollinet("cross", name, "Golden Delicious", "--species", "apple", "--json").data
    assert data["code"] != "triploid-pollen"
