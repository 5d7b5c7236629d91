"""Check a cover from the definitions, by another way than the search.

No packed bits, no cuts: every pair of what stands is looked at again with its dates and verdict.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from pollinet.domain import BoolArray, NetworkInput
from pollinet.network.overlap import HOURS_PER_DAY, overlap_days
from pollinet.network.viability import TOLERANCE_H, present_of
from pollinet.shares import reaches


def _serves(network: NetworkInput, donor: int, receiver: int) -> BoolArray:
    """In which scenarios a donor is viable, shape (S,), straight from the definitions."""
    aim, verdict = network.aim, network.verdicts.get((donor, receiver))
    never = np.zeros(network.open_start_h.shape[1], dtype=bool)
    own, (one, other) = donor == receiver, (network.nodes[donor], network.nodes[receiver])
    if verdict is None or verdict.answer == "no" or verdict.fraction == 0:
        return never
    if not own:
        if (one.clone, one.variety.species) == (other.clone, other.variety.species):
            return never
        if verdict.answer == "half" and not aim.half_counts:
            return never
        if network.proximity[donor, receiver] < network.min_proximity:
            return never
    shared = overlap_days(
        network.shed_start_h[[donor]],
        network.shed_end_h[[donor]],
        network.open_start_h[[receiver]],
        network.open_end_h[[receiver]],
    )[0, 0]
    chilled = (network.chill_quality[[donor, receiver]] >= network.min_chill_quality).all(axis=0)
    least = 0.0 if own else aim.min_overlap_days - TOLERANCE_H / HOURS_PER_DAY
    served = np.asarray(chilled & (shared > 0) & (shared >= least))
    if network.resting is not None and not own:
        served &= ~network.resting[donor]
    if verdict.answer != "unknown":
        return served
    if network.drawn is None:
        return never
    (accepted,) = network.drawn.fractions(np.array([donor]), np.array([receiver]))
    enough = accepted > 0 if own or aim.half_counts else accepted >= 1
    return np.asarray(served & np.repeat(enough, network.winters))


def covered_share(network: NetworkInput, standing: Sequence[int], receiver: int) -> float:
    """Share of scenarios in which enough different varieties among `standing` are viable."""
    by_clone: dict[tuple[str, str], BoolArray] = {}
    for donor in standing:
        node = network.nodes[donor]
        key = (node.variety.species, node.clone)
        viable = _serves(network, donor, receiver)
        by_clone[key] = by_clone.get(key, np.zeros_like(viable)) | viable
    varieties = np.sum(list(by_clone.values()), axis=0)
    return float((varieties >= network.aim.donors).mean())


def is_cover(
    network: NetworkInput, chosen: Sequence[int], *, survives_any_single_loss: bool = False
) -> bool:
    """Check a set of candidates from the definitions, without the search's packed arrays."""
    standing = [*present_of(network), *chosen]
    losses: list[int | None] = [
        None,
        *(i for i in standing if survives_any_single_loss or network.nodes[i].may_be_felled),
    ]
    return all(
        reaches(
            covered_share(network, [d for d in standing if d != lost], receiver), network.aim.level
        )
        for lost in losses
        for receiver in standing
        if receiver != lost
        and network.nodes[receiver].must_crop
        and network.nodes[receiver].kind != "neighbour"
    )
