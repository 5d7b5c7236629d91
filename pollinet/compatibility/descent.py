"""What a diploid may carry of its parents: one S-allele of each (Mendel), and none from the pollen
parent that the seed parent's style had stopped.

That the cross worked tells more than the two genotypes: of S1S2 x S2S3 the pollen gave S3
(de Nettancourt 2001, Incompatibility and Incongruity in Wild and Cultivated Plants). Modifiers of
the pollen outside the S-locus are left aside here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from pollinet.compatibility.alleles import PASSES, AlleleBook, pollen_identity, style_identity
from pollinet.domain import Descent

Pair = tuple[str, str]


def inherited(
    descent: Descent,
    known: tuple[str, ...],
    frequencies: Mapping[str, float],
    book: AlleleBook,
    *,
    by_style: bool,
) -> dict[Pair, float]:
    """Chance of each pair of alleles, sorted; empty: none fits what is known of the child.

    known : alleles that the child is known to carry. frequencies : of alleles of a parent of which
    nothing is known. by_style : whether a style stops single alleles (gametophytic fruits).
    """
    orders = [(descent.seed, descent.pollen)]
    if not descent.told:
        orders.append((descent.pollen, descent.seed))
    found: dict[Pair, float] = {}
    for seed, pollen in orders:
        for pair, chance in _crossed(seed, pollen, frequencies, book, by_style).items():
            found[pair] = found.get(pair, 0.0) + chance / len(orders)
    fitting = {pair: p for pair, p in found.items() if not Counter(known) - Counter(pair)}
    total = sum(fitting.values())
    return {pair: p / total for pair, p in sorted(fitting.items())} if total > 0.0 else {}


def _crossed(
    seed: Pair | None,
    pollen: Pair | None,
    frequencies: Mapping[str, float],
    book: AlleleBook,
    by_style: bool,
) -> dict[Pair, float]:
    """Chances of the children of one cross, with a sum of 1; of all grains where none passes."""
    eggs, grains = (_gametes(parent, frequencies) for parent in (seed, pollen))
    if by_style and seed is not None:
        stopped = {style_identity(allele, book) for allele in seed} - {PASSES}
        passing = {a: p for a, p in grains.items() if pollen_identity(a, book) not in stopped}
        total = sum(passing.values())
        grains = {a: p / total for a, p in passing.items()} if total > 0.0 else grains
    found: dict[Pair, float] = {}
    for egg, chance in eggs.items():
        for grain, share in grains.items():
            pair = (egg, grain) if egg <= grain else (grain, egg)
            found[pair] = found.get(pair, 0.0) + chance * share
    return found


def _gametes(parent: Pair | None, frequencies: Mapping[str, float]) -> Mapping[str, float]:
    if parent is None:
        return frequencies
    return {allele: count / 2 for allele, count in Counter(parent).items()}
