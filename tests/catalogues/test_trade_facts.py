"""What the trade knows of well-known varieties must hold in the shipped catalogues.

`trade_facts.csv` is trade knowledge: what nurseries, handbooks and growers agree on. An
incompatible pair stands there as receiver and donor.
"""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path
from statistics import fmean

import pytest
from count_garden import counts, table

from pollinet.compatibility.verdict import cross_verdict
from pollinet.domain import Catalogue, Variety
from pollinet.readers.catalogue import fruits, load_catalogue
from pollinet.readers.names import fold

TABLE = Path(__file__).with_name("trade_facts.csv")
README = Path(__file__).parents[2] / "catalogues" / "README.md"
TOGETHER_DAYS = 5
"""Usual days of full bloom no further apart are bloom together: less than half a bloom. Common
practice, no source."""


def told(holds: str) -> list[tuple[str, str, str]]:
    """Fruit, variety and other variety of all rows of one kind."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["holds"] == holds]
    return [(row["fruit"], row["variety"], row["other"]) for row in rows]


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_catalogue(fruits())[0]


def named(catalogue: Catalogue, fruit: str, name: str) -> Variety:
    """A variety by any of its names."""
    every = {fold(v.name): v for v in catalogue.varieties if v.species == fruit}
    every |= {fold(n.name): v for n, v in catalogue.synonyms.items() if n.species == fruit}
    return catalogue.varieties[every[fold(name)]]


def test_the_table_holds_enough() -> None:
    with TABLE.open(encoding="utf-8", newline="") as file:
        kinds = Counter(row["holds"] for row in csv.DictReader(file))
    assert kinds["triploid"] >= 30 and kinds["self-fertile"] >= 40
    assert kinds["incompatible"] >= 30 and kinds["bloom together"] >= 20


@pytest.mark.parametrize(("fruit", "name", "_"), told("triploid"))
def test_triploid(catalogue: Catalogue, fruit: str, name: str, _: str) -> None:
    fertility = named(catalogue, fruit, name).fertility
    assert (fertility.ploidy, fertility.pollen_ok) == (3, False)


@pytest.mark.parametrize(("fruit", "name", "_"), told("self-fertile"))
def test_self_fertile(catalogue: Catalogue, fruit: str, name: str, _: str) -> None:
    assert named(catalogue, fruit, name).fertility.self_fertile is True


@pytest.mark.parametrize(("fruit", "name", "_"), told("not self-fertile"))
def test_not_self_fertile(catalogue: Catalogue, fruit: str, name: str, _: str) -> None:
    assert named(catalogue, fruit, name).fertility.self_fertile is False


@pytest.mark.parametrize(("fruit", "receiver", "donor"), told("incompatible"))
def test_incompatible(catalogue: Catalogue, fruit: str, receiver: str, donor: str) -> None:
    style, pollen = (named(catalogue, fruit, name).fertility for name in (receiver, donor))
    assert cross_verdict(pollen, style, catalogue.rules).answer == "no"


def usual_days(variety: Variety) -> dict[str, float]:
    """Usual day of full bloom by place, the mean of what dates it there."""
    days: dict[str, list[float]] = {}
    for evidence in variety.bloom:
        if evidence.stage == "full":
            days.setdefault(evidence.place, []).append(evidence.day)
    return {place: fmean(at) for place, at in days.items()}


@pytest.mark.parametrize(("fruit", "one", "other"), told("bloom together"))
def test_bloom_together(catalogue: Catalogue, fruit: str, one: str, other: str) -> None:
    first, second = (usual_days(named(catalogue, fruit, name)) for name in (one, other))
    gaps = [abs(first[place] - second[place]) for place in first.keys() & second.keys()]
    assert gaps and fmean(gaps) <= TOGETHER_DAYS


def test_the_readme_counts_the_garden_varieties(catalogue: Catalogue) -> None:
    assert table(counts(catalogue)) in README.read_text(encoding="utf-8")
