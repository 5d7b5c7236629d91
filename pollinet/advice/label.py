"""Which varieties a limb without a label may be, from what was seen on it: a shortlist.

Each piece of evidence gives every variety a likelihood; they are multiplied, and no variety is
likelier than another beforehand. A piece that a variety has nothing to say to counts for it as for
the mean of the others. Exact for the draws of the ensemble.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pollinet.domain import FloatArray, VarietyId

WRONG_SHARE, WRONG_DAYS = 0.05, 60.0
"""Share of notes that are wrong (another limb, a slip of the pen), and the days over which these
may lie. Common practice, no source; as for the notes that a forecast learns from."""

FITS, CLOSE = 8.0, 2.0
"""A variety fits as long as the best one is at most so many times as likely, and closely up to the
second. Own convention: 8 to 1 is what is called substantial to strong evidence (Jeffreys, H. 1961.
Theory of Probability, appendix B: 3 to 10 substantial)."""

SELFED = {True: (2.0, 6.0), False: (0.5, 20.0)}
"""Set of flowers in bags, by whether the variety is self-fertile: a and b of a beta distribution,
means of a quarter and of a fortieth. Own convention; commercial sets lie at 5 to 30 %."""

SET_SURE = 0.95
"""How likely fruit is by pollen that is accepted, and no fruit by pollen that is not. Common
practice, no source."""


@dataclass(frozen=True)
class SeenDay:
    """A day that was noted in one spring against what each variety would do.

    expected : shape (C, K, W), the day by variety, draw and winter, NaN: no bloom; W may be 1.
    seen, sd_days : the day that was noted, and how far it may be off. [days]
    """

    expected: FloatArray
    seen: float
    sd_days: float


@dataclass(frozen=True)
class Fit:
    """A variety of the shortlist.

    share : of the likelihood of all that could be judged; no chance that it is this one, as it may
    be a variety that nobody has dated. closely : see `CLOSE`.
    """

    variety: VarietyId
    share: float
    closely: bool


def day_likelihood(days: Sequence[SeenDay]) -> FloatArray:
    """Likelihood of all days that were noted, shape (C,).

    What is not known of a variety's place in the order is one for all springs (a draw), what strays
    from spring to spring is each spring's own (a winter).
    """
    joint = np.ones(days[0].expected.shape[:2])
    for day in days:
        off = (day.seen - day.expected) / day.sd_days
        density = np.exp(-0.5 * off**2) / (day.sd_days * np.sqrt(2 * np.pi))
        density = np.where(np.isfinite(density), density, 0.0)
        near = (1 - WRONG_SHARE) * density.mean(axis=2)
        joint = joint * (near + WRONG_SHARE / WRONG_DAYS)
    likelihood: FloatArray = joint.mean(axis=1)
    return likelihood


def harvest_likelihood(expected: FloatArray, seen: float, sd_days: float) -> FloatArray:
    """Likelihood of a first pick, shape (C,); NaN where a variety's is not known. [days]"""
    density = np.exp(-0.5 * ((seen - expected) / sd_days) ** 2) / (sd_days * np.sqrt(2 * np.pi))
    return np.asarray((1 - WRONG_SHARE) * density + WRONG_SHARE / WRONG_DAYS)


def bagged_likelihood(self_fertile: FloatArray, fruiting: int, of: int) -> FloatArray:
    """Likelihood of so many clusters with fruit in bags, shape (C,).

    self_fertile : chance that each variety's own pollen serves it; NaN: not known.
    """
    from scipy.special import betaln

    yes, no = (
        float(np.exp(betaln(fruiting + a, of - fruiting + b) - betaln(a, b)))
        for a, b in (SELFED[True], SELFED[False])
    )
    return np.asarray(self_fertile * yes + (1 - self_fertile) * no)


def cross_likelihood(accepted: FloatArray, has_set: bool) -> FloatArray:
    """Likelihood of fruit, or of none, by the pollen of one variety alone, shape (C,).

    accepted : chance that each variety accepts it; NaN: nothing is known.
    """
    sets = accepted * SET_SURE + (1 - accepted) * (1 - SET_SURE)
    return np.asarray(sets if has_set else 1 - sets)


def joint_shares(pieces: Sequence[FloatArray]) -> FloatArray:
    """Share of each variety in the likelihood of all pieces, shape (C,); adds up to 1.

    pieces : shape (C,) each, NaN where a variety has nothing to say to one. None: all are equal.
    """
    total = np.zeros(len(pieces[0]))
    for piece in pieces:
        known = piece[np.isfinite(piece)]
        usual = known.mean() if known.size else 1.0
        total += np.log(np.maximum(np.where(np.isfinite(piece), piece, usual), 1e-300))
    shares = np.exp(total - total.max())
    return np.asarray(shares / shares.sum())


def fitting(varieties: Sequence[VarietyId], shares: FloatArray) -> tuple[Fit, ...]:
    """The varieties that fit, likeliest first and then by name; shares: see `joint_shares`."""
    best = float(shares.max(initial=0.0))
    fits = [
        Fit(variety, float(share), best <= CLOSE * float(share))
        for variety, share in zip(varieties, shares, strict=True)
        if best <= FITS * float(share)
    ]
    return tuple(sorted(fits, key=lambda fit: (-fit.share, fit.variety)))


def parting(expected: FloatArray, shares: FloatArray, sd: float) -> float:
    """How well a further look would tell varieties apart: their spread, in errors of the look.

    expected : shape (F,), what each would show; NaN: not known, and left out. sd : of one look.
    """
    known = np.isfinite(expected)
    if known.sum() < 2:
        return 0.0
    weight = shares[known] / shares[known].sum()
    mean = float((weight * expected[known]).sum())
    variance = float((weight * (expected[known] - mean) ** 2).sum())
    return float(np.sqrt(variance)) / sd
