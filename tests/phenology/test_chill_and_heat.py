from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pollinet.domain import FloatArray
from pollinet.errors import ShapeError
from pollinet.phenology.chill import (
    chill_hours,
    chill_portions,
    positive_utah_units,
    utah_units,
)
from pollinet.phenology.heat import (
    growing_degree_hours,
)

MODELS: dict[str, Callable[[FloatArray], FloatArray]] = {
    "chill portions": chill_portions,
    "Utah units": utah_units,
    "positive Utah units": positive_utah_units,
    "hours below 7.2": chill_hours,
    "hours 0 to 7.2": lambda hourly: chill_hours(hourly, above_c=0.0),
    "linear GDH": growing_degree_hours,
}

# Values with their sources: xclim 0.62, published worked examples, or calculated from the forms.
TABLE = Path(__file__).parent.parent / "literature" / "chill_and_heat.csv"
with TABLE.open(newline="", encoding="utf-8") as file:
    ROWS = list(csv.DictReader(file))


def hourly(series: str) -> FloatArray:
    """Hourly temperatures from the words of the table."""
    kind, *words = series.split()
    if kind == "ramp":
        return np.linspace(float(words[0]), float(words[1]), int(words[2]))
    if kind == "constant":
        return np.full(int(words[1]), float(words[0]))
    if kind == "wave":
        mean, daily, yearly = map(float, words)
        t = np.arange(3600)
        return mean + daily * np.sin(2 * np.pi * (t - 9) / 24) - yearly * np.sin(np.pi * t / 3600)
    pieces = [piece.split("x") for piece in words[0].split("+")]
    cycle = np.concatenate([np.full(int(hours), float(value)) for value, hours in pieces])
    return np.tile(cycle, int(words[1]))


@pytest.mark.parametrize("row", ROWS, ids=[f"{r['id']} {r['model']} {r['series']}" for r in ROWS])
def test_value_of_the_literature(row: dict[str, str]) -> None:
    total = MODELS[row["model"]](hourly(row["series"]))[-1]
    assert total == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]), rel=0)


def test_best_constant_temperature_for_chill_is_near_seven_degrees() -> None:
    # Efficiency rises from 0 to 8 °C (Erez & Couvillon 1987, JASHS 112:677-680, abstract).
    constant = np.arange(0, 13.1, 0.5)
    portions = chill_portions(np.repeat(constant[:, None], 5000, axis=1))[:, -1]
    assert 6 <= constant[portions.argmax()] <= 8
    assert (np.diff(portions[constant <= 6]) > 0).all()


def test_daily_warmth_undoes_chill_and_rare_warmth_does_not() -> None:
    # Erez, Couvillon & Hendershott 1979 (JASHS 104:573-576): one-day cycles with 24 °C gave no
    # budbreak; cycles of six and nine days were similar to continuous chilling.
    continuous = chill_portions(np.full(1008, 5.0))[-1]
    daily = chill_portions(hourly("cycle 5x16+24x8 63"))[-1]
    rare = chill_portions(hourly("cycle 5x144+24x72 7"))[-1]
    assert daily < 0.05 * continuous
    assert rare > 0.8 * continuous


def test_moderate_warmth_makes_frosty_nights_count() -> None:
    # Erez & Couvillon 1987, abstract: 0 °C cycled with 15 °C is about as good as 6 °C.
    frosty = chill_portions(np.full(1008, 0.0))[-1]
    cycled = chill_portions(hourly("cycle 0x16+15x8 42"))[-1]
    assert cycled > 4 * frosty


def test_a_warm_day_cancels_chill_of_the_same_day_only() -> None:
    # HORTGRO climate app text on the daily positive chill unit; totals: xclim 0.62 test suite.
    day = [1.1] * 10 + [2.0] * 15 + [5.6] * 20 + [16.0] * 10 + [20.0] * 5
    padded = np.array(day + [14.0] * (-len(day) % 24))
    assert positive_utah_units(padded)[-1] == 26.0
    with pytest.raises(ShapeError):
        positive_utah_units(np.zeros(25))


@given(
    st.integers(0, 2**32 - 1), st.floats(-5, 15, allow_nan=False), st.floats(0, 8, allow_nan=False)
)
def test_portions_never_fall_and_rows_do_not_mix(seed: int, mean: float, spread: float) -> None:
    temperature = np.random.default_rng(seed).normal(mean, spread, (3, 240))
    together = chill_portions(temperature)
    assert (np.diff(together, axis=-1) >= 0).all()
    for row in range(3):
        assert np.array_equal(together[row], chill_portions(temperature[row]))


def test_missing_hour_makes_all_after_it_unknown() -> None:
    temperature = np.full(100, 6.0)
    temperature[50] = np.nan
    portions = chill_portions(temperature)
    assert np.isfinite(portions[:50]).all()
    assert np.isnan(portions[50:]).all()
