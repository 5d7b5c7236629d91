"""Fit the timing of each fruit jointly over places and years, and measure how well it carries.

    python tests/validation/fit_timing.py --weather FOLDER [--write]

Prints the fit on all years; with `--write` the tables `catalogues/timing.csv` and
`timing_errors.csv` are made anew. How well it does at places and in years that it has not seen:
`prove_timing.py`.

Settings are the same at all places of a fruit. Full bloom is what is fitted. Each rule of a grid
is judged by its mean squared error at home (the varieties' positions from the same place) and
carried (positions from all other places with the variety), places with equal weights, and weighted
by that error to the power of -n/2, as a likelihood would, with n the seasons seen at a place in
the mean: errors of one season are shared by the varieties, so that seasons count, not dates.

Tried at fourteen cherry places, the place foretold left out (median over the places of the median
RMSE of their varieties, in days | mean of the same | RMS of the places' own miss):

    grid cells as they are, forcing from 85 portions or 1 March, k 0.005      6.3 | 5.9 | 4.1
    the same at the level of stations                                         5.0 | 5.0 | 1.6
    from 90 portions or 15 February, k 0.010                                  4.6 | 4.4 | 1.7
    heat counts ever more between two sums of portions (logistic, 90 ± 12)    4.5 | 4.4 | 1.9
    from a day alone, 23 February, k 0.008: taken                             4.3 | 4.2 | 1.7
    the same, coming gradually (logistic, 6 or 15 days)                  4.3, 4.3 | 4.2, 4.4
    from a day or from 100 portions, whichever is first                       4.3 | 4.2 | 1.7
    logistic in day and portions together, four numbers                       3.9 | 4.2 | 1.9

So a sum of chill says nothing about when forcing starts that the calendar does not say better, and
the rule lost a number. With it varieties are as far apart as they are seen to be, at 12 of 14
places (slope 0.8 to 1.1; before, 0.4 in the south to 1.6 in the north).

What was left of the seasons went with the warmth of February, the wrong way round in the north
(-0.7 at Jork: a warm one brings chill, and with it bloom, too early): k is what places need among
each other, and too much among the seasons of one. Mean squared errors, carried | at home, with day
and k chosen at the other thirteen places (days²):

    all of a season's chill counts as it is                                   22.6 | 15.5
    half as it is, half as is usual at the place by that day: taken           21.3 | 13.8
    all as is usual at the place                                              21.0 | 14.1
    half, and forcing 2 days earlier where it is 8 portions milder            20.2 | 12.9
    chill saturates at 60 to 90 portions                                      no better at any
    heat from 0 to 9 °C on, up to 15 to 25 °C, or logistic                    no better at any
    heat counts ever more with the day (growing e-fold in 10 to 60 days)      no better at any

The last but three is better and not taken: it is one number more, and hangs on one warm place.
With half and half the median RMSE carried is smaller at eleven places of fourteen.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from proofs import write_table
from series import CHERRY, Key, Series, read_series, shared_seasons, split_seasons

from pollinet.days import SEASON_DAYS
from pollinet.domain import FloatArray, Timing, TimingRule
from pollinet.phenology.length import at_days, lead_stretch, tail_stretch
from pollinet.phenology.positions import MORNING
from pollinet.phenology.timing import bloom_days, progress

FORCING_DAYS = (92.0, 107.0, 115.0, 123.0, 130.0, 137.0, 145.0, 151.0)
"""1 and 16 January, 24 January, 1, 8, 15 and 23 February, 1 March."""

GRID = tuple(product(FORCING_DAYS, (0.0, 0.004, 0.008, 0.012, 0.018, 0.024)))
FULL = 1
LEAST_WEIGHT = 0.05
MOST_SEASONS = 20.0
"""Seasons count no more than so many, so that several rules stay. Own convention."""

MANY_PLACES = 5
"""Fewer places say too little of how far places differ. Own convention."""

_H = np.linspace(2.0, 13.0, 551)
_SHRINK = 0.25  # own variance over season variance: (2.5 / 5)², as guessed before the first fit
_PLACE_SD = 0.25  # of a place's common miss in h, with a range of 0.15 to 0.4 without effect
_VARIETY_SD = 0.15  # of what a place says of a variety, and of one season's date: about two days
_SHARED = 0.15  # varieties of a place are no independent witnesses of its miss
FEW_BLOOMS = 20
"""Fewer whole blooms of a place say too little of their length. Own convention."""

RULE_NUMBERS = 2
"""Numbers of a rule that are fitted to the seasons: the day, and k."""

LIKE_SEASONS = 5.0
"""What another fruit says of the error of a season counts as much as so many seasons. Own
convention: so few seasons of a fruit say little of their spread."""

OWN_SD_DAYS = 2.0
"""Of a variety in a season, where no place has two: as for cherries. [days]"""

SOURCE_ID = "POLLINETFIT"
BORROWED_FACTOR = 1.5
BORROWED_SITE_FACTOR = 2.0
"""How much wider what a fruit of few places takes from another is, and the error of a place: part
of it is the difference of the lender's rules, which is drawn beside it, and which rules fitted at
few places may lack. Own judgement."""

RULES_OF = {
    "hazelnut": "almond",
    "hybrid pear": "pear",
    "sour cherry": CHERRY,
    "other fruits": CHERRY,
}
"""Fruits without a series, and whose rules they borrow: the nearest kin, for hazelnut the other
fruit that flowers in winter. Own judgement."""


class Seen(NamedTuple):
    """Full bloom seen at a place: N dates.

    variety, column : shape (N,), index of the variety of the place, and of the year's season.
    day : shape (N,). [days]
    """

    names: tuple[str, ...]
    years: NDArray[np.int64]
    variety: NDArray[np.int64]
    column: NDArray[np.int64]
    day: FloatArray


@dataclass(frozen=True)
class RuleFit:
    """One rule and its misses at home and carried, by place, variety and year. [days]"""

    rule: tuple[float, float]
    home: Mapping[Key, float]
    carried: Mapping[Key, float]

    @property
    def mse(self) -> float:
        """Mean over the places, at home and carried."""
        squares: dict[tuple[bool, str], list[float]] = {}
        for kind, misses in ((True, self.home), (False, self.carried)):
            for (place, _, _), miss in misses.items():
                squares.setdefault((kind, place), []).append(miss**2)
        return float(np.mean([np.mean(each) for each in squares.values()]))


def fit(series: Series, like: Timing | None = None) -> Timing:
    """Timing of a fruit from these years.

    like : of a fruit with many places, from which comes, widened, what few places cannot tell, and
        what no place of this fruit told of its length; None: nothing is taken from another.
    """
    seen = {place: _seen(series, place) for place in series.sums if series.at(place, FULL)}
    fits = [fit_rule(series, seen, *rule) for rule in GRID]
    weights = rule_weights(fits, seasons(seen.values()))
    home, carried = (
        _mixed(weights, [getattr(f, kind) for f in fits]) for kind in ("home", "carried")
    )
    season_sd, own_sd = home_errors(home)
    # The rules differ among themselves from season to season, which is drawn beside this error.
    season_sd = beside(season_sd, apart_by_rule(weights, [f.home for f in fits]))
    if like is not None:
        season_sd = with_like(season_sd, _freedom(seen), like.season_sd_days)
    timing = Timing(
        tuple(
            TimingRule(*f.rule, round(float(w), 3))
            for w, f in zip(weights, fits, strict=True)
            if w > 0
        ),
        site_sd_days=0.0,
        season_sd_days=season_sd,
        own_sd_days=own_sd,
        lead_days=0.0,
        tail_days=0.0,
        length_log_sd=0.0,
        source=SOURCE_ID,
    )
    if len({place for place, _, _ in carried}) >= MANY_PLACES:
        site_sd, carried_sd = carried_errors(carried, seen, own_sd)
        # And from place to place.
        site_sd = beside(site_sd, apart_by_rule(weights, [place_means(f.carried) for f in fits]))
        timing = replace(timing, site_sd_days=site_sd, carried_sd_days=carried_sd)
    elif like is not None:
        timing = replace(
            timing,
            site_sd_days=BORROWED_SITE_FACTOR * like.site_sd_days,
            carried_sd_days=BORROWED_FACTOR * like.carried_sd_days,
        )
    return with_length(timing, series, like)


def _seen(series: Series, place: str) -> Seen:
    """Full bloom of a place as arrays."""
    dates = series.at(place, FULL)
    names = tuple(sorted({variety for variety, _ in dates}))
    columns = {year: i for i, year in enumerate(series.sums[place].harvest_years)}
    return Seen(
        names,
        np.array([year for _, year in dates]),
        np.array([names.index(variety) for variety, _ in dates]),
        np.array([columns[year] for _, year in dates]),
        np.array(list(dates.values())),
    )


def fit_rule(series: Series, seen: Mapping[str, Seen], forcing_day: float, k: float) -> RuleFit:
    """Positions of all varieties at their places under one rule, and its misses at all places."""
    days = {
        place: np.nan_to_num(
            bloom_days(progress(series.sums[place], forcing_day, k), _H), nan=SEASON_DAYS
        )
        for place in seen
    }
    positions = {place: _positions(own, days[place]) for place, own in seen.items()}
    home, carried = {}, {}
    for place, own in seen.items():
        home.update(_misses(place, own, positions[place], days[place]))
        others = {name: h for name, h in positions.items() if name != place}
        brought = pooled(others, seen)
        known = np.array([brought.get(name, np.nan) for name in own.names])
        carried.update(_misses(place, own, known, days[place]))
    return RuleFit((forcing_day, k), home, carried)


def _positions(own: Seen, days: FloatArray) -> FloatArray:
    """Positions at one place: least squares in days, each season's common miss set apart."""
    columns = np.unique(own.column)
    usual = days[:, columns].mean(axis=1)
    h = np.full(len(own.names), float(np.interp(own.day.mean(), usual, _H)))
    for _ in range(6):
        miss = own.day - _day_of(h[own.variety], own.column, days)
        shift, _ = split_seasons(miss, own.variety, own.column, _SHRINK)
        here = np.interp(h, _H, usual) + shift
        h = np.interp(here, usual, _H)
    return np.asarray(h)


def _day_of(h: FloatArray, column: NDArray[np.int64], days: FloatArray) -> FloatArray:
    """Day of each position in each season, straight between the grid's; NaN stays NaN."""
    at = np.clip((h - _H[0]) / (_H[1] - _H[0]), 0, _H.size - 1.001)
    below = np.nan_to_num(at).astype(int)
    low, high = days[below, column], days[below + 1, column]
    return np.asarray(low + (high - low) * (at - below))


def _misses(place: str, own: Seen, h: FloatArray, days: FloatArray) -> dict[Key, float]:
    miss = _day_of(h[own.variety], own.column, days) - own.day
    return {
        (place, own.names[v], int(year)): float(one)
        for v, year, one in zip(own.variety, own.years, miss, strict=True)
        if np.isfinite(one)
    }


def pooled(positions: Mapping[str, FloatArray], seen: Mapping[str, Seen]) -> dict[str, float]:
    """Position of each variety from all these places, each place's common miss taken out.

    The misses are held near zero, as the engine holds them (`positions.place_shifts`).
    """
    if not positions:
        return {}
    each = [name for place in positions for name in seen[place].names]
    names = sorted(set(each))
    number = {name: i for i, name in enumerate(names)}
    of = np.array([number[name] for name in each])
    h = np.concatenate(list(positions.values()))
    often = np.concatenate([np.bincount(seen[place].variety) for place in positions])
    place_of = np.repeat(np.arange(len(positions)), [own.size for own in positions.values()])
    design = place_of[:, None] == np.arange(len(positions))
    weight = 1 / (_VARIETY_SD**2 * (0.5 + 1 / often))
    total = np.bincount(of, weight)
    mean_h = np.bincount(of, weight * h) / total
    mean_design = np.zeros((len(names), len(positions)))
    np.add.at(mean_design, of, weight[:, None] * design)
    apart = design - (mean_design / total[:, None])[of]
    normal = _SHARED * apart.T @ (weight[:, None] * apart)
    normal += np.eye(len(positions)) / _PLACE_SD**2
    shift = np.linalg.solve(normal, _SHARED * apart.T @ (weight * (h - mean_h[of])))
    level = np.bincount(of, weight * (h - design @ shift)) / total
    return dict(zip(names, level.tolist(), strict=True))


def seasons(seen: Iterable[Seen]) -> float:
    """Seasons seen at a place in the mean, at most `MOST_SEASONS`."""
    return min(float(np.mean([np.unique(own.column).size for own in seen])), MOST_SEASONS)


def rule_weights(fits: list[RuleFit], number: float) -> FloatArray:
    """Weights that add up to 1; rules with less than 5 % are dropped."""
    mse = np.array([f.mse for f in fits])
    weights = (mse / mse.min()) ** (-number / 2)
    weights /= weights.sum()
    weights[weights < min(LEAST_WEIGHT, weights.max())] = 0
    return np.asarray(weights / weights.sum())


def _mixed(weights: FloatArray, misses: list[Mapping[Key, float]]) -> dict[Key, float]:
    return {
        key: sum(float(w) * each[key] for w, each in zip(weights, misses, strict=True))
        for key in misses[0]
    }


def apart_by_rule(weights: FloatArray, misses: list[Mapping[Key, float]]) -> float:
    """SD between the rules of what they say of the same bloom. [days]"""
    used = [(float(w), each) for w, each in zip(weights, misses, strict=True) if w > 0]
    keys = list(used[0][1])
    told = np.array([[each[key] for key in keys] for _, each in used])
    share = np.array([[w] for w, _ in used])
    mean = (share * told).sum(axis=0)
    return float(np.sqrt(np.mean((share * (told - mean) ** 2).sum(axis=0))))


def place_means(misses: Mapping[Key, float]) -> dict[Key, float]:
    """What all varieties of a place have in common of their misses."""
    return {
        (place, "", 0): float(np.mean(list(shared_seasons(pair)[0].values())))
        for place, pair in _by_place(misses).items()
    }


def beside(sd: float, drawn: float) -> float:
    """What is left of an error of which a part is drawn by itself."""
    return float(np.sqrt(max(sd**2 - drawn**2, 0.0)))


def with_like(sd: float, freedom: float, like: float) -> float:
    """An SD from few seasons, drawn towards that of a fruit with many."""
    return float(np.sqrt((freedom * sd**2 + LIKE_SEASONS * like**2) / (freedom + LIKE_SEASONS)))


def _freedom(seen: Mapping[str, Seen]) -> float:
    """Seasons seen at all places, less what their means and the rule have taken."""
    return max(sum(np.unique(own.column).size - 1.0 for own in seen.values()) - RULE_NUMBERS, 0.0)


def _by_place(misses: Mapping[Key, float]) -> dict[str, dict[tuple[str, int], float]]:
    places: dict[str, dict[tuple[str, int], float]] = {}
    for (place, variety, year), miss in misses.items():
        places.setdefault(place, {})[variety, year] = miss
    return places


def home_errors(misses: Mapping[Key, float]) -> tuple[float, float]:
    """SDs of the errors shared in a season, and of a variety's own in a season. [days]

    Medians over the places: how carelessly one place was noted says nothing about bloom. Where a
    place has one variety, all is taken for shared but for the own error of others, or two days.
    """
    season, own, alone = [], [], []
    places = _by_place(misses)
    for pair in places.values():
        by_variety, by_year = shared_seasons(pair)
        if len(by_year) < 3:
            continue
        left = max(len(by_year) - 1 - RULE_NUMBERS / len(places), 1.0)
        spread = float(np.sqrt(np.sum(np.square(list(by_year.values()))) / left))
        if len(by_variety) == 1:
            alone.append(spread)
            continue
        variance, freedom = _own_variance(pair, by_variety, by_year)
        if freedom >= 5:
            season.append(spread)
            own.append(float(np.sqrt(variance)))
    own_sd = float(np.median(own)) if own else OWN_SD_DAYS
    season += [float(np.sqrt(max(sd**2 - own_sd**2, 0.0))) for sd in alone]
    return float(np.median(season)), own_sd


def carried_errors(
    misses: Mapping[Key, float], seen: Mapping[str, Seen], own_sd: float
) -> tuple[float, float]:
    """SDs of the error that all share at a new place, and of one variety's own there. [days]

    Of the second, what is chance at the new place and at those that the position came from is
    taken off: evidence has errors of its own in a plan too.
    """
    often = {
        (place, name): number
        for place, own in seen.items()
        for name, number in zip(own.names, np.bincount(own.variety).tolist(), strict=True)
    }
    site_sq, carried_sq = [], []
    for place, pair in _by_place(misses).items():
        by_variety, _ = shared_seasons(pair)
        site_sq.append(float(np.mean(list(by_variety.values()))) ** 2)
        known = [c for c in by_variety if often[place, c] >= 5]
        if len(known) >= 5:
            chance = [
                own_sd**2 / often[place, c]
                + 1 / sum(
                    1 / evidence_sd(number) ** 2
                    for (there, name), number in often.items()
                    if name == c and there != place
                )
                for c in known
            ]  # fmt: skip
            spread = float(np.var([by_variety[c] for c in known], ddof=1))
            carried_sq.append(max(spread - float(np.mean(chance)), 0.0))
    return float(np.sqrt(np.mean(site_sq))), float(np.sqrt(np.mean(carried_sq)))


def evidence_sd(years: int) -> float:
    """How far the usual day of a variety at a place may be off, from so many years. [days]

    What is left of season and own errors after the seasons' part is taken out, and one day.
    """
    return float(np.hypot(1.0, 3.0 / np.sqrt(years)))


def _own_variance(
    pair: Mapping[tuple[str, int], float],
    by_variety: Mapping[str, float],
    by_year: Mapping[int, float],
) -> tuple[float, int]:
    """Variance of what is neither the variety's nor the year's, and its degrees of freedom."""
    own = [miss - by_variety[c] - by_year[y] for (c, y), miss in pair.items()]
    freedom = len(own) - len(by_variety) - len(by_year) + 1
    return float(np.sum(np.square(own))) / max(freedom, 1), freedom


# --- length of bloom ---------------------------------------------------------------------------


def with_length(timing: Timing, series: Series, like: Timing | None) -> Timing:
    """The same with the length of bloom; what these places do not tell of it is `like`'s."""
    whole = _stretched(series)
    often = Counter(place for place, _, _ in whole)
    places = sorted(place for place, number in often.items() if number >= FEW_BLOOMS)
    if like is not None:
        timing = replace(
            timing,
            lead_days=like.lead_days,
            tail_days=like.tail_days,
            length_log_sd=like.length_log_sd,
            length_site_log_sd=like.length_site_log_sd,
            length_season_log_sd=like.length_season_log_sd,
        )
    if not places:
        return timing
    # Places count alike, however many varieties they have.
    medians = [
        np.median([_parts(*each) for key, each in whole.items() if key[0] == place], axis=0)
        for place in places
    ]
    lead, tail = np.mean(medians, axis=0).tolist()
    timing = replace(timing, lead_days=lead, tail_days=tail)
    seasons_sq, between, means = [], [], []
    for place in places:
        by_variety, by_year = shared_seasons(_log_lengths(whole, place))
        count = Counter(variety for there, variety, _ in whole if there == place)
        known = [by_variety[c] for c in by_variety if count[c] >= 5]
        means.append(float(np.mean(list(by_variety.values()))))
        if len(by_year) >= 5:
            seasons_sq.append(float(np.var(list(by_year.values()), ddof=1)))
        if len(known) >= 5:
            between.append(float(np.std(known, ddof=1)))
    if seasons_sq:
        timing = replace(timing, length_season_log_sd=float(np.sqrt(np.mean(seasons_sq))))
    if between:
        timing = replace(timing, length_log_sd=float(np.mean(between)))
    if len(places) >= MANY_PLACES:
        timing = replace(timing, length_site_log_sd=float(np.std(means, ddof=1)))
    return timing


def _parts(days: FloatArray, before: float, after: float) -> tuple[float, float]:
    """Days from the first morning to full bloom at noon and on to the last evening, by stretch."""
    begin, full, end = days + [MORNING[stage] for stage in ("start", "full", "end")]
    return (full - begin) / before, (end - full) / after


def _stretched(series: Series) -> dict[Key, tuple[FloatArray, float, float]]:
    """Each whole bloom, with its stretch before and after full bloom."""
    rows = {
        place: {y: i for i, y in enumerate(s.harvest_years)} for place, s in series.sums.items()
    }
    stretch = {place: (lead_stretch(s), tail_stretch(s)) for place, s in series.sums.items()}
    found = {}
    for (place, variety, year), days in series.bloom.items():
        if np.isfinite(days).all():
            row = rows[place][year]
            before, after = (float(at_days(s[row : row + 1], days[1:2])[0]) for s in stretch[place])
            found[place, variety, year] = (days, before, after)
    return found


def _log_lengths(
    whole: Mapping[Key, tuple[FloatArray, float, float]], place: str
) -> dict[tuple[str, int], float]:
    """Logarithm of the length of each bloom at a place, against its stretch."""
    return {
        (variety, year): float(np.log((end - begin + 1) / (before + after)))
        for (there, variety, year), ((begin, _, end), before, after) in whole.items()
        if there == place
    }


# --- tables ------------------------------------------------------------------------------------


def fit_all(series: Mapping[str, Series], fruits: Iterable[str]) -> dict[str, Timing]:
    """Timing of every fruit of these with a series; sweet cherry first, which has most places."""
    cherry = fit(series[CHERRY])
    return {
        CHERRY: cherry,
        **{
            name: fit(series[name], cherry) for name in sorted(set(fruits) & set(series) - {CHERRY})
        },
    }


def write_tables(timings: Mapping[str, Timing], folder: Path) -> None:
    """Write `timing.csv` and `timing_errors.csv`; fruits without a series borrow, wider."""
    rules = [
        (fruit, rule.forcing_day, rule.k, rule.weight)
        for fruit, timing in sorted(timings.items())
        for rule in timing.rules
    ]
    write_table(
        folder / "timing.csv",
        ("fruit", "forcing_day", "k", "weight", "source", "status"),
        [(*rule, SOURCE_ID, "inferred") for rule in rules],
    )
    rows = [(fruit, fruit, 1.0, "") for fruit in sorted(timings)]
    for fruit, lender in RULES_OF.items():
        note = f"borrowed from {lender}, shared errors times {BORROWED_FACTOR}: own judgement"
        rows.append((fruit, lender, BORROWED_FACTOR, note))
    write_table(
        folder / "timing_errors.csv",
        (
            *("fruit", "rules_of", "site_sd_days", "season_sd_days", "carried_sd_days"),
            *("own_sd_days", "lead_days", "tail_days", "length_log_sd"),
            *("length_site_log_sd", "length_season_log_sd", "source", "status", "note"),
        ),
        [
            (fruit, lender, *_errors(timings[lender], factor), SOURCE_ID, "inferred", note)
            for fruit, lender, factor, note in rows
        ],
    )


def _errors(timing: Timing, factor: float) -> list[float]:
    shared = (timing.site_sd_days, timing.season_sd_days, timing.carried_sd_days)
    rest = (timing.own_sd_days, timing.lead_days, timing.tail_days, timing.length_log_sd)
    length = (timing.length_site_log_sd, timing.length_season_log_sd)
    return [round(value, 2) for value in (*(factor * sd for sd in shared), *rest, *length)]


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--weather", type=Path, required=True)
    parser.add_argument("--write", action="store_true", help="write the tables of the catalogue")
    given = parser.parse_args()
    from pollinet.readers.shared_tables import fruits

    fitted = fit_all(read_series(given.weather), fruits())
    for fruit, timing in fitted.items():
        print(fruit, timing)
    if given.write:
        write_tables(fitted, Path(__file__).parents[2] / "catalogues")
