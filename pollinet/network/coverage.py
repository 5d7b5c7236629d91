"""How well each limb is covered, by whom, and why the others are no donors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pollinet.domain import FloatArray, NetworkInput
from pollinet.network.counting import at_least, covered_bits
from pollinet.network.donors import (
    DonorShare,
    DonorTable,
    ReceiverDays,
    Refusal,
    RefusalCode,
    donor_table,
    receiver_days,
    refusal_code,
)
from pollinet.network.viability import (
    clone_numbers,
    popcount,
    present_of,
    unpack,
    viability,
)
from pollinet.shares import reaches

__all__ = [
    "DonorShare",
    "LimbCoverage",
    "ReceiverDays",
    "Refusal",
    "RefusalCode",
    "Strength",
    "Weakness",
    "coverage_by_winter",
    "limb_coverage",
    "must_crop",
    "receiver_days",
    "refusal_code",
    "table_coverage",
    "weakened_by",
]

Strength = Literal["strong", "weak", "none"]
Weakness = Literal["pollen", "distance", "bees", "chill"]


@dataclass(frozen=True)
class LimbCoverage:
    """What stands between one limb and a crop.

    reliability : share of scenarios with as many viable varieties as the aim asks for.
    covered : whether that share reaches the aim's level.
    strength : `strong` where effective days, too, reach the minimum in that share of scenarios.
    weak_by : where it is weak, what takes most of the best donor's days, see `weakened_by`.
    donors : best first. refusals : every other node present, in the order of nodes.
    possible_reliability : the same share if every unknown verdict turned out to be a yes: an upper
        bound for the text, never an answer.
    """

    node: int
    covered: bool
    reliability: float
    strength: Strength
    donors: tuple[DonorShare, ...]
    refusals: tuple[Refusal, ...]
    possible_reliability: float
    weak_by: Weakness | None = None


def table_coverage(
    network: NetworkInput, table: DonorTable, before: Sequence[LimbCoverage | None] = ()
) -> tuple[LimbCoverage, ...]:
    """Coverage of the receivers of a table by its donors.

    before : coverage of each receiver in an earlier garden, or None; what still holds of it is not
        worked out again.
    """
    scenarios, wanted = network.open_start_h.shape[1], network.aim.donors
    level = network.aim.level
    clones = clone_numbers(network)[list(table.donors)]
    reliability, sturdy, possible = (
        popcount(np.array([at_least(row, clones, wanted)[-1] for row in bits])) / scenarios
        if len(bits) else np.zeros(0)
        for bits in table.bits
    )  # fmt: skip
    # Best first; of equal ones the first.
    ranks = np.lexsort((-table.effective_days, -table.reliability), axis=-1)
    serving = table.reliability > 0
    found = []
    for row, receiver in enumerate(table.receivers):
        ranked = tuple(table.entries[row, ranks[row, : serving[row].sum()]].tolist())
        covered = reaches(float(reliability[row]), level)
        strength: Strength = (
            "none" if not covered else "strong" if reaches(sturdy[row], level) else "weak"
        )
        weak_by = None
        if strength == "weak":
            was = before[row] if before else None
            kept = was is not None and bool(was.donors) and was.donors[0] is ranked[0]
            weak_by = was.weak_by if was is not None and kept else None
            weak_by = weak_by or weakened_by(network, ranked[0], receiver)
        found.append(
            LimbCoverage(
                node=receiver,
                covered=covered,
                reliability=float(reliability[row]),
                strength=strength,
                donors=ranked,
                refusals=tuple(table.entries[row, ~serving[row]].tolist()),
                possible_reliability=float(possible[row]),
                weak_by=weak_by,
            )
        )
    return tuple(found)


def weakened_by(network: NetworkInput, donor: DonorShare, receiver: int) -> Weakness:
    """The factor that leaves the least of a donor's days; of equal ones the first.

    `pollen`: part of it is refused; `distance`; `bees`: weather too poor for flight; `chill`.
    """
    both = [donor.node, receiver]
    near = 1.0 if donor.node == receiver else float(network.proximity[donor.node, receiver])
    left: dict[Weakness, float] = {
        "pollen": donor.compatible_fraction,
        "distance": near,
        "bees": float(network.flight_share[both].mean()),
        "chill": float(network.chill_quality[both].prod(axis=0).mean()),
    }
    return min(left, key=left.__getitem__)


def must_crop(network: NetworkInput, here: Sequence[int]) -> list[int]:
    """Those of some nodes that need a donor."""
    nodes = network.nodes
    return [i for i in here if nodes[i].must_crop and nodes[i].kind != "neighbour"]


def _in_place(
    network: NetworkInput, present: Sequence[int] | None
) -> tuple[tuple[int, ...], list[int]]:
    here = present_of(network) if present is None else tuple(sorted(set(present)))
    return here, must_crop(network, here)


def limb_coverage(
    network: NetworkInput,
    present: Sequence[int] | None = None,
    only: Sequence[int] | None = None,
) -> tuple[LimbCoverage, ...]:
    """Coverage of every limb that must crop.

    Parameters
    ----------
    present : indices of the nodes that stand; candidates among them count as grafted and, where
        they are to crop, are receivers too. Default: all limbs and neighbours.
    only : look at these receivers alone.

    Returns
    -------
    One entry for each receiver, in the order of nodes.
    """
    here, limbs = _in_place(network, present)
    limbs = [limb for limb in limbs if only is None or limb in only]
    return table_coverage(network, donor_table(network, limbs, here))


def coverage_by_winter(
    network: NetworkInput, present: Sequence[int] | None = None
) -> tuple[tuple[int, ...], FloatArray]:
    """Share of draws in which each receiver is covered, winter by winter.

    Returns
    -------
    Node indices of the receivers, and shares of shape (receivers, winters).
    """
    here, limbs = _in_place(network, present)
    view = viability(network, limbs, donors=here)
    flags = np.array(
        [
            unpack(covered_bits(view, row, here, network.aim.donors), view.scenarios)
            for row in range(len(limbs))
        ]
    ).reshape(len(limbs), view.scenarios // network.winters, network.winters)
    return tuple(limbs), flags.mean(axis=1)
