"""What a limb lacks in the winters without a donor: worked out by hand, scenario by scenario."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from network_gardens import garden, node

from pollinet.advice.pollinizer import jars
from pollinet.domain import NetworkInput
from pollinet.network.coverage import limb_coverage
from pollinet.network.shortage import ChillLack, chill_lack, pollen_helps

SAME, LATE = (100.0, 110.0), (120.0, 130.0)


def ten_winters(
    days: Sequence[tuple[float, float]], limb_chilled: int, donor_chilled: int, *, own: bool = False
) -> NetworkInput:
    """Limb A and limb B, its donor, in ten winters; chill suffices in so many of the last ones.

    days : bloom of B in each; A always blooms as in `SAME`. own : A sets by its own pollen.
    """
    quality = np.array([
        [float(winter >= 10 - enough) for winter in range(10)]
        for enough in (limb_chilled, donor_chilled)
    ])  # fmt: skip
    answers = {("B", "A"): "yes"} | ({("A", "A"): "yes"} if own else {})
    bloom = {"A": [SAME] * 10, "B": list(days)}
    return garden([node("A"), node("B", must_crop=False)], bloom, answers, quality=quality)


def lack(network: NetworkInput) -> ChillLack | None:
    (row,) = limb_coverage(network, only=[0])
    return chill_lack(network, row)


def test_own_pollen_fails_for_want_of_chill_alone() -> None:
    network = ten_winters([LATE] * 10, 7, 10, own=True)
    assert lack(network) == ChillLack("own", besides=False, mendable=False)
    assert not pollen_helps(network, limb_coverage(network)[0])


def test_a_donor_without_chill_is_told_of_the_donor_and_other_pollen_helps() -> None:
    network = ten_winters([SAME] * 10, 10, 6)
    assert lack(network) == ChillLack("donors", besides=False, mendable=True)
    assert pollen_helps(network, limb_coverage(network)[0])


def test_a_donor_out_of_time_is_no_want_of_chill() -> None:
    network = ten_winters([SAME] * 5 + [LATE] * 5, 10, 10)
    assert lack(network) is None
    assert pollen_helps(network, limb_coverage(network)[0])


def test_where_no_winter_would_have_a_donor_chill_is_not_the_reason() -> None:
    assert lack(ten_winters([LATE] * 10, 4, 10)) is None


def test_a_limb_that_has_its_donor_lacks_nothing() -> None:
    assert lack(ten_winters([SAME] * 10, 9, 10)) is None


def test_chill_and_time_are_both_told_where_both_are_short() -> None:
    """Not served in winters 0 to 4, for chill, and in 7 to 9, for time: with chill, seven serve."""
    network = ten_winters([SAME] * 7 + [LATE] * 3, 5, 10)
    assert lack(network) == ChillLack("own", besides=True, mendable=False)
    assert pollen_helps(network, limb_coverage(network)[0])


def test_blossom_is_cut_for_limbs_that_it_can_serve_alone() -> None:
    starved = ten_winters([LATE] * 10, 7, 10, own=True)
    late = ten_winters([SAME] * 5 + [LATE] * 5, 10, 10)
    assert [[jar.node for jar in jars(one, [0], [])] for one in (starved, late)] == [[], [0]]
