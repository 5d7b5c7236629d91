"""Which donor is viable for which receiver in which scenario.

A donor is viable where all of this holds: it is another variety (equal clones are one variety),
its pollen is good and at least part of it is accepted, it is near enough, donor and receiver are
both chilled enough, and they bloom together for the plan's number of days. Where the verdict is
unknown, the pollen is accepted in the draws that say so. A self-fertile node is its own donor
wherever it blooms, also where nobody knows when: that is the verdict of the pair (i, i); where that
pair is missing the node is not self-fertile.

The answer is packed, one bit a scenario: 1,000 candidates and 40 limbs in 1,600 scenarios take
216 MB.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.verdict_table import VerdictTable
from pollinet.domain import BoolArray, FloatArray, NetworkInput, Verdict
from pollinet.errors import ShapeError
from pollinet.network.overlap import HOURS_PER_DAY, block_slices, signed_overlap_h
from pollinet.shares import scenarios_needed

Bits = NDArray[np.uint8]

TOLERANCE_H: Final = 1e-6
"""An overlap that is short by rounding alone counts as long enough. [h]"""

SOME_POLLEN: Final = 1e-9
"""Any share of the pollen at all."""

_WORD_BYTES: Final = 8
_ANSWERS: Final = {"no": 1, "unknown": 2, "half": 3, "yes": 4}
_FRACTIONS: Final = {"no": 0.0, "unknown": 0.0, "half": 0.5, "yes": 1.0}
_BITS_IN: Final = np.array([i.bit_count() for i in range(65_536)], dtype=np.uint8)


@dataclass(frozen=True, eq=False)
class Pairs:
    """The verdicts as arrays of shape (donors, receivers).

    answer : 0 no verdict, 1 no, 2 unknown, 3 half, 4 yes.
    fraction : share of the pollen that is accepted; 0 where it is refused or unknown.
    """

    answer: NDArray[np.int8]
    fraction: FloatArray


@dataclass(frozen=True, eq=False)
class Cases:
    """What rows of a `Viability` are where a receiver is looked at in several cases.

    places : shape (rows,), which row of the bits each of them reads.
    counted : shape (rows, N), which donors count in the case.
    """

    places: NDArray[np.int64]
    counted: BoolArray


@dataclass(frozen=True, eq=False)
class Viability:
    """Viable donors of some receivers, in all scenarios.

    receivers : node index of each row, ascending; a receiver with several cases has a row for each
        and is served where it is served in all of them.
    bits : shape (receivers, N donors, bytes), most significant bit first; bits behind the last
        scenario are 0.
    scenarios : number of scenarios.
    clones : shape (N,), a number that all nodes of one variety share.
    cases : None: one row of bits for each receiver, and all donors count.
    """

    receivers: tuple[int, ...]
    bits: Bits
    scenarios: int
    clones: NDArray[np.int64]
    cases: Cases | None = None

    def given(self, row: int, donors: NDArray[np.int64]) -> Bits:
        """What some donors give to the receiver of a row, shape (donors, bytes): a copy."""
        if self.cases is None:
            return np.asarray(self.bits[row, donors])
        found: Bits = self.bits[self.cases.places[row], donors]
        found[~self.cases.counted[row, donors]] = 0
        return found

    def serving(self, row: int, donors: NDArray[np.int64]) -> NDArray[np.int64]:
        """Those of some donors that give the receiver of a row anything in any scenario."""
        if self.cases is None:
            return np.asarray(donors[self.some[row, donors]])
        some = self.some[self.cases.places[row], donors] & self.cases.counted[row, donors]
        return np.asarray(donors[some])

    @cached_property
    def some(self) -> BoolArray:
        """Whether a donor gives anything in any scenario, shape (rows of bits, N)."""
        return np.asarray(self.bits.view(np.uint64).any(axis=2))

    @cached_property
    def rows_of(self) -> dict[int, tuple[int, ...]]:
        """The rows of each receiver."""
        found: dict[int, tuple[int, ...]] = {}
        for row, node in enumerate(self.receivers):
            found[node] = (*found.get(node, ()), row)
        return found

    @cached_property
    def serves(self) -> dict[int, BoolArray]:
        """Which nodes serve each receiver in any scenario of any case, shape (N,) each."""
        some = self.some
        if self.cases is not None:
            some = some[self.cases.places] & self.cases.counted
        return {
            node: np.asarray(some[list(rows)].any(axis=0)) for node, rows in self.rows_of.items()
        }


def check_shapes(network: NetworkInput) -> None:
    """Raise `ShapeError` where the arrays of a network do not fit its nodes."""
    count, scenarios = len(network.nodes), network.open_start_h.shape[-1]
    for name in (
        "open_start_h",
        "open_end_h",
        "shed_start_h",
        "shed_end_h",
        "chill_quality",
        "flight_share",
    ):
        if getattr(network, name).shape != (count, scenarios):
            raise ShapeError(f"{name} must have the shape {(count, scenarios)}")
    if network.proximity.shape != (count, count):
        raise ShapeError(f"proximity must have the shape {(count, count)}")
    if scenarios == 0 or scenarios % network.winters:
        raise ShapeError(f"{scenarios} scenarios are not whole draws of {network.winters} winters")
    if len({node.id for node in network.nodes}) != count:
        raise ShapeError("two nodes have the same id")


def receivers_of(network: NetworkInput) -> tuple[int, ...]:
    """Indices of the nodes that need a donor: limbs and candidates that are to crop."""
    return tuple(
        i for i, node in enumerate(network.nodes) if node.must_crop and node.kind != "neighbour"
    )


def present_of(network: NetworkInput) -> tuple[int, ...]:
    """Indices of what stands already: limbs and neighbours."""
    return tuple(i for i, node in enumerate(network.nodes) if node.kind != "candidate")


def clone_numbers(network: NetworkInput) -> NDArray[np.int64]:
    """One number for each node, shape (N,); all nodes of one variety share it."""
    names = [(node.variety.species, node.clone) for node in network.nodes]
    numbers = {name: i for i, name in enumerate(sorted(set(names)))}
    return np.array([numbers[name] for name in names], dtype=np.int64)


def needed_scenarios(network: NetworkInput) -> int:
    """In how many scenarios a limb must have a viable donor to count as covered."""
    return scenarios_needed(network.aim.level, network.open_start_h.shape[1])


def answers(verdicts: Sequence[Verdict | None]) -> Pairs:
    """Some verdicts as arrays of shape (P,), None: there is none.

    Where a `yes` or `half` comes without a fraction, 1 and ½ stand in for the weight.
    """
    answer = np.zeros(len(verdicts), dtype=np.int8)
    fraction = np.zeros(len(verdicts))
    for place, verdict in enumerate(verdicts):
        if verdict is not None:
            share = verdict.fraction
            answer[place] = _ANSWERS[verdict.answer]
            fraction[place] = _FRACTIONS[verdict.answer] if share is None else share
    return Pairs(answer, np.where(answer >= _ANSWERS["half"], fraction, 0.0))


def pairs(
    network: NetworkInput, receivers: Sequence[int], donors: Sequence[int] | None = None
) -> Pairs:
    """The verdicts on some receivers as arrays; only `donors` (default: all) are asked for."""
    count = len(network.nodes)
    answer = np.zeros((count, len(receivers)), dtype=np.int8)
    fraction = np.zeros((count, len(receivers)))
    asked = np.arange(count) if donors is None else np.asarray(donors, dtype=np.int64)
    told = told_of(network, asked[:, None], np.asarray(receivers, dtype=np.int64))
    answer[asked], fraction[asked] = told.answer, told.fraction
    return Pairs(answer, fraction)


def verdicts_of(
    network: NetworkInput, donors: NDArray[np.int64], receivers: NDArray[np.int64]
) -> Sequence[Verdict | None]:
    """The verdict on each of some pairs; index arrays of shape (P,), or (1,) for all."""
    if isinstance(network.verdicts, VerdictTable):
        return network.verdicts.of(donors, receivers)
    givers, takers = (side.tolist() for side in np.broadcast_arrays(donors, receivers))
    return [network.verdicts.get(pair) for pair in zip(givers, takers, strict=True)]


def told_of(
    network: NetworkInput, donors: NDArray[np.int64], receivers: NDArray[np.int64]
) -> Pairs:
    """The verdicts on pairs of nodes, as index arrays that broadcast."""
    donors, receivers = np.broadcast_arrays(donors, receivers)
    if isinstance(network.verdicts, VerdictTable):
        places, verdicts = network.verdicts.alike(donors, receivers)
        told = answers(verdicts)
    else:
        each = zip(donors.ravel().tolist(), receivers.ravel().tolist(), strict=True)
        told = answers([network.verdicts.get(pair) for pair in each])
        places = np.arange(donors.size).reshape(donors.shape)
    return Pairs(told.answer[places], told.fraction[places])


def can_donate(
    network: NetworkInput, receivers: Sequence[int], table: Pairs, *, unknown: bool = False
) -> BoolArray:
    """Whether a donor could serve a receiver if only the bloom fits, shape (donors, receivers).

    table : the verdicts on these receivers.
    unknown : also let pairs through whose verdict is unknown: an upper bound, never an answer.
    """
    rows = np.asarray(receivers, dtype=np.int64)
    everyone = np.arange(len(network.nodes))[:, None]
    return able(network, everyone, rows, table, clone_numbers(network), unknown=unknown)


def able(
    network: NetworkInput,
    donors: NDArray[np.int64],
    receivers: NDArray[np.int64],
    table: Pairs,
    clones: NDArray[np.int64],
    *,
    unknown: bool = False,
) -> BoolArray:
    """`can_donate` for pairs of nodes, as index arrays that broadcast to the shape of the table.

    clones : as from `clone_numbers`.
    """
    lowest = _ANSWERS["half"] if network.aim.half_counts else _ANSWERS["yes"]
    accepted = (table.answer >= lowest) & (table.fraction > 0)
    own = (table.answer >= _ANSWERS["half"]) & (table.fraction > 0)
    if unknown:
        accepted |= table.answer == _ANSWERS["unknown"]
        own |= table.answer == _ANSWERS["unknown"]
    accepted &= clones[donors] != clones[receivers]
    accepted &= network.proximity[donors, receivers] >= network.min_proximity
    return np.where(donors == receivers, own, accepted)


class DrawnPollen(NamedTuple):
    """What P pairs with an unknown verdict are in each of K draws, shape (P, K).

    fraction : share of the pollen that is accepted. accepted : whether that is enough.
    """

    fraction: FloatArray
    accepted: BoolArray


def drawn_pollen(
    network: NetworkInput, donors: NDArray[np.int64], receivers: NDArray[np.int64]
) -> DrawnPollen:
    """Draw what is accepted of pairs with an unknown verdict."""
    fraction = np.zeros((donors.size, network.open_start_h.shape[1] // network.winters))
    if network.drawn is not None and donors.size:
        fraction = network.drawn.fractions(donors, receivers)
    least = np.where(donors == receivers, SOME_POLLEN, least_fraction(network))
    return DrawnPollen(fraction, np.asarray(fraction >= least[:, None]))


def is_open(table: Pairs) -> BoolArray:
    """Whether nobody knows if the pollen is accepted, as the table's shape."""
    return np.asarray(table.answer == _ANSWERS["unknown"])


def least_fraction(network: NetworkInput) -> float:
    """The share of another variety's pollen that must be accepted for it to count."""
    return SOME_POLLEN if network.aim.half_counts else 1.0


def own_pollen_in_time(network: NetworkInput, node: int) -> BoolArray:
    """When a node's own pollen is in time for it, shape (S,).

    Wherever it blooms; where nothing at all is known of its bloom, always.
    """
    hours = signed_overlap_h(
        network.shed_start_h[node],
        network.shed_end_h[node],
        network.open_start_h[node],
        network.open_end_h[node],
    )
    return np.asarray(hours >= TOLERANCE_H) | ~np.isfinite(hours).any()


def packed_bytes(scenarios: int) -> int:
    """How many bytes the flags of so many scenarios take when packed."""
    bytes_filled = -(-scenarios // 8)
    return bytes_filled + -bytes_filled % _WORD_BYTES


def pack(flags: BoolArray) -> Bits:
    """Pack flags along their last axis into whole machine words."""
    packed = np.packbits(flags, axis=-1)
    missing = -packed.shape[-1] % _WORD_BYTES
    return np.pad(packed, [(0, 0)] * (packed.ndim - 1) + [(0, missing)])


def unpack(bits: Bits, scenarios: int) -> BoolArray:
    """Undo `pack`."""
    return np.unpackbits(bits, axis=-1, count=scenarios).astype(bool)


def popcount(bits: Bits) -> NDArray[np.int64]:
    """Number of set bits along the last axis."""
    # numpy 1 has no bitwise_count; a table of all 16-bit numbers does the same.
    count = getattr(np, "bitwise_count", None)
    contiguous = np.ascontiguousarray(bits)
    counts: NDArray[np.uint8] = (
        _BITS_IN[contiguous.view(np.uint16)] if count is None else count(contiguous.view(np.uint64))
    )
    return np.asarray(counts.sum(axis=-1, dtype=np.int64))


def viability(
    network: NetworkInput,
    receivers: Sequence[int] | None = None,
    *,
    donors: Sequence[int] | None = None,
    unknown: bool = False,
    table: Pairs | None = None,
) -> Viability:
    """Find the viable donors of the given receivers (default: all that must crop).

    donors : look at these nodes alone; the others count as not viable.
    table : `pairs` of the receivers, ascending, to save the work.
    unknown : count pairs with an unknown verdict as if they were compatible (an upper bound).

    Raises
    ------
    ShapeError : the arrays do not fit together.
    """
    check_shapes(network)
    rows = receivers_of(network) if receivers is None else tuple(sorted(receivers))
    known = pairs(network, rows, donors) if table is None else table
    allowed = can_donate(network, rows, known, unknown=True)
    open_ones = is_open(known)
    chilled = network.chill_quality >= network.min_chill_quality
    opens = np.where(chilled, network.open_start_h, np.nan)
    sheds = np.where(chilled, network.shed_start_h, np.nan)
    enough_h = network.aim.min_overlap_days * HOURS_PER_DAY - TOLERANCE_H
    scenarios = opens.shape[1]
    width = packed_bytes(scenarios)
    bits = np.zeros((len(rows), len(network.nodes), width), dtype=np.uint8)
    for row, receiver in enumerate(rows):
        able = np.flatnonzero(allowed[:, row])
        maybe = np.flatnonzero(open_ones[able, row]) if not unknown else np.arange(0)
        taken = drawn_pollen(network, able[maybe], np.full(maybe.size, receiver)).accepted
        for part in block_slices(len(able), scenarios):
            few = able[part]
            hours = signed_overlap_h(
                sheds[few], network.shed_end_h[few], opens[receiver], network.open_end_h[receiver]
            )
            flags = hours >= max(enough_h, TOLERANCE_H)
            own = few == receiver
            if own.any():
                flags[own] = own_pollen_in_time(network, receiver) & chilled[receiver]
            here = slice(*np.searchsorted(maybe, (part.start, part.stop)).tolist())
            flags[maybe[here] - part.start] &= np.repeat(taken[here], network.winters, axis=1)
            packed = np.packbits(flags, axis=1)
            bits[row, few, : packed.shape[1]] = packed
    return Viability(rows, bits, scenarios, clone_numbers(network))
