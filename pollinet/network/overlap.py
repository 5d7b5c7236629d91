"""Shared bloom: how long the donor sheds pollen while the receiver can take it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from pollinet.domain import FloatArray

HOURS_PER_DAY = 24.0

BLOCK_ELEMENTS = 65_536
"""Numbers worked on at a time: half a megabyte of doubles, so that a block stays in the cache."""


def signed_overlap_h(
    donor_start_h: FloatArray,
    donor_end_h: FloatArray,
    receiver_start_h: FloatArray,
    receiver_end_h: FloatArray,
) -> FloatArray:
    """Shared hours where positive, the gap between the two intervals where negative.

    All shapes broadcast; NaN where either does not bloom. [h]
    """
    end = np.minimum(donor_end_h, receiver_end_h)
    end -= np.maximum(donor_start_h, receiver_start_h)
    return end


def block_slices(rows: int, scenarios: int, elements: int = BLOCK_ELEMENTS) -> Iterator[slice]:
    """Cut rows of scenarios into blocks of at most `elements` numbers, one row at least."""
    step = max(1, elements // max(1, scenarios))
    return (slice(first, min(first + step, rows)) for first in range(0, rows, step))


def overlap_blocks(
    donor_start_h: FloatArray,
    donor_end_h: FloatArray,
    receiver_start_h: FloatArray,
    receiver_end_h: FloatArray,
    *,
    elements: int = BLOCK_ELEMENTS,
) -> Iterator[tuple[slice, int, FloatArray]]:
    """Signed overlap, block by block, in bounded memory.

    Parameters
    ----------
    donor_start_h, donor_end_h : shape (D, S). [h]
    receiver_start_h, receiver_end_h : shape (R, S). [h]
    elements : how many numbers a block may hold (one donor's scenarios at least).

    Yields
    ------
    (slice of donors, receiver, hours of shape (donors in the slice, S)): negative is a gap, NaN no
    bloom. [h]
    """
    for receiver in range(len(receiver_start_h)):
        for part in block_slices(len(donor_start_h), donor_start_h.shape[1], elements):
            yield (
                part,
                receiver,
                signed_overlap_h(
                    donor_start_h[part],
                    donor_end_h[part],
                    receiver_start_h[receiver],
                    receiver_end_h[receiver],
                ),
            )


def overlap_days(
    donor_start_h: FloatArray,
    donor_end_h: FloatArray,
    receiver_start_h: FloatArray,
    receiver_end_h: FloatArray,
) -> FloatArray:
    """Days of shared bloom of every donor with every receiver in every scenario.

    Parameters
    ----------
    donor_start_h, donor_end_h : shape (D, S). When pollen is shed, end exclusive. [h]
    receiver_start_h, receiver_end_h : shape (R, S). When flowers are receptive. [h]

    Returns
    -------
    Shape (D, R, S), never negative; 0 where either does not bloom (NaN). [days]
    """
    shape = (len(donor_start_h), *receiver_start_h.shape)
    days = np.empty(shape)
    for part, receiver, hours in overlap_blocks(
        donor_start_h, donor_end_h, receiver_start_h, receiver_end_h
    ):
        days[part, receiver] = np.nan_to_num(np.maximum(hours, 0.0)) / HOURS_PER_DAY
    return days
