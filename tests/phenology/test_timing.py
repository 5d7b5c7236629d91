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
    portions: list[float], heat: list[float], forcing_day: int, k: float, h: float
) -> float:
    """The rule in plain words, midnight by midnight: an independent check.

    portions : half as they were, half as they usually are by that day.
    """
    before = None
    for day in range(forcing_day, len(heat)):
        since = heat[day] - heat[forcing_day]
        now = np.log(max(since, 1e-6)) + k * (portions[day] - 60)
        if now >= h:
            if before is None:
                return float(day)
            return day - 1 + (h - before) / (now - before)
        before = now
    return float("nan")


@pytest.mark.parametrize("colder_c", [0.0, 12.0])
@pytest.mark.parametrize(("day", "k", "h"), [(145, 0.0, 8.2), (92, 0.01, 8.9), (123, 0.005, 7.5)])
def test_rule_against_a_plain_loop(day: int, k: float, h: float, colder_c: float) -> None:
    here = sums(-colder_c, months=(12, 1, 2))
    found = bloom_days(progress(here, day, k), np.array([h]))[0]
    usual = [
        sum(p[day] for p in here.portions) / len(here.portions)
        for day in range(len(here.portions[0]))
    ]
    expected = [
        plain_bloom_day([(a + b) / 2 for a, b in zip(p, usual, strict=True)], q.tolist(), day, k, h)
        for p, q in zip(here.portions, here.heat_gdh, strict=True)
    ]
    assert found == pytest.approx(expected, abs=1e-6)


def test_chill_of_a_single_season_tells_half_of_what_it_tells_of_a_place() -> None:
    here = sums()
    more = replace(here, portions=here.portions + 10.0)
    one = np.zeros_like(here.portions)
    one[3] = 10.0
    single = replace(here, portions=here.portions + one)
    of_place = (progress(more, 145, 0.01) - progress(here, 145, 0.01))[3, 150]
    of_season = (progress(single, 145, 0.01) - progress(here, 145, 0.01))[3, 150]
    assert of_place == pytest.approx(0.1)
    assert of_season == pytest.approx(0.1 * (0.5 + 0.5 / len(here.portions)))


@given(st.integers(60, 170), st.floats(0, 0.02), st.floats(2, 10), st.floats(0, 3))
def test_later_position_never_blooms_earlier(day: int, k: float, h: float, more: float) -> None:
    early, late = bloom_days(progress(sums(), day, k), np.array([h, h + more]))
    assert (np.nan_to_num(late, nan=999) >= np.nan_to_num(early, nan=999)).all()


@given(st.integers(0, 2**32 - 1), st.integers(60, 170))
@settings(max_examples=30)
def test_more_heat_at_equal_chill_never_blooms_later(seed: int, day: int) -> None:
    cool = sums()
    more = np.random.default_rng(seed).uniform(0, 60, cool.heat_gdh.shape)
    warm = replace(cool, heat_gdh=cool.heat_gdh + np.cumsum(more, axis=1))
    h = np.array([7.5, 8.5])
    later = bloom_days(progress(warm, day, 0.0), h) - bloom_days(progress(cool, day, 0.0), h)
    # A day is cut into straight pieces of the logarithm: half an hour of play.
    assert (later < 0.02).all()


def test_warmth_before_the_forcing_day_tells_by_its_chill_alone() -> None:
    plain = sums()
    warm = np.minimum(np.arange(plain.heat_gdh.shape[1]), 145) * 20.0
    mild = replace(plain, heat_gdh=plain.heat_gdh + warm)
    assert progress(mild, 145, 0.01)[:, 146:] == pytest.approx(progress(plain, 145, 0.01)[:, 146:])
    fewer = replace(mild, portions=plain.portions * 0.9)
    h = np.array([8.0])
    assert (
        bloom_days(progress(fewer, 145, 0.01), h) > bloom_days(progress(mild, 145, 0.01), h)
    ).all()


def test_progress_never_falls_and_enough_heat_is_never_short() -> None:
    curve = progress(sums(), 145.0, 0.01)
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
    timing = load_timing(["sweet cherry", "apple", "hazelnut", "quince"])
    for own in timing.values():
        assert sum(rule.weight for rule in own.rules) == pytest.approx(1, abs=0.004)
    assert not timing["sweet cherry"].borrowed
    assert not timing["apple"].borrowed
    for fruit in ("hazelnut", "quince"):
        assert timing[fruit].borrowed
        assert timing[fruit].site_sd_days > timing["sweet cherry"].site_sd_days
    # Almonds flower in winter, so that their heat counts from an earlier day.
    days = {
        fruit: np.average([r.forcing_day for r in own.rules], weights=[r.weight for r in own.rules])
        for fruit, own in load_timing(["almond", "apple", "sweet cherry"]).items()
    }
    assert days["almond"] < days["apple"] < days["sweet cherry"]


def test_one_degree_is_about_four_days() -> None:
    # Sarisu 2021, Polish Journal of Environmental Studies 30:351-359 (abstract): full bloom of 23
    # sweet cherries moves by 4 days for 1 °C of mean daily temperature; 1.5 days of play. Here the
    # whole season is warmer. With a warmer spring alone the rules move by 6 days, which is more.
    timing = load_timing(["sweet cherry"])["sweet cherry"]
    here = Climate(sums())
    moved = 0.0
    for rule in timing.rules:
        day, k = rule.forcing_day, rule.k
        h = here.position("full", day, k, timing, np.array([195.0]))
        warm = Climate(sums(1.0)).usual_day("full", day, k, timing, h)[0]
        moved += rule.weight * (195.0 - warm)
    assert moved == pytest.approx(4, abs=1.5)


def test_warm_winter_with_equal_spring_delays_bloom() -> None:
    # Darbyshire et al., global evaluation of apple flowering models (abstract): sites with a
    # similar spring and a warmer winter flower later.
    timing = load_timing(["sweet cherry"])["sweet cherry"]
    for rule in timing.rules:
        h = Climate(sums()).position("full", rule.forcing_day, rule.k, timing, np.array([195.0]))
        usual, after_warm = (
            Climate(sums(more, months=(10, 11, 12, 1))).usual_day(
                "full", rule.forcing_day, rule.k, timing, h
            )[0]
            for more in (0.0, 4.0)
        )
        assert after_warm > usual + 1
