"""What nobody knows of crosses, drawn: one genotype a draw for each variety, which serves all its
pairs, and one side of each dispute; a plain chance where neither decides.

The expected answer comes from these draws. The worst cases are exact: every genotype that a
receiver may have, with each donor's worst for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.disputed import DISPUTED, sides
from pollinet.compatibility.genotypes import (
    Codes,
    Possible,
    accepted,
    likelier,
)
from pollinet.compatibility.likeness import same_variety
from pollinet.compatibility.measured import agreed, crosses_made
from pollinet.compatibility.tables import RuleIndex, pairs_on
from pollinet.compatibility.verdict import NO_GROUP, settled_verdict
from pollinet.compatibility.verdict_table import VerdictTable
from pollinet.domain import BoolArray, Fertility, FloatArray, MeasuredPair, VarietyId, Verdict
from pollinet.phenology.streams import stream

BY_GENOTYPE: Final = frozenset({"unknown-genotype", "unknown-dominance"})
"""Codes of verdicts that the genotypes of the two would decide."""

HANGS_ON_ALLELES: Final = BY_GENOTYPE | {"disputed"}
"""Codes of verdicts on two varieties that may be sure for some of their genotypes."""

FEW_PAIRS: Final = 16
"""So many pairs are sooner asked one by one than laid out as arrays: measured."""

SOME: Final = 1e-9
"""Any share of its own pollen at all is enough for a variety."""

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
        self._made = _made_by_variety(index)
        self._possible: dict[tuple[str, ...], tuple[Fertility, Possible]] = {}
        self._drawn: dict[tuple[str, ...], tuple[Fertility, Possible]] = {}
        self._after_crosses: dict[tuple[Possible, tuple[bytes, ...]], Possible] = {}
        self._on_side: dict[Possible, dict[int, Possible]] = {}
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
            place = self.stack.place(self.drawn(own) if self.by_loci(own) else _NONE_DRAWN)
            kept = self._in_stack[own.id] = own, place
        return kept[1]

    def _draw(self, own: Fertility) -> Possible:
        possible = self.possible(own)
        chosen = _spread(possible.chance, self.draws)
        rng = stream(self.seed, *_name(own), "genotype")
        chosen = rng.permutation(chosen)
        if self.index.fruit(own.id.species).system == "sporophytic":
            chosen = self._with_dominance(possible, chosen, own.id.species)
        return possible.some(chosen)

    def _with_dominance(
        self, possible: Possible, chosen: NDArray[np.int64], species: str
    ) -> NDArray[np.int64]:
        """The drawn genotypes, their pollen showing what the draws say of their pair of alleles.

        One draw of a pair whose order is not known serves all varieties that carry it, but those
        of which crosses that were made say otherwise.
        """
        found, names = chosen.copy(), self.index.layouts.coder.names
        for pair in np.unique(possible.stops[chosen], axis=0):
            if pair.min() < 0:
                continue
            alike = (possible.stops == pair).all(axis=1)
            cases = np.flatnonzero(alike)
            if cases.size < 2:
                continue
            rng = stream(self.seed, species, *sorted(names[code] for code in pair), "dominance")
            drawn = rng.permutation(np.arange(self.draws) % cases.size)
            here = alike[chosen]
            found[here] = cases[self._in_order(possible, cases)][drawn[here]]
        return found

    def _in_order(self, possible: Possible, cases: NDArray[np.int64]) -> NDArray[np.int64]:
        """Places of the cases of dominance by the names of what they show."""
        names = self.index.layouts.coder.names
        shown = [
            sorted(names[code] for code in set(grain.tolist()) - {0})
            for grain in possible.grains[cases, 0]
        ]
        return np.array(sorted(range(len(shown)), key=shown.__getitem__), dtype=np.int64)

    def side(self, own: Fertility) -> NDArray[np.int64]:
        """On which side of what sources dispute a variety is in each draw, shape (K,)."""
        if own.alternatives and self.by_loci(own):
            return self.drawn(own).alternative.astype(np.int64)
        weights = [one.weight for one in own.alternatives] or [1.0]
        rng = stream(self.seed, *_name(own), "dispute")
        return np.asarray(rng.permutation(_spread(weights, self.draws)), dtype=np.int64)

    def by_loci(self, own: Fertility) -> bool:
        """Whether a variety has S-alleles whose frequencies are known."""
        species = own.id.species
        decides = self.index.fruit(species).system != "class"
        return decides and bool(self.index.loci[species].frequencies)

    def on_side(self, own: Fertility, side: int) -> Possible:
        """Those of the possible genotypes that are on one side of what is disputed."""
        possible = self.possible(own)
        kept = self._on_side.setdefault(possible, {})
        if side not in kept:
            kept[side] = possible.some(np.flatnonzero(possible.alternative == side))
        return kept[side]

    def worst(self, donors: Sequence[Fertility], receiver: Fertility, least: float,
              side: int | None = None) -> BoolArray:  # fmt: skip
        """Which donors serve in each worst case of the receiver's style, shape (C, D).

        Each donor gives the least that it may, and serves where that is this share. side : look
        only at the styles on one side of what is disputed of the receiver.
        """
        taking = self.possible(receiver) if side is None else self.on_side(receiver, side)
        each = [self.possible(donor) for donor in donors]
        # Donors that may be the same serve in the same cases.
        place = {giving: i for i, giving in enumerate(dict.fromkeys(each))}
        mixed = self.index.loci[receiver.id.species].mixed_grains_pass
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

    def _with_crosses(self, own: Fertility) -> Possible:
        """What is possible after the crosses that were made with varieties of known genotype."""
        possible = self.index.laid_out(own)
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
            if other is not None and other.alternatives:
                continue
            if not told or result is None or other is None or same_variety(own, other):
                continue
            partner = self.index.laid_out(other).some(np.array([0]))
            donor, receiver = (partner, possible) if mother else (possible, partner)
            share = accepted(
                donor.grains, donor.share, receiver.stops, donor.modifier_share,
                mixed_grains_pass=mixed,
            )  # fmt: skip
            yield (share > 0.0) == (result != "no")


def _name(own: Fertility) -> tuple[str, ...]:
    """What names its draws: clones share them, and so do unknown members of one group."""
    group = own.group or ""
    if own.genotype is None and not own.alternatives and group not in NO_GROUP:
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
    np.ones(1), 0.0, np.zeros(1, dtype=np.int16),
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
        self._places = np.full(len(table.fertilities), -1, dtype=np.int64)

    @property
    def draws(self) -> int:
        """K, how many draws there are."""
        return self._genotypes.draws

    def fractions(self, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> FloatArray:
        """Share of the donor's pollen that is accepted in each draw, shape (P, K)."""
        found = np.zeros((donors.size, self.draws))
        numbers = self._table.numbers(donors, receivers)
        by_genotype = self._table.answers.coded(numbers, BY_GENOTYPE)
        by_alleles = by_genotype & self._loci.counted[receivers]
        stack, rows = self._genotypes.stack, np.flatnonzero(by_alleles)
        giving, taking = self._in_stack(donors[rows]), self._in_stack(receivers[rows])
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
            pair = int(donors[i]), int(receivers[i])
            verdict = self._table.verdict(int(numbers[i]), *pair)
            by_sides = verdict.code in DISPUTED
            found[i] = self._by_sides(*pair) if by_sides else self._by_chance(verdict, *pair)
        return found

    def _by_sides(self, donor: int, receiver: int) -> FloatArray:
        """What a pair comes to in each draw by the side that each of the two is then on."""
        giving, taking = (self._table.fertilities[node] for node in (donor, receiver))
        of_donor, of_receiver = self._genotypes.side(giving), self._genotypes.side(taking)
        own = pairs_on(giving, taking, self._genotypes.index)
        found = np.zeros(self.draws)
        for side in sides(giving, taking):
            here = (of_donor == side.giving) & (of_receiver == side.taking)
            if not here.any():
                continue
            verdict = settled_verdict(side.donor, side.receiver, own, self._genotypes.index)
            if verdict.fraction is not None:
                found[here] = verdict.fraction
            elif verdict.code in BY_GENOTYPE and self._loci.counted[receiver]:
                found[here] = self._by_alleles(giving, taking)[here]
            else:
                found[here] = self._by_chance(verdict, donor, receiver)[here]
        return found

    def _by_alleles(self, giving: Fertility, taking: Fertility) -> FloatArray:
        """Share of the pollen that is accepted in each draw by the genotypes alone, shape (K,)."""
        donor, receiver = self._genotypes.drawn(giving), self._genotypes.drawn(taking)
        mixed = self._genotypes.index.loci[taking.id.species].mixed_grains_pass
        return accepted(
            donor.grains, donor.share, receiver.stops, donor.modifier_share,
            mixed_grains_pass=mixed,
        )  # fmt: skip

    def kept(self, nodes: Sequence[int]) -> DrawnCrosses:
        """The same for some of the nodes, which get new numbers."""
        return DrawnCrosses(self._table.kept(nodes), self._genotypes)

    def worst(self, donors: Sequence[int], receiver: int, least: float) -> BoolArray:
        """Which donors still serve in each worst case of the receiver's alleles, shape (C, D).

        least : a donor serves where at least this share of its pollen is accepted.

        Every donor is at its worst for the case, too. A case in which no less is accepted than in
        another is left out. Its own pollen serves it on those sides of a dispute that say so.
        """
        asked = np.asarray(donors, dtype=np.int64)
        itself = self._serves_itself(receiver) if (asked == receiver).any() else {}
        if not any(itself.values()):
            return self._worst(asked, receiver, least)
        cases = []
        for side, serves in itself.items():
            here = self._worst(asked, receiver, least, side)
            here[:, asked == receiver] = serves
            cases.append(here)
        return _worst_rows(np.concatenate(cases))

    def _serves_itself(self, receiver: int) -> dict[int, bool]:
        """On which sides of what is disputed a node's own pollen surely serves it."""
        own, index = self._table.fertilities[receiver], self._genotypes.index
        if not own.alternatives or not self._loci.counted[receiver]:
            return {}
        possible = set(self._genotypes.possible(own).alternative.tolist())
        pairs = pairs_on(own, own, index)
        return {
            side.taking: settled_verdict(side.donor, side.receiver, pairs, index).answer
            in ("half", "yes")
            for side in sides(own, own)
            if side.taking in possible
        }

    def _worst(
        self, asked: NDArray[np.int64], receiver: int, least: float, side: int | None = None
    ) -> BoolArray:
        """The worst cases of a receiver's alleles, on one side of what is disputed of it or all."""
        hangs = self._hang_on_alleles(asked, receiver)
        if not len(hangs):
            return np.zeros((1, asked.size), dtype=bool)
        own = [self._table.fertilities[donor] for donor in asked[hangs].tolist()]
        few = self._genotypes.worst(own, self._table.fertilities[receiver], least, side)
        cases = np.zeros((len(few), asked.size), dtype=bool)
        cases[:, hangs] = few
        return cases

    def best(self, donors: Sequence[int], receiver: int, least: float) -> BoolArray:
        """Which donors may serve on each side of what is disputed of the receiver, shape (C, D).

        Every donor is at its best for the side. Alleles of which nothing is told may always be such
        that everybody serves.
        """
        taking, index = self._table.fertilities[receiver], self._genotypes.index
        cases = np.ones((max(1, len(taking.alternatives)), len(donors)), dtype=bool)
        if not taking.alternatives:
            return cases
        for place, donor in enumerate(donors):
            giving = self._table.fertilities[donor]
            if self._table.code(donor, receiver) not in DISPUTED:
                continue
            pairs = pairs_on(giving, taking, index)
            share = SOME if donor == receiver else least
            cases[:, place] = False
            for side in sides(giving, taking):
                verdict = settled_verdict(side.donor, side.receiver, pairs, index)
                may = verdict.fraction is None or verdict.fraction >= share
                cases[side.taking, place] |= may
        if self._loci.counted[receiver]:  # crosses that were made may rule a side out
            cases = cases[np.unique(self._genotypes.possible(taking).alternative)]
        return cases

    def _hang_on_alleles(
        self, donors: NDArray[np.int64], receiver: int
    ) -> Sequence[int] | NDArray[np.int64]:
        """Places of those donors of a receiver that alleles may make sure.

        Only what is told of the donor can do so: one of which nothing is told may always have the
        receiver's own alleles.
        """
        if not self._loci.counted[receiver]:
            return ()
        table, places = self._table, np.flatnonzero(self._loci.told[donors] & (donors != receiver))
        told = donors[places]
        if told.size <= FEW_PAIRS:
            pairs = zip(places.tolist(), told.tolist(), strict=True)
            return [at for at, one in pairs if table.code(one, receiver) in HANGS_ON_ALLELES]
        numbers = table.numbers(told, np.array([receiver]))
        return places[table.answers.coded(numbers, HANGS_ON_ALLELES)]

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
            told=np.array(
                [bool(own.genotype or own.alternatives or own.descent) for own in each], dtype=bool
            ),
        )

    def _in_stack(self, nodes: NDArray[np.int64]) -> NDArray[np.int64]:
        """The place of each of some nodes in the stack, shape (P,)."""
        for node in np.unique(nodes[self._places[nodes] < 0]).tolist():
            self._places[node] = self._genotypes.in_stack(self._table.fertilities[node])
        return self._places[nodes]


def _spread(weights: Sequence[float] | FloatArray, draws: int) -> NDArray[np.int64]:
    """The places of some weights, each in as many of the draws as it says, in order."""
    share = (np.arange(draws) + 0.5) / draws
    edges = np.cumsum(np.asarray(weights, dtype=float))[:-1]
    return np.asarray(np.searchsorted(edges, share, side="right"), dtype=np.int64)


def _worst_rows(cases: BoolArray) -> BoolArray:
    """The cases in which least is left: without repeats, and without those that leave more."""
    # As whole numbers, a bit for each donor: `np.unique` of rows takes many times as long.
    packed = np.packbits(cases, axis=1)
    told, width = packed.tobytes(), packed.shape[1]
    different = {told[at : at + width] for at in range(0, len(told), width)}
    rows = {int.from_bytes(row, "big"): row for row in different}
    kept: list[int] = []
    for case in sorted(rows, key=lambda case: (case.bit_count(), case)):
        if not any(less & case == less for less in kept):
            kept.append(case)
    left = np.frombuffer(b"".join(map(rows.__getitem__, kept)), np.uint8).reshape(-1, width)
    return np.unpackbits(left, axis=1, count=cases.shape[1]).astype(bool)
