"""Shares of winters against the level that a plan asks for."""

from __future__ import annotations

from math import ceil
from typing import Final

TOLERANCE: Final = 1e-9
"""Shares this close to the level count as reaching it: far more than rounding adds to a share
(some 1e-16 each step), far less than one scenario of the most that fit into memory. Own convention.
"""


def reaches(share: float, level: float) -> bool:
    """Whether a share of winters or scenarios is as high as a level asks for, both 0 to 1.

    A share is a count divided by a number of scenarios or a mean of such, a level a number that
    somebody typed. Neither 0.7 nor 7/10 of 30 winters is exact in binary, so that a plain `>=`
    would let the last digit decide whether a limb is covered. This is the one place that forgives
    it; nothing else compares a share with a level.
    """
    return share >= level - TOLERANCE


def scenarios_needed(level: float, scenarios: int) -> int:
    """The smallest count of so many scenarios whose share reaches a level."""
    return ceil((level - TOLERANCE) * scenarios)
