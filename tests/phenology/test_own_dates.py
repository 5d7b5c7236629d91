from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm
from seasons import FRUIT, NO_ERRORS, TIMING, sums, variety

from pollinet.domain import Bloom, BloomRecord, Stage, Timing, VarietyId
from pollinet.phenology import records as own_records
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.records import (
    SCATTERS,
    WRONG_SD_DAYS,
    WRONG_SHARE,
    Errors,
    Evidence,
    Note,
    learn,
)
from pollinet.phenology.streams import shuffled_normals

SITE, SEASON, POSITION, VARIANCE = 2.6, 3.7, 3.0, 2.0**2 + 1.5**2


def learned(misses: dict[tuple[int, int], float], draws: int = 4000) -> tuple[Errors, Errors]:
    """Errors of two families before and after notes given as {(family, spring): days}."""
    rng = np.random.default_rng(3)
    prior = Errors(
        np.zeros(draws, dtype=int),
        shuffled_normals(draws, rng),
        np.array([shuffled_normals(draws, rng) for _ in range(2)]),
        np.ones(draws),
    )
    notes = [Note(g, year, np.array([miss]), VARIANCE) for (g, year), miss in misses.items()]
    after = learn(prior, notes, np.ones(1), np.full(2, SITE), SEASON, np.full(2, POSITION), rng)
    return prior, after


def by_brute_force(misses: dict[tuple[int, int], float], draws: int = 1_000_000) -> np.ndarray:
    """Mean and SD of site + position [days] of each family by weighting random draws."""
    rng = np.random.default_rng(11)
    springs = sorted({year for _, year in misses})
    scatter = rng.choice(list(SCATTERS), p=list(SCATTERS.values()), size=draws)
    noted = [[family in {group for group, _ in misses}] for family in (0, 1)]
    misnamed = noted & (rng.random((2, draws)) < WRONG_SHARE)
    site = SITE * rng.standard_normal(draws)
    position = np.hypot(POSITION, misnamed * WRONG_SD_DAYS) * rng.standard_normal((2, draws))
    season = scatter * SEASON * rng.standard_normal((len(springs), draws))
    likely = np.zeros(draws)
    for (family, year), miss in misses.items():
        left = miss - site - position[family] - season[springs.index(year)]
        sds = np.sqrt(VARIANCE * scatter**2 + np.array([[0.0], [WRONG_SD_DAYS**2]]))
        shares = np.array([[1 - WRONG_SHARE], [WRONG_SHARE]])
        likely += np.log((shares * norm.pdf(left, scale=sds)).sum(axis=0))
    weight = np.exp(likely - likely.max())
    weight /= weight.sum()
    shift = site + position
    mean = shift @ weight
    return np.array([mean, np.sqrt((shift - mean[:, None]) ** 2 @ weight)])


@pytest.mark.parametrize(
    "misses",
    [
        {(0, 1): 6.0},
        {(0, 1): 20.0},
        {(0, 1): 6.0, (0, 2): 4.0, (0, 3): 7.0},
        {(0, 1): 13.0, (0, 2): 15.0, (0, 3): 14.0},
        {(0, 1): 24.0, (0, 2): 25.0, (0, 3): 27.0},
        {(0, 1): 15.0, (0, 2): -15.0},
        {(0, 1): 15.0, (0, 2): -15.0, (0, 3): 1.0},
        {(0, year): 14.0 * (-1) ** year for year in range(6)},
        {(0, 1): -5.0, (1, 1): -2.0, (0, 2): -6.0},
        {(0, 1): 14.0, (1, 1): -2.0, (0, 2): 16.0, (1, 2): 0.0},
    ],
)
def test_learning_against_weighted_random_draws(misses: dict[tuple[int, int], float]) -> None:
    _, after = learned(misses)
    shift = SITE * after.site + POSITION * after.positions
    mean, sd = by_brute_force(misses)
    assert shift.mean(axis=1) == pytest.approx(mean, abs=0.3)
    assert shift.std(axis=1) == pytest.approx(sd, rel=0.1)


def test_a_wild_note_hardly_counts() -> None:
    good = {(0, year): 3.0 for year in range(1, 6)}
    _, without = learned(good)
    _, with_slip = learned({**good, (0, 6): 60.0})
    drift = POSITION * (with_slip.positions[0] - without.positions[0]).mean()
    drift += SITE * (with_slip.site - without.site).mean()
    assert abs(drift) < 1.0


def long_log() -> tuple[np.ndarray, Evidence]:
    """Misses of 60 notes on 6 families in 10 springs, some of them wild, and of what is known."""
    rng = np.random.default_rng(5)
    miss = 4 * rng.standard_normal(60) + np.where(rng.random(60) < 0.1, 25.0, 0.0)
    notes = [Note(i % 6, i // 6, miss[i : i + 1], rng.uniform(3, 9)) for i in range(60)]
    sds = np.full(6, SITE), SEASON, np.full(6, POSITION), WRONG_SD_DAYS
    return np.append(miss, np.zeros(6)), own_records._evidence(notes, range(6), *sds, 1.0)


def test_errors_solved_for_agree_with_the_covariance_of_the_notes() -> None:
    # Outside check: scipy's normal density, and the textbook equations of best linear prediction.
    miss, evidence = long_log()
    loads, noise = evidence.loads[:60], evidence.variance
    spread = loads @ loads.T + np.diag(noise[:60])
    assert own_records._gain(evidence, noise)[:, :60] == pytest.approx(
        loads.T @ np.linalg.inv(spread), abs=1e-12
    )
    density = own_records._log_density(miss, evidence, noise, np.zeros(66))
    density -= 66 * np.log(1 - WRONG_SHARE) + 30 * np.log(2 * np.pi)
    assert density == pytest.approx(multivariate_normal(cov=spread).logpdf(miss[:60]), abs=1e-8)


def test_each_piece_of_evidence_is_judged_by_all_the_others() -> None:
    # Brute force: each piece is taken out in turn and foretold from the rest.
    miss, evidence = long_log()
    loads, right, wrong, own = evidence
    noise = right + WRONG_SHARE * (wrong - right)
    for _ in range(own_records._ROUNDS):
        chance = np.empty(miss.size)
        for i in range(miss.size):
            rest = np.arange(miss.size) != i
            known = np.diag(own) + (loads[rest].T / noise[rest]) @ loads[rest]
            share = np.linalg.solve(known, loads[i])
            sds = np.sqrt(share @ loads[i] + np.array([right[i], wrong[i]]))
            good, bad = norm.pdf(miss[i], share @ (loads[rest].T @ (miss / noise)[rest]), sds)
            chance[i] = WRONG_SHARE * bad / (WRONG_SHARE * bad + (1 - WRONG_SHARE) * good)
        noise = 1 / ((1 - chance) / right + chance / wrong)
    found = own_records._weighed(miss, evidence, np.full(miss.size, np.nan)).noise
    assert found == pytest.approx(noise, rel=1e-3)
    assert noise[miss > 20].min() > 5 * noise[:60][abs(miss[:60]) < 4].max()


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


def off_by(*misses: float) -> list[BloomRecord]:
    """Notes of A so many days off the forecast, in one spring after the other."""
    bloom = garden([])
    full = bloom.full_h[0].mean(axis=0) / 24 - 0.5
    # 1 October is day 274; notes leave leap days out.
    return [
        BloomRecord(
            bloom.varieties[0], year, "full", (full[i] + miss - (year % 4 == 0) + 273) % 365 + 1
        )
        for i, (year, miss) in enumerate(zip(range(2001, 2021), misses, strict=False))
    ]


def shifts(*misses: float, draws: int = 512) -> np.ndarray:
    """How far the forecasts of A and B move by such notes, mean and SD of the draws: (2, 2)."""
    before, after = (
        bloom.full_h.mean(axis=2) / 24
        for bloom in (garden([], draws), garden(off_by(*misses), draws))
    )
    return np.array([after.mean(axis=1) - before.mean(axis=1), after.std(axis=1)])


def test_own_dates_sharpen_and_finally_dominate() -> None:
    none, two, many = (shifts(*[8.0] * number, draws=64) for number in (0, 2, 20))
    moved, spread = np.array([none, two, many])[:, :, 0].T
    assert moved[0] == 0 < moved[1] < moved[2]
    assert moved[2] == pytest.approx(8.0, abs=1.5)
    assert spread[0] > spread[1] > spread[2]
    # The neighbour learns about the site, but less.
    assert 0 < two[0, 1] < two[0, 0]


@settings(max_examples=25, deadline=None)
@given(st.lists(st.floats(-3.0, 3.0), min_size=1, max_size=8), st.floats(-5.0, 5.0))
def test_notes_that_agree_never_widen(misses: list[float], off: float) -> None:
    # The variance of normal errors given notes is the prior one less a square (Rasmussen, C. E.,
    # Williams, C. K. I. 2006. Gaussian Processes for Machine Learning, equation 2.26); two parts
    # in a hundred are left to chance in the draws, and to doubt in what agrees.
    none = garden([], 256)
    after = garden(off_by(*(off + miss for miss in misses)), 256)
    position = [bloom.full_h[0].mean(axis=1).std() for bloom in (none, after)]
    assert position[1] < 1.02 * position[0]
    assert after.sd_days[0] < 1.02 * none.sd_days[0]


@settings(max_examples=15, deadline=None)
@given(st.floats(-6.0, 6.0))
def test_more_notes_that_agree_tell_more(miss: float) -> None:
    spreads = [shifts(*[miss] * number)[1, 0] for number in (1, 2, 4, 8, 16)]
    assert np.all(np.diff(spreads) < 0.02)
    assert spreads[-1] < spreads[0] / 2


@settings(max_examples=15, deadline=None)
@given(st.floats(10.0, 18.0), st.integers(1, 6))
def test_notes_that_contradict_each_other_tell_little(off: float, pairs: int) -> None:
    misses = [off, -off] * pairs
    (_, spread), (_, agreeing) = shifts(*misses)[:, 0], shifts(*[3.0, -3.0] * pairs)[:, 0]
    # A mean is no better known than its measurements scatter, and what was known before: normal
    # mean with both variances known (Gelman, A. et al. 2013. Bayesian Data Analysis, 3rd edition,
    # equation 2.11), a tenth left to what is still put down to slips of the pen.
    none = shifts()[1, 0]
    own = np.std(misses, ddof=1) / np.sqrt(len(misses))
    assert spread > 0.75 * (own**-2 + none**-2) ** -0.5
    assert spread > 1.2 * agreeing
    # Coming springs may be as far off as these.
    assert garden(off_by(*misses), 512).sd_days[0] > garden([], 512).sd_days[0]


@pytest.mark.parametrize("springs", [1, 3, 6])
def test_a_neighbour_moves_by_the_share_of_the_site_at_most(springs: int) -> None:
    # Best linear prediction of the site's error from the mean of the notes (Rasmussen and Williams,
    # as above): its variance over that of the mean. Rules that fit better may add half a day.
    site, own = TIMING.site_sd_days**2, 3.0**2
    each = TIMING.season_sd_days**2 + TIMING.own_sd_days**2 + 1.5**2
    share = site / (site + own + each / springs)
    small, *far = ([miss, *shifts(*[miss] * springs)[0]] for miss in (4.0, 8.0, 12.0, 30.0, 45.0))
    for miss, noted, neighbour in (small, *far):
        assert -0.1 < neighbour < share * miss + 0.5
        assert neighbour < noted < miss + 0.5
    # No site is a month off: a miss of that size is the variety's, or the note's.
    assert far[-1][2] < 0.5 * share * 45.0
    assert far[-1][2] < max(neighbour for _, _, neighbour in far)


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
    assert learnt.mean() == pytest.approx(shrunk, abs=0.03)
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
