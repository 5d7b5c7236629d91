"""Varieties of whose bloom nothing is known: they bloom like the run of their fruit, widely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from seasons import FRUIT, NO_ERRORS, TIMING, sums, variety

from pollinet.days import season_day
from pollinet.domain import (
    Bloom,
    BloomEvidence,
    BloomRecord,
    Run,
    Timing,
    TypedBloom,
    Variety,
    VarietyId,
)
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.runs import LEAST_PEERS

EVEN = [variety(f"P{i:02}", 100.0 + 2 * i, sd_days=1.0) for i in range(11)]
"""Days 100, 102 … 120 at the trial site: mean 110, SD 6.6."""


def run(day: float, sd_days: float, place: str = "trial", *, sheds: bool = False) -> Run:
    return Run(BloomEvidence("full", day, sd_days, place, "date", "test"), 5, sheds)


def garden(
    *varieties: Variety,
    peers: Sequence[Variety] = (),
    runs: Sequence[Run] = (),
    timing: Timing = TIMING,
    records: Sequence[BloomRecord] = (),
    draws: int = 256,
    trial_c: float = 0.0,
) -> Bloom:
    return bloom_ensemble(
        varieties,
        sums(),
        {"trial": sums(trial_c), "elsewhere": sums(trial_c)},
        {FRUIT: timing, "hazelnut": timing},
        draws=draws,
        latitude=47.0,
        seed=1,
        peers=peers,
        runs={FRUIT: runs, "hazelnut": runs},
        records=records,
    )


def usual(bloom: Bloom, row: int = 0) -> float:
    """Mean day of the season of full bloom."""
    return float(bloom.full_h[row].mean() / 24)


def position_sd(bloom: Bloom, row: int = 0) -> float:
    """Spread of full bloom between draws alone."""
    return float((bloom.full_h[row] / 24).mean(axis=1).std())


def test_the_run_is_the_mean_and_spread_of_dated_peers() -> None:
    bloom = garden(variety("A", None), peers=EVEN, timing=NO_ERRORS)
    # The trial site is like here: the middle is day 110, half a day in.
    assert usual(bloom) == pytest.approx(season_day(47.0, 110.0) + 0.5, abs=0.5)
    days = np.arange(100, 121, 2)
    assert position_sd(bloom) == pytest.approx(np.hypot(days.std(ddof=1), 1.0), rel=0.03)
    assert not bloom.dated[0]
    assert bloom.rests_on[0] == "the run of 11 varieties of its fruit"


def test_clones_are_counted_once() -> None:
    many = [*EVEN, *(variety(f"Red {i}", 120.0 + i / 8, clone="P10") for i in range(9))]
    one, several = (garden(variety("A", None), peers=peers) for peers in (EVEN, many))
    assert usual(several) == pytest.approx(usual(one), abs=0.5)
    assert several.rests_on == one.rests_on


def test_the_run_is_never_narrower_than_what_is_known_of_its_varieties() -> None:
    loose = [variety(f"P{i}", 110.0, sd_days=7.0) for i in range(LEAST_PEERS)]
    bloom = garden(variety("A", None), loose[0], peers=loose)
    assert position_sd(bloom, 0) == pytest.approx(position_sd(bloom, 1), rel=0.1)


def test_too_few_peers_leave_it_to_the_table_and_without_one_nothing_is_known() -> None:
    few = EVEN[: LEAST_PEERS - 1]
    bloom = garden(variety("A", None), peers=few, runs=[run(125.0, 6.0)], timing=NO_ERRORS)
    assert usual(bloom) == pytest.approx(season_day(47.0, 125.0) + 0.5, abs=0.5)
    assert position_sd(bloom) == pytest.approx(6.0, rel=0.03)
    assert bloom.rests_on[0] == "the run of its fruit: bloom at trial"
    nothing = garden(variety("A", None), peers=few)
    assert np.isnan(nothing.full_h).all()
    assert not nothing.dated.any()


def test_the_table_goes_before_dated_varieties() -> None:
    # Where there is a table, many of these are dated by their class about its middle alone.
    bloom = garden(variety("A", None), peers=EVEN, runs=[run(125.0, 6.0)], timing=NO_ERRORS)
    assert usual(bloom) == pytest.approx(season_day(47.0, 125.0) + 0.5, abs=0.5)


def test_several_sites_tell_the_middle_better_and_not_the_spread() -> None:
    runs = [run(118.0, 6.0), run(122.0, 6.0, "elsewhere")]
    bloom = garden(variety("A", None), runs=runs, timing=NO_ERRORS)
    assert usual(bloom) == pytest.approx(season_day(47.0, 120.0) + 0.5, abs=0.5)
    assert position_sd(bloom) == pytest.approx(6.0, rel=0.03)
    apart = [run(100.0, 6.0), run(140.0, 6.0, "elsewhere")]
    assert position_sd(garden(variety("A", None), runs=apart, timing=NO_ERRORS)) > 12


def test_a_run_is_carried_to_another_climate() -> None:
    colder = garden(variety("A", None), runs=[run(118.0, 6.0)], timing=NO_ERRORS, trial_c=-2.0)
    assert usual(colder) < season_day(47.0, 118.0) - 4


def test_what_is_known_of_others_stays_to_the_byte() -> None:
    alone = garden(variety("B"), peers=EVEN)
    beside = garden(variety("A", None), variety("B"), peers=EVEN, runs=[run(118.0, 6.0)])
    assert beside.dated.tolist() == [False, True]
    for name in ("start_h", "full_h", "end_h"):
        assert getattr(alone, name)[0].tobytes() == getattr(beside, name)[1].tobytes()


def test_undated_varieties_err_independently_and_their_clones_together() -> None:
    bloom = garden(
        variety("A", None), variety("B", None), variety("Red A", None, clone="A"), peers=EVEN
    )
    offset = bloom.full_h.mean(axis=2)
    assert np.array_equal(bloom.full_h[0], bloom.full_h[2])
    apart = (offset[0] - offset[1]) / 24
    assert apart.std() == pytest.approx(np.sqrt(2) * 6.7, rel=0.15)


def test_a_length_that_is_known_is_kept() -> None:
    plain, short = (
        garden(variety("A", None, length=length), peers=EVEN, timing=NO_ERRORS)
        for length in (None, 6.0)
    )
    assert (short.end_h - short.start_h).mean() / 24 == pytest.approx(6.0, rel=0.1)
    assert (plain.end_h - plain.start_h).mean() > (short.end_h - short.start_h).mean()


def test_nine_own_dates_place_it_near_what_was_noted() -> None:
    name = VarietyId(FRUIT, "A")
    before = garden(variety("A", None), peers=EVEN)
    rng = np.random.default_rng(3)
    # Nine springs: thirteen days after the run's own dates there, each a day or two off.
    noted = [
        BloomRecord(name, 2003 + spring, "full",
                    float(before.full_h[0, :, 2 + spring].mean() / 24 - 79 + rng.normal(0, 1.5)))
        for spring in range(9)
    ]  # fmt: skip
    after = garden(variety("A", None), peers=EVEN, records=noted)
    assert usual(after) - usual(before) == pytest.approx(13, abs=1.5)
    # Nine notes of SD 1.5 and springs of own SD 2: the mean is known to about 0.8 days, the
    # springs' shared errors of 3.7 days add 1.2.
    assert position_sd(after) < 2.0 < 7 < position_sd(before)
    assert (before.dated.tolist(), after.dated.tolist()) == ([False], [True])


def test_catkins_without_dates_shed_in_their_own_run() -> None:
    nut = variety("A", 60.0, fruit="hazelnut", place="here")
    runs = [run(55.0, 5.0), run(30.0, 5.0, sheds=True)]
    bloom = garden(nut, variety("B", None, fruit="hazelnut"), runs=runs, timing=NO_ERRORS)
    assert bloom.shed_start_h is not None and bloom.shed_end_h is not None
    assert bloom.shed_dated is not None
    middle = ((bloom.shed_start_h + bloom.shed_end_h) / 2).mean(axis=(1, 2)) / 24
    assert middle == pytest.approx([season_day(47.0, 30.0)] * 2, abs=4)
    assert usual(bloom, 1) == pytest.approx(season_day(47.0, 55.0) + 0.5, abs=1)
    assert (bloom.dated.tolist(), bloom.shed_dated.tolist()) == ([True, False], [False, False])


def test_typed_dates_and_those_of_the_catalogue_are_its_own() -> None:
    typed = variety("A", None, typed=TypedBloom(((98, 108),), 0.0))
    assert garden(typed, variety("B"), variety("C", None), peers=EVEN).dated.tolist() == [
        True, True, False,
    ]  # fmt: skip


def test_what_stands_in_a_run_is_not_the_growers_typing() -> None:
    typed = [replace(peer, typed_bloom=TypedBloom(((1, 9),), 0.0), bloom=()) for peer in EVEN]
    bloom = garden(variety("A", None), peers=typed)
    assert np.isnan(bloom.full_h).all()
