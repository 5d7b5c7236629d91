from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from seasons import sums, variety

from pollinet.domain import ChillRange, ChillRequirement, Fact, Variety
from pollinet.phenology.adequacy import (
    assumed_range,
    chill_quality,
    is_chill_known,
    lacks_chill,
    methods_disagree,
    pooled_requirement,
    quality_of,
    requirement_of,
)

RANGES = (ChillRange("", 90.0, 10.0, 20, "test"), ChillRange("low", 20.0, 5.0, 3, "test"))


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


def study(source: str, portions: float, method: str, sd: float = 5.0) -> ChillRequirement:
    return ChillRequirement(portions, sd, source, method=method)


def test_studies_of_one_method_are_never_mixed_with_those_of_another() -> None:
    forced = [study(name, portions, "forced") for name, portions in
              (("A", 41), ("B", 48), ("C", 86))]  # fmt: skip
    fitted, listed = study("D", 49, "fitted"), study("E", 51, "")
    middle, sd = pooled_requirement([*forced, fitted, listed])
    assert middle == 48
    # By hand: 25 within, (49 + 0 + 1444) / 2 between.
    assert sd == pytest.approx(np.sqrt(25 + (7**2 + 38**2) / 2))
    # One that lies two portions away widens it by as much, and leaves the middle where it is.
    assert pooled_requirement([fitted, listed]) == (49, pytest.approx(np.sqrt(25 + 2**2)))
    assert pooled_requirement([listed]) == (51, 5)


def test_other_methods_that_lie_far_off_widen_the_spread_and_no_others() -> None:
    ranges = (ChillRange("", 50.0, 12.0, 20, "test", sd_studies=10.0),)
    one, near, far = study("A", 50, "forced"), study("B", 52, "fitted"), study("C", 10, "fitted")
    alone, beside, apart = (
        variety(name, chill=chill)
        for name, chill in (("A", (one,)), ("B", (one, near)), ("C", (one, near, far)))
    )
    # Two usual studies, each a fifth of 50 away: 10 between studies, 5 within.
    assert requirement_of(alone, ranges) == (50, pytest.approx(np.sqrt(100 + 25)))
    assert requirement_of(beside, ranges) == requirement_of(alone, ranges)
    # With 2 and 40 portions away besides them, over four degrees of freedom.
    spread = np.sqrt((2 * 100 + 2**2 + 40**2) / 4 + 25)
    assert requirement_of(apart, ranges) == (50, pytest.approx(spread))
    assert [methods_disagree(each, ranges) for each in (alone, beside, apart)] == [
        False, False, True,
    ]  # fmt: skip
    typed = replace(apart, chill=(*apart.chill, ChillRequirement(25, 0.0, "plan", "plan")))
    assert not methods_disagree(replace(typed, chill=typed.chill[-1:]), ranges)


def test_a_disputed_need_is_judged_by_the_least_that_it_may_be() -> None:
    """Eleven draws of five winters: two of least need are served in all, the others in three."""
    quality = np.array([[1.0] * 5] * 2 + [[0.2, 0.2, 0.6, 1.0, 1.0]] * 9).ravel()
    asked = {"winters": 5, "level": 0.8, "least_quality": 0.5}
    assert lacks_chill(quality, **asked, disputed=False) is True
    assert lacks_chill(quality, **asked, disputed=True) is None
    # One such draw in eleven is as few as may be left out.
    one = np.concatenate([quality[5:], quality[-5:]])
    assert lacks_chill(one, **asked, disputed=True) is True
    assert lacks_chill(np.full(55, 0.6), **asked, disputed=False) is False


def test_one_study_is_as_unsure_as_studies_of_the_fruit_usually_are() -> None:
    ranges = (ChillRange("", 50.0, 12.0, 20, "test", sd_studies=10.0),)
    one = variety("A", chill=(study("A", 25, "forced"),))
    middle, sd = requirement_of(one, ranges) or (0, 0)
    # A fifth of the requirement, as of the fruit's own: 5 between studies and 5 within.
    assert (middle, sd) == (25, pytest.approx(np.sqrt(25 + 25)))
    typed = variety("A", chill=(ChillRequirement(25, 0.0, "plan", "plan"),))
    assert requirement_of(typed, ranges) == (25, 0)


def called(name: str, chill_class: str) -> Variety:
    return replace(variety(name), facts=(Fact("chill_class", chill_class),))


def test_what_nobody_published_is_drawn_from_the_range_of_the_fruit_or_its_class() -> None:
    plan = [variety("A"), called("B", "low"), called("C", "high"), variety("D", chill=needs(30))]
    asked = [requirement_of(one, RANGES) for one in plan]
    assert asked == [(90.0, 10.0), (20.0, 5.0), (90.0, 10.0), (30.0, 5.0)]
    assert [assumed_range(one, RANGES) for one in plan] == [RANGES[0], RANGES[1], RANGES[0], None]
    assert is_chill_known(plan).tolist() == [False, False, False, True]
    mild = sums(8.0)
    quality = chill_quality(plan, mild, draws=64, seed=1, ranges=RANGES)
    got = mild.portions[:, 182]
    assert (quality[1] == 1).all()
    # The mean of the curve over the requirement's normal distribution, by numbers.
    z = (np.arange(4000) + 0.5) / 4000
    drawn = np.array([NormalDist(90, 10).inv_cdf(p) for p in z])
    wanted = quality_of(got / drawn[:, None]).mean()
    assert quality[0].mean() == pytest.approx(wanted, abs=0.02)
    assert 0.1 < quality[0].mean() < 0.9


def test_a_range_leaves_published_requirements_as_they_are_to_the_byte() -> None:
    plan = [variety("A", chill=needs(110))]
    with_range, without = (
        chill_quality(plan, sums(), draws=16, seed=1, ranges=ranges) for ranges in (RANGES, ())
    )
    assert with_range.tobytes() == without.tobytes()
