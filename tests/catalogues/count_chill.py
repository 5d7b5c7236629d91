"""Work out how much chill the varieties of a fruit need, as the rows of `chill_ranges.csv`.

python tests/catalogues/count_chill.py

A variety has one requirement, the median of its studies by one method (`phenology.adequacy`). Of
these the middle is the median and the spread a robust one, or that within or between studies where
it is more. What a few studies of a fruit tell of the spread between them is weighed with that of
all fruits.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from math import sqrt
from statistics import fmean, median

from pollinet.domain import Catalogue, Variety
from pollinet.phenology.adequacy import USUAL_STUDIES, pooled_requirement
from pollinet.readers.catalogue import fruits, load_catalogue

ROBUST = 1.4826
"""Standard deviation of a normal distribution over its median distance from the median."""

CLASSES = {
    ("apple", "low"): ("Anna", "Eva"),
    ("sweet cherry", "low"): ("6000CZ", "Cristobalina", "Lapins"),
    ("apricot", "low"): ("Canino", "Charisma", "Currot", "Palsteyn", "Soledane"),
    ("Japanese plum", "low"): ("Black Splendor", "Pioneer"),
    ("peach", "low"): ("Aprilglo", "Earligrande", "Flordaprince", "Maravilha", "Mayglo"),
    ("peach", "medium"): ("Fantasia", "Flavortop", "Sunlite"),
    ("peach", "high"): ("Andross", "Big Top", "O'Henry", "Redhaven"),
}
"""Varieties that stand for a chill class, by what they need or how they are sold."""

APART = (("peach", "low"),)
"""Classes that do not count in the row of their fruit: nearly half of the peaches studied were bred
for mild winters, of those grown few."""

ONE_VALUE_SOURCES = ("IRANAPRICOT",)
"""Sources that give one value for all their varieties: these count once."""


@dataclass(frozen=True)
class Range:
    """Requirements of some varieties: middle, spread, and usual spread of studies of one variety
    [chill portions], and how many varieties they are."""

    portions: float
    sd_portions: float
    sd_studies: float
    varieties: int


def studied(catalogue: Catalogue, fruit: str) -> dict[str, Variety]:
    """Varieties of a fruit with a requirement of their own, one for each source of one value."""
    found: dict[str, Variety] = {}
    passed = set()
    for name, variety in sorted(catalogue.varieties.items()):
        own = [fact.source for fact in variety.facts if fact.property == "chill_portions"]
        if name.species == fruit and own and not (own[0] in ONE_VALUE_SOURCES and own[0] in passed):
            passed.add(own[0])
            found[name.name] = variety
    return found


def between_studies(varieties: Iterable[Variety]) -> tuple[float, int]:
    """Squares between studies of one variety by one method, and their degrees of freedom."""
    squares, freedom = 0.0, 0
    for variety in varieties:
        studies: defaultdict[tuple[str, str], list[float]] = defaultdict(list)
        for one in variety.chill:
            studies[one.method, one.source].append(one.portions)
        methods: defaultdict[str, list[float]] = defaultdict(list)
        for (method, _), values in studies.items():
            methods[method].append(median(values))
        for values in methods.values():
            squares += sum((value - fmean(values)) ** 2 for value in values)
            freedom += len(values) - 1
    return squares, freedom


def range_of(varieties: Iterable[Variety], studies: float) -> Range:
    """Middle and spread; `studies`: usual spread between studies of one variety."""
    each = list(varieties)
    needs = [pooled_requirement(variety.chill)[0] for variety in each]
    middle = median(needs)
    robust = ROBUST * median(abs(need - middle) for need in needs)
    within = median(one.sd_portions for variety in each for one in variety.chill)
    return Range(
        round(middle, 1), round(max(robust, within, studies), 1), round(studies, 1), len(each)
    )


def ranges(catalogue: Catalogue) -> dict[tuple[str, str], Range]:
    """Ranges by fruit and chill class, of those fruits that were studied."""
    each = {fruit: studied(catalogue, fruit) for fruit in fruits()}
    squares = {fruit: between_studies(varieties.values()) for fruit, varieties in each.items()}
    pooled = sum(one for one, _ in squares.values()) / sum(n for _, n in squares.values())
    found: dict[tuple[str, str], Range] = {}
    for fruit, varieties in each.items():
        if not varieties:
            continue
        own, freedom = squares[fruit]
        studies = sqrt((own + USUAL_STUDIES * pooled) / (freedom + USUAL_STUDIES))
        apart = {name for key in APART if key[0] == fruit for name in CLASSES[key]}
        whole = range_of((v for name, v in varieties.items() if name not in apart), studies)
        found[fruit, ""] = whole
        for (of, called), names in CLASSES.items():
            if of == fruit:
                some = [varieties[name] for name in names]
                middle = range_of(some, 0.0).portions
                # As a share of the requirement, as the engine takes it.
                found[fruit, called] = range_of(some, studies * middle / whole.portions)
    return found


if __name__ == "__main__":
    for (fruit, called), one in ranges(load_catalogue(fruits())[0]).items():
        print(fruit, called, *(f"{value:g}" for value in astuple(one)), sep=",")
