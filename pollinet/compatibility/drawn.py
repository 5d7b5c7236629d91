"""What nobody knows of crosses, drawn: one genotype a draw for each variety, which serves all its
pairs; a plain chance where no genotype decides.

The expected answer comes from these draws. The worst cases are exact: every genotype that a
receiver may have, with each donor's worst for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.genotypes import (
    Coder,
    Codes,
    Possible,
    accepted,
    laid_out,
    likelier,
    whole_genotypes,
)
from pollinet.compatibility.measured import agreed, crosses_made
from pollinet.compatibility.tables import RuleIndex, same_variety
from pollinet.compatibility.verdict import NO_GROUP, Crossings
from pollinet.domain import BoolArray, Fertility, FloatArray, MeasuredPair, VarietyId
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

    def _draw(self, own: Fertility) -> Possible:
        possible = self.possible(own)
        share = (np.arange(self.draws) + 0.5) / self.draws
        chosen = np.searchsorted(np.cumsum(possible.chance)[:-1], share, side="right")
        rng = stream(self.seed, *_name(own), "genotype")
        return possible.some(rng.permutation(chosen))

    def _laid_out(self, own: Fertility) -> Possible:
        fruit = self.index.fruit(own.id.species)
        locus = self.index.loci[fruit.name]
        return laid_out(list(whole_genotypes(own, fruit, locus)), fruit, locus, self._coder)

    def _with_crosses(self, own: Fertility) -> Possible:
        """What is possible after the crosses that were made with varieties of known genotype."""
        possible = self._laid_out(own)
        if possible.chance.size == 1:
            return possible
        return likelier(possible, self._fits(own, possible))

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
class _Stack:
    """Drawn genotypes of N nodes: as `Possible`, with the nodes and the draws in front."""

    grains: Codes
    share: FloatArray
    stops: Codes
    modifier_share: FloatArray


class DrawnCrosses:
    """Crosses among the nodes of one network of which nobody knows whether they work.

    A pair is asked for by the indices of its nodes; it must have a verdict that is unknown.
    """

    def __init__(
        self, fertilities: Sequence[Fertility], crossings: Crossings, genotypes: Genotypes
    ) -> None:
        self._fertilities = tuple(fertilities)
        self._crossings = crossings
        self._genotypes = genotypes
        self._stacks: _Stack | None = None

    @property
    def draws(self) -> int:
        """K, how many draws there are."""
        return self._genotypes.draws

    def fractions(self, donors: NDArray[np.int64], receivers: NDArray[np.int64]) -> FloatArray:
        """Share of the donor's pollen that is accepted in each draw, shape (P, K).

        donors, receivers : shape (P,) each.
        """
        found = np.zeros((donors.size, self.draws))
        pairs = list(zip(donors.tolist(), receivers.tolist(), strict=True))
        codes = [self._crossings.verdict(*self._both(pair)).code for pair in pairs]
        by_alleles = np.array([self._is_by_alleles(*x) for x in zip(codes, pairs, strict=True)],
                              dtype=bool)  # fmt: skip
        for mixed in (False, True):
            rows = [
                i for i in np.flatnonzero(by_alleles).tolist() if self._mixed(pairs[i]) == mixed
            ]
            if rows:
                stack = self._stack()
                giving, taking = donors[rows], receivers[rows]
                found[rows] = accepted(
                    stack.grains[giving], stack.share[giving], stack.stops[taking],
                    stack.modifier_share[giving][:, None], mixed_grains_pass=mixed,
                )  # fmt: skip
        for i in np.flatnonzero(~by_alleles).tolist():
            found[i] = self._by_chance(codes[i], pairs[i])
        return found

    def kept(self, nodes: Sequence[int]) -> DrawnCrosses:
        """The same for some of the nodes, which get new numbers."""
        some = [self._fertilities[node] for node in nodes]
        return DrawnCrosses(some, self._crossings, self._genotypes)

    def worst(self, donors: Sequence[int], receiver: int, least: float) -> BoolArray:
        """Which donors still serve in each worst case of the receiver's alleles, shape (C, D).

        least : a donor serves where at least this share of its pollen is accepted.

        Every donor is at its worst for the case, too. A case in which no less is accepted than in
        another is left out.
        """
        hangs = [i for i, donor in enumerate(donors) if self._may_be_sure(donor, receiver)]
        if not hangs:
            return np.zeros((1, len(donors)), dtype=bool)
        own = self._fertilities[receiver]
        styles = np.unique(self._genotypes.possible(own).stops, axis=0)
        mixed = self._mixed((donors[hangs[0]], receiver))
        cases = np.zeros((len(styles), len(donors)), dtype=bool)
        for i in hangs:
            donor = self._genotypes.possible(self._fertilities[donors[i]])
            share = accepted(
                donor.grains[None], donor.share[None], styles[:, None], donor.modifier_share,
                mixed_grains_pass=mixed,
            )  # fmt: skip
            cases[:, i] = (share >= least).all(axis=1)
        return _worst_rows(cases)

    def _may_be_sure(self, donor: int, receiver: int) -> bool:
        """Whether the pair is ever sure: only what is told of the donor can make it so.

        A donor of which nothing is told may always have the receiver's own alleles, and one
        whose alleles do not decide is never sure.
        """
        if self._fertilities[donor].genotype is None or donor == receiver:
            return False
        code = self._crossings.verdict(*self._both((donor, receiver))).code
        return self._is_by_alleles(code, (donor, receiver))

    def _has_table(self, node: int) -> bool:
        return bool(self._genotypes.index.loci[self._fertilities[node].id.species].frequencies)

    def _both(self, pair: tuple[int, int]) -> tuple[Fertility, Fertility]:
        return self._fertilities[pair[0]], self._fertilities[pair[1]]

    def _is_by_alleles(self, code: str, pair: tuple[int, int]) -> bool:
        return code in BY_GENOTYPE and self._has_table(pair[1])

    def _mixed(self, pair: tuple[int, int]) -> bool:
        return self._genotypes.index.loci[self._fertilities[pair[1]].id.species].mixed_grains_pass

    def _by_chance(self, code: str, pair: tuple[int, int]) -> FloatArray:
        """1 or 0 for each draw, where a plain chance is all that is known."""
        donor, receiver = self._both(pair)
        chance = self._crossings.verdict(donor, receiver).probability
        words = [receiver.id.species, receiver.clone]
        if code != BY_VARIETY:
            words += [donor.id.species, donor.clone]
        rng = stream(self._genotypes.seed, *words, "cross")
        share = (np.arange(self.draws) + 0.5) / self.draws
        return np.asarray(rng.permutation(share < chance), dtype=np.float64)

    def _stack(self) -> _Stack:
        if self._stacks is None:
            self._stacks = _stacked([self._genotypes.drawn(f) if self._by_loci(f) else None
                                     for f in self._fertilities], self.draws)  # fmt: skip
        return self._stacks

    def _by_loci(self, own: Fertility) -> bool:
        index = self._genotypes.index
        return index.fruit(own.id.species).system != "class" and bool(
            index.loci[own.id.species].frequencies
        )


def _stacked(each: Sequence[Possible | None], draws: int) -> _Stack:
    """Drawn genotypes of several nodes; None: of a fruit without S-alleles."""
    some = [one for one in each if one is not None]
    kinds = max(one.grains.shape[1] for one in some)
    size = max(one.grains.shape[2] for one in some)
    most = max(one.stops.shape[1] for one in some)
    grains = np.zeros((len(each), draws, kinds, size), dtype=np.int16)
    share = np.zeros((len(each), draws, kinds))
    stops = np.full((len(each), draws, most), -1, dtype=np.int16)
    modifier = np.zeros(len(each))
    for node, one in enumerate(each):
        if one is not None:
            grains[node, :, : one.grains.shape[1], : one.grains.shape[2]] = one.grains
            share[node, :, : one.share.shape[1]] = one.share
            stops[node, :, : one.stops.shape[1]] = one.stops
            modifier[node] = one.modifier_share
    return _Stack(grains, share, stops, modifier)


def _worst_rows(cases: BoolArray) -> BoolArray:
    """The cases in which least is left: without repeats, and without those that leave more."""
    packed = np.packbits(cases, axis=1)
    # As whole rows of bytes: much faster than column by column, in the same order.
    _, first = np.unique(packed.view(f"V{packed.shape[1]}")[:, 0], return_index=True)
    different = cases[first]
    order = np.argsort(different.sum(axis=1), kind="stable")
    kept: list[BoolArray] = []
    for case in different[order]:
        if not any((less <= case).all() for less in kept):
            kept.append(case)
    return np.array(kept, dtype=bool)
