"""How even a tree looks in spring: how far the bloom and the leafing of its limbs lie apart.

All is counted within one scenario or one noted spring, so that what the limbs share (an early
spring, an error of the site) cancels. What is not known is left out and named, never even.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from statistics import median
from typing import Final, Literal

import numpy as np

from pollinet.domain import BoolArray, FloatArray

Evenness = Literal["even", "somewhat lopsided", "lopsided"]

NEARLY_ALL: Final = 0.8
"""Share of the limbs that is nearly all of them: one in five may stand apart. Own convention."""

EVEN_SHARE, LOPSIDED_SHARE = 0.5, 0.25
"""A tree is even where nearly all limbs flower on half of the days on which any does, lopsided
below a quarter. Own convention."""

EVEN_LEAFING_DAYS, LOPSIDED_LEAFING_DAYS = 4.0, 8.0
"""A tree is even where nearly all limbs come into leaf within so many days, lopsided above the
second. Own convention. [days]"""


@dataclass(frozen=True)
class BloomLook:
    """How a tree looks in bloom.

    word : None: bloom is known of fewer than two limbs, or not of nearly all.
    together : share of the days with any limb in flower on which nearly all are, in the median
        scenario; None as above.
    even_share : share of the scenarios in which the tree is even.
    lags : days from the tree's middle full bloom to that of each known limb, in the median
        scenario; negative: it blooms before the others. [days]
    unknown : limbs left out.
    """

    word: Evenness | None
    together: float | None
    even_share: float | None
    lags: Mapping[str, float]
    unknown: tuple[str, ...]


@dataclass(frozen=True)
class LeafingLook:
    """How a tree looks when it comes into leaf, by what is noted.

    word : None: there is no spring with the leafing of two limbs.
    window_days : days within which nearly all noted limbs come into leaf, median of the springs.
    springs : how many of these there are.
    lags, unknown : as in `BloomLook`.
    """

    word: Evenness | None
    window_days: float | None
    springs: int
    lags: Mapping[str, float]
    unknown: tuple[str, ...]


def nearly_all(limbs: int) -> int:
    """How many limbs are nearly all: 4 of 4, 4 of 5, 8 of 10."""
    return ceil(NEARLY_ALL * limbs - 1e-9)


def _word(*, even: bool, lopsided: bool) -> Evenness:
    if even:
        return "even"
    return "lopsided" if lopsided else "somewhat lopsided"


# --- bloom -----------------------------------------------------------------------------------


def likeliest(hours: FloatArray) -> FloatArray:
    """The median draw of each winter, from shape (limbs, K, W) to (limbs, W).

    NaN where there is no bloom in half of the draws or more.
    """
    middle = np.median(np.where(np.isnan(hours), np.inf, hours), axis=1)
    return np.asarray(np.where(np.isinf(middle), np.nan, middle))


def bloom_look(
    limbs: Sequence[str], start_h: FloatArray, full_h: FloatArray, end_h: FloatArray
) -> BloomLook:
    """How even the limbs of one tree are in bloom.

    start_h, full_h, end_h : shape (limbs, S); NaN: no bloom in that scenario, which leaves a bare
        limb among the others; NaN in all of them: not known. [h]
    """
    known: BoolArray = np.asarray(np.isfinite(full_h).any(axis=1))
    names = [name for name, told in zip(limbs, known.tolist(), strict=True) if told]
    unknown = tuple(name for name in limbs if name not in names)
    if len(names) < 2:
        return BloomLook(None, None, None, {}, unknown)
    any_bloom = np.isfinite(full_h).any(axis=0)
    full = full_h[known][:, any_bloom]
    lags = np.nanmedian((full - np.nanmedian(full, axis=0)) / 24, axis=1)
    if len(names) < nearly_all(len(limbs)):
        return BloomLook(None, None, None, dict(zip(names, lags.tolist(), strict=True)), unknown)
    shares = shares_together(start_h[known], end_h[known])[any_bloom]
    together = float(np.median(shares))
    word = _word(even=together >= EVEN_SHARE, lopsided=together < LOPSIDED_SHARE)
    even_share = float((shares >= EVEN_SHARE).mean())
    told = dict(zip(names, lags.tolist(), strict=True))
    return BloomLook(word, together, even_share, told, unknown)


def shares_together(start_h: FloatArray, end_h: FloatArray) -> FloatArray:
    """Share of the time with any limb in flower in which nearly all are, shape (S,).

    0 where none flowers.
    """
    nearly = hours_in_flower(start_h, end_h, nearly_all(len(start_h)))
    return np.asarray(nearly / np.maximum(hours_in_flower(start_h, end_h, 1), 1e-9))


def hours_in_flower(start_h: FloatArray, end_h: FloatArray, least: int) -> FloatArray:
    """Hours in which at least so many limbs flower at once, shape (S,). [h]"""
    times = np.concatenate([start_h, end_h])
    steps = np.repeat([1.0, -1.0], len(start_h))[:, None] * np.isfinite(times)
    times = np.nan_to_num(times)
    order = np.argsort(times, axis=0, kind="stable")
    in_flower = np.take_along_axis(steps, order, axis=0).cumsum(axis=0)[:-1]
    lengths = np.diff(np.take_along_axis(times, order, axis=0), axis=0)
    return np.asarray(np.where(in_flower >= least, lengths, 0.0).sum(axis=0))


# --- leafing ---------------------------------------------------------------------------------


def leafing_look(limbs: Sequence[str], noted: Mapping[int, Mapping[str, float]]) -> LeafingLook:
    """How even the limbs of one tree come into leaf.

    noted : for each spring, the day on which the first leaves of a limb were spread; limbs of
        other trees are passed over. [days, of any one count within a spring]
    """
    springs = [{name: days[name] for name in limbs if name in days} for days in noted.values()]
    springs = [days for days in springs if len(days) > 1]
    lags = {
        name: median(days[name] - median(days.values()) for days in springs if name in days)
        for name in limbs
        if any(name in days for days in springs)
    }
    unknown = tuple(name for name in limbs if name not in lags)
    if not springs:
        return LeafingLook(None, None, 0, {}, unknown)
    window = median(_window(sorted(days.values())) for days in springs)
    word = _word(even=window <= EVEN_LEAFING_DAYS, lopsided=window > LOPSIDED_LEAFING_DAYS)
    return LeafingLook(word, window, len(springs), lags, unknown)


def _window(days: Sequence[float]) -> float:
    """The shortest stretch that holds nearly all of some days in order. [days]"""
    most = nearly_all(len(days))
    return min(last - first for first, last in zip(days, days[most - 1 :], strict=False))
