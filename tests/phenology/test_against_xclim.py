"""Chill against xclim (Apache-2.0), an independent climate library; imported here alone: slow."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from pollinet.domain import FloatArray
from pollinet.phenology.chill import chill_portions, positive_utah_units, utah_units
from pollinet.weather.hourly import day_length_h, solar_declination

pytestmark = pytest.mark.filterwarnings("ignore")


def winter(seed: int) -> FloatArray:
    """150 days of hourly weather with frost, mild spells and a daily course."""
    rng = np.random.default_rng(seed)
    spell = np.repeat(rng.normal(5, 5, 30), 120)
    t = np.arange(3600)
    return spell + rng.uniform(2, 7) * np.sin(2 * np.pi * (t - 9) / 24) + rng.normal(0, 1, 3600)


@pytest.fixture(scope="module")
def xclim_sums() -> dict[str, list[float]]:
    """Totals of xclim for five winters."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pandas as pd
        import xarray as xr
        from xclim import indices
    totals: dict[str, list[float]] = {"portions": [], "utah": [], "positive": []}
    for seed in range(5):
        series = xr.DataArray(
            winter(seed),
            dims="time",
            coords={"time": pd.date_range("2001-01-01", periods=3600, freq="h")},
            attrs={"units": "degC"},
        )
        totals["portions"].append(float(indices.chill_portions(series, freq="YS").values[0]))
        totals["utah"].append(float(indices.chill_units(series, freq="YS").values[0]))
        positive = indices.chill_units(series, positive_only=True, freq="YS")
        totals["positive"].append(float(positive.values[0]))
    return totals


def test_chill_totals(xclim_sums: dict[str, list[float]]) -> None:
    ours = np.array([winter(seed) for seed in range(5)])
    assert chill_portions(ours)[:, -1] == pytest.approx(xclim_sums["portions"], abs=1e-6)
    assert utah_units(ours)[:, -1] == pytest.approx(xclim_sums["utah"], abs=1e-9)
    assert positive_utah_units(ours)[:, -1] == pytest.approx(xclim_sums["positive"], abs=1e-9)


def test_day_length_and_declination() -> None:
    from xclim.indices import helpers

    days = np.array([1.0, 79, 105, 172, 355])
    # Values of xclim 0.62 for 2021 and of pvlib 0.16.1, in the tables of the literature.
    assert np.degrees(solar_declination(days[[0, 2, 3, 4]])) == pytest.approx(
        [-23.0586, 9.4808, 23.4520, -23.4199], abs=1e-3
    )
    assert hasattr(helpers, "day_lengths")
    assert day_length_h(45, days, 0.0) == pytest.approx(
        [8.6408, 11.9385, 13.2818, 15.4280, 8.5776], abs=1e-3
    )
