"""What a changed limb costs, as a multiple of the one variety's bloom and its row and column."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from gardens import NORMALS, grown, made_weather, saved, studied

from pollinet.compatibility.drawn import DrawnCrosses
from pollinet.compatibility.verdict_table import VerdictTable
from pollinet.domain import Variety
from pollinet.network.donors import _cells
from pollinet.network.viability import clone_numbers
from pollinet.phenology.adequacy import variety_chill_quality
from pollinet.phenology.bloom import bloom_rows, shared_errors
from pollinet.phenology.straggling import straggling_row
from pollinet.study import Study, open_study
from pollinet.study.stages import network_row

ROWS = (
    "open_start_h", "open_end_h", "shed_start_h", "shed_end_h", "chill_quality", "flight_share",
)  # fmt: skip
"""What a variety brings to the network."""


def demo(folder: Path) -> Path:
    command = [sys.executable, "-m", "pollinet", "demo", "--out", str(folder)]
    subprocess.run(command, check=True, capture_output=True)
    return folder / "plan.toml"


def forty_limbs(folder: Path) -> Path:
    """Four trees with ten limbs each, in fifty made-up winters."""
    made_weather(folder / "weather.csv", NORMALS, 1971, 50, 46.4)
    plan = saved(folder, '[site]\nlatitude = 46.4\nweather = "weather.csv"\n' + _tree("A", "apple"))
    names = {
        species: [v.id.name for v in bloomers(study_of(plan, species))]
        for species in ("apple", "sweet cherry")
    }
    trees = [
        _tree(f"{species}-{number}", species, names[species][10 * number : 10 * number + 10])
        for species in names
        for number in range(2)
    ]
    plan.write_text('[site]\nlatitude = 46.4\nweather = "weather.csv"\n' + "".join(trees))
    return plan


def _tree(name: str, species: str, varieties: list[str] | None = None) -> str:
    chosen = ["Elstar" if species == "apple" else "Van"] if varieties is None else varieties
    return grown(species, {f"{name}-{i}": variety for i, variety in enumerate(chosen)}, name)


def study_of(plan: Path, species: str) -> Study:
    text = plan.read_text()
    plan.write_text(text.split("[[tree]]")[0] + _tree("A", species))
    return studied(plan)


def bloomers(study: Study) -> list[Variety]:
    """Varieties of the first limb's fruit whose bloom is known and that have plain names."""
    species = study.plan.limbs[0].variety.species
    known = (study.known[name] for name in sorted(study.known) if name.species == species)
    return [v for v in known if v.bloom and v.id.name.isascii() and "'" not in v.id.name]


@pytest.mark.parametrize("garden", [demo, forty_limbs])
def test_a_changed_limb_against_its_own_row(
    garden: Callable[[Path], Path], tmp_path: Path, ratio: Callable[..., float]
) -> None:
    """Aim: within 1.5 times.

    The row and the column are those of the variety tried: in its days, with the verdicts and the
    drawn alleles of its own, which a second study of the same plan has not looked at before either.
    """
    plan = garden(tmp_path)
    base, apart = studied(plan), studied(plan)
    assert apart.coverage
    table = base.coverage and base._covered.table
    limb = base.plan.limbs[0]
    node = [one.id for one in base.network.nodes].index(limb.id)
    one, donors = np.array([node]), np.array(table.donors)
    others = np.array([receiver for receiver in table.receivers if receiver != node])
    new = iter(bloomers(base) * 20)
    tried = [next(new) for _ in range(40)]
    bloom, weather = base._species(limb.variety.species), base._weather
    assert weather is not None
    aim, shared = base.plan.aim, shared_errors((), bloom.ground)
    weather.flight(0.0)
    standing, genotypes = apart.network, apart._genotypes(aim.draws)

    def its_own(variety: Variety) -> None:
        """The variety's bloom, and its row and column of pairs; nothing is put together."""
        (own,) = bloom_rows([variety], bloom.ground, weather.climate(0.0), shared)
        sums = weather.sums(0.0)
        quality = variety_chill_quality(variety, sums, draws=aim.draws, seed=aim.seed)
        own = straggling_row(own, variety, quality, seed=aim.seed)
        row = network_row(own, quality, weather.flight(0.0), is_shed_known=True)
        for name in ROWS:
            getattr(standing, name)[node] = getattr(row, name)
        nodes, own_fertility = list(standing.nodes), apart.known[variety.id].fertility
        nodes[node] = replace(nodes[node], variety=variety.id, clone=own_fertility.clone)
        each = [apart.known[each.variety].fertility for each in nodes]
        verdicts = VerdictTable(each, apart._crossings)
        drawn = DrawnCrosses(verdicts, genotypes)
        network = replace(standing, nodes=tuple(nodes), verdicts=verdicts, drawn=drawn)
        clones = clone_numbers(network)
        _cells(network, donors, one, clones)
        _cells(network, one, others, clones)

    def changed(variety: Variety) -> object:
        return base.with_limb(limb.id, variety=variety.id.name).coverage

    cold = [v for v in tried if v.id != limb.variety]
    mine, theirs = iter(cold), iter(cold)
    ratio(
        f"a changed limb of {len(base.plan.limbs)} / its bloom, its row and its column",
        lambda: changed(next(mine)),
        lambda: its_own(next(theirs)),
        rounds=min(25, len(cold) - 1),
        aim="≤ 1.5",
    )
    ratio(
        f"a changed limb of {len(base.plan.limbs)} / everything anew",
        lambda: changed(next(mine)),
        lambda: open_study(tmp_path / "plan.toml").study.coverage,  # type: ignore[union-attr]
        rounds=3,
    )
