"""How well each limb is covered, by whom, and why the others are no donors."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from pollinet.domain import BoolArray, FloatArray, NetworkInput, Verdict
from pollinet.network.counting import at_least, covered_bits
from pollinet.network.overlap import HOURS_PER_DAY, signed_overlap_h
from pollinet.network.viability import (
    TOLERANCE_H,
    Viability,
    pack,
    pairs,
    present_of,
    unpack,
    viability,
)
from pollinet.shares import reaches

Strength = Literal["strong", "weak", "none"]
Weakness = Literal["pollen", "distance", "bees", "chill"]

RefusalCode = Literal[
    "same-variety",
    "not-self-fertile",
    "no-verdict",
    "incompatible",
    "half-only",
    "unknown-compatibility",
    "too-far",
    "no-bloom",
    "chill",
    "blooms-earlier",
    "blooms-later",
    "short-overlap",
]
"""Why a node is no donor of another in any scenario: the first condition that fails, in this
order. `no-verdict`: another kind of fruit. `blooms-earlier` and `blooms-later`: nowhere a shared
hour; `short-overlap`: shared days, but never enough of them."""


@dataclass(frozen=True)
class DonorShare:
    """One donor of one receiver.

    reliability : share of scenarios in which it is viable.
    overlap_days, overlap_least_days, overlap_most_days : mean, least and most over scenarios.
    effective_days : mean of overlap times fraction, proximity, flight and chill quality.
    strong : share of scenarios in which it is viable and its effective days reach the minimum.
    """

    node: int
    reliability: float
    overlap_days: float
    overlap_least_days: float
    overlap_most_days: float
    effective_days: float
    compatible_fraction: float
    strong: float
    verdict: Verdict


@dataclass(frozen=True)
class Refusal:
    """A node that is no donor in any scenario.

    days : mean shift of its bloom against the receiver's, middle to middle; negative: it blooms
        earlier; None where the two never bloom in the same scenario. [days]
    overlap_days : mean shared bloom, 0 where either does not bloom. [days]
    possible : share of scenarios in which it would be viable if an unknown verdict were a yes.
    """

    node: int
    code: RefusalCode
    verdict: Verdict | None
    days: float | None
    overlap_days: float
    possible: float = 0.0


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


@dataclass(frozen=True, eq=False)
class ReceiverDays:
    """Days of all donors for one receiver, arrays of shape (donors, S).

    overlap : never negative. [days]
    effective : overlap times fraction, proximity, flight and chill. [days]
    shift : middle of the donor's bloom minus middle of the receiver's; NaN: no bloom. [days]
    fraction : shape (donors,), share of the pollen that is accepted.
    """

    overlap: FloatArray
    effective: FloatArray
    shift: FloatArray
    fraction: FloatArray


def receiver_days(
    network: NetworkInput, receiver: int, donors: Sequence[int], fraction: FloatArray
) -> ReceiverDays:
    """Overlap, effective days and shift of each donor for one receiver.

    fraction : shape (donors,), share of each donor's pollen that the receiver accepts.
    """
    chosen = np.asarray(donors, dtype=np.int64)
    start, end = network.shed_start_h[chosen], network.shed_end_h[chosen]
    opens, closes = network.open_start_h[receiver], network.open_end_h[receiver]
    # Where either does not bloom the hours are NaN, which `fmax` passes over.
    overlap = np.fmax(signed_overlap_h(start, end, opens, closes), 0.0) / HOURS_PER_DAY
    near = np.where(chosen == receiver, 1.0, network.proximity[chosen, receiver])
    weight = fraction * near
    some = np.flatnonzero(weight)
    flight = (network.flight_share[chosen[some]] + network.flight_share[receiver]) / 2
    quality = network.chill_quality[chosen[some]] * network.chill_quality[receiver]
    effective = np.zeros_like(overlap)
    effective[some] = np.nan_to_num(overlap[some] * weight[some, None] * flight * quality)
    shift = (start + end - opens - closes) / 2 / HOURS_PER_DAY
    return ReceiverDays(overlap, effective, shift, fraction)


def refusal_code(
    network: NetworkInput, donor: int, receiver: int, overlap: FloatArray, shift: FloatArray
) -> RefusalCode:
    """First condition that keeps a donor from serving a receiver in every scenario.

    overlap, shift : shape (S,), see `ReceiverDays`. [days]
    """
    verdict = network.verdicts.get((donor, receiver))
    nodes = network.nodes
    same = (nodes[donor].clone, nodes[donor].variety.species) == (
        nodes[receiver].clone,
        nodes[receiver].variety.species,
    )
    if donor == receiver and (verdict is None or verdict.answer == "no"):
        return "not-self-fertile"
    if donor != receiver and same:
        return "same-variety"
    if verdict is None:
        return "no-verdict"
    if verdict.answer == "unknown":
        return "unknown-compatibility"
    if verdict.answer == "no" or verdict.fraction == 0:
        return "incompatible"
    if verdict.answer == "half" and not network.aim.half_counts and donor != receiver:
        return "half-only"
    if donor != receiver and network.proximity[donor, receiver] < network.min_proximity:
        return "too-far"
    return _bloom_code(network, donor, receiver, overlap, shift)


def _bloom_code(
    network: NetworkInput, donor: int, receiver: int, overlap: FloatArray, shift: FloatArray
) -> RefusalCode:
    if not np.isfinite(shift).any():
        return "no-bloom"
    least = network.min_chill_quality
    chilled = (network.chill_quality[[donor, receiver]] >= least).all(axis=0)
    if not (chilled & np.isfinite(shift)).any():
        return "chill"
    if overlap[chilled].max() > TOLERANCE_H:
        return "short-overlap"
    return "blooms-earlier" if np.nanmean(shift[chilled]) < 0 else "blooms-later"


def _mean_shift(shift: FloatArray) -> list[float | None]:
    """Mean of each row, NaN left out; None where a row has nothing else. [days]"""
    known = np.isfinite(shift)
    sums, counts = np.where(known, shift, 0.0).sum(axis=1), known.sum(axis=1)
    pairs_of = zip(sums.tolist(), counts.tolist(), strict=True)
    return [total / count if count else None for total, count in pairs_of]


def _donor_shares(
    network: NetworkInput,
    days: ReceiverDays,
    viable: BoolArray,
    strong: BoolArray,
    receiver: int,
    donors: Sequence[int],
) -> Iterator[DonorShare]:
    """Those of the donors that are viable in some scenario. viable, strong : shape (donors, S)."""
    serving = np.flatnonzero(viable.any(axis=1))
    overlap, nodes = days.overlap[serving], [donors[place] for place in serving.tolist()]
    columns = (
        viable[serving].mean(axis=1),
        overlap.mean(axis=1),
        overlap.min(axis=1),
        overlap.max(axis=1),
        days.effective[serving].mean(axis=1),
        days.fraction[serving],
        strong[serving].mean(axis=1),
    )
    verdicts = [network.verdicts[donor, receiver] for donor in nodes]
    rows = zip(nodes, *(column.tolist() for column in columns), verdicts, strict=True)
    yield from (DonorShare(*row) for row in rows)


def _refusals(
    network: NetworkInput,
    days: ReceiverDays,
    viable: BoolArray,
    possible: BoolArray,
    receiver: int,
    donors: Sequence[int],
) -> Iterator[Refusal]:
    """Those of the donors that are viable in no scenario, in the order of nodes."""
    idle = np.flatnonzero(~viable.any(axis=1))
    shifts = _mean_shift(days.shift[idle])
    overlaps = days.overlap[idle].mean(axis=1).tolist()
    chances = possible[idle].mean(axis=1).tolist()
    rows = zip(idle.tolist(), shifts, overlaps, chances, strict=True)
    for place, shift, overlap, chance in rows:
        donor = donors[place]
        code = refusal_code(network, donor, receiver, days.overlap[place], days.shift[place])
        verdict = network.verdicts.get((donor, receiver))
        yield Refusal(donor, code, verdict, shift, overlap, chance)


def _share_with(view: Viability, viable: BoolArray, donors: Sequence[int], wanted: int) -> float:
    counted = at_least(pack(viable), view.clones[np.asarray(donors, dtype=np.int64)], wanted)
    return float(unpack(counted[-1], view.scenarios).mean())


def _one_limb(
    network: NetworkInput,
    view: Viability,
    possible: Viability,
    fraction: FloatArray,
    row: int,
    present: Sequence[int],
) -> LimbCoverage:
    receiver, wanted = view.receivers[row], network.aim.donors
    chosen = np.asarray(present, dtype=np.int64)
    days = receiver_days(network, receiver, present, fraction[chosen])
    viable = unpack(view.bits[row, chosen], view.scenarios)
    maybe = unpack(possible.bits[row, chosen], view.scenarios)
    least = network.aim.min_overlap_days - TOLERANCE_H / HOURS_PER_DAY
    strong = viable & (days.effective >= least)
    reliability = _share_with(view, viable, present, wanted)
    sturdy = reaches(_share_with(view, strong, present, wanted), network.aim.level)
    covered = reaches(reliability, network.aim.level)
    shares = _donor_shares(network, days, viable, strong, receiver, present)
    ranked = sorted(shares, key=lambda s: (-s.reliability, -s.effective_days, s.node))
    strength: Strength = "none" if not covered else "strong" if sturdy else "weak"
    return LimbCoverage(
        node=receiver,
        covered=covered,
        reliability=reliability,
        strength=strength,
        donors=tuple(ranked),
        refusals=tuple(_refusals(network, days, viable, maybe, receiver, present)),
        possible_reliability=_share_with(view, maybe, present, wanted),
        weak_by=weakened_by(network, ranked[0], receiver) if strength == "weak" else None,
    )


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


def _in_place(
    network: NetworkInput, present: Sequence[int] | None
) -> tuple[tuple[int, ...], list[int]]:
    here = present_of(network) if present is None else tuple(sorted(set(present)))
    limbs = [i for i in here if network.nodes[i].must_crop and network.nodes[i].kind != "neighbour"]
    return here, limbs


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
    table = pairs(network, limbs, here)
    view = viability(network, limbs, table=table)
    possible = viability(network, limbs, table=table, unknown=True)
    return tuple(
        _one_limb(network, view, possible, table.fraction[:, row], row, here)
        for row in range(len(limbs))
    )


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
