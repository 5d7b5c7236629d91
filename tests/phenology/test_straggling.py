"""Bloom drags on after too little chill, and is never counted for more."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from gardens import studied
from hypothesis import given, settings
from hypothesis import strategies as st
from seasons import FRUIT, TIMING, sums, variety

from pollinet.domain import Bloom, TypedBloom, Variety
from pollinet.phenology.bloom import bloom_ensemble
from pollinet.phenology.straggling import bulk, with_stragglers

Run = Callable[..., Any]
PLAN = [variety("A"), variety("B"), variety("Red A", clone="A")]


def plain(*varieties: Variety) -> Bloom:
    return bloom_ensemble(
        varieties, sums(), {"trial": sums(-1.0)}, {FRUIT: TIMING}, draws=8, latitude=47.0, seed=1
    )


BLOOM = plain(*PLAN)


def dragged(quality: np.ndarray) -> Bloom:
    return with_stragglers(BLOOM, PLAN, quality, seed=1)


@given(st.floats(0, 1), st.floats(0, 1))
@settings(max_examples=20)
def test_less_chill_never_shortens_bloom(one: float, other: float) -> None:
    less, more = (
        dragged(np.full(BLOOM.end_h.shape, quality)).end_h for quality in sorted((one, other))
    )
    assert (less >= more).all()
    assert (more >= BLOOM.end_h).all()


def test_chill_enough_or_unknown_changes_nothing() -> None:
    assert dragged(np.ones(BLOOM.end_h.shape)) is BLOOM


def test_only_winters_that_fall_short_drag_on() -> None:
    quality = np.ones(BLOOM.end_h.shape)
    quality[0, 3, 5] = 0.5
    found = dragged(quality)
    longer = np.argwhere(found.end_h > BLOOM.end_h)
    assert longer.tolist() == [[0, 3, 5]]
    assert (found.start_h == BLOOM.start_h).all()
    assert (found.full_h == BLOOM.full_h).all()


def test_how_long_is_told_widely() -> None:
    quality = np.full(BLOOM.end_h.shape, 0.5)
    tail, was = (b.end_h - b.full_h for b in (dragged(quality), BLOOM))
    share = np.sort((tail / was - 1)[1, :, 0])
    assert np.median(share) == pytest.approx(0.5, rel=0.2)
    assert share[-1] / share[0] > 4


def test_clones_drag_on_alike() -> None:
    found = dragged(np.full(BLOOM.end_h.shape, 0.6))
    np.testing.assert_array_equal(found.end_h[0], found.end_h[2])


def test_typed_dates_stay_as_they_were_typed() -> None:
    plan = [variety("A", typed=TypedBloom(((98, 108),), 0.0))]
    bloom = plain(*plan)
    assert with_stragglers(bloom, plan, np.zeros(bloom.end_h.shape), seed=1) is bloom


def test_stragglers_are_not_counted_on() -> None:
    found = dragged(np.full(BLOOM.end_h.shape, 0.6))
    np.testing.assert_array_equal(bulk(found).end_h, BLOOM.end_h)


def test_a_garden_short_of_chill_shows_longer_bloom_and_counts_its_bulk(
    tmp_path: Path, pollinet: Run
) -> None:
    """Sam needs 70 portions (Erez 2000, in UC Davis, table 1); Murcia, Torre Pacheco, gives about
    45 (Drogoudi et al. 2023, Plants 12:584). The monthly means are of such a coast, made up."""
    path = tmp_path / "plan.toml"
    path.write_text(
        """
[site]
latitude = 37.8
[site.normals]
tmin_c = [5, 6, 7, 9, 12, 16, 19, 20, 17, 13, 9, 6]
tmax_c = [16, 17, 19, 21, 24, 28, 31, 32, 29, 24, 20, 17]
[[tree]]
id = "t"
species = "sweet cherry"
[[tree.limb]]
id = "x"
variety = "Sam"
""",
        encoding="utf-8",
    )
    study = studied(path)
    network, bloom = study.network, study.bloom
    short = network.chill_quality[0] < 1
    assert short.mean() > 0.5
    longer = (bloom.end_h - bulk(bloom).end_h)[0].ravel()
    np.testing.assert_array_equal(longer > 0, short & np.isfinite(bloom.end_h[0].ravel()))
    np.testing.assert_array_equal(network.open_end_h[0], bulk(bloom).end_h[0].ravel())
    np.testing.assert_array_equal(network.shed_end_h, network.open_end_h)
    for words in (("check",), ("chill",), ("suits", "Sam")):
        assert "drags on" in " ".join(pollinet(words[0], path, *words[1:]).out.split())
