from __future__ import annotations

import numpy as np
import pytest
from seasons import sums, variety

from pollinet.domain import ChillRequirement
from pollinet.phenology.adequacy import (
    chill_quality,
    is_chill_known,
    pooled_requirement,
    quality_of,
)


def needs(portions: float, sd: float = 5.0) -> tuple[ChillRequirement, ...]:
    return (ChillRequirement(portions, sd, "test"),)


def test_curve_leaves_room_for_requirements_stated_too_high() -> None:
    # Pope et al. 2015, Int. J. Biometeorol. 59:707-715: usual yields of walnut and pistachio at
    # requirements 19 and 32 % too high, that is at 84 and 76 % of them.
    assert (quality_of(np.array([0.76, 0.84])) > 0.5).all()
    assert quality_of(np.array([0.2, 0.4, 0.7, 1.0, 1.4])).tolist() == pytest.approx(
        [0, 0, 0.5, 1, 1]
    )


def test_met_unmet_and_unknown() -> None:
    plan = [
        variety("A", chill=needs(30)),
        variety("B", chill=needs(160)),
        variety("C"),
    ]
    quality = chill_quality(plan, sums(), draws=16, seed=1)
    assert quality.shape == (3, 16, 20)
    assert (quality[0] == 1).all()
    assert (quality[1] < 0.9).all()
    assert (quality[2] == 1).all()
    assert is_chill_known(plan).tolist() == [True, True, False]


def test_clones_share_draws() -> None:
    plan = [variety("A", chill=needs(110)), variety("Red A", clone="A", chill=needs(110))]
    quality = chill_quality(plan, sums(), draws=16, seed=1)
    assert np.array_equal(quality[0], quality[1])
    assert quality.std() > 0


def test_quality_does_not_depend_on_the_clones_beside_it() -> None:
    plan = [variety("A", chill=needs(110)), variety("Red A", clone="A", chill=needs(90))]
    both = chill_quality(plan, sums(), draws=16, seed=1)
    for row, own in enumerate(plan):
        assert np.array_equal(both[row], chill_quality([own], sums(), draws=16, seed=1)[0])


def test_milder_winters_never_serve_better() -> None:
    plan = [variety("A", chill=needs(90))]
    cold, mild = (chill_quality(plan, sums(up), draws=16, seed=1) for up in (0.0, 5.0))
    assert mild.mean() < cold.mean()


def test_studies_that_disagree_widen_the_spread() -> None:
    mean, sd = pooled_requirement(needs(40, 3.0) + needs(60, 4.0))
    assert mean == 50
    assert sd == pytest.approx(np.sqrt((9 + 16) / 2 + 100))
