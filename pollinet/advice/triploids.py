"""Limbs that give no pollen, their donors, and whether a second donor is needed at all.

A triploid needs one viable donor. The second one that is usually asked for is for that donor, and
not needed where the donor is self-fertile, served by another limb or by a neighbour's tree.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from pollinet.domain import NetworkInput
from pollinet.network.coverage import DonorShare, LimbCoverage
from pollinet.network.resilience import carriers

SecondDonor = Literal[
    "no-first-donor",
    "neighbours-tree",
    "need-not-crop",
    "self-fertile",
    "served",
    "needed",
]
"""Why a second donor is not needed, or that it is. `neighbours-tree`: the donor stands next door,
and its own crop is not this plan's business. `no-first-donor`: the limb lacks even one."""


@dataclass(frozen=True)
class PollenlessLimb:
    """One limb without good pollen.

    donor : the donor that is told of: the best limb that has a donor itself; failing that, the
        best tree next door, which is not in the grower's hands; failing that, the best at all.
    servers : who serves that donor, best first; empty where it is a neighbour's tree.
    """

    coverage: LimbCoverage
    donor: DonorShare | None
    servers: tuple[DonorShare, ...]
    second: SecondDonor


def pollenless_limbs(
    network: NetworkInput, coverage: Sequence[LimbCoverage], pollenless: Collection[int]
) -> tuple[PollenlessLimb, ...]:
    """Look at each limb that gives no pollen, in the order of nodes.

    Parameters
    ----------
    coverage : coverage of all limbs that must crop. pollenless : nodes without good pollen.
    """
    rows = {row.node: row for row in coverage}
    return tuple(_one(network, row, rows) for row in coverage if row.node in set(pollenless))


def _one(
    network: NetworkInput, limb: LimbCoverage, rows: dict[int, LimbCoverage]
) -> PollenlessLimb:
    enough = set(carriers(limb, network.aim.level))
    sound = [
        donor
        for donor in limb.donors
        if donor.node in enough and _second(network, donor.node, rows) != "needed"
    ]
    sound.sort(key=lambda donor: network.nodes[donor.node].kind == "neighbour")
    donor = next(iter((*sound, *limb.donors)), None)
    if donor is None:
        return PollenlessLimb(limb, None, (), "no-first-donor")
    servers = rows[donor.node].donors if donor.node in rows else ()
    second = _second(network, donor.node, rows) if limb.covered else "no-first-donor"
    return PollenlessLimb(limb, donor, servers, second)


def _second(network: NetworkInput, donor: int, rows: dict[int, LimbCoverage]) -> SecondDonor:
    if network.nodes[donor].kind == "neighbour":
        return "neighbours-tree"
    if donor not in rows:
        return "need-not-crop"
    row = rows[donor]
    if not row.covered:
        return "needed"
    return "self-fertile" if donor in carriers(row, network.aim.level) else "served"
