"""Chill and bloom at full size; run with `pytest tests/benchmarks --benchmark-enable`."""

from __future__ import annotations

import time
import tracemalloc
import warnings
from collections.abc import Callable

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from ratios import Ratio

from pollinet.domain import (
    BloomEvidence,
    DailyWeather,
    Fertility,
    FloatArray,
    Normals,
    Variety,
    VarietyId,
)
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.chill import chill_portions
from pollinet.phenology.sums import SeasonSums, season_sums
from pollinet.readers.timing import load_timing
from pollinet.weather.generated import generate_daily
from pollinet.weather.winters import split_winters

FRUIT = "apple"
NORMALS = Normals(
    (-1.0, 0, 2, 5, 9, 12, 14, 14, 10, 7, 3, 0), (5.0, 7, 12, 16, 20, 24, 26, 26, 21, 15, 9, 6)
)


def best_time_s(run: Callable[[], object], rounds: int = 3) -> float:
    """Shortest of a few runs."""
    times = []
    for _ in range(rounds):
        begin = time.perf_counter()
        run()
        times.append(time.perf_counter() - begin)
    return min(times)


def daily(winters: int) -> DailyWeather:
    return generate_daily(NORMALS, first_harvest_year=2001, winters=winters, latitude=47.0, seed=1)


def sums_of(weather: DailyWeather) -> SeasonSums:
    """The whole step from daily weather: hourly course, chill and heat."""
    return season_sums(split_winters(weather, 47.0)[0])


@pytest.mark.filterwarnings("ignore")
def test_portions_of_thirty_winters_against_xclim(
    benchmark: BenchmarkFixture, tell: Callable[..., Ratio]
) -> None:
    if benchmark.disabled:
        pytest.skip("speed is compared only in a benchmark run")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pandas as pd
        import xarray as xr
        from xclim import indices
    hours = pd.date_range("1970-10-01", "2000-09-30 23:00", freq="h")
    rng = np.random.default_rng(1)
    t = np.arange(len(hours))
    values: FloatArray = (
        10 - 10 * np.cos(2 * np.pi * (t / 24 + 258) / 365.25) + rng.normal(0, 3, len(hours))
    )
    series = xr.DataArray(values, dims="time", coords={"time": hours}, attrs={"units": "degC"})
    seasons = values[: 30 * 8760].reshape(30, 8760)

    def theirs() -> object:
        return indices.chill_portions(series, freq="YS-OCT").load()

    theirs()  # numba compiles on the first call
    ours_s = best_time_s(lambda: chill_portions(seasons))
    tell("xclim's / our chill portions of 30 winters", best_time_s(theirs) / ours_s, aim="≥ 50")
    benchmark(chill_portions, seasons)


def test_bloom_of_a_thousand_varieties_against_chill_and_heat(
    benchmark: BenchmarkFixture, tell: Callable[..., Ratio]
) -> None:
    if benchmark.disabled:
        pytest.skip("speed is compared only in a benchmark run")
    weather = daily(50)
    here, site = sums_of(weather), sums_of(daily(20))
    names = [VarietyId(FRUIT, f"variety {number}") for number in range(1000)]
    varieties = [
        Variety(
            name,
            Fertility(name, name.name),
            (BloomEvidence("full", 110.0 + number % 25, 3.0, "site", "date", "made up"),),
        )
        for number, name in enumerate(names)
    ]
    timing = load_timing([FRUIT])

    def bloom() -> object:
        return bloom_ensemble(
            varieties, here, {"site": site}, timing, draws=32, latitude=47.0, seed=1
        )

    ratio = best_time_s(bloom) / best_time_s(lambda: sums_of(weather))
    # Chill is added up by compiled code where numba is there, five times as fast as before.
    tell("bloom of 1,000 varieties / chill and heat of 50 winters", ratio)
    tracemalloc.start()
    bloom()
    peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    benchmark.extra_info["peak MB"] = round(peak_mb)
    benchmark(bloom)
    assert peak_mb < 1000
