from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from seasons import FRUIT, NO_ERRORS, TIMING, sums, variety

from pollinet.days import calendar_day, season_day
from pollinet.domain import Bloom, Timing, TypedBloom, Variety, VarietyId
from pollinet.errors import ShapeError
from pollinet.phenology.bloom import bloom_ensemble, typed_bloom

NINE = TypedBloom(((98, 108),), 0.0)  # 8-18 April


def ensemble(*varieties: Variety, timing: Timing = TIMING, seed: int = 1, draws: int = 32) -> Bloom:
    """Bloom at the temperate site, with evidence from a slightly cooler trial site."""
    return bloom_ensemble(
        varieties,
        sums(),
        {"trial": sums(-1.0)},
        {FRUIT: timing, "almond": timing},
        draws=draws,
        latitude=47.0,
        seed=seed,
    )


@pytest.mark.parametrize("stage", ["start", "full", "end"])
def test_position_reproduces_the_date_where_it_was_observed(stage: str) -> None:
    seen = variety("A", 118.0, stage=stage, place="here")  # type: ignore[arg-type]
    bloom = ensemble(seen, timing=NO_ERRORS, draws=1)
    hours = {"start": bloom.start_h, "full": bloom.full_h, "end": bloom.end_h}[stage]
    moment = {"start": 0.0, "full": 0.5, "end": 1.0}[stage]
    assert hours.mean() / 24 == pytest.approx(season_day(47.0, 118.0) + moment, abs=0.3)


def test_carried_to_a_warmer_site_it_blooms_earlier() -> None:
    bloom = ensemble(variety("A", 118.0), timing=NO_ERRORS, draws=1)
    assert bloom.full_h.mean() / 24 < season_day(47.0, 118.0) - 2


def test_errors_have_the_stated_size_and_cancel_where_shared() -> None:
    bloom = ensemble(variety("A"), variety("B"), draws=400)
    days = bloom.full_h / 24
    apart = days[0] - days[1]
    # Position errors of 3 days each and own errors of 2; site and season errors cancel.
    assert apart.std() == pytest.approx(np.sqrt(2 * (3**2 + 2**2)), rel=0.06)
    spread = days[0].std(axis=0).mean()
    assert spread == pytest.approx(np.sqrt(3**2 + 2.6**2 + 3.7**2 + 2**2), rel=0.08)


def test_carried_errors_spare_what_was_seen_here() -> None:
    timing = replace(TIMING, carried_sd_days=4.0, length_site_log_sd=0.3)
    bloom = ensemble(variety("A"), variety("B", place="here"), timing=timing, draws=400)
    # Position 3, site 2.6, carried 4, season 3.7 and own 2 days; here only 3, 3.7 and 2.
    spread = (bloom.full_h / 24).std(axis=1).mean(axis=1)
    assert spread == pytest.approx(
        [np.sqrt(9 + 2.6**2 + 16 + 3.7**2 + 4), np.sqrt(9 + 3.7**2 + 4)], rel=0.08
    )
    length = np.log(bloom.end_h - bloom.start_h).mean(axis=2).std(axis=1)
    assert length == pytest.approx([np.hypot(0.3, 0.1), 0.1], rel=0.1)


def test_two_places_that_disagree_widen_the_spread() -> None:
    own = variety("A", 110.0)
    other = variety("B", 110.0)
    far = variety("B", 130.0, place="elsewhere").bloom
    both = Variety(other.id, other.fertility, other.bloom + far)
    bloom = bloom_ensemble(
        [own, both],
        sums(),
        {"trial": sums(-1.0), "elsewhere": sums(-1.0)},
        {FRUIT: TIMING},
        draws=64,
        latitude=47.0,
        seed=1,
    )
    between = bloom.full_h[1].mean() - bloom.full_h[0].mean()
    assert between / 24 == pytest.approx(10, abs=2)
    assert bloom.sd_days[1] > bloom.sd_days[0] + 2


@settings(max_examples=20)
@given(st.integers(0, 2**31), st.permutations(["A", "B", "C", "D"]))
def test_draws_do_not_depend_on_company_or_order(seed: int, names: list[str]) -> None:
    alone = ensemble(variety("B"), seed=seed, draws=4)
    together = ensemble(*map(variety, names), seed=seed, draws=4)
    assert together.varieties == tuple(VarietyId(FRUIT, n) for n in "ABCD")
    assert together.full_h[1].tobytes() == alone.full_h[0].tobytes()


def test_same_plan_and_seed_same_bytes() -> None:
    first, second, third = (ensemble(variety("A"), variety("B"), seed=s) for s in (5, 5, 6))
    assert first.start_h.tobytes() == second.start_h.tobytes()
    assert first.start_h.tobytes() != third.start_h.tobytes()


def test_clones_share_evidence_and_draws() -> None:
    bloom = ensemble(variety("A"), variety("Red A", clone="A"), variety("B"))
    assert np.array_equal(bloom.start_h[0], bloom.start_h[2])
    assert not np.array_equal(bloom.start_h[0], bloom.start_h[1])


def test_without_evidence_nothing_is_made_up() -> None:
    bloom = ensemble(variety("A", None), variety("B", place="unknown place"))
    assert np.isnan(bloom.full_h).all()
    assert np.isnan(bloom.sd_days).all()
    assert set(bloom.rests_on) == {"nothing known of its bloom"}


def test_very_early_fruit_blooms_early() -> None:
    # An almond in full bloom on 19 February has had too little chill by then for C0 of a cherry.
    almond = variety("A", 50.0, place="here", fruit="almond")
    bloom = ensemble(almond, timing=NO_ERRORS, draws=1)
    assert bloom.full_h.mean() / 24 == pytest.approx(season_day(47.0, 50.0), abs=2)


def test_too_mild_a_site_still_blooms_and_says_less() -> None:
    mild = bloom_ensemble(
        [variety("A")],
        sums(8.0),
        {"trial": sums(-1.0)},
        {FRUIT: TIMING},
        draws=32,
        latitude=47.0,
        seed=1,
    )
    assert np.isfinite(mild.full_h).all()
    assert mild.full_h.mean() < ensemble(variety("A")).full_h.mean()


# --- typed dates ---


def test_typed_dates_of_no_spread_are_exact_every_winter_leap_years_too() -> None:
    bloom = ensemble(variety("A", typed=NINE))
    for start, first, last in zip(
        bloom.starts, bloom.start_h[0, 0], bloom.end_h[0, 0], strict=True
    ):
        assert calendar_day(start, first) == date(start.year + 1, 4, 8)
        assert calendar_day(start, last) == date(start.year + 1, 4, 19)


def test_typed_dates_move_with_the_winters_when_they_have_a_spread() -> None:
    bloom = ensemble(variety("A", typed=TypedBloom(((98, 108),))), draws=64)
    assert bloom.rests_on == ("dates typed by the grower",)
    assert bloom.start_h.mean() / 24 == pytest.approx(season_day(47.0, 98), abs=1.0)
    assert (bloom.end_h - bloom.start_h).mean() / 24 == pytest.approx(11, abs=0.5)
    assert np.ptp(bloom.full_h.mean(axis=1)[0]) > 5 * 24


def test_typed_dates_without_weather_are_counted_whole() -> None:
    # The design: 8-18 April and 10-21 April share nine days.
    other = TypedBloom(((100, 111),), 0.0)
    plan = [variety("A", typed=NINE), variety("B", typed=other)]
    bloom = typed_bloom(plan, draws=32, latitude=47.0, seed=1)
    assert bloom.start_h.shape == (2, 1, 1)
    shared = bloom.end_h.min(axis=0) - bloom.start_h.max(axis=0)
    assert shared.item() == 9 * 24


def test_typed_spread_without_weather() -> None:
    plan = [variety("A", typed=TypedBloom(((98, 108),), 4.0)), variety("B", None)]
    bloom = typed_bloom(plan, draws=32, latitude=47.0, seed=1)
    assert bloom.sd_days[0] == pytest.approx(4.0)
    assert bloom.start_h[0].mean() / 24 == pytest.approx(season_day(47.0, 98))
    assert np.isnan(bloom.start_h[1]).all()


def test_springs_one_by_one() -> None:
    springs = TypedBloom(((98, 108), (90, 99), (101, 115)), 0.0)
    bloom = typed_bloom([variety("A", typed=springs)], draws=32, latitude=47.0, seed=1)
    assert bloom.start_h.shape == (1, 1, 3)
    assert (bloom.start_h[0, 0] / 24 - season_day(47.0, 1) + 1).tolist() == [98, 90, 101]
    with pytest.raises(ShapeError):
        typed_bloom(
            [variety("A", typed=springs), variety("B", typed=NINE)],
            draws=1,
            latitude=47.0,
            seed=1,
        )


def test_southern_spring_lies_in_its_season() -> None:
    bloom = typed_bloom(
        [variety("A", typed=TypedBloom(((275, 285),), 0.0))], draws=1, latitude=-33.0, seed=1
    )
    assert calendar_day(bloom.starts[0], bloom.start_h.item()) == date(2001, 10, 2)


def test_southern_trial_site_serves_a_northern_garden() -> None:
    south = sums(-1.0, -40.0)
    day = 110.0 + 182  # half a year later
    bloom = bloom_ensemble(
        [variety("A", day, place="south")],
        sums(),
        {"south": south},
        {FRUIT: NO_ERRORS},
        draws=1,
        latitude=47.0,
        seed=1,
    )
    north = ensemble(variety("A", 110.0), timing=NO_ERRORS, draws=1)
    assert bloom.full_h.mean() / 24 == pytest.approx(north.full_h.mean() / 24, abs=4)


def test_every_order_of_varieties_gives_the_same_answer() -> None:
    plan = [variety("A"), variety("B", typed=NINE), variety("C", None)]
    answers = {ensemble(*some, draws=2).end_h.tobytes() for some in permutations(plan)}
    assert len(answers) == 1


def test_sites_without_an_error_are_not_shifted() -> None:
    # Held at 0 with no spread at all: the limit of least squares with ever smaller spreads.
    sites = {"trial": sums(-1.0), "other": sums(1.0)}
    both = replace(variety("A"), bloom=(*variety("A").bloom, *variety("A", place="other").bloom))

    def full(site_sd_days: float) -> np.ndarray:
        timing = {FRUIT: replace(NO_ERRORS, site_sd_days=site_sd_days)}
        bloom = bloom_ensemble(
            [variety("B")], sums(), sites, timing, draws=1, latitude=47.0, seed=1,
            peers=[both, variety("B")],
        )  # fmt: skip
        return bloom.full_h

    assert full(0.0) == pytest.approx(full(1e-4), abs=1e-3)
    assert abs(full(3.0) - full(0.0)).max() > 1.0


# --- pollen shed at a time of its own --------------------------------------------------------


def catkins(days_earlier: float) -> Variety:
    """A variety whose pollen is shed so many days before its bloom at the same place."""
    flowers = variety("A", 118.0)
    shed = tuple(replace(seen, day=seen.day - days_earlier) for seen in flowers.bloom)
    return replace(flowers, shed=shed)


def test_bloom_is_pollen_shed_where_nothing_else_is_told() -> None:
    assert ensemble(variety("A")).shed_start_h is None
    beside = ensemble(catkins(10.0), variety("B"))
    assert beside.shed_start_h is not None
    np.testing.assert_array_equal(beside.shed_start_h[1], beside.start_h[1])


def test_pollen_shed_changes_nothing_about_bloom() -> None:
    with_catkins, without = ensemble(catkins(10.0)), ensemble(variety("A", 118.0))
    np.testing.assert_array_equal(with_catkins.full_h, without.full_h)


def test_shared_errors_cancel_between_catkins_and_flowers_and_own_ones_do_not() -> None:
    """SD of a difference of two independent errors: root of the sum of squares."""

    def apart(timing: Timing) -> float:
        bloom = ensemble(catkins(12.0), timing=timing, draws=400)
        assert bloom.shed_start_h is not None
        return float(((bloom.shed_start_h - bloom.start_h) / 24).mean(axis=-1).std())

    shared = replace(NO_ERRORS, site_sd_days=5.0, season_sd_days=3.0)
    own = replace(NO_ERRORS, carried_sd_days=4.0)
    base = apart(NO_ERRORS)
    assert apart(shared) == pytest.approx(base, abs=0.6)
    assert apart(own) == pytest.approx(np.hypot(base, np.sqrt(2) * 4.0), rel=0.12)


def test_catkins_alone_give_pollen_and_no_flowers() -> None:
    only = replace(catkins(10.0), bloom=())
    bloom = ensemble(only)
    assert bloom.shed_start_h is not None
    assert np.isnan(bloom.start_h).all()
    assert np.isfinite(bloom.shed_start_h).all()
