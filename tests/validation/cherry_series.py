"""Observed bloom of sweet cherries with the weather of the same sites, for fitting and testing.

Bloom: Wenden, B. et al. 2016. A collection of European sweet cherry phenology data for assessing
climate change. Scientific Data 3:160108. Weather: daily NASA POWER series of the sites' grid
cells. Neither is part of the project; both are read from a folder beside it.
"""

from __future__ import annotations

import csv
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np

from pollinet.domain import DailyWeather, FloatArray
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.weather.winters import split_winters

SITES = {"Etoile": 44.82, "Balandran": 43.76, "Jork": 53.51}
"""Sites whose weather and bloom agree, with their latitudes. Left out: Cacak (they do not agree,
nobody knows why) and Conthey (the weather is that of another elevation)."""

Key = tuple[str, str, int]
"""Site, cultivar, harvest year."""


@dataclass(frozen=True)
class Series:
    """Bloom of cultivars at sites, and the seasons of these sites.

    bloom : days from the season's start to begin, full bloom and end; NaN where not noted.
    """

    bloom: Mapping[Key, FloatArray]
    sums: Mapping[str, SeasonSums]

    def years(self, keep: Callable[[int], bool]) -> Series:
        """The same, of some harvest years only."""
        return Series(
            {key: days for key, days in self.bloom.items() if keep(key[2])},
            {site: some_years(sums, keep) for site, sums in self.sums.items()},
        )

    def at(self, site: str, stage: int) -> dict[tuple[str, int], float]:
        """Day of one stage (0 begin, 1 full bloom, 2 end) by cultivar and year."""
        return {
            (cultivar, year): float(days[stage])
            for (place, cultivar, year), days in self.bloom.items()
            if place == site and np.isfinite(days[stage])
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


def read_series(folder: Path) -> Series:
    """Read weather and bloom of the three sites."""
    sums = {site: read_sums(folder, site, latitude) for site, latitude in SITES.items()}
    return Series(_read_bloom(folder, sums), sums)


def read_sums(folder: Path, site: str, latitude: float) -> SeasonSums:
    """Seasons of one site."""
    return season_sums(split_winters(read_daily(folder, site), latitude)[0])


def read_daily(folder: Path, site: str) -> DailyWeather:
    """Daily series of one site."""
    with (folder / f"weather_{site}.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return DailyWeather(
        np.array([row["date"] for row in rows], dtype="datetime64[D]"),
        np.array([float(row["tmin_c"]) for row in rows]),
        np.array([float(row["tmax_c"]) for row in rows]),
    )


def _read_bloom(folder: Path, sums: Mapping[str, SeasonSums]) -> dict[Key, FloatArray]:
    """Medians over the trees of a cultivar; rows whose stages are out of order are left out."""
    names = _names(folder.parent / "cultivars" / "cherry_name_map.csv")
    starts = {
        (s, y): d for s in sums for y, d in zip(sums[s].harvest_years, sums[s].starts, strict=True)
    }
    trees: dict[Key, list[list[float]]] = defaultdict(list)
    with (folder / "bloom_sweet_cherry.csv").open(newline="") as file:
        for row in csv.DictReader(file):
            year = int(row["year"])
            start = starts.get((row["site"], year))
            days = [
                float(row[c]) if row[c] else np.nan for c in ("begin_doy", "full_doy", "end_doy")
            ]
            known = [day for day in days if np.isfinite(day)]
            if start is None or known != sorted(known):
                continue
            offset = (date(year, 1, 1) - start).days - 1
            cultivar = names.get(row["cultivar"], row["cultivar"])
            trees[row["site"], cultivar, year].append([day + offset for day in days])
    return {key: _median(np.array(rows)) for key, rows in sorted(trees.items())}


def _median(rows: FloatArray) -> FloatArray:
    return np.array(
        [np.median(c[np.isfinite(c)]) if np.isfinite(c).any() else np.nan for c in rows.T]
    )


def _names(file: Path) -> dict[str, str]:
    if not file.is_file():
        return {}
    with file.open(newline="") as lines:
        return {
            r["phenology_name"]: r["genotype_table_name"] or r["phenology_name"]
            for r in csv.DictReader(lines)
        }


def shared_seasons(
    residuals: Mapping[tuple[str, int], float], shrink: float = 0.0
) -> tuple[dict[str, float], dict[int, float]]:
    """Split values by cultivar and year into a part of each; the years' parts add up to 0.

    shrink : variance of single values against that of the years' parts; 0: plain least squares.
    """
    cultivars = sorted({c for c, _ in residuals})
    years = sorted({y for _, y in residuals})
    ci = np.array([cultivars.index(c) for c, _ in residuals])
    yi = np.array([years.index(y) for _, y in residuals])
    values = np.array(list(residuals.values()))
    by_cultivar, by_year = np.zeros(len(cultivars)), np.zeros(len(years))
    many, often = np.bincount(ci), np.bincount(yi) + shrink
    for _ in range(200):
        before = by_year
        by_cultivar = np.bincount(ci, values - by_year[yi]) / many
        by_year = np.bincount(yi, values - by_cultivar[ci]) / often
        by_year -= by_year.mean()
        if np.abs(by_year - before).max() < 1e-12:
            break
    return (
        dict(zip(cultivars, by_cultivar.tolist(), strict=True)),
        dict(zip(years, by_year.tolist(), strict=True)),
    )


def enough(series: Series, site: str, stage: int) -> set[str]:
    """Cultivars with at least five even and five odd years at a site."""
    count: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    for cultivar, year in series.at(site, stage):
        count[cultivar][year % 2] += 1
    return {cultivar for cultivar, halves in count.items() if min(halves) >= 5}
