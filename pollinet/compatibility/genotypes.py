"""Which genotypes a variety may have, each with its chance, laid out for crossing them at once.

Where S-alleles are not told, they are those of the fruit's known varieties by their frequency,
with room for alleles that nobody has seen; the number of sets is open, too, where it is not told.
A diploid of known parents has one allele of each.
Crosses that were made with varieties of known genotype rule out what contradicts them.

References
----------
Hardy–Weinberg proportions, as in `chances`; the rules of `gametophytic` and `sporophytic`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pollinet.compatibility.alleles import (
    PASSES,
    compared_name,
    pollen_identity,
    style_identity,
)
from pollinet.compatibility.chances import drawn_places
from pollinet.compatibility.descent import inherited
from pollinet.compatibility.disputed import settled
from pollinet.compatibility.gametophytic import SLocus, missing_alleles, odd_chance
from pollinet.compatibility.likeness import nameless
from pollinet.compatibility.ploidy import grain_places, ploidy_of, pollen_fault
from pollinet.domain import BoolArray, Fertility, FloatArray, Fruit

Codes = NDArray[np.int16]

_NOTHING = 0
"""Code of an allele of which styles see nothing."""

_NONE = -1
"""Fills up the styles that stop fewer alleles than others."""


@dataclass(frozen=True, eq=False)
class Possible:
    """All genotypes that one variety may have.

    grains : shape (N, G, A), what styles see of the alleles of each kind of grain; 0: nothing.
    share : shape (N, G), share of each kind of grain; all 0 where the pollen is not good.
    stops : shape (N, T), what the style stops; -1: nothing more.
    chance : shape (N,), sum 1.
    modifier_share : see `Fertility`.
    alternative : shape (N,), on which side of what sources dispute each of them is; 0 where
        nothing is disputed.
    """

    grains: Codes
    share: FloatArray
    stops: Codes
    chance: FloatArray
    modifier_share: float
    alternative: Codes

    def some(self, chosen: NDArray[np.int64]) -> Possible:
        """Some of them, with their chances as they are."""
        return Possible(
            self.grains[chosen],
            self.share[chosen],
            self.stops[chosen],
            self.chance[chosen],
            self.modifier_share,
            self.alternative[chosen],
        )


class Coder:
    """Numbers for alleles, the same for pollen and styles of one name space."""

    def __init__(self) -> None:
        self._codes = {PASSES: _NOTHING}

    @property
    def names(self) -> tuple[str, ...]:
        """What is seen of alleles, by its number."""
        return tuple(self._codes)

    def of(self, name: str) -> int:
        """The number of what is seen of an allele."""
        return self._codes.setdefault(name, len(self._codes))


class Layouts:
    """All genotypes that varieties may have, one for all that behave alike.

    coder : the numbers of alleles, the same in all of them.
    """

    def __init__(self) -> None:
        self.coder = Coder()
        self._of_kind: dict[Fertility, Possible] = {}

    def of(self, own: Fertility, fruit: Fruit, locus: SLocus) -> Possible:
        """`laid_out` of a variety of this fruit."""
        kind = replace(nameless(own), group=None, sources=(), memory=(), inferred=())
        if kind not in self._of_kind:
            self._of_kind[kind] = laid_out(own, fruit, locus, self.coder)
        return self._of_kind[kind]


def laid_out(own: Fertility, fruit: Fruit, locus: SLocus, coder: Coder) -> Possible:
    """All genotypes that one variety may have; the known one alone where it is told.

    The number of sets and what hazelnut pollen shows are settled as well, and on which side of a
    dispute it is.
    """
    if own.alternatives:
        each = [(share, laid_out(one, fruit, locus, coder)) for share, one in settled(own)]
        return replace(
            _mixed(each),
            alternative=_coded([i for i, (_, part) in enumerate(each) for _ in part.chance]),
        )
    odd, sets = odd_chance(own, locus), ploidy_of(own, fruit)
    of_sets = {sets: 1.0 - odd, sets + 1: odd} if odd else {sets: 1.0}
    lay = _shown if fruit.system == "sporophytic" else _with_sets
    parts = [
        (share, lay(replace(own, ploidy=ploidy), fruit, locus, coder))
        for ploidy, share in of_sets.items()
        if share
    ]
    return _mixed(parts)


def _mixed(parts: Sequence[tuple[float, Possible]]) -> Possible:
    """All genotypes of several parts, each with its share of the chance."""
    chance = np.concatenate([share * part.chance for share, part in parts])
    return Possible(
        _joined([part.grains for _, part in parts], _NOTHING),
        _joined([part.share for _, part in parts], 0.0),
        _joined([part.stops for _, part in parts], _NONE),
        chance / chance.sum(),
        parts[0][1].modifier_share,
        np.zeros(chance.size, dtype=np.int16),
    )


def _with_sets(own: Fertility, fruit: Fruit, locus: SLocus, coder: Coder) -> Possible:
    """The genotypes of a variety whose number of sets is settled."""
    book, active = locus.book, own.self_fertile is False and not own.partly_self_fertile
    names, alleles, chance = _alleles(own, fruit, locus)
    seen = _coded([coder.of(pollen_identity(name, book)) for name in names])
    stopped = _coded([coder.of(style_identity(name, book, active=active)) for name in names])
    stops = np.sort(stopped[alleles], axis=1)
    stops[stops == _NOTHING] = _NONE
    stops[:, 1:][stops[:, 1:] == stops[:, :-1]] = _NONE
    # One row for each different style, whatever the doses.
    stops.sort(axis=1)
    ploidy = ploidy_of(own, fruit)
    side = np.zeros(len(alleles), dtype=np.int16)
    # Pollen that is no good is taken nowhere, whatever its alleles.
    if pollen_fault(own, fruit) is not None:
        nothing = np.zeros((len(alleles), 1, 1), dtype=np.int16)
        return Possible(nothing, nothing[..., 0] * 0.0, stops, chance, own.modifier_share, side)
    # Which alleles meet in a grain hangs on their places alone.
    places = np.array(grain_places(alleles.shape[1], ploidy), dtype=np.int64)
    made = np.sort(seen[alleles[:, places]], axis=2)
    share = np.full(made.shape[:2], 1.0 / made.shape[1])
    return Possible(made, share, stops, chance, own.modifier_share, side)


def _alleles(
    own: Fertility, fruit: Fruit, locus: SLocus
) -> tuple[list[str], NDArray[np.int64], FloatArray]:
    """Names of alleles; each genotype by the places of its alleles in them; its chance."""
    known = own.genotype.alleles if own.genotype else ()
    frequencies = locus.frequencies
    missing = missing_alleles(own, fruit)
    if own.descent and missing and ploidy_of(own, fruit) == 2:
        by_style = fruit.system != "sporophytic"
        pairs = inherited(own.descent, known, frequencies, locus.book, by_style=by_style)
        if pairs:
            return _of_pairs(pairs)
    drawn = sorted(frequencies) if missing else []
    names = sorted({*known, *drawn})
    place = {name: i for i, name in enumerate(names)}
    draws, chance = drawn_places([frequencies[name] for name in drawn], missing)
    told = np.tile([place[name] for name in known], (len(draws), 1)).astype(np.int64)
    among = np.array([place[name] for name in drawn], dtype=np.int64)
    return names, np.concatenate([told, among[draws]], axis=1), chance


def _of_pairs(
    pairs: Mapping[tuple[str, str], float],
) -> tuple[list[str], NDArray[np.int64], FloatArray]:
    """The same for pairs of alleles, each with its chance."""
    names = sorted({allele for pair in pairs for allele in pair})
    place = {name: i for i, name in enumerate(names)}
    alleles = np.array([[place[a], place[b]] for a, b in pairs], dtype=np.int64)
    return names, alleles, np.array(list(pairs.values()))


def _shown(own: Fertility, fruit: Fruit, locus: SLocus, coder: Coder) -> Possible:
    """The same where the pollen shows what its plant says: each case of dominance.

    Where neither a source on the variety nor the order of dominance tells which alleles show, all
    cases are taken as equally likely.
    """
    names, alleles, chance = _alleles(own, fruit, locus)
    told = own.genotype.pollen_alleles if own.genotype else None
    codes = {name: coder.of(compared_name(name, locus.book)) for name in (*names, *(told or ()))}
    rows: list[tuple[list[int], list[int], float]] = []
    for places, share in zip(alleles.tolist(), chance.tolist(), strict=True):
        carried = {names[place] for place in places}
        cases = [told] if told is not None else locus.dominance.cases(carried)
        stops = sorted({codes[name] for name in carried})
        rows += [(sorted({codes[a] for a in case}), stops, share / len(cases)) for case in cases]
    made = _padded([case for case, _, _ in rows], _NOTHING)[:, None]
    good = pollen_fault(own, fruit) is None
    return Possible(
        made,
        np.full(made.shape[:2], float(good)),
        _padded([stops for _, stops, _ in rows], _NONE),
        np.array([share for _, _, share in rows]),
        own.modifier_share,
        np.zeros(len(rows), dtype=np.int16),
    )


def _coded(codes: Sequence[int]) -> Codes:
    return np.array(codes, dtype=np.int16)


def _padded(rows: Sequence[Sequence[int]], filler: int) -> Codes:
    found = np.full((len(rows), max(map(len, rows))), filler, dtype=np.int16)
    for row, codes in zip(found, rows, strict=True):
        row[: len(codes)] = codes
    return found


def _joined(parts: Sequence[NDArray[Any]], filler: float) -> NDArray[Any]:
    """Arrays one below the other; the narrower ones are filled up."""
    widest = np.max([part.shape[1:] for part in parts], axis=0)
    found = np.full((sum(map(len, parts)), *widest), filler, dtype=parts[0].dtype)
    ends = np.cumsum([len(part) for part in parts])
    for end, part in zip(ends.tolist(), parts, strict=True):
        found[(slice(end - len(part), end), *map(slice, part.shape[1:]))] = part
    return found


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
