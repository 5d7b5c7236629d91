from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm
from seasons import FRUIT, NO_ERRORS, TIMING, sums, variety

from pollinet.days import season_day
from pollinet.domain import Bloom, BloomRecord, Stage, Timing, VarietyId
from pollinet.phenology import records as own_records
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.records import WRONG_SD_DAYS, WRONG_SHARE, Errors, Note, learn
from pollinet.phenology.streams import shuffled_normals

SITE, SEASON, POSITION, VARIANCE = 2.6, 3.7, 3.0, 2.0**2 + 1.5**2


def learned(misses: dict[tuple[int, int], float], draws: int = 4000) -> tuple[Errors, Errors]:
    """Errors of two families before and after notes given as {(family, spring): days}."""
    rng = np.random.default_rng(3)
    prior = Errors(
        np.zeros(draws, dtype=int),
        shuffled_normals(draws, rng),
        np.array([shuffled_normals(draws, rng) for _ in range(2)]),
    )
    notes = [Note(g, year, np.array([miss]), VARIANCE) for (g, year), miss in misses.items()]
    after = learn(prior, notes, np.ones(1), np.full(2, SITE), SEASON, np.full(2, POSITION), rng)
    return prior, after


def by_brute_force(misses: dict[tuple[int, int], float], draws: int = 400_000) -> np.ndarray:
    """Mean and SD of site + position [days] of each family by weighting random draws."""
    rng = np.random.default_rng(11)
    springs = sorted({year for _, year in misses})
    site = SITE * rng.standard_normal(draws)
    position = POSITION * rng.standard_normal((2, draws))
    season = SEASON * rng.standard_normal((len(springs), draws))
    weight = np.ones(draws)
    for (family, year), miss in misses.items():
        left = miss - site - position[family] - season[springs.index(year)]
        good, wrong = (
            np.exp(-0.5 * left**2 / v) / np.sqrt(v) for v in (VARIANCE, VARIANCE + WRONG_SD_DAYS**2)
        )
        weight *= (1 - WRONG_SHARE) * good + WRONG_SHARE * wrong
    weight /= weight.sum()
    shift = site + position
    mean = shift @ weight
    return np.array([mean, np.sqrt((shift - mean[:, None]) ** 2 @ weight)])


@pytest.mark.parametrize(
    "misses",
    [
        {(0, 1): 6.0},
        {(0, 1): 6.0, (0, 2): 4.0, (0, 3): 7.0},
        {(0, 1): -5.0, (1, 1): -2.0, (0, 2): -6.0},
    ],
)
def test_learning_against_weighted_random_draws(misses: dict[tuple[int, int], float]) -> None:
    _, after = learned(misses)
    shift = SITE * after.site + POSITION * after.positions
    mean, sd = by_brute_force(misses)
    assert shift.mean(axis=1) == pytest.approx(mean, abs=0.5)
    assert shift.std(axis=1) == pytest.approx(sd, rel=0.12)


def test_a_wild_note_hardly_counts() -> None:
    good = {(0, year): 3.0 for year in range(1, 6)}
    _, without = learned(good)
    _, with_slip = learned({**good, (0, 6): 60.0})
    drift = POSITION * (with_slip.positions[0] - without.positions[0]).mean()
    drift += SITE * (with_slip.site - without.site).mean()
    assert abs(drift) < 1.0


def long_log() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Misses, loads and variances of 60 notes on 6 families in 10 springs, some of them wild."""
    rng = np.random.default_rng(5)
    miss = 4 * rng.standard_normal(60) + np.where(rng.random(60) < 0.1, 25.0, 0.0)
    variance = rng.uniform(3, 9, 60)
    notes = [Note(i % 6, i // 6, miss[i : i + 1], variance[i]) for i in range(60)]
    return miss, own_records._loads(notes, np.full(6, SITE), SEASON, np.full(6, POSITION)), variance


def test_errors_solved_for_agree_with_the_covariance_of_the_notes() -> None:
    # Outside check: scipy's normal density, and the textbook equations of best linear prediction.
    miss, loads, noise = long_log()
    spread = loads @ loads.T + np.diag(noise)
    assert own_records._gain(loads, noise) == pytest.approx(
        loads.T @ np.linalg.inv(spread), abs=1e-12
    )
    density = own_records._log_density(miss, noise, loads) - 0.5 * miss.size * np.log(2 * np.pi)
    assert density == pytest.approx(multivariate_normal(cov=spread).logpdf(miss), abs=1e-8)


def test_each_note_is_judged_by_all_the_others() -> None:
    # Brute force: each note is taken out in turn and foretold from the rest.
    miss, loads, variance = long_log()
    noise = variance + WRONG_SHARE * WRONG_SD_DAYS**2
    for _ in range(own_records._ROUNDS):
        chance = np.empty(miss.size)
        for i in range(miss.size):
            rest = np.arange(miss.size) != i
            spread = loads[rest] @ loads[rest].T + np.diag(noise[rest])
            share = np.linalg.solve(spread, loads[rest] @ loads[i])
            free = loads[i] @ loads[i] - share @ (loads[rest] @ loads[i])
            sds = np.sqrt(free + variance[i] + np.array([0.0, WRONG_SD_DAYS**2]))
            good, wrong = norm.pdf(miss[i], share @ miss[rest], sds)
            chance[i] = WRONG_SHARE * wrong / (WRONG_SHARE * wrong + (1 - WRONG_SHARE) * good)
        noise = 1 / ((1 - chance) / variance + chance / (variance + WRONG_SD_DAYS**2))
    assert own_records._noise(miss, loads, variance) == pytest.approx(noise, rel=1e-9)
    assert noise[miss > 20].min() > 5 * noise[abs(miss) < 4].max()


def garden(records: Sequence[BloomRecord], draws: int = 64) -> Bloom:
    """Two varieties at the temperate site."""
    return bloom_ensemble(
        [variety("A"), variety("B")],
        sums(),
        {"trial": sums(-1.0)},
        {FRUIT: TIMING},
        draws=draws,
        latitude=47.0,
        seed=1,
        records=records,
    )


def test_own_dates_sharpen_and_finally_dominate() -> None:
    noted = VarietyId(FRUIT, "A")
    late = [BloomRecord(noted, year, "full", 125.0) for year in range(2001, 2021)]
    none, two, many = garden([]), garden(late[:2]), garden(late)
    day = season_day(47.0, 125.0) + 0.5
    misses = [abs(b.full_h[0].mean() / 24 - day) for b in (none, two, many)]
    assert misses[0] > misses[1] > misses[2]
    assert misses[2] < 1.5
    position = [b.full_h[0].mean(axis=1).std() for b in (none, two, many)]
    assert position[0] > position[1] > position[2]
    # The neighbour learns about the site, but less.
    assert (
        0
        < two.full_h[1].mean() - none.full_h[1].mean()
        < two.full_h[0].mean() - none.full_h[0].mean()
    )


@settings(max_examples=25, deadline=None)
@given(st.dictionaries(st.integers(1995, 2020), st.floats(60.0, 170.0), min_size=1, max_size=8))
def test_notes_never_widen_what_is_known_of_their_variety(days: dict[int, float]) -> None:
    # The variance of normal errors given notes is the prior one less a square (Rasmussen, C. E.,
    # Williams, C. K. I. 2006. Gaussian Processes for Machine Learning, equation 2.26); two parts
    # in a hundred are left to chance in the draws.
    noted = VarietyId(FRUIT, "A")
    none = garden([], 256)
    after = garden([BloomRecord(noted, year, "full", day) for year, day in days.items()], 256)
    position = [bloom.full_h[0].mean(axis=1).std() for bloom in (none, after)]
    assert position[1] < 1.02 * position[0]
    assert after.sd_days[0] < 1.02 * none.sd_days[0]


def test_same_notes_in_any_order_give_the_same_bytes() -> None:
    noted = [VarietyId(FRUIT, name) for name in "AB"]
    log = [BloomRecord(v, year, "full", 115.0) for year in (2003, 2004, 2007) for v in noted]
    assert garden(log).full_h.tobytes() == garden(log[::-1]).full_h.tobytes()
    assert garden(log).full_h.tobytes() != garden(log[1:]).full_h.tobytes()


def test_notes_of_other_varieties_and_other_years_do_no_harm() -> None:
    none = garden([])
    assert garden([BloomRecord(VarietyId(FRUIT, "C"), 2003, "full", 1.0)]).full_h.tobytes() == (
        none.full_h.tobytes()
    )
    old = garden([BloomRecord(VarietyId(FRUIT, "A"), 1990, "start", 120.0)])
    inside = garden([BloomRecord(VarietyId(FRUIT, "A"), 2003, "start", 120.0)])
    assert np.isfinite(old.full_h).all()
    assert old.full_h.tobytes() != none.full_h.tobytes() != inside.full_h.tobytes()


def length_garden(
    timing: Timing, records: Sequence[BloomRecord] = (), length: float | None = None
) -> Bloom:
    return bloom_ensemble(
        [variety("A", length=length, sd_days=0.1), variety("B", sd_days=0.1)],
        sums(),
        {"trial": sums(-1.0)},
        {FRUIT: timing},
        draws=512,
        latitude=47.0,
        seed=1,
        records=records,
    )


def noted_lengths(factor: float, stages: Sequence[Stage], springs: int) -> list[BloomRecord]:
    """Notes of A, exact to half a day: its bloom as the rules have it, so many times as long."""
    bloom = length_garden(NO_ERRORS)
    start, full, end = (hours[0, 0] / 24 for hours in (bloom.start_h, bloom.full_h, bloom.end_h))
    days: dict[Stage, np.ndarray] = {
        "start": full - factor * (full - start),
        "full": full - 0.5,
        "end": full + factor * (end - full) - 1,
    }
    return [
        # 1 October is day 274; notes leave leap days out.
        BloomRecord(bloom.varieties[0], year, stage, (day - (year % 4 == 0) + 273) % 365 + 1, 0.5)
        for stage in stages
        for year, day in zip(range(2001, 2001 + springs), days[stage], strict=False)
    ]


def log_lengths(bloom: Bloom) -> np.ndarray:
    """Logarithm of the length of A and B against the rules' own, by draw and winter."""
    usual = length_garden(NO_ERRORS)
    return np.asarray(np.log((bloom.end_h - bloom.start_h) / (usual.end_h - usual.start_h)))


@pytest.mark.parametrize("springs", [1, 3, 8])
@pytest.mark.parametrize("stages", [("start", "end"), ("start", "full", "end"), ("full", "end")])
def test_length_is_learnt_as_a_normal_mean(stages: Sequence[Stage], springs: int) -> None:
    # Outside check: posterior of a normal mean with known variances (Gelman, A. et al. 2013.
    # Bayesian Data Analysis, 3rd edition, equations 2.11-2.12).
    spread, factor = 0.2, 1.3
    usual = length_garden(NO_ERRORS)
    first = usual.full_h if stages[0] == "full" else usual.start_h
    days = (usual.end_h - first)[0, 0, :springs] / 24
    precision = 1 / spread**2 + (days**2 / (2 * 0.5**2)).sum()
    learnt = log_lengths(
        length_garden(
            replace(NO_ERRORS, length_log_sd=spread), noted_lengths(factor, stages, springs)
        )
    )[0].mean(axis=1)
    shrunk = np.log(factor) * (1 - 1 / spread**2 / precision)
    # Slips of the pen are allowed for, which adds to each variance.
    assert learnt.mean() == pytest.approx(shrunk, abs=0.02)
    assert learnt.std() == pytest.approx(precision**-0.5, rel=0.25)


def test_a_long_bloom_here_lengthens_that_of_neighbours_less() -> None:
    timing = replace(TIMING, length_site_log_sd=0.1, length_season_log_sd=0.2)
    noted = noted_lengths(1.5, ("start", "full", "end"), 10)
    before, after = log_lengths(length_garden(timing)), log_lengths(length_garden(timing, noted))
    mine, neighbour = (after - before).mean(axis=(1, 2))
    assert 0.02 < neighbour < mine < np.log(1.5)
    # A length that was carried here gives way to notes, too.
    known = length_garden(timing, length=12.0), length_garden(timing, noted, length=12.0)
    assert log_lengths(known[1])[0].mean() > log_lengths(known[0])[0].mean() + 0.1


def test_no_length_is_learnt_from_one_stage_or_from_an_end_before_the_start() -> None:
    full = noted_lengths(1.5, ["full"], 5)
    backwards = [*full, *(replace(note, stage="end", day=note.day - 9) for note in full)]
    for notes in (full, backwards):
        learnt = log_lengths(length_garden(replace(NO_ERRORS, length_log_sd=0.2), notes))
        assert learnt[0].mean() == pytest.approx(0.0, abs=1e-9)


def test_stages_in_any_order_give_the_same_bytes() -> None:
    notes = noted_lengths(1.2, ("start", "full", "end"), 3)
    one, other = (length_garden(TIMING, log) for log in (notes, notes[::-1]))
    assert one.end_h.tobytes() == other.end_h.tobytes()
