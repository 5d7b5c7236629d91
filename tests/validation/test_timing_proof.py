"""The fit and its proof on real series, where these are at hand; the committed figures always."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from fit_timing import fit, fit_all
from prove_timing import (
    ALWAYS,
    BRIER,
    CLIMATOLOGY,
    EVERYWHERE,
    INTERVAL,
    NOT_NOTED,
    OVERLAP,
    OVERLAP_NOT_NOTED,
    OVERLAP_NOTED,
    OVERLAP_PLACE,
    OVERLAP_SPRING,
    PLAIN_OVERLAP,
    RIGHT,
    RMSE,
    SITE_MEAN,
    TWO_SPRINGS,
    UNSEEN,
    UNSEEN_INTERVAL,
    UNSEEN_MEAN,
    Proof,
    Result,
)
from series import CHERRY, Series, read_series

from pollinet.readers.timing import load_timing

HERE = Path(__file__).parent


def committed() -> list[Result]:
    """Rows of results.csv."""
    with (HERE / "results.csv").open(newline="", encoding="utf-8") as file:
        return [
            Result(r["fruit"], r["what"], r["where"], int(r["cases"]), float(r["value"]), r["unit"])
            for r in csv.DictReader(file)
        ]


def figures(what: str, fruit: str = CHERRY) -> dict[str, float]:
    """Value by place."""
    return {r.where: r.value for r in committed() if r.what == what and r.fruit == fruit}


@pytest.fixture(scope="module")
def series(reference_weather: Path) -> dict[str, Series]:
    return read_series(reference_weather, [CHERRY, "apple", "pear"])


MISSED = {OVERLAP: 4.6, OVERLAP_NOTED: 4.0}
"""Targets that are missed, with a bound a little beyond what was measured: not to grow."""


def test_places_left_out_are_foretold_better_than_by_their_own_mean_date() -> None:
    told, mean = figures(RMSE), figures(SITE_MEAN)
    assert told[EVERYWHERE] <= 4.8
    places = set(told) - {EVERYWHERE}
    assert len(places) >= 13
    assert sum(told[place] < mean[place] for place in places) >= 2 / 3 * len(places)


def test_two_springs_of_notes_do_no_harm() -> None:
    after = figures(TWO_SPRINGS)[EVERYWHERE]
    assert after <= figures(NOT_NOTED)[EVERYWHERE]
    assert after <= 4.2


def test_intervals_hold_what_they_state() -> None:
    assert 75 <= figures(INTERVAL)[EVERYWHERE] <= 85


def test_shared_days_and_their_chance() -> None:
    """Target: 3.5 days.

    It cannot be reached before a spring is seen: with the usual length of bloom at each place put
    right 4.0 are left, and only with that of each spring are there fewer than 3.5.
    """
    assert 3.5 < figures(OVERLAP)[EVERYWHERE] <= MISSED[OVERLAP]
    assert figures(OVERLAP_SPRING)[EVERYWHERE] < 3.5 < figures(OVERLAP_PLACE)[EVERYWHERE]
    noted = figures(OVERLAP_NOTED)[EVERYWHERE]
    assert 3.5 < noted <= MISSED[OVERLAP_NOTED] < figures(OVERLAP_NOT_NOTED)[EVERYWHERE]
    assert figures(OVERLAP)[EVERYWHERE] < figures(PLAIN_OVERLAP)[EVERYWHERE]
    assert figures(BRIER)[EVERYWHERE] < figures(CLIMATOLOGY)[EVERYWHERE]


def test_decisions_are_no_worse_than_always_saying_yes() -> None:
    """In these gardens 97 of 100 limbs are covered, whatever is told."""
    assert figures(RIGHT)[EVERYWHERE] >= figures(ALWAYS)[EVERYWHERE]


def test_stated_chances_come_true() -> None:
    """Calibration, over the bins with cases enough to tell (Brier, G. W. 1950)."""
    with (HERE / "reliability.csv").open(newline="", encoding="utf-8") as file:
        rows = [{key: float(value) for key, value in row.items()} for row in csv.DictReader(file)]
    for row in rows:
        if row["cases"] >= 200:
            assert row["from"] - 0.05 <= row["happened"] <= row["to"] + 0.05, row


def test_other_fruits_beat_the_varieties_own_mean_date_in_unseen_years() -> None:
    fruits = {r.fruit for r in committed()} - {CHERRY}
    assert len(fruits) >= 8
    for fruit in fruits:
        told, plain = figures(UNSEEN, fruit), figures(UNSEEN_MEAN, fruit)
        for place, value in told.items():
            assert value <= 1.05 * plain[place], (fruit, place)


def test_intervals_of_fruits_with_few_seasons_hold_what_they_state() -> None:
    """Wider bounds than for cherries: four or five seasons of one place are told by as many."""
    for fruit in ("European plum", "Japanese plum"):
        for place, share in figures(UNSEEN_INTERVAL, fruit).items():
            assert 70 <= share <= 90, (fruit, place)


def test_committed_figures_are_the_measured_ones(series: dict[str, Series]) -> None:
    proof = Proof()
    proof.left_out(series[CHERRY], "East Malling")
    kept = {(r.what, r.where): r for r in committed() if r.fruit == CHERRY}
    assert proof.results
    for found in proof.results:
        own = kept[found.what, found.where]
        assert own.cases == found.cases
        assert own.value == pytest.approx(found.value, abs=2.0 if found.unit == "%" else 0.3)


def test_shipped_tables_are_the_fit_of_all_years(series: dict[str, Series]) -> None:
    fitted = fit_all(series, series)
    for fruit, own in load_timing(fitted).items():
        theirs = fitted[fruit]
        assert {(r.forcing_day, r.k): r.weight for r in own.rules} == pytest.approx(
            {(r.forcing_day, r.k): r.weight for r in theirs.rules}, abs=0.01
        )
        for name in (
            *("site_sd_days", "season_sd_days", "carried_sd_days", "own_sd_days"),
            *("lead_days", "tail_days", "length_log_sd"),
            *("length_site_log_sd", "length_season_log_sd"),
        ):
            assert getattr(own, name) == pytest.approx(getattr(theirs, name), abs=0.02), name


def test_a_rule_that_made_the_dates_is_found_again(series: dict[str, Series]) -> None:
    """Outside check of the fit: dates made by a known rule, without errors, give that rule."""
    from pollinet.phenology.timing import bloom_days, progress

    sums = {place: series[CHERRY].sums[place] for place in ("Jork", "Etoile", "Zaragoza")}
    made = {}
    for place, own in sums.items():
        days = bloom_days(progress(own, 123.0, 0.008), np.array([7.6, 7.9, 8.1]))
        for name, row in zip("ABC", days, strict=True):
            for year, day in zip(own.harvest_years, row, strict=True):
                made[place, name, year] = np.array([np.nan, day, np.nan])
    found = fit(Series(made, sums))
    assert [(r.forcing_day, r.k) for r in found.rules] == [(123.0, 0.008)]
    assert found.season_sd_days < 0.2
