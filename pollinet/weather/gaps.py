"""Holes in a daily record: which are short enough to be bridged, and how."""

from __future__ import annotations

import numpy as np

from pollinet.domain import BoolArray, FloatArray


def longest_run(missing: BoolArray) -> int:
    """Length of the longest run of True in a one-dimensional array."""
    padded = np.concatenate(([False], missing, [False])).astype(np.int8)
    edges = np.flatnonzero(np.diff(padded))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def bridge_gaps(values: FloatArray) -> FloatArray:
    """Put a straight line across every hole; the nearest value stands in at an open end.

    values : shape (days,), NaN where missing. All NaN stays all NaN.
    """
    known = np.isfinite(values)
    if known.all() or not known.any():
        return values
    days = np.arange(values.size)
    return np.interp(days, days[known], values[known])
