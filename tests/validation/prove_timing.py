"""How well bloom is foretold for years and sites that the fit has not seen.

    python tests/validation/prove_timing.py --weather FOLDER [--write]

Rules, weights, errors and usual dates come from the even years (and, once more, from the odd
ones); dates, intervals and overlaps are foretold by `bloom_ensemble`, as for a plan, for the
other years. With `--write`, `tests/validation/results.csv` is made anew.
"""

from __future__ import annotations

import argparse
import csv
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from pathlib import Path
from typing import NamedTuple

import numpy as np
from cherry_series import (
    SITES,
    Series,
    enough,
    read_daily,
    read_series,
    shared_seasons,
    some_years,
)
from fit_timing import fit

from pollinet.domain import (
    Bloom,
    BloomEvidence,
    BloomRecord,
    DailyWeather,
    Fertility,
    FloatArray,
    Normals,
    Stage,
    Timing,
    Variety,
    VarietyId,
)
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.weather.generated import generate_daily
from pollinet.weather.winters import split_winters

FRUIT = "sweet cherry"
STAGES: tuple[Stage, ...] = ("start", "full", "end")
DRAWS = 256
_FIRST_OF_OCTOBER = 274


class Result(NamedTuple):
    """One figure of the proof."""

    fitted_on: str
    what: str
    where: str
    cases: int
    value: float
    unit: str


@dataclass(frozen=True)
class Foretold:
    """Bloom at one site in the years not fitted, with what was seen there."""

    home: str
    target: str
    bloom: Bloom
    years: tuple[int, ...]
    seen: Mapping[tuple[str, int], FloatArray]
    usual: Mapping[str, Mapping[str, float]]

    def row(self, cultivar: str) -> int:
        """Row of a cultivar in the bloom arrays."""
        return self.bloom.varieties.index(VarietyId(FRUIT, cultivar))


def usual_days(series: Series, site: str) -> dict[str, dict[Stage, float]]:
    """Usual day of each stage of each cultivar: the mean over the seasons of the site.

    Full bloom is the cultivar's own part of its dates; the other stages keep their mean distance.
    """
    own, _ = shared_seasons(series.at(site, 1), shrink=0.25)
    apart: dict[str, list[FloatArray]] = defaultdict(list)
    for (place, cultivar, _), days in series.bloom.items():
        if place == site:
            apart[cultivar].append(days - days[1])
    usual: dict[str, dict[Stage, float]] = {}
    for cultivar, day in own.items():
        table = np.array(apart[cultivar])
        if np.isfinite(table).any(axis=0).all():
            usual[cultivar] = dict(
                zip(STAGES, (day + np.nanmean(table, axis=0)).tolist(), strict=True)
            )
    return usual


def foretell(
    fitted: Series,
    every: Series,
    timing: Timing,
    home: str,
    target: str,
    records: Iterable[BloomRecord] = (),
    home_seasons: SeasonSums | None = None,
) -> Foretold:
    """Bloom at `target` from usual dates at `home`, for cultivars with enough years there.

    What is seen are the years of `every` that are not in `fitted`.
    """
    usual = usual_days(fitted, home)
    seen_years = {year for _, year in fitted.at(home, 1)}
    climate = home_seasons or some_years(fitted.sums[home], seen_years.__contains__)
    wanted = enough(every, home, 1)
    varieties = [_variety(name, usual[name], home) for name in sorted(wanted & set(usual))]
    bloom = bloom_ensemble(
        varieties,
        every.sums[target],
        {home: climate},
        {FRUIT: timing},
        draws=DRAWS,
        latitude=45.0,
        seed=1,
        records=records,
    )
    names = {variety.id.name for variety in varieties}
    seen = {
        (cultivar, year): days
        for (site, cultivar, year), days in every.bloom.items()
        if site == target and cultivar in names and (site, cultivar, year) not in fitted.bloom
    }
    return Foretold(home, target, bloom, every.sums[target].harvest_years, seen, usual)


def _variety(name: str, usual: Mapping[Stage, float], place: str) -> Variety:
    own = VarietyId(FRUIT, name)
    # One day: what is left of season and own errors in a mean of five years or more.
    evidence = tuple(
        BloomEvidence(stage, _day_of_year(day), 1.0, place, "date", "WENDEN2016")
        for stage, day in usual.items()
    )
    length = usual["end"] - usual["start"] + 1
    return Variety(own, Fertility(own, name), bloom=evidence, bloom_length_days=length)


def _day_of_year(season_day: float) -> float:
    return (season_day + _FIRST_OF_OCTOBER - 1) % 365 + 1


def misses(told: Foretold) -> dict[tuple[str, int], float]:
    """Foretold minus seen full bloom, by cultivar and year. [days]"""
    mean = told.bloom.full_h.mean(axis=1) / 24 - 0.5
    return {
        (cultivar, year): float(mean[told.row(cultivar), told.years.index(year)] - days[1])
        for (cultivar, year), days in told.seen.items()
        if np.isfinite(days[1])
    }


def by_cultivar(values: Mapping[tuple[str, int], float]) -> dict[str, float]:
    """Root mean square of each cultivar with at least three years."""
    found: dict[str, list[float]] = defaultdict(list)
    for (cultivar, _), value in values.items():
        found[cultivar].append(value)
    return {c: float(np.sqrt(np.mean(np.square(v)))) for c, v in found.items() if len(v) >= 3}


def inside(told: Foretold) -> list[bool]:
    """Whether each full bloom seen lies within the 80 % interval that was stated."""
    low, high = np.quantile(told.bloom.full_h / 24 - 0.5, (0.1, 0.9), axis=1)
    found = []
    for (cultivar, year), days in told.seen.items():
        if np.isfinite(days[1]):
            at = told.row(cultivar), told.years.index(year)
            # A date is a whole day: half a day belongs to it on either side.
            found.append(bool(low[at] - 0.5 <= days[1] <= high[at] + 0.5))
    return found


def mean_date_misses(told: Foretold) -> dict[tuple[str, int], float]:
    """The same as `misses` for each cultivar's usual date."""
    return {
        (c, y): told.usual[c]["full"] - float(days[1])
        for (c, y), days in told.seen.items()
        if np.isfinite(days[1])
    }


def overlap_misses(told: Foretold) -> tuple[FloatArray, FloatArray, list[bool]]:
    """Foretold minus seen overlap of all pairs, the same for the usual intervals [days], and
    whether what was seen lies in the 80 % interval that was stated.
    """
    start, end = told.bloom.start_h / 24, told.bloom.end_h / 24
    ours, usual, within = [], [], []
    for year in sorted({y for _, y in told.seen}):
        w = told.years.index(year)
        names = sorted(c for c, y in told.seen if y == year and np.isfinite(told.seen[c, y]).all())
        for one, other in combinations(names, 2):
            a, b = told.row(one), told.row(other)
            seen = _shared(*(told.seen[n, year][[0, 2]] + (0, 1) for n in (one, other)))
            both = np.minimum(end[a, :, w], end[b, :, w]) - np.maximum(
                start[a, :, w], start[b, :, w]
            )
            both = np.maximum(both, 0)
            low, high = np.quantile(both, (0.1, 0.9))
            within.append(bool(low - 0.5 <= seen <= high + 0.5))
            ours.append(both.mean() - seen)
            spans = [
                np.array([told.usual[n]["start"], told.usual[n]["end"] + 1]) for n in (one, other)
            ]
            usual.append(_shared(*spans) - seen)
    return np.array(ours), np.array(usual), within


def _shared(one: FloatArray, other: FloatArray) -> float:
    return max(0.0, float(min(one[1], other[1]) - max(one[0], other[0])))


def own_dates(fitted: Series, target: str, count: int) -> list[BloomRecord]:
    """The last noted full blooms of every cultivar in the years that are not tested."""
    found: dict[str, list[BloomRecord]] = defaultdict(list)
    for (cultivar, year), day in sorted(fitted.at(target, 1).items()):
        # Leap years: a day of the season after February is one later in the year without leap day.
        leap = year % 4 == 0
        noted = _day_of_year(day - leap)
        found[cultivar].append(BloomRecord(VarietyId(FRUIT, cultivar), year, "full", noted))
    return [record for records in found.values() for record in records[-count:]]


def seasons_from_normals(weather: DailyWeather, latitude: float) -> SeasonSums:
    """Seasons generated from the monthly means of a series, as for a trial site of a catalogue."""
    month = weather.dates.astype("datetime64[M]").astype(int) % 12
    low, high = (
        tuple(float(values[month == m].mean()) for m in range(12))
        for values in (weather.tmin_c, weather.tmax_c)
    )
    made = generate_daily(
        Normals(low, high), first_harvest_year=2001, winters=20, latitude=latitude, seed=0
    )
    return season_sums(split_winters(made, latitude)[0])


def prove(
    every: Series, label: str, fitted: Series, normals: Mapping[str, SeasonSums]
) -> list[Result]:
    """All figures with the fit on one half of the years and the test on the other.

    normals : seasons generated from the monthly means of each site.
    """
    timing = fit(fitted)
    at_home = replace(timing, site_sd_days=0.0, carried_sd_days=0.0, length_site_log_sd=0.0)
    sites = list(every.sums)
    results: list[Result] = []
    carried: list[float] = []
    learned: list[float] = []
    generated: list[float] = []
    overlap_carried: list[bool] = []
    inside_carried: list[bool] = []

    def note(what: str, where: str, values: Iterable[float], unit: str = "days") -> None:
        kept = list(values)
        figure = np.median(kept) if unit == "days" else 100 * np.mean(kept)
        results.append(Result(label, what, where, len(kept), round(float(figure), 2), unit))

    for home in sites:
        for target in sites:
            told = foretell(fitted, every, at_home if home == target else timing, home, target)
            rmse = by_cultivar(misses(told))
            if home == target:
                note("median RMSE, same site", target, rmse.values())
                note(
                    "median RMSE, usual date", target, by_cultivar(mean_date_misses(told)).values()
                )
                note("in the 80 % interval, same site", target, inside(told), "%")
                ours, usual, within = overlap_misses(told)
                note("overlap in the 80 % interval, same site", target, within, "%")
                for what, miss in (("foretold", ours), ("of usual intervals", usual)):
                    root = float(np.sqrt(np.mean(miss**2)))
                    results.append(
                        Result(
                            label,
                            f"overlap RMSE, {what}",
                            target,
                            miss.size,
                            round(root, 2),
                            "days",
                        )
                    )
                continue
            where = f"{home} to {target}"
            note("median RMSE, carried", where, rmse.values())
            note("in the 80 % interval, carried", where, inside(told), "%")
            carried += rmse.values()
            inside_carried += inside(told)
            ours, _, within = overlap_misses(told)
            overlap_carried += within
            root = float(np.sqrt(np.mean(ours**2)))
            results.append(
                Result(label, "overlap RMSE, carried", where, ours.size, round(root, 2), "days")
            )
            from_normals = foretell(fitted, every, timing, home, target, (), normals[home])
            generated += by_cultivar(misses(from_normals)).values()
            two = own_dates(fitted, target, 2)
            after = by_cultivar(misses(foretell(fitted, every, timing, home, target, two)))
            note("median RMSE, carried with two own dates", where, after.values())
            learned += after.values()
    note("median RMSE, carried", "all", carried)
    note("median RMSE, carried from monthly means of the trial site", "all", generated)
    note("median RMSE, carried with two own dates", "all", learned)
    note("in the 80 % interval, carried", "all", inside_carried, "%")
    note("overlap in the 80 % interval, carried", "all", overlap_carried, "%")
    return results


def halves(folder: Path) -> list[Result]:
    """The proof both ways round; the first, fitted on even years, is the one with targets."""
    every = read_series(folder)
    normals = {
        site: seasons_from_normals(read_daily(folder, site), latitude)
        for site, latitude in SITES.items()
    }
    return [
        *prove(every, "even years", every.years(lambda year: year % 2 == 0), normals),
        *prove(every, "odd years", every.years(lambda year: year % 2 == 1), normals),
    ]


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--weather", type=Path, required=True)
    parser.add_argument("--write", action="store_true", help="write results.csv")
    given = parser.parse_args()
    found = halves(given.weather)
    for result in found:
        print(*result, sep=" | ")
    if given.write:
        with (Path(__file__).parent / "results.csv").open("w", newline="", encoding="utf-8") as out:
            writer = csv.writer(out, lineterminator="\n")
            writer.writerow(Result._fields)
            writer.writerows(found)
