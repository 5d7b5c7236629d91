"""What every donor is to every receiver: how much it serves, or why it does not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from typing import Any, Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.drawn import DrawnCrosses
from pollinet.compatibility.verdict_table import VerdictTable
from pollinet.domain import BoolArray, FloatArray, NetworkInput, Verdict
from pollinet.network.overlap import HOURS_PER_DAY, signed_overlap_h
from pollinet.network.viability import (
    TOLERANCE_H,
    Bits,
    DrawnPollen,
    Pairs,
    able,
    answers,
    check_shapes,
    clone_numbers,
    drawn_pollen,
    is_open,
    own_pollen_in_time,
    pack,
    packed_bytes,
    some_of,
    verdicts_of,
)

Indices = NDArray[np.int64]

TOGETHER: Final = 2**16
"""Up to so many scenarios of pairs are sooner looked at together than row by row: measured."""

RefusalCode = Literal[
    "same-variety",
    "not-self-fertile",
    "no-verdict",
    "incompatible",
    "half-only",
    "unknown-compatibility",
    "too-far",
    "no-own-bloom",
    "no-bloom",
    "chill",
    "blooms-earlier",
    "blooms-later",
    "short-overlap",
]
"""Why a node is no donor of another in any scenario: the first condition that fails, in this
order. `no-verdict`: another kind of fruit. `no-own-bloom`: the receiver's bloom is not known.
`blooms-earlier` and `blooms-later`: nowhere a shared hour; `short-overlap`: shared days, but never
enough of them."""


LOW = 0.1
"""Share of the scenarios below a spread that is told, and above it: eight in ten lie between. Own
convention."""


@dataclass(frozen=True)
class DonorShare:
    """One donor of one receiver.

    reliability : share of scenarios in which it is viable.
    compatible_fraction : share of its pollen that is accepted; where that is not known, the mean
        over the draws.
    overlap_days, overlap_least_days, overlap_most_days : mean, least and most over scenarios.
    overlap_low_days, overlap_high_days : eight scenarios in ten lie between; see `LOW`.
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
    overlap_low_days: float
    overlap_high_days: float

    @property
    def known(self) -> bool:
        """Whether it is known that its pollen is accepted."""
        return self.verdict.answer != "unknown"


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
    chosen, rows = np.asarray(donors, dtype=np.int64), np.array([receiver])
    overlap = _overlap_days(_shared_hours(network, chosen, rows))
    effective = _effective_days(network, chosen, rows, overlap, fraction)
    return ReceiverDays(overlap, effective, _shift_days(network, chosen, rows), fraction)


# Pairs below are index arrays that broadcast: all donors of one receiver, or all receivers of one
# donor. Arrays over their scenarios have the shape (P, S).


def _shared_hours(network: NetworkInput, donors: Indices, receivers: Indices) -> FloatArray:
    """Shared hours, negative: a gap; NaN where either does not bloom. [h]"""
    hours = signed_overlap_h(
        network.shed_start_h[donors],
        network.shed_end_h[donors],
        network.open_start_h[receivers],
        network.open_end_h[receivers],
    )
    if network.resting is not None:
        hours[network.resting[donors] & np.not_equal(donors, receivers)[:, None]] = np.nan
    return hours


def _overlap_days(hours: FloatArray) -> FloatArray:
    # Where either does not bloom the hours are NaN, which `fmax` passes over.
    return np.asarray(np.fmax(hours, 0.0) / HOURS_PER_DAY)


def _effective_days(
    network: NetworkInput,
    donors: Indices,
    receivers: Indices,
    overlap: FloatArray,
    fraction: FloatArray,
) -> FloatArray:
    """Overlap times fraction, proximity, flight and chill. [days]"""
    near = np.where(donors == receivers, 1.0, network.proximity[donors, receivers])
    weight = fraction * near
    some = np.flatnonzero(weight)
    giving, taking = some_of(donors, some), some_of(receivers, some)
    flight = (network.flight_share[giving] + network.flight_share[taking]) / 2
    quality = network.chill_quality[giving] * network.chill_quality[taking]
    effective = np.zeros_like(overlap)
    effective[some] = np.nan_to_num(overlap[some] * weight[some, None] * flight * quality)
    return effective


def _shift_days(network: NetworkInput, donors: Indices, receivers: Indices) -> FloatArray:
    """Middle of the donor's bloom minus middle of the receiver's; NaN: no bloom. [days]"""
    given = network.shed_start_h[donors] + network.shed_end_h[donors]
    shift = given - network.open_start_h[receivers] - network.open_end_h[receivers]
    return np.asarray(shift / 2 / HOURS_PER_DAY)


def refusal_code(
    network: NetworkInput,
    donor: int,
    receiver: int,
    overlap: FloatArray,
    shift: FloatArray,
    possible: float = 0.0,
) -> RefusalCode:
    """First condition that keeps a donor from serving a receiver in every scenario.

    overlap, shift : shape (S,), see `ReceiverDays`. [days]
    possible : share of scenarios in which only an unknown verdict is in the way.
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
    if verdict.answer == "unknown" and possible > 0:
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
        dated = np.isfinite(network.open_start_h[receiver]).any()
        return "no-bloom" if dated else "no-own-bloom"
    least = network.min_chill_quality
    chilled = (network.chill_quality[[donor, receiver]] >= least).all(axis=0)
    if not (chilled & np.isfinite(shift)).any():
        return "chill"
    if overlap[chilled].max() > TOLERANCE_H:
        return "short-overlap"
    return "blooms-earlier" if np.nanmean(shift[chilled]) < 0 else "blooms-later"


@dataclass(frozen=True, eq=False)
class DonorTable:
    """All donors of some receivers; rows are receivers, columns donors.

    receivers, donors : node of each row and of each column, ascending.
    bits : shape (3, R, D, bytes), one bit a scenario as in `Viability`: in which the donor is
        viable, in which it is strong as well, and in which it would be viable if an unknown
        verdict were a yes.
    reliability, effective_days : shape (R, D), as in `DonorShare`; 0 where it is no donor.
    unknown : shape (R, D), whether nobody knows if the pollen is accepted.
    entries : shape (R, D), a `DonorShare` or a `Refusal` each.
    """

    receivers: tuple[int, ...]
    donors: tuple[int, ...]
    bits: Bits
    reliability: FloatArray
    effective_days: FloatArray
    unknown: BoolArray
    entries: NDArray[np.object_]


class Known(NamedTuple):
    """A table of before, with the rows and columns in which nothing has changed.

    rows, columns : for each receiver and donor of the new table its row and column in `table`; -1:
        it was not there, or is another one now.
    """

    table: DonorTable
    rows: Indices
    columns: Indices


def donor_table(
    network: NetworkInput,
    receivers: Sequence[int],
    donors: Sequence[int],
    known: Known | None = None,
) -> DonorTable:
    """Look at every donor of every receiver.

    known : what need not be looked at again; the answer is the same with and without.

    Raises
    ------
    ShapeError : the arrays of the network do not fit together.
    """
    check_shapes(network)
    giving, taking = np.array(donors, dtype=np.int64), np.array(receivers, dtype=np.int64)
    shape = taking.size, giving.size
    table = DonorTable(
        tuple(receivers),
        tuple(donors),
        np.zeros((3, *shape, packed_bytes(network.open_start_h.shape[1])), dtype=np.uint8),
        np.zeros(shape),
        np.zeros(shape),
        np.zeros(shape, dtype=bool),
        np.empty(shape, dtype=object),
    )
    new_rows, new_columns = np.ones(taking.size, dtype=bool), np.zeros(giving.size, dtype=bool)
    if known is not None:
        new_rows, new_columns = known.rows < 0, known.columns < 0
        _take_over(table, known, np.flatnonzero(~new_rows), np.flatnonzero(~new_columns))
    clones = clone_numbers(network)
    rows, columns = np.nonzero(new_rows[:, None] | new_columns)
    if rows.size * network.open_start_h.shape[1] <= TOGETHER:
        _put(table, rows, columns, _cells(network, giving[columns], taking[rows], clones))
        return table
    # Arrays of all new pairs are large: row by row and column by column one side stays as it is.
    kinds = _kinds(network, giving) if new_rows.any() else None
    own = {node: column for column, node in enumerate(table.donors)}
    models: dict[tuple[object, ...], int] = {}
    for row in np.flatnonzero(new_rows).tolist():
        receiver = taking[row, None]
        if kinds is None:
            _put(table, row, slice(None), _cells(network, giving, receiver, clones))
            continue
        near = network.proximity[giving, receiver]
        place = own.get(table.receivers[row])
        if place is not None:
            model = models.setdefault((kinds[place], np.sort(near).tobytes()), row)
            swap = _swapped(giving.size, place, own[table.receivers[model]])
            there = network.proximity[giving[swap], taking[model]]
            if model != row and np.array_equal(near, there):
                _put_alike(table, model, row, swap)
                continue
        _put(table, row, slice(None), _cells_of_kinds(network, giving, kinds, receiver, clones))
    old_rows = np.flatnonzero(~new_rows)
    for column in np.flatnonzero(new_columns).tolist() if old_rows.size else ():
        cells = _cells(network, giving[column, None], taking[old_rows], clones)
        _put(table, old_rows, column, cells)
    return table


class _Cells(NamedTuple):
    """Some pairs, as in `DonorTable`."""

    bits: Bits
    reliability: FloatArray
    effective_days: FloatArray
    unknown: BoolArray
    entries: NDArray[np.object_]


def _put(table: DonorTable, rows: Any, columns: Any, cells: _Cells) -> None:
    table.bits[:, rows, columns] = cells.bits
    table.reliability[rows, columns] = cells.reliability
    table.effective_days[rows, columns] = cells.effective_days
    table.unknown[rows, columns] = cells.unknown
    table.entries[rows, columns] = cells.entries


def _swapped(number: int, one: int, other: int) -> Indices:
    """The places of so many, with two of them in each other's."""
    places = np.arange(number)
    places[[one, other]] = other, one
    return places


def _put_alike(table: DonorTable, model: int, row: int, swap: Indices) -> None:
    """Fill the row of a receiver like that of another of its kind that is as far from all others.

    swap : donors of the other row for those of this one; each receiver is in the other's place.
    """
    table.bits[:, row] = table.bits[:, model, swap]
    for each in (table.reliability, table.effective_days, table.unknown, table.entries):
        each[row] = each[model, swap]
    for place in np.flatnonzero(swap != np.arange(swap.size)).tolist():
        entry, node = table.entries[row, place], table.donors[place]
        table.entries[row, place] = replace(entry, node=node)


def _take_over(table: DonorTable, known: Known, rows: Indices, columns: Indices) -> None:
    """Fill in what is known; nodes may be numbered otherwise now."""
    was = known.table
    here: Any = np.ix_(rows, columns)
    before: Any = np.ix_(known.rows[rows], known.columns[columns])
    if (
        table.unknown.shape == was.unknown.shape
        and np.array_equal(rows, known.rows[rows])
        and np.array_equal(columns, known.columns[columns])
    ):
        here = before = ...  # Nothing has moved; what is new is put over the rest.
    for bits, kept in zip(table.bits, was.bits, strict=True):
        bits[here] = kept[before]
    table.reliability[here] = was.reliability[before]
    table.effective_days[here] = was.effective_days[before]
    table.unknown[here] = was.unknown[before]
    table.entries[here] = was.entries[before]
    for column in columns.tolist():
        node = table.donors[column]
        if node != was.donors[known.columns[column]]:
            for row in rows.tolist():
                table.entries[row, column] = replace(table.entries[row, column], node=node)


def untouched(table: DonorTable, known: Known) -> BoolArray:
    """Receivers to which nothing gives anything that has come or gone, shape (R,)."""
    came, left = known.columns < 0, np.ones(len(known.table.donors), dtype=bool)
    left[known.columns[~came]] = False
    held: BoolArray = known.rows >= 0
    held &= ~table.bits[2][:, came].any(axis=(1, 2))
    return np.asarray(held & ~known.table.bits[2][:, left].any(axis=(1, 2))[known.rows])


def _cells(network: NetworkInput, donors: Indices, receivers: Indices, clones: Indices) -> _Cells:
    givers, takers = (side.tolist() for side in np.broadcast_arrays(donors, receivers))
    verdicts = verdicts_of(network, donors, receivers)
    told = answers(verdicts)
    hours = _shared_hours(network, donors, receivers)
    overlap = _overlap_days(hours)
    pollen = _pollen(network, donors, receivers, told)
    effective = _effective_days(network, donors, receivers, overlap, pollen.weight)
    effective[pollen.unknown] *= np.repeat(pollen.drawn.fraction, network.winters, axis=1)
    possible = _in_time(network, donors, receivers, hours)
    possible &= able(network, donors, receivers, told, clones)[:, None]
    viable = possible.copy()
    viable[pollen.unknown] &= np.repeat(pollen.drawn.accepted, network.winters, axis=1)
    strong = viable & (effective >= network.aim.min_overlap_days - TOLERANCE_H / HOURS_PER_DAY)
    # Own pollen needs no days that anybody has counted.
    undated_own = np.equal(donors, receivers) & ~np.isfinite(hours).any(axis=1)
    strong |= viable & undated_own[:, None]
    days = _Days(overlap, effective, viable, strong, possible)
    bits = pack(np.stack((viable, strong, possible)))
    serving = viable.any(axis=1)
    entries, numbers = np.empty(len(givers), dtype=object), np.zeros((2, len(givers)))
    for place, share in _shares(days, np.flatnonzero(serving), givers, pollen.mean, verdicts):
        entries[place], numbers[:, place] = share, (share.reliability, share.effective_days)
    idle = np.flatnonzero(~serving)
    shifts = _shift_days(network, some_of(donors, idle), some_of(receivers, idle))[: idle.size]
    for place, refusal in _refusals(network, days, idle, shifts, givers, takers, verdicts):
        entries[place] = refusal
    is_unknown = np.zeros(len(givers), dtype=bool)
    is_unknown[pollen.unknown] = True
    return _Cells(bits, numbers[0], numbers[1], is_unknown, entries)


def _kinds(network: NetworkInput, donors: Indices) -> Indices | None:
    """A number for each donor, shape (D,); those of one number give and take the same, but for
    distance.

    None where all differ, or where verdicts or draws hang on more than the varieties.
    """
    table, drawn = network.verdicts, network.drawn
    if not isinstance(table, VerdictTable) or not isinstance(drawn, DrawnCrosses | None):
        return None
    names = [(id(table.fertilities[i]), network.nodes[i].variety, network.nodes[i].clone)
             for i in donors.tolist()]  # fmt: skip
    if len(set(names)) == len(names):
        return None
    times: list[NDArray[Any]] = [
        network.shed_start_h, network.shed_end_h, network.open_start_h, network.open_end_h,
        network.chill_quality, network.flight_share,
        *([] if network.resting is None else [network.resting]),
    ]  # fmt: skip
    often, models = Counter(names), dict[tuple[object, ...], int]()
    kinds = np.empty(len(names), dtype=np.int64)
    for place, (name, node) in enumerate(zip(names, donors.tolist(), strict=True)):
        same = times if often[name] > 1 else []
        own = tuple(blake2b(each[node].tobytes()).digest() for each in same)
        kinds[place] = models.setdefault((name, *own), len(models))
    return None if len(models) == len(names) else kinds


def _cells_of_kinds(
    network: NetworkInput, donors: Indices, kinds: Indices, receiver: Indices, clones: Indices
) -> _Cells:
    """`_cells` of one receiver, where one donor stands for all of its kind that are as near."""
    near, ranks = np.unique(network.proximity[donors, receiver], return_inverse=True)
    sort = (kinds * near.size + ranks) * 2 + (donors == receiver)
    models, places = np.unique(sort, return_index=True, return_inverse=True)[1:]
    few = _cells(network, donors[models], receiver, clones)
    entries = few.entries[places]
    for place in np.flatnonzero(models[places] != np.arange(donors.size)).tolist():
        entries[place] = replace(entries[place], node=int(donors[place]))
    return _Cells(
        few.bits[:, places], few.reliability[places], few.effective_days[places],
        few.unknown[places], entries,
    )  # fmt: skip


class _Pollen(NamedTuple):
    """What the receivers of P pairs take of the pollen.

    weight : shape (P,), the accepted share; 1 where it is not known.
    unknown : indices of the Q pairs of which it is not known.
    drawn : of the Q pairs.
    mean : shape (P,), the accepted share, or its mean over the draws.
    """

    weight: FloatArray
    unknown: Indices
    drawn: DrawnPollen
    mean: FloatArray


def _pollen(network: NetworkInput, donors: Indices, receivers: Indices, told: Pairs) -> _Pollen:
    unknown = is_open(told)
    weight = np.where(unknown, 1.0, told.fraction)
    places = np.flatnonzero(unknown)
    giving, taking = (side[places] for side in np.broadcast_arrays(donors, receivers))
    drawn = drawn_pollen(network, giving, taking)
    mean = told.fraction.copy()
    mean[places] = drawn.fraction.mean(axis=1)
    return _Pollen(weight, places, drawn, mean)


class _Days(NamedTuple):
    """Some pairs in all scenarios, arrays of shape (P, S)."""

    overlap: FloatArray
    effective: FloatArray
    viable: BoolArray
    strong: BoolArray
    possible: BoolArray


def _in_time(
    network: NetworkInput, donors: Indices, receivers: Indices, hours: FloatArray
) -> BoolArray:
    """Where both are chilled enough and bloom together for long enough, shape (P, S)."""
    enough_h = max(network.aim.min_overlap_days * HOURS_PER_DAY - TOLERANCE_H, TOLERANCE_H)
    together: BoolArray = hours >= enough_h
    for place in np.flatnonzero(donors == receivers).tolist():
        node = int(np.broadcast_to(donors, len(hours))[place])
        together[place] = own_pollen_in_time(network, node)
    together &= network.chill_quality[donors] >= network.min_chill_quality
    together &= network.chill_quality[receivers] >= network.min_chill_quality
    return together


def _shares(
    days: _Days,
    serving: Indices,
    givers: Sequence[int],
    fraction: FloatArray,
    verdicts: Sequence[Verdict | None],
) -> Iterator[tuple[int, DonorShare]]:
    """The pairs in which the donor is viable in some scenario."""
    overlap = np.sort(days.overlap[serving], axis=1)
    low, high = _point(overlap, LOW), _point(overlap, 1 - LOW)
    columns = (
        days.viable[serving].mean(axis=1),
        days.overlap[serving].mean(axis=1),
        overlap[:, 0],
        overlap[:, -1],
        days.effective[serving].mean(axis=1),
        fraction[serving],
        days.strong[serving].mean(axis=1),
        low,
        high,
    )
    rows = zip(*(column.tolist() for column in columns), strict=True)
    for place, row in zip(serving.tolist(), rows, strict=True):
        verdict = verdicts[place]
        assert verdict is not None
        viable, mean, least, most, effective, part, strong, *spread = row
        told = DonorShare(
            givers[place], viable, mean, least, most, effective, part, strong, verdict, *spread
        )
        yield place, told


def _point(rows: FloatArray, share: float) -> FloatArray:
    """The point below which a share of each sorted row lies, straight between two, shape (P,)."""
    # `numpy.quantile` does the same in eight times the time.
    last = rows.shape[1] - 1
    place = int(share * last)
    after = min(place + 1, last)
    return np.asarray(rows[:, place] + (share * last - place) * (rows[:, after] - rows[:, place]))


def _refusals(
    network: NetworkInput,
    days: _Days,
    idle: Indices,
    shifts: FloatArray,
    givers: Sequence[int],
    takers: Sequence[int],
    verdicts: Sequence[Verdict | None],
) -> Iterator[tuple[int, Refusal]]:
    """The pairs in which the donor is viable in no scenario; shifts are theirs alone."""
    columns = (days.overlap[idle].mean(axis=1), days.possible[idle].mean(axis=1))
    rows = zip(shifts, _mean_shift(shifts), *(column.tolist() for column in columns), strict=True)
    for place, (shift, mean_shift, shared, chance) in zip(idle.tolist(), rows, strict=True):
        donor = givers[place]
        code = refusal_code(network, donor, takers[place], days.overlap[place], shift, chance)
        yield place, Refusal(donor, code, verdicts[place], mean_shift, shared, chance)


def _mean_shift(shift: FloatArray) -> list[float | None]:
    """Mean of each row, NaN left out; None where a row has nothing else. [days]"""
    known = np.isfinite(shift)
    sums, counts = np.where(known, shift, 0.0).sum(axis=1), known.sum(axis=1)
    pairs_of = zip(sums.tolist(), counts.tolist(), strict=True)
    return [total / count if count else None for total, count in pairs_of]
