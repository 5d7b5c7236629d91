"""Own bloom dates as evidence: they move the site's error first, then each variety's position.

Given a timing rule, all errors are normal and add up, so that the draws can be made to agree with
the notes exactly: each prior draw is corrected by the miss of its own made-up notes (conditional
simulation; Journel, A. G., Huijbregts, C. J. 1978. Mining Geostatistics, chapter VII). Unlike
weighting and resampling a few draws, this does not thin them out. Rules are weighted by how well
they foretell the notes. A share of notes is wrong (another limb, another year, a slip of the pen):
a note that fits badly counts less, by its chance of being one of those (a heuristic: the weights
are found by repetition and then taken as known).

The length of bloom is learnt in the same way, its errors told in days of a usual bloom.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from pollinet.domain import FloatArray
from pollinet.linear import product, solved

WRONG_SHARE, WRONG_SD_DAYS = 0.05, 15.0
"""Share of notes that are wrong, and how far these are off [days]. Common practice, no source."""

_ROUNDS = 20


class Note(NamedTuple):
    """What one variety did in one spring against what the rules say.

    group : index of the variety's family.
    spring : harvest year.
    miss : shape (R,), noted day minus the day of each rule without errors. [days]
    variance : of the note and of the variety's own error in that winter. [days²]
    """

    group: int
    spring: int
    miss: FloatArray
    variance: float


class Errors(NamedTuple):
    """Drawn errors in SDs of 1, before or after the notes.

    rules : shape (K,), index of the rule of each draw.
    site : shape (K,), error shared by all families at the site.
    positions : shape (G, K), error of each family's position.
    """

    rules: np.ndarray
    site: FloatArray
    positions: FloatArray


def learn(
    prior: Errors,
    notes: Sequence[Note],
    rule_weights: FloatArray,
    site_sd: FloatArray,
    season_sd: float,
    position_sd: FloatArray,
    rng: np.random.Generator,
) -> Errors:
    """Make drawn errors agree with the notes.

    Parameters
    ----------
    prior
        As drawn without notes.
    rule_weights
        Shape (R,).
    site_sd, position_sd
        Shape (G,), in days: how much a family takes over of the site's error, and its own.
    season_sd
        SD of the error that all varieties share in one winter. [days]

    Returns
    -------
    Errors
        Draws given the notes, of the same shapes.
    """
    loads = _loads(notes, site_sd, season_sd, position_sd)
    miss = np.array([note.miss for note in notes]).T
    variance = np.array([note.variance for note in notes])
    draws = prior.site.size
    seasons = loads.shape[1] - 1 - len(prior.positions)
    errors = np.concatenate(
        (prior.site[None], prior.positions, rng.standard_normal((seasons, draws)))
    )
    made_up = rng.standard_normal((len(notes), draws))
    # Notes tell nothing of families that none of them is about.
    noted = loads.any(axis=0)
    loads = loads[:, noted]
    noise = [_noise(column, loads, variance) for column in miss]
    chance = np.array([_log_density(*each, loads) for each in zip(miss, noise, strict=True)])
    weights = rule_weights * np.exp(chance - chance.max())
    share = (np.argsort(np.argsort(prior.rules, kind="stable")) + 0.5) / draws
    rules = np.searchsorted(np.cumsum(weights) / weights.sum(), share)
    for rule in np.unique(rules):
        mine = np.ix_(noted, rules == rule)
        foretold = product(loads, errors[mine])
        foretold += np.sqrt(noise[rule])[:, None] * made_up[:, rules == rule]
        errors[mine] += product(_gain(loads, noise[rule]), miss[rule][:, None] - foretold)
    return Errors(rules, errors[0], errors[1 : 1 + len(prior.positions)])


def _loads(
    notes: Sequence[Note], site_sd: FloatArray, season_sd: float, position_sd: FloatArray
) -> FloatArray:
    """What a unit of each error does to each note: site, positions, seasons. [days]"""
    springs = sorted({note.spring for note in notes})
    loads = np.zeros((len(notes), 1 + len(position_sd) + len(springs)))
    for row, note in zip(loads, notes, strict=True):
        row[0] = site_sd[note.group]
        row[1 + note.group] = position_sd[note.group]
        row[1 + len(position_sd) + springs.index(note.spring)] = season_sd
    return loads


def _information(loads: FloatArray, noise: FloatArray) -> FloatArray:
    """Inverse covariance of the errors given the notes, shape (errors, errors)."""
    return np.eye(loads.shape[1]) + product(loads.T / noise, loads)


def _gain(loads: FloatArray, noise: FloatArray) -> FloatArray:
    """By how much each day of each note moves each error, shape (errors, notes).

    Solved for the errors, which are far fewer than the notes of a long log (Woodbury identity:
    Hager, W. W. 1989. Updating the inverse of a matrix. SIAM Review 31:221-239).
    """
    return solved(_information(loads, noise), loads.T / noise)[0]


def _noise(miss: FloatArray, loads: FloatArray, variance: FloatArray) -> FloatArray:
    """Variance of each note, raised by its chance of being wrong."""
    noise = variance + WRONG_SHARE * WRONG_SD_DAYS**2
    for _ in range(_ROUNDS):
        gain = _gain(loads, noise)
        own_say = np.einsum("ne,en->n", loads, gain)
        # What is left of a note when all the others have had their say, and its variance.
        left = (miss - product(loads, product(gain, miss))) / (1 - own_say)
        free = noise * own_say / (1 - own_say)
        good = (1 - WRONG_SHARE) * _density(left, free + variance)
        wrong = WRONG_SHARE * _density(left, free + variance + WRONG_SD_DAYS**2)
        chance = wrong / (good + wrong)
        # Precisions average: a note that is surely wrong still says a little.
        noise = 1 / ((1 - chance) / variance + chance / (variance + WRONG_SD_DAYS**2))
    return noise


def _density(left: FloatArray, variance: FloatArray) -> FloatArray:
    return np.asarray(np.exp(-0.5 * left**2 / variance) / np.sqrt(variance))


def _log_density(miss: FloatArray, noise: FloatArray, loads: FloatArray) -> float:
    gain, log_determinant = solved(_information(loads, noise), loads.T / noise)
    unexplained = miss - product(loads, product(gain, miss))
    square = (miss * unexplained / noise).sum()
    return float(-0.5 * (square + log_determinant + np.log(noise).sum()))
