"""How well bloom is foretold at places and in years that the fit has not seen.

    python tests/validation/prove_timing.py --weather FOLDER [--write]

Sweet cherry, one of fourteen places left out at a time: rules, weights, errors and positions come
from the other thirteen, and the engine foretells all springs of the place that was left out,
as for a plan without any note. Gardens are sets of two to four varieties drawn from those that the
place and others have; two springs of notes are the full bloom of all varieties of a garden in two
springs drawn from those in which one of them was seen, and are tested on the others. Other fruits:
fitted on even years, tested on odd ones, and the other way round, at the place itself.

Where the misses come from is told by what would be left if one part were known: the place and each
variety there (what any number of notes could teach), the usual length of bloom at the place, that
of each spring. Of the variance of a miss at a place left out (REML, fourteen places) the place has
3.1 days², a variety at it 2.7, the spring 9.8, a variety in a spring 5.6: notes can teach of the
first two alone.

Everything is set against what needs no model: the place's own mean date (which a newcomer does not
have), the variety's own mean date, intervals that always stay as usual, and the answer *yes*.
With `--write`, `results.csv` and `reliability.csv` are made anew.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
from fit_timing import evidence_sd, fit
from proofs import write_table
from series import CHERRY, Series, read_series, shared_seasons, some_years

from pollinet.domain import (
    Bloom,
    BloomEvidence,
    BloomRecord,
    Fertility,
    FloatArray,
    Stage,
    Timing,
    Variety,
    VarietyId,
)
from pollinet.phenology.bloom import (
    Ground,
    bloom_rows,
    ground_of,
    peers_of,
    shared_errors,
    stacked,
)
from pollinet.phenology.climate import Climate
from pollinet.phenology.sums import SeasonSums
from pollinet.readers.shared_tables import fruits as fruits_of_catalogue

STAGES: tuple[Stage, ...] = ("start", "full", "end")
DRAWS = 256
LEAST_YEARS = 3
LEAST_DAYS = 3.0
"""Shared days that make a donor viable, as in a plan by default."""

LEVEL = 0.8
GARDENS = 40
"""Gardens drawn at a place: a third each of two, three and four varieties."""

GARDEN_YEARS = 5
PAIRS_OF_SPRINGS = 3
EVERYWHERE = "all places"
RMSE = "median RMSE, place left out"
SITE_MEAN = "median RMSE of the place's own mean date"
OWN_MEAN = "median RMSE of each variety's own mean date"
BETTER = "places where it beats their own mean date"
INTERVAL = "in the 80 % interval, place left out"
TAUGHT = "median RMSE, were the place and each variety there known"
OVERLAP = "overlap RMSE, place left out"
PLAIN_OVERLAP = "overlap RMSE of usual intervals elsewhere"
OVERLAP_INTERVAL = "overlap in the 80 % interval, place left out"
NOT_NOTED = "median RMSE in gardens, no notes"
TWO_SPRINGS = "median RMSE in gardens, after two springs of notes"
OVERLAP_NOT_NOTED = "overlap RMSE in gardens, no notes"
OVERLAP_NOTED = "overlap RMSE in gardens, after two springs of notes from start to end"
OVERLAP_PLACE = "overlap RMSE, were the place's usual length of bloom known"
OVERLAP_SPRING = "overlap RMSE, were each spring's length of bloom known"
BRIER = "Brier score of three shared days"
CLIMATOLOGY = "Brier score of their share elsewhere"
RIGHT = "right decisions at 0.8 in small gardens"
ALWAYS = "right decisions of always saying yes"
UNSEEN = "RMSE, unseen years"
UNSEEN_MEAN = "RMSE of each variety's own mean date, unseen years"
UNSEEN_INTERVAL = "in the 80 % interval, unseen years"
_FIRST_OF_OCTOBER = 274


class Result(NamedTuple):
    """One figure of the proof."""

    fruit: str
    what: str
    where: str
    cases: int
    value: float
    unit: str


@dataclass(frozen=True)
class Foretold:
    """Bloom at one place, with what was seen there."""

    fruit: str
    bloom: Bloom
    years: tuple[int, ...]
    seen: Mapping[tuple[str, int], FloatArray]

    def row(self, variety: str) -> int:
        """Row of a variety in the bloom arrays."""
        return self.bloom.varieties.index(VarietyId(self.fruit, variety))

    def full(self) -> Iterator[tuple[str, int, float]]:
        """Variety, year and day of each full bloom seen."""
        for (variety, year), days in self.seen.items():
            if np.isfinite(days[1]):
                yield variety, year, float(days[1])


# --- what is known of a variety elsewhere ------------------------------------------------------


def usual_days(series: Series, place: str) -> dict[str, dict[Stage, float]]:
    """Usual day of each noted stage of each variety: the mean over the seasons of the place.

    Full bloom is the variety's own part of its dates; the other stages keep their mean distance.
    """
    own, _ = shared_seasons(series.at(place, 1), shrink=0.25)
    apart: dict[str, list[FloatArray]] = defaultdict(list)
    for (there, variety, _), days in series.bloom.items():
        if there == place:
            apart[variety].append(days - days[1])
    usual: dict[str, dict[Stage, float]] = {}
    for variety, day in own.items():
        table = np.array(apart[variety])
        usual[variety] = {
            stage: day + float(np.nanmean(table[:, i]))
            for i, stage in enumerate(STAGES)
            if np.isfinite(table[:, i]).any()
        }
    return usual


def usual_elsewhere(series: Series) -> dict[str, dict[Stage, float]]:
    """Usual start, full bloom and end of each variety, in the mean of the places that have all."""
    found: dict[str, list[dict[Stage, float]]] = defaultdict(list)
    for place in series.sums:
        for name, days in usual_days(series, place).items():
            if len(days) == len(STAGES):
                found[name].append(days)
    return {
        name: {stage: float(np.mean([d[stage] for d in days])) for stage in STAGES}
        for name, days in found.items()
    }


def known_elsewhere(series: Series, fruit: str) -> list[Variety]:
    """All varieties of some places, with their usual dates there."""
    found: dict[str, list[BloomEvidence]] = defaultdict(list)
    for place in series.sums:
        years: dict[str, int] = defaultdict(int)
        for variety, _ in series.at(place, 1):
            years[variety] += 1
        for variety, days in usual_days(series, place).items():
            sd = evidence_sd(years[variety])
            found[variety] += [
                BloomEvidence(stage, _day_of_year(day), sd, place, "date", "WENDEN2016")
                for stage, day in days.items()
            ]
    return [
        Variety(VarietyId(fruit, name), Fertility(VarietyId(fruit, name), name), bloom=tuple(dates))
        for name, dates in sorted(found.items())
    ]


def homes(series: Series) -> dict[str, SeasonSums]:
    """The seasons behind the usual dates of each place."""
    found = {}
    for place, sums in series.sums.items():
        seen = {year for _, year in series.at(place, 1)}
        if seen:
            found[place] = some_years(sums, seen.__contains__)
    return found


def ground_at(
    known: Sequence[Variety],
    here: SeasonSums,
    places: Mapping[str, SeasonSums],
    timing: Timing,
) -> Ground:
    """What bloom of a fruit hangs on at a place, but for varieties and notes."""
    species, home = known[0].id.species, Climate(here)
    climates = {place: Climate(sums) for place, sums in places.items()}
    # What is known of one place only cannot bring two in line.
    alike = known if len(places) > 1 else ()
    peers = peers_of(species, alike, home.hemisphere, climates, timing)
    return ground_of(species, home, climates, timing, peers, draws=DRAWS, latitude=45.0, seed=1)


def foretell(
    ground: Ground,
    known: Sequence[Variety],
    wanted: Iterable[str],
    seen: Mapping[tuple[str, int], FloatArray],
    records: Iterable[BloomRecord] = (),
) -> Foretold:
    """Bloom of some of the known varieties at a place, with what was seen of them there."""
    names = set(wanted)
    own = [variety for variety in known if variety.id.name in names]
    rows = bloom_rows(own, ground, ground.home, shared_errors(own, ground, records))
    told = {(variety, year): days for (variety, year), days in seen.items() if variety in names}
    sums = ground.home.sums
    return Foretold(ground.species, stacked(rows, sums.starts), sums.harvest_years, told)


def _day_of_year(season_day: float) -> float:
    return (season_day + _FIRST_OF_OCTOBER - 1) % 365 + 1


# --- measures ----------------------------------------------------------------------------------


def misses(told: Foretold) -> dict[tuple[str, int], float]:
    """Foretold minus seen full bloom, by variety and year. [days]"""
    mean = told.bloom.full_h.mean(axis=1) / 24 - 0.5
    return {
        (variety, year): float(mean[told.row(variety), told.years.index(year)] - day)
        for variety, year, day in told.full()
    }


def by_variety(values: Mapping[tuple[str, int], float]) -> dict[str, float]:
    """Root mean square of each variety with at least three years."""
    found: dict[str, list[float]] = defaultdict(list)
    for (variety, _), value in values.items():
        found[variety].append(value)
    return {
        c: float(np.sqrt(np.mean(np.square(v)))) for c, v in found.items() if len(v) >= LEAST_YEARS
    }


def about_own_mean(values: Mapping[tuple[str, int], float]) -> dict[str, float]:
    """What is left of each variety's misses when its mean miss is known: no notes teach more."""
    found: dict[str, list[float]] = defaultdict(list)
    for (variety, _), value in values.items():
        found[variety].append(value)
    return {c: float(np.std(v, ddof=1)) for c, v in found.items() if len(v) >= LEAST_YEARS}


def inside(told: Foretold) -> list[bool]:
    """Whether each full bloom seen lies within the 80 % interval that was stated."""
    low, high = np.quantile(told.bloom.full_h / 24 - 0.5, (0.1, 0.9), axis=1)
    at = [(told.row(c), told.years.index(y), day) for c, y, day in told.full()]
    # A date is a whole day: half a day belongs to it on either side.
    return [bool(low[c, y] - 0.5 <= day <= high[c, y] + 0.5) for c, y, day in at]


class Pairs(NamedTuple):
    """Days that pairs of varieties shared in a year, seen and foretold.

    seen : shape (N,). told : shape (N, draws). usual : shape (N,), of intervals as elsewhere.
    """

    seen: FloatArray
    told: FloatArray
    usual: FloatArray


def pairs(told: Foretold, usual: Mapping[str, Mapping[Stage, float]]) -> Pairs:
    """All pairs of varieties whose whole bloom was seen in the same year."""
    days = np.stack((told.bloom.start_h, told.bloom.end_h)) / 24
    found: list[tuple[FloatArray, FloatArray, FloatArray]] = []
    for year in sorted({y for _, y in told.seen}):
        names = sorted(
            c
            for c, y in told.seen
            if y == year and np.isfinite(told.seen[c, y]).all() and len(usual.get(c, ())) == 3
        )
        if len(names) < 2:
            continue
        both = np.array(list(combinations(range(len(names)), 2))).T
        spans = np.array([told.seen[name, year][[0, 2]] + (0, 1) for name in names])
        mean = np.array([(usual[name]["start"], usual[name]["end"] + 1) for name in names])
        rows = [told.row(name) for name in names]
        drawn = days[:, rows, :, told.years.index(year)].transpose(1, 0, 2)
        found.append((_shared(spans.T, both), _shared(drawn, both), _shared(mean.T, both)))
    if not found:
        return Pairs(np.empty(0), np.empty((0, DRAWS)), np.empty(0))
    return Pairs(*(np.concatenate(part) for part in zip(*found, strict=True)))


def at_seen_lengths(told: Foretold, *, by_spring: bool) -> Foretold:
    """The same if the length of bloom at the place, or in each of its springs, had been known.

    What varieties have in common of their length is put right, nothing else.
    """
    bloom = told.bloom
    far: dict[tuple[str, int], float] = {}
    for (variety, year), days in told.seen.items():
        if np.isfinite(days).all():
            at = told.row(variety), slice(None), told.years.index(year)
            drawn = (bloom.end_h[at] - bloom.start_h[at]).mean() / 24
            far[variety, year] = float(np.log((days[2] + 1 - days[0]) / drawn))
    by_variety, by_year = shared_seasons(far)
    usual = float(np.mean(list(by_variety.values())))
    spring = np.array([by_year.get(year, 0.0) if by_spring else 0.0 for year in told.years])
    longer = np.exp(usual + spring)
    start_h = bloom.full_h - longer * (bloom.full_h - bloom.start_h)
    end_h = bloom.full_h + longer * (bloom.end_h - bloom.full_h)
    return replace(told, bloom=replace(bloom, start_h=start_h, end_h=end_h))


def _shared(spans: FloatArray, both: np.ndarray) -> FloatArray:
    """Days that pairs share, of spans of shape (2, varieties, ...)."""
    (one, other), (start, end) = both, spans
    shared = np.minimum(end[one], end[other]) - np.maximum(start[one], start[other])
    return np.asarray(np.maximum(shared, 0.0))


def decisions(told: Foretold, gardens: Iterable[Sequence[str]]) -> Iterator[tuple[bool, bool]]:
    """Whether each variety of each garden was told covered, and whether it was.

    Covered: in eight of ten springs another variety of the garden shared three days or more. Any
    two accept each other's pollen here. Counted are the springs in which all bloomed in sight.
    """
    days = np.stack((told.bloom.start_h, told.bloom.end_h)) / 24
    whole = {key for key, each in told.seen.items() if np.isfinite(each).all()}
    for garden in gardens:
        years = [y for y in told.years if all((name, y) in whole for name in garden)]
        if len(years) < GARDEN_YEARS:
            continue
        rows = [told.row(name) for name in garden]
        both = np.array(
            [(i, j) for i in range(len(garden)) for j in range(len(garden)) if i != j]
        ).T
        drawn = days[:, rows][..., [told.years.index(y) for y in years]]
        seen = np.array(
            [[told.seen[name, y][[0, 2]] + (0, 1) for y in years] for name in garden]
        ).transpose(2, 0, 1)
        told_so = _covered(_shared(drawn, both), both, len(garden)) >= LEVEL
        really = _covered(_shared(seen, both), both, len(garden)) >= LEVEL
        yield from zip(told_so.tolist(), really.tolist(), strict=True)


def _covered(shared: FloatArray, both: np.ndarray, number: int) -> FloatArray:
    """Share of scenarios in which each variety has a donor, shape (varieties,)."""
    served = shared >= LEAST_DAYS
    return np.array([served[both[0] == i].any(axis=0).mean() for i in range(number)])


def draw_gardens(
    seen: Mapping[tuple[str, int], FloatArray], names: Sequence[str], rng: np.random.Generator
) -> list[tuple[str, ...]]:
    """Gardens of varieties that a place and others have, with enough springs in common."""
    years: dict[str, set[int]] = defaultdict(set)
    for (variety, year), days in seen.items():
        if np.isfinite(days[1]):
            years[variety].add(year)
    ready = [name for name in names if len(years[name]) >= GARDEN_YEARS]
    found = []
    for i in range(20 * GARDENS):
        size = 2 + i % 3
        if len(found) == GARDENS or len(ready) < size:
            break
        garden = tuple(sorted(rng.choice(ready, size, replace=False).tolist()))
        if len(set.intersection(*(years[name] for name in garden))) >= GARDEN_YEARS:
            found.append(garden)
    return found


def note_of(variety: str, year: int, stage: Stage, day: float) -> BloomRecord:
    """A note of one stage."""
    # Leap years: a day of the season after February is one later in the year without leap day.
    return BloomRecord(VarietyId(CHERRY, variety), year, stage, _day_of_year(day - (year % 4 == 0)))


# --- the proof ---------------------------------------------------------------------------------


class Proof:
    """Figures of all places, and what is pooled over them."""

    def __init__(self) -> None:
        self.results: list[Result] = []
        self.pooled: dict[str, list[float]] = defaultdict(list)
        self.reliability: list[tuple[float, bool]] = []
        self.shares: dict[str, list[bool]] = {}

    def note(self, fruit: str, what: str, where: str, values: Iterable[float], unit: str) -> None:
        """Note a figure: a median of RMSEs, a root mean square, a share or a mean."""
        kept = np.array(list(values), dtype=float)
        if kept.size == 0:
            return
        if unit == "%":
            figure = 100 * kept.mean()
        elif "median" in what:
            figure = float(np.median(kept))
        elif unit == "days":
            figure = float(np.sqrt(np.mean(kept**2)))
        else:
            figure = float(kept.mean())
        self.results.append(Result(fruit, what, where, kept.size, round(figure, 3), unit))

    def left_out(self, every: Series, target: str) -> None:
        """A cherry place that neither fit nor positions have seen."""
        others = every.without(target)
        timing, known, places = fit(others), known_elsewhere(others, CHERRY), homes(others)
        seen = {(v, y): days for (p, v, y), days in every.bloom.items() if p == target}
        names = sorted({v for v, _ in seen} & {variety.id.name for variety in known})
        here = every.sums[target]
        ground = ground_at(known, here, places, timing)
        told = foretell(ground, known, names, seen)
        rmse = by_variety(misses(told))
        mean = float(np.mean(list(every.at(target, 1).values())))
        plain = by_variety({(v, y): day - mean for v, y, day in told.full()})
        own = usual_days(every, target)
        usual = by_variety({(v, y): day - own[v]["full"] for v, y, day in told.full()})
        self.note(CHERRY, RMSE, target, rmse.values(), "days")
        self.note(CHERRY, TAUGHT, target, about_own_mean(misses(told)).values(), "days")
        self.note(CHERRY, SITE_MEAN, target, plain.values(), "days")
        self.note(CHERRY, OWN_MEAN, target, usual.values(), "days")
        self.note(CHERRY, INTERVAL, target, inside(told), "%")
        usual_there = usual_elsewhere(others)
        self.overlaps(told, usual_there, target)
        rng = np.random.default_rng(sum(map(ord, target)))
        gardens = draw_gardens(seen, names, rng)
        right = list(decisions(told, gardens))
        self.pooled[RIGHT] += [float(a == b) for a, b in right]
        self.pooled[ALWAYS] += [float(b) for _, b in right]
        self.springs(ground, known, gardens, seen, usual_there, target)

    def overlaps(
        self, told: Foretold, usual: Mapping[str, Mapping[Stage, float]], target: str
    ) -> None:
        """Days that pairs share, and the chance of three."""
        found = pairs(told, usual)
        if found.seen.size == 0:
            return
        low, high = np.quantile(found.told, (0.1, 0.9), axis=1)
        within = (low - 0.5 <= found.seen) & (found.seen <= high + 0.5)
        self.note(CHERRY, OVERLAP, target, found.told.mean(axis=1) - found.seen, "days")
        self.note(CHERRY, PLAIN_OVERLAP, target, found.usual - found.seen, "days")
        self.note(CHERRY, OVERLAP_INTERVAL, target, within, "%")
        for what, by_spring in ((OVERLAP_PLACE, False), (OVERLAP_SPRING, True)):
            known = pairs(at_seen_lengths(told, by_spring=by_spring), usual)
            self.note(CHERRY, what, target, known.told.mean(axis=1) - known.seen, "days")
        chance = (found.told >= LEAST_DAYS).mean(axis=1)
        happened = found.seen >= LEAST_DAYS
        self.shares[target] = happened.tolist()
        self.note(CHERRY, BRIER, target, (chance - happened) ** 2, "score")
        # Every place counts alike, however many varieties it has.
        step = max(1, found.seen.size // 2000)
        self.reliability += list(
            zip(chance[::step].tolist(), happened[::step].tolist(), strict=True)
        )

    def springs(
        self,
        ground: Ground,
        known: Sequence[Variety],
        gardens: Sequence[Sequence[str]],
        seen: Mapping[tuple[str, int], FloatArray],
        usual: Mapping[str, Mapping[Stage, float]],
        target: str,
    ) -> None:
        """Gardens with two springs of notes, tested on the springs after.

        Notes of full bloom alone for its day; for shared days, of start and end as well.
        """
        without, after = [], []
        days_without, days_after = [], []
        rng = np.random.default_rng(sum(map(ord, target)))
        for garden in [each for each in gardens[::2] for _ in range(PAIRS_OF_SPRINGS)]:
            dates = {k: d for k, d in seen.items() if k[0] in garden and np.isfinite(d[1])}
            noted = rng.choice(sorted({year for _, year in dates}), 2, replace=False).tolist()
            later = {k: d for k, d in dates.items() if k[1] not in noted}
            notes = [
                note_of(name, year, stage, float(day))
                for (name, year), days in sorted(dates.items())
                for stage, day in zip(STAGES, days, strict=True)
                if year in noted and np.isfinite(day)
            ]
            full = [note for note in notes if note.stage == "full"]
            plain, taught = (foretell(ground, known, garden, later, r) for r in ((), full))
            without += list(by_variety(misses(plain)).values())
            after += list(by_variety(misses(taught)).values())
            whole = foretell(ground, known, garden, later, notes)
            for told, found in ((plain, days_without), (whole, days_after)):
                both = pairs(told, usual)
                found += (both.told.mean(axis=1) - both.seen).tolist() if both.seen.size else []
        self.note(CHERRY, NOT_NOTED, target, without, "days")
        self.note(CHERRY, TWO_SPRINGS, target, after, "days")
        self.note(CHERRY, OVERLAP_NOT_NOTED, target, days_without, "days")
        self.note(CHERRY, OVERLAP_NOTED, target, days_after, "days")

    def unseen(self, fruit: str, every: Series, like: Timing) -> None:
        """Years that neither fit nor usual dates have seen, at the place itself."""
        for place in every.sums:
            told_all, plain_all = [], []
            within: list[bool] = []
            for half in (0, 1):
                fitted = every.years(lambda year, half=half: year % 2 == half)
                dates = fitted.at(place, 1)
                if len({year for _, year in dates}) < LEAST_YEARS:
                    continue
                # Seen here: nothing is carried, but so few seasons leave the place's own mean open.
                timing = fit(fitted, like)
                timing = replace(
                    timing,
                    site_sd_days=timing.season_sd_days / np.sqrt(len({y for _, y in dates})),
                    carried_sd_days=0.0,
                    length_site_log_sd=0.0,
                )
                own = Series(
                    {k: d for k, d in fitted.bloom.items() if k[0] == place},
                    {place: fitted.sums[place]},
                )
                known = known_elsewhere(own, fruit)
                names = {variety.id.name for variety in known}
                seen = {
                    (v, y): days
                    for (p, v, y), days in every.bloom.items()
                    if p == place and y % 2 != half and v in names
                }
                ground = ground_at(known, every.sums[place], homes(own), timing)
                told = foretell(ground, known, names, seen)
                usual = usual_days(own, place)
                told_all += list(misses(told).values())
                plain_all += [usual[v]["full"] - day for v, _, day in told.full()]
                within += inside(told)
            self.note(fruit, UNSEEN, place, told_all, "days")
            self.note(fruit, UNSEEN_MEAN, place, plain_all, "days")
            self.note(fruit, UNSEEN_INTERVAL, place, within, "%")

    def over_places(self) -> None:
        """Figures over all places: medians of theirs, shares of all cases."""
        value = {(r.what, r.where): r.value for r in self.results if r.fruit == CHERRY}
        for what, unit in (
            *(
                (name, "days")
                for name in (RMSE, TAUGHT, SITE_MEAN, OWN_MEAN, NOT_NOTED, TWO_SPRINGS)
            ),
            *((name, "days") for name in (OVERLAP, PLAIN_OVERLAP, OVERLAP_PLACE, OVERLAP_SPRING)),
            *((name, "days") for name in (OVERLAP_NOT_NOTED, OVERLAP_NOTED)),
            *((name, "%") for name in (INTERVAL, OVERLAP_INTERVAL)),
            (BRIER, "score"),
        ):
            kept = [v for (name, _), v in value.items() if name == what]
            figure = float(np.median(kept) if "median" in what else np.mean(kept))
            self.results.append(Result(CHERRY, what, EVERYWHERE, len(kept), round(figure, 3), unit))
        better = [v < value[SITE_MEAN, place] for (name, place), v in value.items() if name == RMSE]
        self.note(CHERRY, BETTER, EVERYWHERE, better, "%")
        shares = {place: float(np.mean(each)) for place, each in self.shares.items()}
        climatology = []
        for place, each in self.shares.items():
            elsewhere = np.mean([share for name, share in shares.items() if name != place])
            climatology.append(float(np.mean((elsewhere - np.array(each)) ** 2)))
        self.note(CHERRY, CLIMATOLOGY, EVERYWHERE, climatology, "score")
        for what in (RIGHT, ALWAYS):
            self.note(CHERRY, what, EVERYWHERE, self.pooled[what], "%")

    def bins(self) -> list[tuple[float, float, int, float]]:
        """Reliability of the chance of three shared days: from, to, cases, share that happened."""
        chance, happened = (
            np.array(part, dtype=float) for part in zip(*self.reliability, strict=True)
        )
        found = []
        edges = np.linspace(0, 1, 11)
        for low, high in pairwise(edges):
            here = (chance >= low) & ((chance < high) | (high == 1))
            if here.any():
                share = round(float(happened[here].mean()), 3)
                found.append((round(float(low), 1), round(float(high), 1), int(here.sum()), share))
        return found


def prove(series: Mapping[str, Series], fruits: Iterable[str] | None = None) -> Proof:
    """The whole proof, or that of some fruits alone."""
    proof = Proof()
    wanted = sorted(set(series) if fruits is None else fruits)
    if CHERRY in wanted:
        for target in series[CHERRY].sums:
            proof.left_out(series[CHERRY], target)
        proof.over_places()
    like = fit(series[CHERRY])
    for fruit in wanted:
        if fruit in set(fruits_of_catalogue()) - {CHERRY}:
            proof.unseen(fruit, series[fruit], like)
    return proof


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--weather", type=Path, required=True)
    parser.add_argument("--write", action="store_true", help="write the tables of figures")
    given = parser.parse_args()
    found = prove(read_series(given.weather))
    for result in found.results:
        print(*result, sep=" | ")
    for row in found.bins():
        print(*row, sep=" | ")
    if given.write:
        here = Path(__file__).parent
        write_table(here / "results.csv", Result._fields, found.results)
        write_table(here / "reliability.csv", ("from", "to", "cases", "happened"), found.bins())
