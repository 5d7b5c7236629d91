"""Bloom that drags on after too little chill.

After winters with too little chill bloom is "delayed, erratic or extended" (sweet cherry in
California, abstract of a study of rest breaking by the Dynamic Model) and its flowers open
unevenly (apple: NIAB, Dormancy and the synchrony of flowering). The direction is published; how
long was found nowhere, and the records of three cherry sites cannot tell: all their winters have
chill enough, and there the length of bloom does not go with chill (0.15 ± 0.07, -0.14 ± 0.08 and
0.05 ± 0.03 in the logarithm of the length for 10 portions more, at Etoile, Balandran and Jork). So
the size is an own convention, drawn widely.

Stragglers are few and poor. They are shown, and never counted as bloom that can be pollinated or
can pollinate: bloom that is longer because it is worse must not look better covered.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from pollinet.domain import Bloom, FloatArray, Variety
from pollinet.phenology.bloom import BloomRow
from pollinet.phenology.streams import shuffled_normals, stream

STRAGGLE = 1.0
"""Where chill is so short that no useful flowers are left, the time from full bloom to the end is
longer by this share, in the middle of the draws; with half the quality by half of it. Own
convention, no source."""

STRAGGLE_LOG_SD = 0.7
"""Spread of that share between draws: a factor of two either way. Own convention, no source."""


def with_stragglers(
    bloom: Bloom, varieties: Sequence[Variety], quality: FloatArray, *, seed: int
) -> Bloom:
    """The same bloom with the stragglers of winters that were too mild for a variety.

    Dates that the grower typed have them in them and stay. Clones share their draws.

    Parameters
    ----------
    varieties
        Those of the bloom, in any order.
    quality
        Shape (V, K, W), as from `adequacy.chill_quality`; where it is 1 nothing changes.

    Returns
    -------
    Bloom
        `end_h` is the end of the last flowers, `bulk_end_h` that of all but the stragglers; the
        bloom itself where there are none.
    """
    ordered = sorted(varieties, key=lambda v: v.id)
    dragged = {
        row: variety for row, variety in enumerate(ordered) if _is_dragged(variety, quality[row])
    }
    if not dragged:
        return bloom
    end_h = bloom.end_h.copy()
    for row, own in dragged.items():
        tail = bloom.end_h[row] - bloom.full_h[row]
        end_h[row] += _dragging(own, tail, quality[row], seed)
    return replace(bloom, end_h=end_h, bulk_end_h=bloom.end_h)


def straggling_row(row: BloomRow, variety: Variety, quality: FloatArray, *, seed: int) -> BloomRow:
    """`with_stragglers` of one variety, its quality of shape (K, W)."""
    if not _is_dragged(variety, quality):
        return row
    start, full, end = row.hours
    dragged = end + _dragging(variety, end - full, quality, seed)
    return replace(row, hours=np.stack((start, full, dragged)), bulk_end_h=end)


def _is_dragged(variety: Variety, quality: FloatArray) -> bool:
    return variety.typed_bloom is None and bool((quality < 1).any())


def _dragging(variety: Variety, tail: FloatArray, quality: FloatArray, seed: int) -> FloatArray:
    """By how much the end of bloom is dragged on, shape (K, W). [h]"""
    rng = stream(seed, variety.id.species, variety.fertility.clone, "stragglers")
    share = STRAGGLE * np.exp(STRAGGLE_LOG_SD * shuffled_normals(len(tail), rng))
    return np.asarray(tail * share[:, None] * (1 - quality))


def bulk(bloom: Bloom) -> Bloom:
    """The same bloom without stragglers: what pollination counts on."""
    if bloom.bulk_end_h is None:
        return bloom
    return replace(bloom, end_h=bloom.bulk_end_h, bulk_end_h=None)
