"""Which genotypes a variety may have, each with its chance, laid out for crossing them at once.

Where S-alleles are not told, they are those of the fruit's known varieties by their frequency,
with room for alleles that nobody has seen; the number of sets is open, too, where it is not told.
Crosses that were made with varieties of known genotype rule out what contradicts them.

References
----------
Hardy–Weinberg proportions, as in `chances`; the rules of `gametophytic` and `sporophytic`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.alleles import (
    PASSES,
    AlleleBook,
    compared_name,
    pollen_identity,
    style_identity,
)
from pollinet.compatibility.chances import allele_draws, subsets
from pollinet.compatibility.gametophytic import SLocus, missing_alleles, odd_chance
from pollinet.compatibility.ploidy import grains, ploidy_of
from pollinet.domain import BoolArray, Fertility, FloatArray, Fruit

Codes = NDArray[np.int16]

_NOTHING = 0
"""Code of an allele of which styles see nothing."""

_NONE = -1
"""Fills up the styles that stop fewer alleles than others."""


class Whole(NamedTuple):
    """One genotype that a variety may have, with nothing left open.

    shown : the alleles that its pollen shows, where these are not all; None: all.
    """

    alleles: tuple[str, ...]
    shown: tuple[str, ...] | None
    ploidy: int
    chance: float


@dataclass(frozen=True, eq=False)
class Possible:
    """All genotypes that one variety may have.

    grains : shape (N, G, A), what styles see of the alleles of each kind of grain; 0: nothing.
    share : shape (N, G), share of each kind of grain; all 0 where the pollen is not good.
    stops : shape (N, T), what the style stops; -1: nothing more.
    chance : shape (N,), sum 1.
    modifier_share : see `Fertility`.
    """

    grains: Codes
    share: FloatArray
    stops: Codes
    chance: FloatArray
    modifier_share: float

    def some(self, chosen: NDArray[np.int64]) -> Possible:
        """Some of them, with their chances as they are."""
        return Possible(
            self.grains[chosen],
            self.share[chosen],
            self.stops[chosen],
            self.chance[chosen],
            self.modifier_share,
        )


def whole_genotypes(fertility: Fertility, fruit: Fruit, locus: SLocus) -> Iterator[Whole]:
    """Each genotype that a variety may have, with its chance; the known one alone where it is told.

    The number of sets and what hazelnut pollen shows are settled as well.
    """
    odd = odd_chance(fertility, locus)
    sets = ploidy_of(fertility, fruit)
    for ploidy, of_ploidy in ((sets, 1.0 - odd), (sets + 1, odd)):
        if of_ploidy > 0.0 or ploidy == sets:
            full = replace(fertility, ploidy=ploidy)
            known = fertility.genotype.alleles if fertility.genotype else ()
            for draw, chance in allele_draws(locus.frequencies, missing_alleles(full, fruit)):
                for shown, share in _shown(fertility, known + draw, fruit):
                    yield Whole(known + draw, shown, ploidy, of_ploidy * chance * share)


def _shown(
    fertility: Fertility, alleles: tuple[str, ...], fruit: Fruit
) -> list[tuple[tuple[str, ...] | None, float]]:
    """What the pollen may show, with chances; cases of dominance are taken as equally likely."""
    told = fertility.genotype.pollen_alleles if fertility.genotype else None
    if fruit.system != "sporophytic" or told is not None:
        return [(told, 1.0)]
    cases = [tuple(sorted(case)) for case in subsets(set(alleles)) if case]
    return [(case, 1.0 / len(cases)) for case in cases]


class Coder:
    """Numbers for alleles, the same for pollen and styles of one name space."""

    def __init__(self) -> None:
        self._codes = {PASSES: _NOTHING}

    def of(self, name: str) -> int:
        """The number of what is seen of an allele."""
        return self._codes.setdefault(name, len(self._codes))


def laid_out(own: Fertility, fruit: Fruit, locus: SLocus, coder: Coder) -> Possible:
    """All genotypes that one variety may have as arrays."""
    wholes = list(whole_genotypes(own, fruit, locus))
    # Pollen of an odd number of sets is no good unless a source says that it works: it is taken
    # nowhere, whatever its alleles.
    good = [bool(own.pollen_ok) or whole.ploidy % 2 == 0 for whole in wholes]
    seen, stopped = _codes(own, wholes, fruit, locus.book, coder)
    pollens = [_pollen(whole, fruit, seen) if works else []
               for whole, works in zip(wholes, good, strict=True)]  # fmt: skip
    styles = [sorted({stopped[a] for a in whole.alleles} - {_NOTHING}) for whole in wholes]
    most = max(1, *map(len, pollens))
    size = max((len(grain) for pollen in pollens for grain in pollen), default=1)
    made = np.zeros((len(wholes), most, size), dtype=np.int16)
    share = np.zeros((len(wholes), most))
    stops = np.full((len(wholes), max(map(len, styles)) or 1), _NONE, dtype=np.int16)
    for i, (pollen, style) in enumerate(zip(pollens, styles, strict=True)):
        for g, grain in enumerate(pollen):
            made[i, g, : len(grain)] = grain
        if pollen:
            share[i, : len(pollen)] = 1.0 / len(pollen)
        stops[i, : len(style)] = style
    chance = np.array([whole.chance for whole in wholes])
    return Possible(made, share, stops, chance / chance.sum(), own.modifier_share)


def _codes(
    own: Fertility, wholes: Iterable[Whole], fruit: Fruit, book: AlleleBook, coder: Coder
) -> tuple[dict[str, int], dict[str, int]]:
    """What styles see of each allele in pollen, and what it stops in a style."""
    alleles = sorted({a for whole in wholes for a in (*whole.alleles, *(whole.shown or ()))})
    if fruit.system == "sporophytic":
        plain = {a: coder.of(compared_name(a, book)) for a in alleles}
        return plain, plain
    active = own.self_fertile is False and not own.partly_self_fertile
    seen = {a: coder.of(pollen_identity(a, book)) for a in alleles}
    return seen, {a: coder.of(style_identity(a, book, active=active)) for a in alleles}


def _pollen(whole: Whole, fruit: Fruit, seen: Mapping[str, int]) -> list[list[int]]:
    """The kinds of grains, each by what styles see of its alleles."""
    if fruit.system == "sporophytic":
        return [sorted({seen[a] for a in whole.shown or whole.alleles})]
    return [sorted(seen[a] for a in grain) for grain in grains(whole.alleles, whole.ploidy)]


def accepted(
    donor_grains: Codes,
    share: FloatArray,
    stops: Codes,
    modifier_share: FloatArray | float,
    *,
    mixed_grains_pass: bool,
) -> FloatArray:
    """Share of the pollen that a style accepts, shape (…) of what broadcasts.

    donor_grains : shape (…, G, A). share : shape (…, G). stops : shape (…, T).
    """
    seen = donor_grains != _NOTHING
    hit = (donor_grains[..., None] == stops[..., None, None, :]).any(axis=-1) & seen
    passes = ~hit.any(axis=-1)
    if mixed_grains_pass and donor_grains.shape[-1] > 1:
        ordered = np.sort(donor_grains, axis=-1)
        different = (np.diff(ordered, axis=-1) != 0) & (ordered[..., :-1] != _NOTHING)
        passes |= different.any(axis=-1)
    by_alleles = (passes * share).sum(axis=-1)
    good = share.sum(axis=-1)
    return np.asarray(modifier_share * good + (1.0 - modifier_share) * by_alleles)


def likelier(possible: Possible, fits: Iterable[BoolArray]) -> Possible:
    """The genotypes that agree with crosses that were made; all of them where none does.

    fits : for each cross, shape (N,), whether a genotype agrees with it.
    """
    keep = np.ones(possible.chance.size, dtype=bool)
    for fit in fits:
        keep &= fit
    chance = np.where(keep, possible.chance, 0.0)
    if not chance.any():
        return possible
    kept = possible.some(np.flatnonzero(chance))
    return replace(kept, chance=kept.chance / kept.chance.sum())
