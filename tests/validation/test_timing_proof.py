"""The fit and its proof on real series, where these are at hand; the committed figures always."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from cherry_series import Series, read_series
from fit_timing import fit
from prove_timing import Result, halves

from pollinet.readers.timing import load_timing

HERE = Path(__file__).parent
# Targets of the design, for the fit on even years. Where the measured figure misses one, the
# figure stands in `MISSED` and is not allowed to grow.
SAME_SITE, CARRIED, OVERLAP, INTERVAL = 5.0, 5.5, 3.5, (70.0, 90.0)
MISSED = {"Balandran": 5.25}


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


def check_targets(results: list[Result]) -> None:
    """What the design asks of the fit on even years, tested on odd ones."""
    usual = figures(results, "median RMSE, usual date")
    for site, (rmse, _) in figures(results, "median RMSE, same site").items():
        assert rmse < MISSED.get(site, SAME_SITE), site
        assert rmse < usual[site][0], site
    carried = figures(results, "median RMSE, carried")["all"][0]
    assert carried < CARRIED
    assert figures(results, "median RMSE, carried with two own dates")["all"][0] < carried
    assert INTERVAL[0] <= figures(results, "in the 80 % interval, carried")["all"][0] <= INTERVAL[1]
    pairs = figures(results, "overlap in the 80 % interval, carried")["all"][0]
    assert INTERVAL[0] <= pairs <= INTERVAL[1]
    same = figures(results, "in the 80 % interval, same site").values()
    pooled = sum(value * cases for value, cases in same) / sum(cases for _, cases in same)
    assert INTERVAL[0] <= pooled <= INTERVAL[1]
    plain = figures(results, "overlap RMSE, of usual intervals")
    for site, (rmse, _) in figures(results, "overlap RMSE, foretold").items():
        assert rmse < OVERLAP, site
        assert rmse < plain[site][0], site


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
