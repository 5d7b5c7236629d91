"""What may stand where an allele is not known: exact small sums over allele frequencies.

Missing alleles are drawn independently by their frequency among the varieties of the name space,
as under Hardy–Weinberg proportions. A self-incompatible diploid is hardly ever homozygous, which
the draws allow, so the chance of refusal comes out slightly high: the careful side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from itertools import chain, combinations, combinations_with_replacement
from math import factorial, prod


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
        orders = factorial(count) // prod(factorial(n) for n in Counter(draw).values())
        yield draw, orders * prod(frequencies[allele] for allele in draw)


def present_among(
    asked: frozenset[str],
    sure: frozenset[str],
    missing: int,
    frequencies: Mapping[str, float],
) -> Iterator[tuple[frozenset[str], float]]:
    """Which of the `asked` alleles stand in a style of which `missing` alleles are not known.

    Yields every possible subset, also those of probability 0, with its probability: each subset
    holds what is `sure` and at most `missing` alleles more. By inclusion and exclusion.
    """
    fixed = asked & sure
    if not missing:
        yield fixed, 1.0
        return
    for more in subsets(asked - fixed):
        if len(more) > missing:
            continue
        absent = sum(frequencies.get(name, 0.0) for name in asked - fixed - more)
        probability = sum(
            (-1) ** len(left_out)
            * (1.0 - absent - sum(frequencies.get(name, 0.0) for name in left_out)) ** missing
            for left_out in subsets(more)
        )
        yield fixed | more, max(probability, 0.0)
