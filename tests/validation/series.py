"""Observed bloom of many fruits with the weather of the same places, for fitting and testing.

Bloom: Wenden, B. et al. 2016, Scientific Data 3:160108 (sweet cherry); long series of several
fruits (bonndata, doi 10.60507/FK2/MZIELI); Korean stations (the weather service's phenology).
Weather: stations, and daily NASA POWER series of grid cells. None of it is part of the project; it
is read from a folder beside it. A grid cell is never taken as it is: it is moved month by month to
a weather station over the years that both have, as the plan's own records are (`weather.level`).
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import DailyWeather, FloatArray, Normals
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.weather.level import at_normals
from pollinet.weather.station_climate import LAPSE_C
from pollinet.weather.winters import split_winters


class Place(NamedTuple):
    """A place with bloom and weather.

    station : weather station to whose level its grid series is moved; None: the series is that of
        a station, or agrees with one.
    """

    latitude: float
    elevation_m: float
    station: str | None = None


PLACES = {
    "Balandran": Place(43.76, 52, "Montpellier"),
    "Busan": Place(35.10, 69),
    "Carpentras": Place(44.09, 84, "Montelimar"),
    "Chuncheon": Place(37.90, 78),
    "Cieza": Place(38.24, 244),
    "Corbins": Place(41.70, 233, "Lleida"),
    "East Malling": Place(51.28, 38, "Manston"),
    "Etoile": Place(44.82, 134, "Montelimar"),
    "Gwangju": Place(35.17, 72),
    "Jork": Place(53.51, -1, "Hamburg Airp."),
    "Jumilla": Place(38.04, 395, "Murcia"),
    "Klein-Altendorf": Place(50.62, 180),
    "Montauban": Place(44.04, 90, "Toulouse Blagnac"),
    "Obernai": Place(48.47, 179, "Strasbourg-Entzheim Airp."),
    "Santomera": Place(38.06, 40),
    "Seoul": Place(37.57, 86),
    "Sfax": Place(34.70, 10),
    "St Gilles": Place(43.69, 38, "Montpellier"),
    "Toulenne": Place(44.58, 8, "Bordeaux-Merignac"),
    "Vienna": Place(48.29, 162, "Wien"),
    "Zaragoza": Place(41.70, 220),
}
"""Left out: Cacak (weather and bloom do not agree, nobody knows why) and Conthey (an alpine grid
cell 30 °C from the orchard). Bonn is Klein-Altendorf under another name."""

FILES = ("bloom_sweet_cherry.csv", "more_bloom_sweet_cherry_ten_sites.csv")
FRUITS = {
    "asian_pear": "nashi",
    "european_plum": "European plum",
    "japanese_plum": "Japanese plum",
}
"""Names of the sources that are not those of the catalogue."""
CHERRY = "sweet cherry"

FAR_OFF_DAYS = 30.0
"""Dates farther than this from the median of their fruit, place and year or, where few varieties
were seen, of their fruit and place, are slips of the pen (day 180 for an apple)."""

FEW = 3

Key = tuple[str, str, int]
"""Place, variety, harvest year."""


@dataclass(frozen=True)
class Series:
    """Bloom of the varieties of one fruit at places, and the seasons of these places.

    bloom : days from the season's start to begin, full bloom and end; NaN where not noted.
    """

    bloom: Mapping[Key, FloatArray]
    sums: Mapping[str, SeasonSums]

    def years(self, keep: Callable[[int], bool]) -> Series:
        """The same, of some harvest years only."""
        return Series(
            {key: days for key, days in self.bloom.items() if keep(key[2])},
            {place: some_years(sums, keep) for place, sums in self.sums.items()},
        )

    def without(self, place: str) -> Series:
        """The same, with one place left out."""
        return Series(
            {key: days for key, days in self.bloom.items() if key[0] != place},
            {name: sums for name, sums in self.sums.items() if name != place},
        )

    def at(self, place: str, stage: int) -> dict[tuple[str, int], float]:
        """Day of one stage (0 begin, 1 full bloom, 2 end) by variety and year."""
        return {
            (variety, year): float(days[stage])
            for (there, variety, year), days in self.bloom.items()
            if there == place and np.isfinite(days[stage])
        }


def some_years(sums: SeasonSums, keep: Callable[[int], bool]) -> SeasonSums:
    """The seasons of some harvest years."""
    rows = [i for i, year in enumerate(sums.harvest_years) if keep(year)]
    return replace(
        sums,
        harvest_years=tuple(sums.harvest_years[i] for i in rows),
        starts=tuple(sums.starts[i] for i in rows),
        portions=sums.portions[rows],
        heat_gdh=sums.heat_gdh[rows],
    )


def read_series(folder: Path, fruits: Iterable[str] | None = None) -> dict[str, Series]:
    """Read bloom by fruit, and the weather of its places.

    fruits : some of them alone; None: all.
    """
    rows = [row for row in _all_rows(folder) if row[1] in PLACES]
    wanted = None if fruits is None else set(fruits)
    rows = [row for row in rows if wanted is None or row[0] in wanted]
    sums = {place: read_sums(folder, place) for place in sorted({row[1] for row in rows})}
    found = {}
    for fruit in sorted({row[0] for row in rows}):
        own = [row for row in rows if row[0] == fruit]
        bloom = _tidy(own, sums)
        found[fruit] = Series(
            bloom, {place: sums[place] for place in sorted({k[0] for k in bloom})}
        )
    return found


def read_sums(folder: Path, place: str) -> SeasonSums:
    """Seasons of one place, at the level of its station."""
    return season_sums(split_winters(read_daily(folder, place), PLACES[place].latitude)[0])


def read_daily(folder: Path, place: str) -> DailyWeather:
    """Daily series of one place, at the level of its station."""
    name = place.replace(" ", "_")
    file = folder / f"weather_{name}.csv"
    with (file if file.is_file() else folder / f"more_weather_{name}.csv").open(newline="") as text:
        rows = list(csv.DictReader(text))
    weather = DailyWeather(
        np.array([row["date"] for row in rows], dtype="datetime64[D]"),
        np.array([_number(row["tmin_c"]) for row in rows]),
        np.array([_number(row["tmax_c"]) for row in rows]),
    )
    normals = station_normals(folder, place, weather)
    return weather if normals is None else at_normals(weather, normals)[0]


def station_normals(folder: Path, place: str, weather: DailyWeather) -> Normals | None:
    """Monthly means of a place's station over the whole years it shares, carried to its height."""
    name = PLACES[place].station
    if name is None:
        return None
    with (folder / "station_normals_monthly_series.csv").open(newline="") as text:
        rows = [row for row in csv.DictReader(text) if row["station"] == name]
    first, last = (int(str(weather.dates[i].astype("datetime64[Y]"))) for i in (0, -1))
    often: dict[int, int] = defaultdict(int)
    for row in rows:
        often[int(row["year"])] += 1
    years = [year for year, months in often.items() if months >= 11 and first <= year <= last]
    higher = (float(rows[0]["elevation_m"]) - PLACES[place].elevation_m) / 100
    means = []
    for column, lapse in LAPSE_C.items():
        by_month: dict[int, list[float]] = defaultdict(list)
        for row in rows:
            if int(row["year"]) in years and row[f"{column}_c"]:
                by_month[int(row["month"])].append(float(row[f"{column}_c"]))
        means.append(tuple(float(np.mean(by_month[m])) + lapse * higher for m in range(1, 13)))
    return Normals(*means, years=(min(years), max(years)))


def _all_rows(folder: Path) -> Iterator[tuple[str, str, str, int, list[float]]]:
    """Fruit, place, variety, year and days of the year of begin, full bloom and end."""
    names = _names(folder.parent / "cultivars" / "cherry_name_map.csv")
    for file in FILES:
        for row in _rows(folder / file):
            days = [_number(row[c]) for c in ("begin_doy", "full_doy", "end_doy")]
            name = names.get(row["cultivar"], row["cultivar"])
            yield CHERRY, row["site"], name, int(row["year"]), days
    for row in _rows(folder / "more_bloom_multisite.csv"):
        fruit = FRUITS.get(row["species"], row["species"].replace("_", " "))
        days = [_number(row[c]) for c in ("day_5pct_open", "day_50pct_open", "day_end")]
        name = row["cultivar"]
        name = names.get(name, name) if fruit == CHERRY else name
        yield fruit, row["site"], name, int(row["year"]), days
    for row in _rows(folder / "more_bloom_korea.csv"):
        fruit = FRUITS.get(row["species"], row["species"].replace("_", " "))
        days = [_number(row["day_first_flowers"]), _number(row["day_full_bloom"]), np.nan]
        # Which variety stands at a station is not told: none is taken for that of another.
        yield fruit, row["station"], f"of {row['station']}", int(row["year"]), days


def _rows(file: Path) -> Iterator[dict[str, str]]:
    with file.open(newline="") as text:
        yield from csv.DictReader(text)


def _number(text: str) -> float:
    """A cell; NaN: empty."""
    return float(text) if text else np.nan


def _tidy(
    rows: Iterable[tuple[str, str, str, int, list[float]]], sums: Mapping[str, SeasonSums]
) -> dict[Key, FloatArray]:
    """Medians over the trees of a variety; rows out of order, and slips of the pen, left out."""
    starts = {
        (s, y): d for s in sums for y, d in zip(sums[s].harvest_years, sums[s].starts, strict=True)
    }
    trees: dict[Key, list[list[float]]] = defaultdict(list)
    for _, place, variety, year, days in rows:
        start = starts.get((place, year))
        known = [day for day in days if np.isfinite(day)]
        if start is None or not known or known != sorted(known):
            continue
        offset = (date(year, 1, 1) - start).days - 1
        trees[place, variety.strip(), year].append([day + offset for day in days])
    found = {key: _median(np.array(table)) for key, table in sorted(trees.items())}
    usual: dict[str, list[float]] = defaultdict(list)
    season: dict[tuple[str, int], list[float]] = defaultdict(list)
    for (place, _, year), days in found.items():
        usual[place].append(float(np.nanmedian(days)))
        season[place, year].append(float(np.nanmedian(days)))

    def middle(place: str, year: int) -> float:
        seen = season[place, year]
        return float(np.median(seen if len(seen) >= FEW else usual[place]))

    return {
        key: days
        for key, days in found.items()
        if np.nanmax(np.abs(days - middle(key[0], key[2]))) <= FAR_OFF_DAYS
    }


def _median(rows: FloatArray) -> FloatArray:
    return np.array(
        [np.median(c[np.isfinite(c)]) if np.isfinite(c).any() else np.nan for c in rows.T]
    )


def _names(file: Path) -> dict[str, str]:
    if not file.is_file():
        return {}
    return {
        r["phenology_name"]: r["genotype_table_name"] or r["phenology_name"] for r in _rows(file)
    }


def shared_seasons(
    values: Mapping[tuple[str, int], float], shrink: float = 0.0
) -> tuple[dict[str, float], dict[int, float]]:
    """Split values by variety and year into a part of each; the years' parts add up to 0.

    shrink : variance of single values against that of the years' parts; 0: plain least squares.
    """
    varieties = sorted({c for c, _ in values})
    years = sorted({y for _, y in values})
    ci = np.searchsorted(varieties, [c for c, _ in values])
    yi = np.searchsorted(years, [y for _, y in values])
    by_variety, by_year = split_seasons(np.array(list(values.values())), ci, yi, shrink)
    return (
        dict(zip(varieties, by_variety.tolist(), strict=True)),
        dict(zip(years, by_year.tolist(), strict=True)),
    )


def split_seasons(
    values: FloatArray, variety: NDArray[np.int64], year: NDArray[np.int64], shrink: float
) -> tuple[FloatArray, FloatArray]:
    """`shared_seasons` on arrays: parts by index of the variety and of the year."""
    by_variety, by_year = np.zeros(variety.max() + 1), np.zeros(year.max() + 1)
    many, often = np.bincount(variety), np.bincount(year) + shrink
    seen = np.bincount(year) > 0
    for _ in range(200):
        before = by_year
        by_variety = np.bincount(variety, values - by_year[year]) / many
        by_year = np.bincount(year, values - by_variety[variety]) / np.maximum(often, 1e-9)
        by_year = np.where(seen, by_year - by_year[seen].mean(), 0.0)
        if np.abs(by_year - before).max() < 1e-6:
            break
    return by_variety, by_year
