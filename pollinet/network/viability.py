"""Which donor is viable for which receiver in which scenario.

A donor is viable where all of this holds: it is another variety (equal clones are one variety),
its pollen is good and at least part of it is accepted, it is near enough, donor and receiver are
both chilled enough, and they bloom together for the plan's number of days. Where the verdict is
unknown, the pollen is accepted in the draws that say so. A self-fertile node is its own donor
wherever it blooms, also where nobody knows when: that is the verdict of the pair (i, i); where that
pair is missing the node is not self-fertile.

The answer is packed, one bit a scenario, and a pair is looked at when it is first asked for: few of
the pairs among the varieties of a catalogue matter to a garden.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.verdict_table import ANSWERS, HALF, Answers, VerdictTable
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
_BITS_IN: Final = np.array([i.bit_count() for i in range(65_536)], dtype=np.uint8)


@dataclass(frozen=True, eq=False)
class Pairs:
    """The verdicts as arrays of shape (donors, receivers).

    answer : 0 no verdict, 1 no, 2 unknown, 3 half, 4 yes.
    fraction : share of the pollen that is accepted; 0 where it is refused or unknown.
    """

    answer: NDArray[np.int8]
    fraction: FloatArray


class _Row:
    """What was looked at of one receiver.

    place : shape (N,), the row of `bits` of each donor; 0: it gives nothing, -1: not looked at.
    """

    def __init__(self, donors: int, width: int) -> None:
        self.place = np.full(donors, -1, dtype=np.int32)
        self.bits: Bits = np.zeros((1, width), dtype=np.uint8)

    def put(self, donors: NDArray[np.int64], bits: Bits) -> None:
        """Keep what was found of some donors."""
        some = bits.view(np.uint64).any(axis=1)
        self.place[donors] = 0
        self.place[donors[some]] = len(self.bits) + np.arange(int(some.sum()))
        self.bits = np.concatenate([self.bits, bits[some]])


class Viability:
    """Viable donors of some receivers, in all scenarios; a pair is looked at when it is asked for.

    receivers : their nodes, ascending.
    scenarios : number of scenarios. width : bytes that they take when packed.
    clones : shape (N,), a number that all nodes of one variety share.

    Bits are packed, most significant first; those behind the last scenario are 0. A receiver has
    one or several rows, and is served where it is served in all of them.
    """

    def __init__(
        self, network: NetworkInput, receivers: Sequence[int], *, unknown: bool = False
    ) -> None:
        check_shapes(network)
        chilled = network.chill_quality >= network.min_chill_quality
        self.receivers = tuple(sorted(receivers))
        self.scenarios: int = network.open_start_h.shape[1]
        self.width = packed_bytes(self.scenarios)
        self.clones = clone_numbers(network)
        self._network, self._unknown, self._chilled = network, unknown, chilled
        self._own_row = {node: row for row, node in enumerate(self.receivers)}
        self._seen: dict[int, _Row] = {}

    def rows_of(self, node: int) -> tuple[int, ...]:
        """The rows of a node; none: it is no receiver."""
        row = self._own_row.get(node)
        return () if row is None else (row,)

    def is_receiver(self, node: int) -> bool:
        """Whether a node is one of the receivers."""
        return node in self._own_row

    def node_of(self, row: int) -> int:
        """The receiver of a row."""
        return self.receivers[row]

    def given(self, row: int, donors: NDArray[np.int64]) -> Bits:
        """What some donors give to the receiver of a row, shape (donors, bytes): a copy."""
        seen = self._looked_at(self.node_of(row), donors)
        return np.asarray(seen.bits[seen.place[donors]])

    def serving(self, row: int, donors: NDArray[np.int64]) -> NDArray[np.int64]:
        """Those of some donors that give the receiver of a row anything in any scenario."""
        return np.asarray(donors[self._looked_at(self.node_of(row), donors).place[donors] > 0])

    def reach(self, node: int, donors: NDArray[np.int64]) -> BoolArray:
        """Which of some donors serve a receiver in any scenario if all goes well."""
        if not self.is_receiver(node):
            return np.zeros(len(donors), dtype=bool)
        return np.asarray(self._looked_at(node, donors).place[donors] > 0)

    def serves(self, node: int, donors: NDArray[np.int64]) -> BoolArray:
        """Which of some donors serve a receiver in any scenario of any of its rows."""
        found = np.zeros(len(donors), dtype=bool)
        for row in self.rows_of(node):
            found |= np.isin(donors, self.serving(row, donors))
        return found

    def among(self, node: int, donors: NDArray[np.int64]) -> list[Bits]:
        """What some donors give to a receiver if there are no others; one for each of its cases."""
        seen = self._looked_at(node, donors)
        return [seen.bits[seen.place[donors]]]

    def look(self, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> None:
        """Look at many pairs at once, shape (P,) both; sooner than one by one."""
        new = np.array(
            [
                node not in self._seen or self._seen[node].place[donor] < 0
                for donor, node in zip(donors.tolist(), receivers.tolist(), strict=True)
            ],
            dtype=bool,
        )
        if not new.any():
            return
        donors, receivers = donors[new], receivers[new]
        order = np.argsort(receivers, kind="stable")
        donors, receivers = donors[order], receivers[order]
        bits = self._found(donors, receivers)
        nodes, firsts = np.unique(receivers, return_index=True)
        for node, few in zip(
            nodes.tolist(), np.split(np.arange(donors.size), firsts[1:]), strict=True
        ):
            self._row(node).put(donors[few], bits[few])

    def _row(self, node: int) -> _Row:
        if node not in self._seen:
            self._seen[node] = _Row(len(self.clones), self.width)
        return self._seen[node]

    def _looked_at(self, node: int, donors: NDArray[np.int64]) -> _Row:
        seen = self._row(node)
        if (seen.place[donors] < 0).any():
            new = np.unique(donors[seen.place[donors] < 0])
            seen.put(new, self._found(new, np.array([node])))
        return seen

    def _found(self, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> Bits:
        """In which scenarios each of some pairs is viable; receivers of shape (P,), or (1,)."""
        network, least_h = self._network, self._network.aim.min_overlap_days * HOURS_PER_DAY
        enough_h = max(least_h - TOLERANCE_H, TOLERANCE_H)
        table = told_of(network, donors, receivers)
        places = np.flatnonzero(able(network, donors, receivers, table, self.clones))
        drawn = np.flatnonzero(is_open(table)[places]) if not self._unknown else np.arange(0)
        maybe = places[drawn]
        takers = np.broadcast_to(receivers, donors.shape)[maybe]
        pollen = drawn_pollen(network, donors[maybe], takers).accepted
        bits = np.zeros((donors.size, self.width), dtype=np.uint8)
        for part in block_slices(len(places), self.scenarios):
            few = places[part]
            giving, taking = donors[few], some_of(receivers, few)
            hours = signed_overlap_h(
                network.shed_start_h[giving],
                network.shed_end_h[giving],
                network.open_start_h[taking],
                network.open_end_h[taking],
            )
            flags = (hours >= enough_h) & self._chilled[giving] & self._chilled[taking]
            if network.resting is not None:
                flags &= ~network.resting[giving]
            for own in np.flatnonzero(giving == taking).tolist():
                node = int(giving[own])
                flags[own] = own_pollen_in_time(network, node) & self._chilled[node]
            here = slice(*np.searchsorted(drawn, (part.start, part.stop)).tolist())
            flags[drawn[here] - part.start] &= np.repeat(pollen[here], network.winters, axis=1)
            packed = np.packbits(flags, axis=1)
            bits[few, : packed.shape[1]] = packed
        return bits


def some_of(nodes: NDArray[np.int64], places: NDArray[np.int64]) -> NDArray[np.int64]:
    """One side of some pairs; what all pairs share stays one."""
    return nodes if nodes.size == 1 else nodes[places]


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


def felled_of(network: NetworkInput) -> tuple[int, ...]:
    """Indices of the neighbours' trees that may be felled."""
    return tuple(i for i, node in enumerate(network.nodes) if node.may_be_felled)


def clone_numbers(network: NetworkInput) -> NDArray[np.int64]:
    """One number for each node, shape (N,); all nodes of one variety share it."""
    names = [(node.variety.species, node.clone) for node in network.nodes]
    numbers = {name: i for i, name in enumerate(sorted(set(names)))}
    return np.array([numbers[name] for name in names], dtype=np.int64)


def needed_scenarios(network: NetworkInput) -> int:
    """In how many scenarios a limb must have a viable donor to count as covered."""
    return scenarios_needed(network.aim.level, network.open_start_h.shape[1])


def answers(verdicts: Sequence[Verdict | None]) -> Pairs:
    """Some verdicts as arrays of shape (P,), None: there is none."""
    says = Answers()
    for verdict in verdicts:
        if verdict is not None:
            says.add(verdict)
    there = np.array([verdict is not None for verdict in verdicts], dtype=bool)
    answer, fraction = np.zeros(there.size, dtype=np.int8), np.zeros(there.size)
    answer[there], fraction[there] = says.answer, says.fraction
    return Pairs(answer, fraction)


def verdicts_of(
    network: NetworkInput, donors: NDArray[np.int64], receivers: NDArray[np.int64]
) -> Sequence[Verdict | None]:
    """The verdict on each of some pairs; index arrays of shape (P,), or (1,) for all."""
    if isinstance(network.verdicts, VerdictTable):
        return network.verdicts.of(donors, receivers)
    givers, takers = (side.tolist() for side in np.broadcast_arrays(donors, receivers))
    return [network.verdicts.get(pair) for pair in zip(givers, takers, strict=True)]


def kinds_apart(network: NetworkInput) -> tuple[NDArray[np.int64], BoolArray]:
    """The kind of fruit of each node as a number, and which kinds never set which, donor first."""
    names = sorted({node.variety.species for node in network.nodes})
    kinds = np.array([names.index(node.variety.species) for node in network.nodes], dtype=np.int64)
    table = network.verdicts
    if not isinstance(table, VerdictTable):
        return kinds, np.zeros((len(names), len(names)), dtype=bool)
    return kinds, np.array(
        [[table.is_apart(donor, receiver) for receiver in names] for donor in names]
    )


def told_of(
    network: NetworkInput, donors: NDArray[np.int64], receivers: NDArray[np.int64]
) -> Pairs:
    """The verdicts on pairs of nodes, as index arrays that broadcast."""
    if isinstance(network.verdicts, VerdictTable):
        numbers, says = network.verdicts.numbers(donors, receivers), network.verdicts.answers
        return Pairs(says.answer[numbers], says.fraction[numbers])
    donors, receivers = np.broadcast_arrays(donors, receivers)
    each = zip(donors.ravel().tolist(), receivers.ravel().tolist(), strict=True)
    told = answers([network.verdicts.get(pair) for pair in each])
    return Pairs(told.answer.reshape(donors.shape), told.fraction.reshape(donors.shape))


def able(
    network: NetworkInput,
    donors: NDArray[np.int64],
    receivers: NDArray[np.int64],
    table: Pairs,
    clones: NDArray[np.int64],
) -> BoolArray:
    """Whether a donor could serve a receiver if only the bloom, and what nobody knows, fits.

    donors, receivers : nodes, as index arrays that broadcast to the shape of the table.
    table : the verdicts on these pairs. clones : as from `clone_numbers`.
    """
    lowest = HALF if network.aim.half_counts else ANSWERS["yes"][0]
    unknown = is_open(table)
    accepted = unknown | (table.answer >= lowest) & (table.fraction > 0)
    own = unknown | (table.answer >= HALF) & (table.fraction > 0)
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
    return np.asarray(table.answer == ANSWERS["unknown"][0])


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
    network: NetworkInput, receivers: Sequence[int] | None = None, *, unknown: bool = False
) -> Viability:
    """The viable donors of the given receivers (default: all that must crop).

    unknown : count pairs with an unknown verdict as if they were compatible (an upper bound).

    Raises
    ------
    ShapeError : the arrays do not fit together.
    """
    rows = receivers_of(network) if receivers is None else receivers
    return Viability(network, rows, unknown=unknown)
