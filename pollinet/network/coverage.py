"""How well each limb is covered, by whom, and why the others are no donors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import BoolArray, FloatArray, NetworkInput
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
from pollinet.network.overlap import block_slices
from pollinet.network.sure import worst_cases
from pollinet.network.viability import (
    Bits,
    clone_numbers,
    least_fraction,
    popcount,
    present_of,
    unpack,
    viability,
)
from pollinet.shares import reaches

__all__ = [
    "DonorShare",
    "LimbCoverage",
    "LimbVerdict",
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
LimbVerdict = Literal["sure", "likely", "open", "lacking"]
"""Which share of winters reaches the level: the sure one, the expected one, only the possible one
(it hangs on something that is not known), or none."""

Weakness = Literal["pollen", "distance", "bees", "chill"]


@dataclass(frozen=True)
class LimbCoverage:
    """What stands between one limb and a crop.

    reliability : expected share of scenarios with as many viable varieties as the aim asks for.
    sure : the same share where all that is unknown of the alleles is at its worst for the limb, and
        donors are left out of whose bloom nothing is known; exact.
    low, high : the expected share in one draw in ten and in nine: what is not known of alleles and
        dates, apart from winters that differ.
    error : standard error of the expected share for the number of draws, not above it: draws are
        spread evenly.
    verdict : see `LimbVerdict`. covered : sure or likely.
    strength : `strong` where effective days, too, reach the minimum in that share of scenarios.
    weak_by : where it is weak, what takes most of the best donor's days, see `weakened_by`.
    donors : best first. refusals : every other node present, in the order of nodes.
    possible_reliability : the same share where all that is unknown of the alleles is at its best;
        exact. Where nothing is known of the bloom of the limb or of a donor, its dates are taken
        from the better draws, too: the share in nine draws of ten.
    """

    node: int
    covered: bool
    reliability: float
    strength: Strength
    donors: tuple[DonorShare, ...]
    refusals: tuple[Refusal, ...]
    possible_reliability: float
    weak_by: Weakness | None = None
    sure: float = 0.0
    low: float = 0.0
    high: float = 1.0
    error: float = 0.0
    verdict: LimbVerdict = "lacking"

    def with_donors(
        self, node: int, donors: tuple[DonorShare, ...], refusals: tuple[Refusal, ...]
    ) -> LimbCoverage:
        """The same shares by other donors, of a node that may have another number."""
        # `dataclasses.replace` takes many times as long.
        other = object.__new__(LimbCoverage)
        vars(other).update(vars(self), node=node, donors=donors, refusals=refusals)
        return other


class Earlier(NamedTuple):
    """Coverage of the receivers of a table in an earlier garden, or None; what holds is taken over.

    untouched : shape (R,), see `donors.untouched`; these were there.
    """

    coverage: Sequence[LimbCoverage | None]
    untouched: BoolArray


def table_coverage(
    network: NetworkInput, table: DonorTable, earlier: Earlier | None = None
) -> tuple[LimbCoverage, ...]:
    """Coverage of the receivers of a table by its donors; the same with and without `earlier`."""
    if earlier is None:
        count = len(table.receivers)
        earlier = Earlier([None] * count, np.zeros(count, dtype=bool))
    # Best first; of equal ones the first, and so those that do not serve last, in their order.
    ranks = np.lexsort((-table.effective_days, -table.reliability), axis=-1)
    entries = np.take_along_axis(table.entries, ranks, axis=1).tolist()
    serving = np.count_nonzero(table.reliability, axis=1).tolist()
    new = np.flatnonzero(~earlier.untouched)
    fresh = dict(zip(new.tolist(), _shares(network, table, new), strict=True))
    found = []
    for row, was in enumerate(earlier.coverage):
        ranked, refusals = (
            tuple(entries[row][: serving[row]]),
            tuple(entries[row][serving[row] :]),
        )
        if row in fresh:
            limb = _covered(network, table.receivers[row], fresh[row], ranked, was)
        else:
            assert was is not None
            limb = was
        found.append(limb.with_donors(table.receivers[row], ranked, refusals))
    return tuple(found)


def _covered(
    network: NetworkInput,
    receiver: int,
    shares: Shares,
    ranked: tuple[DonorShare, ...],
    was: LimbCoverage | None,
) -> LimbCoverage:
    """What the shares of a limb come to; without those who refuse."""
    level = network.aim.level
    verdict = verdict_of(shares, level)
    covered = verdict in ("sure", "likely")
    strength: Strength = (
        "none" if not covered else "strong" if reaches(shares.sturdy, level) else "weak"
    )
    weak_by = None
    if strength == "weak":
        kept = was is not None and bool(was.donors) and was.donors[0] is ranked[0]
        weak_by = was.weak_by if was is not None and kept else None
        weak_by = weak_by or weakened_by(network, ranked[0], receiver)
    return LimbCoverage(
        node=receiver,
        covered=covered,
        reliability=shares.expected,
        strength=strength,
        donors=ranked,
        refusals=(),
        possible_reliability=shares.possible,
        weak_by=weak_by,
        sure=shares.sure,
        low=shares.low,
        high=shares.high,
        error=shares.error,
        verdict=verdict,
    )


class Shares(NamedTuple):
    """Shares of the scenarios in which a limb is served, see `LimbCoverage`.

    sturdy : with the effective days reaching the minimum, too. error : see `LimbCoverage`.
    """

    sure: float
    expected: float
    possible: float
    low: float
    high: float
    sturdy: float = 0.0
    error: float = 0.0


def verdict_of(shares: Shares, level: float) -> LimbVerdict:
    """The verdict on a limb by its shares."""
    if reaches(shares.sure, level):
        return "sure"
    if reaches(shares.expected, level):
        return "likely"
    return "open" if reaches(shares.possible, level) else "lacking"


def _shares(network: NetworkInput, table: DonorTable, rows: NDArray[np.int64]) -> list[Shares]:
    """Shares of some receivers of a table."""
    if not rows.size:
        return []
    scenarios, wanted = network.open_start_h.shape[1], network.aim.donors
    clones = clone_numbers(network)[list(table.donors)]
    # At least wanted different varieties, packed: viable, strong, possible.
    bits = np.take(table.bits, rows, axis=1)
    words = bits.view(np.uint64)
    if wanted == 1:
        joint = np.bitwise_or.reduce(words, axis=2).view(np.uint8)
    else:
        joint = np.array([[at_least(row, clones, wanted)[-1] for row in each] for each in bits])
    expected, sturdy, possible = popcount(joint) / scenarios
    for place, row in enumerate(rows.tolist()):
        best = _best_count(network, table, row, clones) / scenarios
        possible[place] = min(possible[place], best)
    serves = np.asarray(words[2].any(axis=2))
    sure = _sure_counts(network, table, rows, bits[2], serves, clones) / scenarios
    # Draws are few: what is drawn may fall a little outside of what is exact.
    reliability = np.clip(expected, sure, possible)
    low, high, error = _over_draws(network, joint[0])
    undated = _undated(network, table, rows, serves)
    if undated.any():
        often = _over_draws(network, joint[2][undated])[1]
        possible[undated] = np.maximum(possible[undated], often)
    columns = sure, reliability, possible, low, high, sturdy, error
    return [Shares(*each) for each in zip(*(c.tolist() for c in columns), strict=True)]


def _sure_counts(
    network: NetworkInput,
    table: DonorTable,
    rows: NDArray[np.int64],
    possible: Bits,
    serves: BoolArray,
    clones: NDArray[np.int64],
) -> NDArray[np.int64]:
    """In how many scenarios some receivers are served whatever the unknown alleles are: exact.

    The least over all that its own alleles may be, with each donor at its worst for them, as the
    donors' alleles do not hang on each other.
    """
    wanted = network.aim.donors
    cases = worst_cases(
        network,
        np.array(table.donors, dtype=np.int64),
        np.array(table.receivers, dtype=np.int64)[rows],
        serves,
        table.unknown[rows],
    )
    if wanted > 1:
        counts = [
            min(int(popcount(at_least(bits[case], clones[case], wanted)[-1])) for case in each)
            for bits, each in zip(possible, cases, strict=True)
        ]
        return np.array(counts, dtype=np.int64)
    each, numbers = np.concatenate(cases), np.array([len(case) for case in cases])
    places, served = np.repeat(np.arange(rows.size), numbers), np.zeros(len(each), dtype=np.int64)
    for part in block_slices(len(each), possible[0].size):
        case, donor = np.nonzero(each[part])
        sizes = np.count_nonzero(each[part], axis=1)
        some = np.flatnonzero(sizes)
        if some.size:
            given = possible[places[part][case], donor].view(np.uint64)
            joined = np.bitwise_or.reduceat(given, (np.cumsum(sizes) - sizes)[some], axis=0)
            served[part.start + some] = popcount(joined.view(np.uint8))
    return np.minimum.reduceat(served, np.cumsum(numbers) - numbers)


def _best_count(
    network: NetworkInput, table: DonorTable, row: int, clones: NDArray[np.int64]
) -> int:
    """In how many scenarios a receiver is served at the best of what is not known: exact.

    The most over all sides of what sources dispute of its own alleles: donors that serve on one
    side each do not serve together.
    """
    possible, unknown = table.bits[2, row], np.flatnonzero(table.unknown[row])
    scenarios = int(network.open_start_h.shape[1])
    if network.drawn is None or not unknown.size:
        return scenarios
    donors = [table.donors[column] for column in unknown.tolist()]
    cases = network.drawn.best(donors, table.receivers[row], least_fraction(network))
    if cases.all():
        return scenarios
    counts = []
    for case in cases:
        bits = possible.copy()
        bits[unknown[~case]] = 0
        counts.append(int(popcount(at_least(bits, clones, network.aim.donors)[-1])))
    return max(counts)


def _over_draws(network: NetworkInput, expected: Bits) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The share of winters in one draw in ten and in nine, and the standard error of its mean."""
    scenarios = network.open_start_h.shape[1]
    draws = scenarios // network.winters
    if not len(expected):
        return np.zeros(0), np.zeros(0), np.zeros(0)
    flags = unpack(expected, scenarios).reshape(len(expected), draws, network.winters)
    by_draw = np.sort(flags.mean(axis=2), axis=1)
    edge = (draws - 1) // 10
    return by_draw[:, edge], by_draw[:, -1 - edge], by_draw.std(axis=1) / draws**0.5


def _undated(
    network: NetworkInput, table: DonorTable, rows: NDArray[np.int64], serves: BoolArray
) -> BoolArray:
    """Receivers of which nobody has dated the bloom, or that of a donor that may serve them."""
    if network.dated is None:
        return np.zeros(rows.size, dtype=bool)
    receivers, undated = np.array(table.receivers)[rows], ~network.dated[list(table.donors)]
    return np.asarray(~network.dated[receivers] | (serves & undated).any(axis=1))


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
    view = viability(network, limbs)
    flags = np.array(
        [
            unpack(covered_bits(view, row, here, network.aim.donors), view.scenarios)
            for row in range(len(limbs))
        ]
    ).reshape(len(limbs), view.scenarios // network.winters, network.winters)
    return tuple(limbs), flags.mean(axis=1)
