"""What may stand where an allele is not known: exact small sums over allele frequencies.

Missing alleles are drawn independently by their frequency among the varieties of the name space,
as under Hardy–Weinberg proportions. A self-incompatible diploid is hardly ever homozygous, which
the draws allow, so the chance of refusal comes out slightly high: the careful side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, combinations, combinations_with_replacement
from math import comb, factorial, prod

import numpy as np
from numpy.typing import NDArray

from pollinet.domain import FloatArray


def subsets(names: Iterable[str]) -> Iterator[frozenset[str]]:
    """All subsets, small ones first."""
    pool = sorted(names)
    return map(
        frozenset, chain.from_iterable(combinations(pool, size) for size in range(len(pool) + 1))
    )


def allele_draws(
    frequencies: Mapping[str, float], count: int
) -> Iterator[tuple[tuple[str, ...], float]]:
    """All unordered draws of `count` alleles, each with its probability.

    `frequencies` must sum to 1; alleles of frequency 0 take part, as possible ones.
    """
    for draw in combinations_with_replacement(sorted(frequencies), count):
        orders = factorial(count)
        if len({*draw}) < count:
            orders //= prod(factorial(n) for n in Counter(draw).values())
        yield draw, orders * prod(frequencies[allele] for allele in draw)


def drawn_places(frequencies: Sequence[float], count: int) -> tuple[NDArray[np.int64], FloatArray]:
    """The draws of `allele_draws`: places in the frequencies, shape (N, count), and (N,)."""
    places = list(combinations_with_replacement(range(len(frequencies)), count))
    draws, each = np.array(places, dtype=np.int64), np.array(frequencies)
    # n times the same allele in a row: n! orders are one.
    chance, alike, run = np.ones((3, len(draws)))
    for i, column in enumerate(draws.T):
        run = np.where(column == draws[:, i - 1], run + 1.0, 1.0) if i else run
        alike, chance = alike * run, chance * each[column]
    return draws, factorial(count) / alike * chance


def possible_stops(
    asked: frozenset[str], sure: frozenset[str], missing: int
) -> Iterator[frozenset[str]]:
    """Which of the `asked` alleles may stand in a style of which `missing` are not known."""
    fixed = asked & sure
    for more in subsets(asked - fixed):
        if len(more) <= missing:
            yield fixed | more


def at_least(count: int, draws: int, chance: FloatArray) -> FloatArray:
    """Probability of `count` or more successes in `draws` independent trials (binomial)."""
    some = np.zeros_like(chance)
    for k in range(max(count, 0), draws + 1):
        some += comb(draws, k) * chance**k * (1.0 - chance) ** (draws - k)
    return some
