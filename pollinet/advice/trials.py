"""Small trials in the garden: what a count of clusters can show, exactly.

References
----------
Fisher, R. A. 1935. The logic of inductive inference. Journal of the Royal Statistical Society
98:39-82 (the exact test of a two by two table).
"""

from __future__ import annotations

from math import comb

ALPHA = 0.05
"""A difference that chance alone makes less often than this counts as shown. Convention."""

TRIAL_CLUSTERS = 20
"""Clusters a side in the trials that are proposed; own convention."""


def fisher_p(first: int, first_of: int, second: int, second_of: int) -> float:
    """Two-sided chance of a table at least as uneven, if both sides were alike.

    Sums all tables with the same margins that are no likelier than the one found.
    """
    total, hits = first_of + second_of, first + second
    ways = [
        comb(first_of, k) * comb(second_of, hits - k) if 0 <= hits - k <= second_of else 0
        for k in range(min(first_of, hits) + 1)
    ]
    # Whole numbers: no rounding decides which tables are as unlikely as this one.
    return sum(w for w in ways if w <= ways[first]) / comb(total, hits)


def least_to_show(open_fruiting: int, clusters: int = TRIAL_CLUSTERS) -> int | None:
    """How many of the hand-pollinated clusters must bear for the trial to show a difference.

    open_fruiting : how many of as many open ones bear. None: no count can show it.
    """
    for hand in range(open_fruiting + 1, clusters + 1):
        if fisher_p(hand, clusters, open_fruiting, clusters) < ALPHA:
            return hand
    return None


def at_most(count: int, of: int, chance: float) -> float:
    """Chance of at most `count` hits in `of` independent trials (binomial)."""
    return sum(comb(of, k) * chance**k * (1 - chance) ** (of - k) for k in range(count + 1))


def least_to_judge(chance: float) -> int:
    """How many clusters must be watched so that none with fruit would show a lack.

    chance : share of clusters that bear in a full crop.
    """
    clusters = 1
    while at_most(0, clusters, chance) >= ALPHA:
        clusters += 1
    return clusters
