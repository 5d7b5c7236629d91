from __future__ import annotations

import numpy as np
import pytest
from seasons import FRUIT, TIMING, sums, variety, winters

from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.frost import frost_nights
from pollinet.readers.frost import load_frost_limits


def test_limits_of_full_bloom() -> None:
    # Penn State Extension, "Orchard Frost" (after WSU EB0913 and EB0978): 28 and 25 °F for apple,
    # 28 and 24 °F for pear.
    limits = load_frost_limits()
    for fruit, fahrenheit in (("apple", (28, 25)), ("pear", (28, 24))):
        assert limits[fruit]["full"] == pytest.approx(
            [(f - 32) / 1.8 for f in fahrenheit], abs=0.05
        )


def test_nights_against_a_plain_loop() -> None:
    early = variety("A", 80.0, place="here")
    bloom = bloom_ensemble(
        [early, variety("B", None), variety("C", fruit="medlar", place="here")],
        sums(),
        {},
        {FRUIT: TIMING, "medlar": TIMING},
        draws=3,
        latitude=47.0,
        seed=1,
    )
    limits = load_frost_limits()
    nights = frost_nights(bloom, winters(), limits)
    found = 0
    for k, w in np.ndindex(3, 20):
        start, full, end = (
            int(h[1, k, w] // 24) for h in (bloom.start_h, bloom.full_h, bloom.end_h)
        )
        count = 0
        for day in range(start, end):
            limit = limits[FRUIT]["start" if day < full else "full"][0]
            night = winters().temperature_c[w, 24 * day - 12 : 24 * day + 12]
            count += bool(night.min() <= limit)
        assert nights.kill_10[1, k, w] == count
        assert nights.kill_90[1, k, w] <= count
        found += count
    assert found > 0
    assert np.isnan(nights.kill_10[0]).all()  # no limits for medlars
    assert np.isnan(nights.kill_10[2]).all()  # no bloom
    assert nights.shares(0) is None is nights.shares(2)
    some, most = nights.shares(1) or (np.nan, np.nan)
    assert some == pytest.approx((nights.kill_10[1] >= 1).mean()) and 0 <= most <= some <= 1
