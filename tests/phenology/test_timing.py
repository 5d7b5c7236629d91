from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from seasons import sums

from pollinet.phenology.climate import Climate
from pollinet.phenology.length import at_days, lead_stretch
from pollinet.phenology.timing import bloom_days, progress
from pollinet.readers.timing import load_timing


def plain_bloom_day(
    portions: list[float], heat: list[float], c0: float, k: float, h: float
) -> float:
    """The rule in plain words, midnight by midnight: an independent check."""
    start_at = min(c0, 0.9 * portions[-1])
    heat_at_start = None
    before = None
    for day, (chill, so_far) in enumerate(zip(portions, heat, strict=True)):
        if heat_at_start is None:
            if chill < start_at and day < 151:  # 1 October + 151 days: 1 March
                continue
            step = chill - portions[day - 1]
            share = min((start_at - portions[day - 1]) / step, 1.0) if step else 1.0
            heat_at_start = heat[day - 1] + share * (so_far - heat[day - 1])
        since = so_far - heat_at_start
        now = np.log(max(since, 1e-6)) + k * (chill - 60)
        if now >= h:
            if before is None:
                return float(day)
            return day - 1 + (h - before) / (now - before)
        before = now
    return float("nan")


@pytest.mark.parametrize("colder_c", [0.0, 12.0])
@pytest.mark.parametrize(("c0", "k", "h"), [(85, 0.0, 8.2), (70, 0.01, 8.9), (300, 0.005, 7.5)])
def test_rule_against_a_plain_loop(c0: float, k: float, h: float, colder_c: float) -> None:
    here = sums(-colder_c, months=(12, 1, 2))
    found = bloom_days(progress(here, c0, k), np.array([h]))[0]
    expected = [
        plain_bloom_day(p.tolist(), q.tolist(), c0, k, h)
        for p, q in zip(here.portions, here.heat_gdh, strict=True)
    ]
    assert found == pytest.approx(expected, abs=1e-6)


@given(st.floats(30, 120), st.floats(0, 0.02), st.floats(2, 10), st.floats(0, 3))
def test_later_position_never_blooms_earlier(c0: float, k: float, h: float, more: float) -> None:
    early, late = bloom_days(progress(sums(), c0, k), np.array([h, h + more]))
    assert (np.nan_to_num(late, nan=999) >= np.nan_to_num(early, nan=999)).all()


@given(st.integers(0, 2**32 - 1), st.floats(40, 100))
@settings(max_examples=30)
def test_more_heat_at_equal_chill_never_blooms_later(seed: int, c0: float) -> None:
    cool = sums()
    more = np.random.default_rng(seed).uniform(0, 60, cool.heat_gdh.shape)
    warm = replace(cool, heat_gdh=cool.heat_gdh + np.cumsum(more, axis=1))
    h = np.array([7.5, 8.5])
    later = bloom_days(progress(warm, c0, 0.0), h) - bloom_days(progress(cool, c0, 0.0), h)
    # A day is cut into straight pieces of the logarithm: half an hour of play.
    assert (later < 0.02).all()


def test_a_frozen_winter_does_not_put_bloom_off_beyond_the_heat_of_march() -> None:
    """Frost makes no portions (Dynamic Model): C0 comes weeks after the buds have begun."""
    frozen = sums(-12.0, months=(12, 1, 2))
    assert (frozen.portions[:, 151] < 60).all()
    since_march = frozen.heat_gdh - frozen.heat_gdh[:, [151]]
    found = bloom_days(progress(frozen, 85.0, 0.0), np.log([3000.0]))[0]
    assert at_days(since_march, found) == pytest.approx(np.full(20, 3000.0), rel=0.02)


def test_progress_never_falls_and_enough_heat_is_never_short() -> None:
    curve = progress(sums(), 85.0, 0.01)
    assert (np.diff(curve, axis=1) >= 0).all()
    assert np.isnan(bloom_days(curve, np.array([50.0]))).all()


def test_length_of_bloom_goes_with_the_square_root_of_warmth() -> None:
    here = sums()
    warmth = (here.heat_gdh[:, 200] - here.heat_gdh[:, 193]) / 7
    expected = np.sqrt(150 / np.maximum(warmth, 20))
    assert lead_stretch(here)[:, 200] == pytest.approx(expected)
    between = at_days(here.heat_gdh, np.full(20, 200.25))
    mixed = 0.75 * here.heat_gdh[:, 200] + 0.25 * here.heat_gdh[:, 201]
    assert between == pytest.approx(mixed)


def test_shipped_timing() -> None:
    timing = load_timing(["sweet cherry", "apple"])
    for own in timing.values():
        assert sum(rule.weight for rule in own.rules) == pytest.approx(1, abs=0.002)
    assert not timing["sweet cherry"].borrowed
    assert timing["apple"].borrowed
    assert timing["apple"].site_sd_days > timing["sweet cherry"].site_sd_days


def test_one_degree_is_about_four_days() -> None:
    # Sarisu 2021, Polish Journal of Environmental Studies 30:351-359 (abstract): full bloom of 23
    # sweet cherries moves by 4 days for 1 °C of mean daily temperature; 1.5 days of play. Here the
    # whole season is warmer. With a warmer spring alone the rules move by 6 days, which is more.
    timing = load_timing(["sweet cherry"])["sweet cherry"]
    here = Climate(sums())
    moved = 0.0
    for rule in timing.rules:
        c0, k = rule.c0_portions, rule.k
        h = here.position("full", c0, k, timing, np.array([195.0]))
        warm = Climate(sums(1.0)).usual_day("full", c0, k, timing, h)[0]
        moved += rule.weight * (195.0 - warm)
    assert moved == pytest.approx(4, abs=1.5)


def test_warm_winter_with_equal_spring_delays_bloom() -> None:
    # Darbyshire et al., global evaluation of apple flowering models (abstract): sites with a
    # similar spring and a warmer winter flower later.
    timing = load_timing(["sweet cherry"])["sweet cherry"]
    for rule in timing.rules:
        h = Climate(sums()).position("full", rule.c0_portions, rule.k, timing, np.array([195.0]))
        usual, after_warm = (
            Climate(sums(more, months=(10, 11, 12, 1))).usual_day(
                "full", rule.c0_portions, rule.k, timing, h
            )[0]
            for more in (0.0, 4.0)
        )
        assert after_warm > usual + 1
