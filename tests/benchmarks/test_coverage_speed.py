"""What it costs that the S-alleles of half of a garden are not known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from gardens import saved, studied
from test_change_speed import NORMALS, _tree, bloomers

from pollinet.compatibility.drawn import DrawnCrosses, Genotypes
from pollinet.compatibility.tables import rule_index
from pollinet.compatibility.verdict_table import Crossings, VerdictTable
from pollinet.domain import Fertility
from pollinet.network.coverage import limb_coverage
from pollinet.study import Study


def orchard(folder: Path, species: str, names: list[str] | None = None) -> Study:
    """One tree in thirty made-up winters."""
    site = (
        "[site]\nlatitude = 46.4\n[site.normals]\n"
        f"tmin_c = {list(NORMALS.tmin_c)}\ntmax_c = {list(NORMALS.tmax_c)}\n"
    )
    return studied(saved(folder, site + _tree("A", species, names)))


def forgotten(own: Fertility) -> Fertility:
    return replace(own, genotype=None, group="")


@pytest.mark.parametrize("species", ["sweet cherry", "apple"])
def test_half_of_the_genotypes_drawn_against_all_known(
    species: str, tmp_path: Path, ratio: Callable[..., float]
) -> None:
    """Aim: within 1.5 times, once the genotypes that are possible are laid out."""
    told = [v for v in bloomers(orchard(tmp_path, species))
            if v.fertility.genotype is not None and v.fertility.genotype.complete]  # fmt: skip
    study = orchard(tmp_path, species, [variety.id.name for variety in told[:40]])
    network, index = study.network, rule_index(study.catalogue.rules)
    assert len(network.nodes) == 40
    known = [study.known[node.variety].fertility for node in network.nodes]
    half = [forgotten(own) if i % 2 else own for i, own in enumerate(known)]
    draws = network.open_start_h.shape[1] // network.winters

    def kept(each: list[Fertility]) -> tuple[Crossings, Genotypes]:
        return Crossings(index), Genotypes(
            index, {own.id: own for own in each}, draws=draws, seed=1
        )

    def covered(each: list[Fertility], rules: tuple[Crossings, Genotypes]) -> VerdictTable:
        table = VerdictTable(each, rules[0])
        limb_coverage(replace(network, verdicts=table, drawn=DrawnCrosses(table, rules[1])))
        return table

    before = {True: kept(known), False: kept(half)}
    unknown = [v.answer for v in covered(half, before[False]).values()].count("unknown")
    assert unknown > 40 * 40 / 4
    what = f"coverage of 40 limbs of {species}, half of the genotypes drawn / all known"
    ratio(what, lambda: covered(half, before[False]), lambda: covered(known, before[True]), 15,
          aim="≤ 1.5")  # fmt: skip
    ratio(
        f"{what}, both for the first time",
        lambda: covered(half, kept(half)),
        lambda: covered(known, kept(known)),
        15,
    )
