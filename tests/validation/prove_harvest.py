"""How well harvests are carried to a place that was left out: apples at eight places.

python tests/validation/prove_harvest.py --cultivars FOLDER --write

FOLDER holds `more_apple_bloom_six_sites.csv` (five panels 2018-2023, REFPOP) and
`more_apple_bloom_brogdale.csv` (NFC-APPLES), which are not in the repository; Kentville (ABC2021)
and Raleigh (NCSU302) are the shipped facts. `harvest.csv` is written beside this file.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path
from statistics import fmean, median
from typing import NamedTuple

import numpy as np
from proofs import proven

from pollinet.advice.harvest import (
    EARLIER_PER_C,
    OWN_SD_DAYS,
    PLACE_SD_DAYS,
    Summer,
    Told,
    carried_day,
    joined_days,
)
from pollinet.domain import Catalogue, VarietyId
from pollinet.readers.catalogue import load_catalogue

HERE = Path(__file__).parent
TABLE = HERE / "harvest.csv"
PANELS = {"Gimenells", "Laimburg", "Rillaar", "Skierniewice", "Wädenswil"}
RALEIGH_DAY = 244
"""Delicious is ripe on 1 September at Raleigh (NCSU302); the other apples stand as offsets."""
SHARED_END = 5
"""Apples of a place and year that share its last day: the end of the season, not a harvest."""

Days = Mapping[str, float]
"""Usual day by name of the variety."""


class Row(NamedTuple):
    """Harvests at one place, foretold from the others. [days]

    order : rank correlation of foretold and seen. after_bloom : RMSE of days after full bloom, as
        at the other places; NaN where the bloom is not known.
    """

    place: str
    season_c: float
    varieties: int
    bias: float
    rmse: float
    order: float
    after_bloom: float


def read_panels(folder: Path, column: str) -> dict[str, Days]:
    """Usual days at the panels: variety and year effects fitted together, shared last days out."""
    rows: defaultdict[str, list[tuple[str, str, float]]] = defaultdict(list)
    with (folder / "more_apple_bloom_six_sites.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            if row[column]:
                name = row["name"].partition(" (")[0]
                rows[row["site"]].append((name, row["year"], float(row[column])))
    return {_site(place): _usual(seen) for place, seen in rows.items()}


def _site(place: str) -> str:
    return "Wädenswil" if place == "Waedenswil" else place


def _usual(seen: list[tuple[str, str, float]]) -> Days:
    ends = {year: max(day for _, y, day in seen if y == year) for _, year, _ in seen}
    shared = {
        year for year, end in ends.items()
        if sum(y == year and day == end for _, y, day in seen) >= SHARED_END
    }  # fmt: skip
    kept = [(n, y, day) for n, y, day in seen if y not in shared or day < ends[y]]
    effect = dict.fromkeys(ends, 0.0)
    usual: dict[str, float] = {}
    for _ in range(20):
        usual = _means((n, day - effect[y]) for n, y, day in kept)
        effect = _means((y, day - usual[n]) for n, y, day in kept)
        middle = fmean(effect.values())
        effect = {year: value - middle for year, value in effect.items()}
    return usual


def _means(pairs: Iterable[tuple[str, float]]) -> dict[str, float]:
    groups: defaultdict[str, list[float]] = defaultdict(list)
    for key, value in pairs:
        groups[key].append(value)
    return {key: fmean(values) for key, values in groups.items()}


def read_brogdale(folder: Path, column: str) -> Days:
    """Usual days of the collection; clones of one name: median."""
    days: defaultdict[str, list[float]] = defaultdict(list)
    with (folder / "more_apple_bloom_brogdale.csv").open(encoding="utf-8", newline="") as stream:
        for row in csv.DictReader(stream):
            if row[column]:
                days[row["name"].partition(" (")[0]].append(float(row[column]))
    return {name: median(values) for name, values in days.items()}


def shipped(catalogue: Catalogue, name: str, context: str) -> Days:
    """A harvest property of the shipped apples in one context."""
    return {
        v.id.name: float(fact.value)
        for v in catalogue.varieties.values()
        for fact in v.facts
        if (fact.property, fact.context) == (name, context)
    }


def seen_days(folder: Path, catalogue: Catalogue) -> dict[str, Days]:
    """Usual harvest at each place."""
    raleigh = shipped(catalogue, "harvest_offset_days", "Raleigh")
    return {
        **read_panels(folder, "day_harvest"),
        "Brogdale": read_brogdale(folder, "pick_day_middle"),
        "Kentville": shipped(catalogue, "harvest_day", "Kentville"),
        "Raleigh": {name: RALEIGH_DAY + days for name, days in raleigh.items()},
    }


def summers(catalogue: Catalogue) -> dict[str, Summer]:
    """Warmth of the trial places."""
    found = {}
    for place, site in catalogue.sites.items():
        assert site.normals is not None
        pairs = zip(site.normals.tmin_c, site.normals.tmax_c, strict=True)
        found[place] = Summer(site.latitude, tuple((low + high) / 2 for low, high in pairs))
    return found


def foretold(seen: Mapping[str, Days], place: str, warmth: Mapping[str, Summer]) -> Days:
    """Harvest at a place by the days at all others."""
    told = [
        Told(
            VarietyId("apple", name),
            other,
            carried_day(day, warmth[other], warmth[place]),
            OWN_SD_DAYS,
            PLACE_SD_DAYS,
        )
        for other, days in seen.items()
        if other != place
        for name, day in days.items()
    ]
    return {variety.name: day for variety, day in joined_days(told).items()}


def by_bloom(seen: Mapping[str, Days], bloom: Mapping[str, Days], place: str) -> Days:
    """The plain way: so many days after bloom as at the other places, median."""
    after: defaultdict[str, list[float]] = defaultdict(list)
    for other, days in seen.items():
        for name, day in days.items():
            if other != place and name in bloom.get(other, {}):
                after[name].append(day - bloom[other][name])
    here = bloom.get(place, {})
    return {name: here[name] + median(gaps) for name, gaps in after.items() if name in here}


def prove(folder: Path) -> list[Row]:
    """One row a place."""
    catalogue, _ = load_catalogue(["apple"])
    seen, warmth = seen_days(folder, catalogue), summers(catalogue)
    bloom = {
        **read_panels(folder, "day_begin"),
        "Brogdale": read_brogdale(folder, "day_10pct_open"),
    }
    rows = []
    for place in sorted(seen):
        told, plain = foretold(seen, place, warmth), by_bloom(seen, bloom, place)
        names = sorted(set(told) & set(seen[place]))
        errors = np.array([told[name] - seen[place][name] for name in names])
        plain_errors = [plain[name] - seen[place][name] for name in names if name in plain]
        rows.append(
            Row(
                place,
                round(fmean(warmth[place].means_c[3:8]), 1),
                len(names),
                round(float(errors.mean()), 1),
                round(float(np.sqrt((errors**2).mean())), 1),
                round(rank_agreement(told, seen[place], names), 2),
                round(float(np.sqrt(np.mean(np.square(plain_errors)))), 1)
                if plain_errors
                else float("nan"),
            )
        )
    return rows


def rank_agreement(one: Days, other: Days, names: list[str]) -> float:
    """Spearman's rank correlation; ties share their mean rank."""
    ranks = []
    for days in (one, other):
        values = np.array([days[name] for name in names])
        below = (values[:, None] > values).sum(axis=1)
        ranks.append(below + ((values[:, None] == values).sum(axis=1) - 1) / 2)
    return float(np.corrcoef(ranks[0], ranks[1])[0, 1])


def slope(folder: Path) -> float:
    """Days by which all harvests are earlier for each degree of the season, over the places."""
    catalogue, _ = load_catalogue(["apple"])
    seen, warmth = seen_days(folder, catalogue), summers(catalogue)
    still = {place: Summer(60.0, (0.0,) * 12) for place in warmth}
    # Days of places as they are: the shifts then are the effects of the places.
    told = [
        Told(VarietyId("apple", name), place, carried_day(day, still[place], still[place]), 9, 60)
        for place, days in seen.items()
        for name, day in days.items()
    ]
    usual = joined_days(told)
    effects, seasons = [], []
    for place, days in seen.items():
        misses = [day - usual[VarietyId("apple", name)] for name, day in days.items()]
        effects.append(median(misses))
        seasons.append(fmean(warmth[place].means_c[3:8]))
    return -float(np.polyfit(seasons, effects, 1)[0])


if __name__ == "__main__":
    folder, rows = proven(__doc__, prove, TABLE, Row._fields)
    print("RMSE over places", round(float(np.sqrt(np.mean([r.rmse**2 for r in rows]))), 1))
    print("days per degree", round(slope(folder), 2), "used", EARLIER_PER_C)
