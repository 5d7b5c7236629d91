"""Smallest covers against brute force, the definitions spelled out again in plain loops."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from network_gardens import candidates_of, random_garden

from pollinet.domain import Aim, NetworkInput
from pollinet.network.cover import is_cover, smallest_cover


def viable(network: NetworkInput, donor: int, receiver: int, s: int) -> bool:
    """The definition of the design, one condition a line; independent of the package's arrays."""
    aim, nodes = network.aim, network.nodes
    word = network.verdicts.get((donor, receiver))
    if word is None or word.answer in ("no", "unknown"):
        return False
    quality = network.chill_quality
    if min(quality[donor, s], quality[receiver, s]) < network.min_chill_quality:
        return False
    first = max(network.shed_start_h[donor, s], network.open_start_h[receiver, s])
    last = min(network.shed_end_h[donor, s], network.open_end_h[receiver, s])
    shared = (last - first) / 24
    if np.isnan(network.shed_start_h[donor, s] + network.open_start_h[receiver, s]):
        return False
    if donor == receiver:
        return bool(shared > 0)
    return bool(
        nodes[donor].clone != nodes[receiver].clone
        and (word.answer == "yes" or aim.half_counts)
        and shared >= aim.min_overlap_days
    )


def covers(network: NetworkInput, chosen: tuple[int, ...], *, loss: bool = False) -> bool:
    present = [i for i, n in enumerate(network.nodes) if n.kind != "candidate"]
    standing = [*present, *chosen]
    scenarios = network.open_start_h.shape[1]
    for lost in [None, *standing] if loss else [None]:
        for receiver in standing:
            if receiver == lost or not network.nodes[receiver].must_crop:
                continue
            good = 0
            for s in range(scenarios):
                varieties = {
                    network.nodes[d].clone
                    for d in standing
                    if d != lost and viable(network, d, receiver, s)
                }
                good += len(varieties) >= network.aim.donors
            if good / scenarios < network.aim.level - 1e-9:
                return False
    return True


def brute_force(
    network: NetworkInput, room: int | None = None, *, loss: bool = False
) -> tuple[float, set[tuple[int, ...]]] | None:
    """Cost and list of all cheapest covers; None: there is none."""
    free = candidates_of(network)
    best: tuple[float, set[tuple[int, ...]]] | None = None
    for size in range(min(len(free), len(free) if room is None else room) + 1):
        for chosen in combinations(free, size):
            cost = sum(network.nodes[c].cost for c in chosen)
            if best is not None and cost > best[0]:
                continue
            if covers(network, chosen, loss=loss):
                if best is None or cost < best[0]:
                    best = (cost, set())
                best[1].add(chosen)
    return best


AIMS = st.builds(
    Aim,
    level=st.sampled_from([0.3, 0.5, 0.8, 1.0]),
    min_overlap_days=st.sampled_from([2.0, 3.0, 4.0]),
    half_counts=st.booleans(),
    donors=st.sampled_from([1, 1, 2]),
)


@settings(max_examples=250, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6),
    limbs=st.integers(1, 4),
    candidates=st.integers(0, 7),
    aim=AIMS,
    costs=st.booleans(),
    room=st.sampled_from([None, None, 1, 2]),
    loss=st.sampled_from([False, False, False, True]),
)
def test_cover_is_the_brute_force_optimum(
    seed: int, limbs: int, candidates: int, aim: Aim, costs: bool, room: int | None, loss: bool
) -> None:
    network = random_garden(
        seed, limbs=limbs, candidates=candidates, scenarios=5, aim=aim, costs=costs
    )
    truth = brute_force(network, room, loss=loss)
    cover = smallest_cover(
        network,
        candidates_of(network),
        None if room is None else {"pear": room},
        survives_any_single_loss=loss,
        max_alternatives=500,
    )
    if truth is None:
        assert cover.status == "infeasible"
        assert cover.uncovered
        return
    assert cover.status == ("optimal" if cover.added else "nothing to add")
    assert cover.cost == pytest.approx(truth[0])
    assert cover.proof.bound == pytest.approx(truth[0])
    assert set(cover.alternatives) == truth[1]
    assert cover.all_listed
    assert all(
        is_cover(network, chosen, survives_any_single_loss=loss) for chosen in cover.alternatives
    )


@settings(max_examples=100, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), aim=AIMS)
def test_checker_agrees_with_the_definitions(seed: int, aim: Aim) -> None:
    network = random_garden(seed, candidates=5, aim=aim)
    rng = np.random.default_rng(seed)
    for _ in range(4):
        chosen = tuple(c for c in candidates_of(network) if rng.random() < 0.5)
        for loss in (False, True):
            assert is_cover(network, chosen, survives_any_single_loss=loss) == covers(
                network, chosen, loss=loss
            )
