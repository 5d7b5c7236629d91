"""What nobody knows of crosses, drawn: one genotype a draw for each variety, which serves all its
pairs; a plain chance where no genotype decides.

The expected answer comes from these draws. The worst cases are exact: every genotype that a
receiver may have, with each donor's worst for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.genotypes import (
    Coder,
    Codes,
    Possible,
    accepted,
    laid_out,
    likelier,
)
from pollinet.compatibility.measured import agreed, crosses_made
from pollinet.compatibility.tables import RuleIndex, same_variety
from pollinet.compatibility.verdict import NO_GROUP
from pollinet.compatibility.verdict_table import VerdictTable, nameless
from pollinet.domain import BoolArray, Fertility, FloatArray, MeasuredPair, VarietyId, Verdict
from pollinet.phenology.streams import stream

BY_GENOTYPE: Final = frozenset({"unknown-genotype", "unknown-dominance"})
"""Codes of verdicts that the genotypes of the two would decide."""

BY_VARIETY: Final = "self-fertility-unknown"
"""Code of a verdict that hangs on one variety."""


class Genotypes:
    """Possible and drawn genotypes under one set of tables, each worked out once and kept.

    known : all varieties that can be named, for crosses that were made with them.
    draws : K. seed : of the plan.
    """

    def __init__(
        self, index: RuleIndex, known: Mapping[VarietyId, Fertility], *, draws: int, seed: int
    ) -> None:
        self.index, self.draws, self.seed = index, draws, seed
        self._known = known
        self._coder = Coder()
        self._made = _made_by_variety(index)
        self._possible: dict[tuple[str, ...], tuple[Fertility, Possible]] = {}
        self._drawn: dict[tuple[str, ...], tuple[Fertility, Possible]] = {}
        self._of_kind: dict[Fertility, Possible] = {}
        self._after_crosses: dict[tuple[Possible, tuple[bytes, ...]], Possible] = {}
        self._styles: dict[Possible, Codes] = {}
        self._surely_taken: dict[tuple[Possible, Possible, float, bool], BoolArray] = {}
        self._worst: dict[tuple[Possible, tuple[Possible, ...], float, bool], BoolArray] = {}
        self._in_stack: dict[VarietyId, tuple[Fertility, int]] = {}
        self.stack = _Stack(draws)

    def possible(self, own: Fertility) -> Possible:
        """All genotypes that a variety may have."""
        key = _name(own)
        kept = self._possible.get(key)
        if kept is None or kept[0] is not own:
            kept = self._possible[key] = own, self._with_crosses(own)
        return kept[1]

    def drawn(self, own: Fertility) -> Possible:
        """One of them for each draw: K rows, each as often as its chance says."""
        key = _name(own)
        kept = self._drawn.get(key)
        if kept is None or kept[0] is not own:
            kept = self._drawn[key] = own, self._draw(own)
        return kept[1]

    def in_stack(self, own: Fertility) -> int:
        """Where its drawn genotypes stand in the stack."""
        kept = self._in_stack.get(own.id)
        if kept is None or kept[0] is not own:
            fruit, locus = self.index.fruit(own.id.species), self.index.loci[own.id.species]
            by_loci = fruit.system != "class" and locus.frequencies
            place = self.stack.place(self.drawn(own) if by_loci else _NONE_DRAWN)
            kept = self._in_stack[own.id] = own, place
        return kept[1]

    def _draw(self, own: Fertility) -> Possible:
        possible = self.possible(own)
        share = (np.arange(self.draws) + 0.5) / self.draws
        chosen = np.searchsorted(np.cumsum(possible.chance)[:-1], share, side="right")
        rng = stream(self.seed, *_name(own), "genotype")
        return possible.some(rng.permutation(chosen))

    def worst(
        self, each: Sequence[Possible], taking: Possible, least: float, *, mixed: bool
    ) -> BoolArray:
        """Which donors serve in each worst case of the receiver's style, shape (C, D).

        Each donor gives the least that it may, and serves where that is this share.

        mixed : whether grains of two alleles pass.
        """
        # Donors that may be the same serve in the same cases.
        place = {giving: i for i, giving in enumerate(dict.fromkeys(each))}
        key = taking, tuple(place), least, mixed
        if key not in self._worst:
            serves = [self._surely(giving, taking, least, mixed) for giving in place]
            self._worst[key] = _worst_rows(np.stack(serves, axis=1))
        return self._worst[key][:, [place[giving] for giving in each]]

    def _surely(self, giving: Possible, taking: Possible, least: float, mixed: bool) -> BoolArray:
        """Whether each different style takes this share of whatever pollen it is, shape (C,)."""
        key = giving, taking, least, mixed
        if key not in self._surely_taken:
            if taking not in self._styles:
                self._styles[taking] = np.unique(taking.stops, axis=0)
            share = accepted(
                giving.grains[None], giving.share[None], self._styles[taking][:, None],
                giving.modifier_share, mixed_grains_pass=mixed,
            )  # fmt: skip
            self._surely_taken[key] = np.asarray((share >= least).all(axis=1))
        return self._surely_taken[key]

    def _laid_out(self, own: Fertility) -> Possible:
        """What its own alleles leave open: one for all that behave alike."""
        kind = replace(nameless(own), group=None, sources=(), memory=(), inferred=())
        if kind not in self._of_kind:
            fruit = self.index.fruit(own.id.species)
            locus = self.index.loci[fruit.name]
            self._of_kind[kind] = laid_out(own, fruit, locus, self._coder)
        return self._of_kind[kind]

    def _with_crosses(self, own: Fertility) -> Possible:
        """What is possible after the crosses that were made with varieties of known genotype."""
        possible = self._laid_out(own)
        if possible.chance.size == 1:
            return possible
        fits = tuple(self._fits(own, possible))
        key = possible, tuple(fit.tobytes() for fit in fits)
        if key not in self._after_crosses:
            self._after_crosses[key] = likelier(possible, fits)
        return self._after_crosses[key]

    def _fits(self, own: Fertility, possible: Possible) -> Iterator[BoolArray]:
        species = own.id.species
        mixed = self.index.loci[species].mixed_grains_pass
        for pair in self._made.get((species, own.clone), ()):
            mother = pair.female in (own.id.name, own.clone)
            other = self._known.get(VarietyId(species, pair.male if mother else pair.female))
            result = agreed([pair])
            told = other is not None and other.genotype is not None and other.genotype.complete
            if not told or result is None or other is None or same_variety(own, other):
                continue
            partner = self._laid_out(other).some(np.array([0]))
            donor, receiver = (partner, possible) if mother else (possible, partner)
            share = accepted(
                donor.grains, donor.share, receiver.stops, donor.modifier_share,
                mixed_grains_pass=mixed,
            )  # fmt: skip
            yield (share > 0.0) == (result != "no")


def _name(own: Fertility) -> tuple[str, ...]:
    """What names its draws: clones share them, and so do unknown members of one group."""
    group = own.group or ""
    if own.genotype is None and group not in NO_GROUP:
        return own.id.species, "group", group
    return own.id.species, own.clone


def _made_by_variety(index: RuleIndex) -> dict[tuple[str, str], tuple[MeasuredPair, ...]]:
    found: dict[tuple[str, str], tuple[MeasuredPair, ...]] = {}
    for (species, female, male), pairs in sorted(index.pairs.items()):
        for name in dict.fromkeys((female, male)):
            found[species, name] = (*found.get((species, name), ()), *crosses_made(pairs))
    return found


@dataclass(frozen=True, eq=False)
class _Loci:
    """The S-locus of each node, arrays of shape (N,).

    counted : whether frequencies of its alleles are known. mixed : whether grains of two alleles
    pass. told : whether anything is told of the node's own alleles.
    """

    counted: BoolArray
    mixed: BoolArray
    told: BoolArray


_Number = TypeVar("_Number", bound=np.generic)

_NONE_DRAWN: Final = Possible(
    np.zeros((1, 1, 1), dtype=np.int16), np.zeros((1, 1)), np.full((1, 1), -1, dtype=np.int16),
    np.ones(1), 0.0,
)  # fmt: skip
"""Of a fruit without S-alleles."""


class _Stack:
    """Drawn genotypes of many varieties, as `Possible`, with the varieties and the draws in front.

    kinds, size : shape (V,), how many kinds of grains a variety has, and of how many alleles each.
    """

    def __init__(self, draws: int) -> None:
        self._places: dict[Possible, int] = {}
        self.grains: Codes = np.zeros((0, draws, 2, 1), dtype=np.int16)
        self.share: FloatArray = np.zeros((0, draws, 2))
        self.stops: Codes = np.zeros((0, draws, 1), dtype=np.int16)
        self.modifier_share: FloatArray = np.zeros(0)
        self.kinds = self.size = np.zeros(0, dtype=np.int64)

    def place(self, drawn: Possible) -> int:
        """Where a variety stands; it is added where it is new."""
        place = self._places.get(drawn)
        if place is None:
            place = self._places[drawn] = len(self._places)
            self._make_room(drawn)
            kinds, size = drawn.grains.shape[1:]
            # One kind alone is looked at as two of which one never comes: fewer sorts to tell.
            self.kinds[place], self.size[place] = max(kinds, 2), size
            self.grains[place, :, :kinds, :size] = drawn.grains
            self.share[place, :, :kinds] = drawn.share
            self.stops[place, :, : drawn.stops.shape[1]] = drawn.stops
            self.modifier_share[place] = drawn.modifier_share
        return place

    def _make_room(self, drawn: Possible) -> None:
        count, (kinds, size), most = len(self._places), drawn.grains.shape[1:], drawn.stops.shape[1]
        rows = 2 * count if count > len(self.kinds) else 0
        self.grains = _widened(self.grains, (rows, 0, kinds, size), 0)
        self.share = _widened(self.share, (rows, 0, kinds), 0)
        self.stops = _widened(self.stops, (rows, 0, most), -1)
        self.modifier_share = _widened(self.modifier_share, (rows,), 0)
        self.kinds, self.size = (_widened(each, (rows,), 0) for each in (self.kinds, self.size))


def _widened(array: NDArray[_Number], least: tuple[int, ...], filler: int) -> NDArray[_Number]:
    """An array of at least this shape."""
    more = [(0, max(wanted - size, 0)) for wanted, size in zip(least, array.shape, strict=True)]
    if not any(after for _before, after in more):
        return array
    return np.pad(array, more, constant_values=filler)


class DrawnCrosses:
    """Crosses among the nodes of one network of which nobody knows whether they work.

    A pair is asked for by the indices of its nodes; it must have a verdict that is unknown.
    """

    def __init__(self, table: VerdictTable, genotypes: Genotypes) -> None:
        self._table = table
        self._genotypes = genotypes
        self._of_node: dict[int, Possible] = {}

    @property
    def draws(self) -> int:
        """K, how many draws there are."""
        return self._genotypes.draws

    def fractions(self, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> FloatArray:
        """Share of the donor's pollen that is accepted in each draw, shape (P, K)."""
        found = np.zeros((donors.size, self.draws))
        by_genotype, places, verdicts = self._by_genotype(donors, receivers)
        by_alleles = by_genotype & self._loci.counted[receivers]
        stack, places_in = self._genotypes.stack, self._in_stack
        rows = np.flatnonzero(by_alleles)
        giving, taking = places_in[donors[rows]], places_in[receivers[rows]]
        # Each with grains of its own size: the few tetraploids would make all six times as large,
        # and sums of more terms are not the same to the last digit.
        mixed, kinds, size = (
            side.astype(np.int64)
            for side in (self._loci.mixed[receivers[rows]], stack.kinds[giving], stack.size[giving])
        )
        sort = (kinds * (size.max(initial=0) + 1) + size) * 2 + mixed
        for one in np.unique(sort).tolist():
            here = np.flatnonzero(sort == one)
            donor, first = giving[here], here[0]
            found[rows[here]] = accepted(
                stack.grains[donor, :, : kinds[first], : size[first]],
                stack.share[donor, :, : kinds[first]],
                stack.stops[taking[here]], stack.modifier_share[donor][:, None],
                mixed_grains_pass=bool(mixed[first]),
            )  # fmt: skip
        for i in np.flatnonzero(~by_alleles).tolist():
            found[i] = self._by_chance(verdicts[places[i]], int(donors[i]), int(receivers[i]))
        return found

    def kept(self, nodes: Sequence[int]) -> DrawnCrosses:
        """The same for some of the nodes, which get new numbers."""
        return DrawnCrosses(self._table.kept(nodes), self._genotypes)

    def worst(
        self, donors: NDArray[np.int64], receivers: NDArray[np.int64], least: float
    ) -> Iterator[tuple[NDArray[np.int64], BoolArray]]:
        """Which donors still serve in each worst case of a receiver's alleles.

        least : a donor serves where at least this share of its pollen is accepted.

        Every donor is at its worst for the case, too. A case in which no less is accepted than in
        another is left out. Yields, for each receiver with donors of which some pollen may be
        taken whatever their alleles are, the places of their pairs, shape (D,), and the cases,
        shape (C, D).
        """
        may = np.flatnonzero(self._may_be_sure(donors, receivers))
        for receiver in np.unique(receivers[may]).tolist():
            places = may[receivers[may] == receiver]
            each = [self._possible(donor) for donor in donors[places].tolist()]
            mixed = bool(self._loci.mixed[receiver])
            taking = self._possible(receiver)
            yield places, self._genotypes.worst(each, taking, least, mixed=mixed)

    def _may_be_sure(self, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> BoolArray:
        """Whether some of a donor's pollen may be taken whatever its alleles are, shape (P,).

        Only what is told of the donor can make the pair sure: a donor of which nothing is told may
        always have the receiver's own alleles.
        """
        loci = self._loci
        told: BoolArray = loci.told[donors] & loci.counted[receivers] & (donors != receivers)
        rows = np.flatnonzero(told)
        if rows.size:
            told[rows] = self._by_genotype(donors[rows], receivers[rows])[0]
        return told

    def _by_genotype(
        self, donors: NDArray[np.int64], receivers: NDArray[np.int64]
    ) -> tuple[BoolArray, NDArray[np.int64], Sequence[Verdict]]:
        """Whether genotypes would decide, shape (P,); then as `VerdictTable.alike`."""
        places, verdicts = self._table.alike(donors, receivers)
        codes = np.array([verdict.code in BY_GENOTYPE for verdict in verdicts], dtype=bool)
        return codes[places], places, verdicts

    def _possible(self, node: int) -> Possible:
        """All genotypes that a node may have."""
        if node not in self._of_node:
            self._of_node[node] = self._genotypes.possible(self._table.fertilities[node])
        return self._of_node[node]

    def _by_chance(self, verdict: Verdict, donor: int, receiver: int) -> FloatArray:
        """1 or 0 for each draw, where a plain chance is all that is known."""
        giving, taking = (self._table.fertilities[node] for node in (donor, receiver))
        words = [taking.id.species, taking.clone]
        if verdict.code != BY_VARIETY:
            words += [giving.id.species, giving.clone]
        rng = stream(self._genotypes.seed, *words, "cross")
        share = (np.arange(self.draws) + 0.5) / self.draws
        return np.asarray(rng.permutation(share < verdict.probability), dtype=np.float64)

    @cached_property
    def _loci(self) -> _Loci:
        index, each = self._genotypes.index, self._table.fertilities
        loci = [index.loci[own.id.species] for own in each]
        return _Loci(
            counted=np.array([bool(locus.frequencies) for locus in loci], dtype=bool),
            mixed=np.array([locus.mixed_grains_pass for locus in loci], dtype=bool),
            told=np.array([own.genotype is not None for own in each], dtype=bool),
        )

    @cached_property
    def _in_stack(self) -> NDArray[np.int64]:
        """The place of each node in the stack, shape (N,)."""
        places = [self._genotypes.in_stack(own) for own in self._table.fertilities]
        return np.array(places, dtype=np.int64)


def _worst_rows(cases: BoolArray) -> BoolArray:
    """The cases in which least is left: without repeats, and without those that leave more."""
    # As whole numbers, a bit for each donor: `np.unique` of rows takes ten times as long.
    rows = {int.from_bytes(row.tobytes(), "big"): row for row in np.packbits(cases, axis=1)}
    kept: list[int] = []
    for case in sorted(rows, key=lambda case: (case.bit_count(), case)):
        if not any(less & case == less for less in kept):
            kept.append(case)
    packed = np.array([rows[case] for case in kept])
    return np.unpackbits(packed, axis=1, count=cases.shape[1]).astype(bool)
