"""Own bloom dates as evidence: they move the site's error first, then each variety's position.

Given a timing rule, all errors are normal and add up, so that the draws can be made to agree with
the notes exactly: each prior draw is corrected by the miss of its own made-up notes (conditional
simulation; Journel, A. G., Huijbregts, C. J. 1978. Mining Geostatistics, chapter VII). Unlike
weighting and resampling a few draws, this does not thin them out. Rules are weighted by how well
they foretell the notes.

Three things may be otherwise than a rule has them, and are learnt from the notes as well:

* A note is wrong: another limb, another year, a slip of the pen.
* A variety is not what it is taken for, or its dates elsewhere are wrong. What is known of it from
  elsewhere therefore counts as one piece of evidence beside the notes. A miss too big for an error
  of the site then stays with the variety that was noted, and hardly moves its neighbours.
* Springs scatter more here than where the errors were measured. Notes that contradict each other
  then tell little of a variety, and coming springs are told more widely.

What fits badly counts less, by its chance of being wrong (a heuristic: the chances are found by
repetition and then taken as known). Where much hangs on a doubtful piece, both readings are
followed and the draws divided between them: of two notes that contradict each other one is wrong,
and the truth is not half way between.

The length of bloom is learnt in the same way, its errors told in days of a usual bloom.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from pollinet.domain import FloatArray
from pollinet.linear import product, solved

WRONG_SHARE, WRONG_SD_DAYS = 0.05, 15.0
"""Share of notes that are wrong, and of varieties that are not what they are taken for; how far
these are off [days]. Common practice, no source."""

SCATTERS: Mapping[float, float] = {1.0: 0.9, 1.5: 0.07, 2.25: 0.02, 3.4: 0.01}
"""How many times the SDs of a single spring may be what was measured elsewhere, and how likely
that is: more in one garden of ten, each step half as wide again. Own convention; together they
have the long tails of a t distribution (Andrews, D. F., Mallows, C. L. 1974. Scale mixtures of
normal distributions. Journal of the Royal Statistical Society B 36:99-102)."""

AS_MEASURED: Mapping[float, float] = {1.0: 1.0}
"""The SDs of a single spring are known."""

_ROUNDS, _SETTLED = 20, 1e-4
"""Repetitions at most, and the change of a variance below which there are no more."""
_SPLITS, _DOUBT = 4, 0.25
"""How many doubtful pieces of evidence are read both ways at most, and from what share of the
variance that is left. Own convention."""
_UNLIKELY = 1e-3
"""Rules and scatters less likely than this, against the likeliest, are not looked into further.
Own convention."""


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
    scatter : shape (K,), how many times the SDs of a single spring are what they are elsewhere.
    """

    rules: np.ndarray
    site: FloatArray
    positions: FloatArray
    scatter: FloatArray


class Evidence(NamedTuple):
    """What pins the errors down: the notes, and what is known of each noted family from elsewhere.

    loads : shape (E, X), what a unit of each error does to each piece: site, families, springs.
    variance, wrong : shape (E,), of each piece where it is right, and where it is wrong.
    own : shape (X,), precision of each error before all evidence; 0 for families.
    """

    loads: FloatArray
    variance: FloatArray
    wrong: FloatArray
    own: FloatArray


class Reading(NamedTuple):
    """One way to read the evidence: a rule, a scatter, and what is held for wrong.

    log_weight : logarithm of its likelihood.
    noise : shape (E,), variance that each piece has by it.
    """

    rule: int
    scatter: float
    log_weight: float
    noise: FloatArray


def learn(
    prior: Errors,
    notes: Sequence[Note],
    rule_weights: FloatArray,
    site_sd: FloatArray,
    season_sd: float,
    position_sd: FloatArray,
    rng: np.random.Generator,
    *,
    scatters: Mapping[float, float] = SCATTERS,
    misnamed_sd: float = WRONG_SD_DAYS,
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
    scatters
        As `SCATTERS`.
    misnamed_sd
        How far the position of a family is off that is not what it is taken for. [days]

    Returns
    -------
    Errors
        Draws given the notes, of the same shapes.
    """
    draws = prior.site.size
    # Notes tell nothing of families that none of them is about.
    noted = [g for g in sorted({note.group for note in notes}) if position_sd[g] > 0]
    told = {
        scatter: _evidence(notes, noted, site_sd, season_sd, position_sd, misnamed_sd, scatter)
        for scatter in scatters
    }
    miss = np.array([note.miss for note in notes]).T
    # What is known of a family puts it where the rules have it.
    miss = np.concatenate((miss, np.zeros((len(miss), len(noted)))), axis=1)
    chances = product(rule_weights[:, None], np.array([list(scatters.values())]))
    readings = list(_readings(miss, told, chances))
    likely = np.array([reading.log_weight for reading in readings])
    weights = np.exp(likely - likely.max())
    share = (np.argsort(np.argsort(prior.rules, kind="stable")) + 0.5) / draws
    read = np.searchsorted(np.cumsum(weights) / weights.sum(), share)
    springs = len({note.spring for note in notes})
    errors = np.concatenate(
        (prior.site[None], np.zeros((len(noted), draws)), rng.standard_normal((springs, draws)))
    )
    # Made-up knowledge of a family that lies off by as much as the family was drawn to.
    made_up = np.concatenate((rng.standard_normal((len(notes), draws)), -prior.positions[noted]))
    for each in np.unique(read):
        reading, mine = readings[each], read == each
        evidence = told[reading.scatter]
        foretold = product(evidence.loads, errors[:, mine])
        foretold += np.sqrt(reading.noise)[:, None] * made_up[:, mine]
        left = miss[reading.rule][:, None] - foretold
        errors[:, mine] += product(_gain(evidence, reading.noise), left)
    positions = prior.positions.copy()
    positions[noted] = errors[1 : 1 + len(noted)]
    return Errors(
        np.array([reading.rule for reading in readings])[read],
        errors[0],
        positions,
        np.array([reading.scatter for reading in readings])[read],
    )


def _evidence(
    notes: Sequence[Note],
    noted: Sequence[int],
    site_sd: FloatArray,
    season_sd: float,
    position_sd: FloatArray,
    misnamed_sd: float,
    scatter: float,
) -> Evidence:
    """The notes in days, then what is known of the noted families in SDs of their positions."""
    springs = sorted({note.spring for note in notes})
    loads = np.zeros((len(notes) + len(noted), 1 + len(noted) + len(springs)))
    for row, note in zip(loads[: len(notes)], notes, strict=True):
        row[0] = site_sd[note.group]
        if note.group in noted:
            row[1 + noted.index(note.group)] = position_sd[note.group]
        row[1 + len(noted) + springs.index(note.spring)] = scatter * season_sd
    families = slice(1, 1 + len(noted))
    loads[len(notes) :, families] = np.eye(len(noted))
    own = np.ones(loads.shape[1])
    own[families] = 0.0
    variance = scatter**2 * np.array([note.variance for note in notes])
    return Evidence(
        loads,
        np.append(variance, np.ones(len(noted))),
        np.append(variance + WRONG_SD_DAYS**2, 1 + (misnamed_sd / position_sd[noted]) ** 2),
        own,
    )


def _readings(
    miss: FloatArray, told: Mapping[float, Evidence], chances: FloatArray
) -> Iterator[Reading]:
    """All likely ways to read the evidence, in the order of the rules.

    chances : shape (rules, scatters), before the notes.
    """
    unsettled = np.full(miss.shape[1], np.nan)
    pairs = [(rule, scatter) for rule in range(len(miss)) for scatter in told]
    weighed = [_weighed(miss[rule], told[scatter], unsettled) for rule, scatter in pairs]
    prior = np.log(chances).ravel()
    likely = prior + [each.log_density for each in weighed]
    for place in np.flatnonzero(likely > likely.max() + np.log(_UNLIKELY)):
        rule, scatter = pairs[place]
        given = miss[rule], told[scatter], unsettled, weighed[place], _SPLITS
        for each in _followed(*given):
            yield Reading(rule, scatter, prior[place] + each.log_density, each.noise)


class _Weighed(NamedTuple):
    """Evidence by how far it is to be trusted, arrays of shape (E,).

    noise : variance of each piece, raised by its chance of being wrong.
    doubt : of the variance that is left of what a piece is about, the share that is owed to not
        knowing whether it is wrong; 0 where that is settled.
    log_density : of all pieces.
    """

    noise: FloatArray
    doubt: FloatArray
    log_density: float


def _followed(
    miss: FloatArray, evidence: Evidence, wrong: FloatArray, weighed: _Weighed, splits: int
) -> Iterator[_Weighed]:
    """Read the most doubtful piece both ways, and again, until little hangs on any.

    wrong : shape (E,), 1 or 0 for what is held for wrong or right; NaN: not settled.
    weighed : the evidence by that.
    """
    worst = int(np.argmax(weighed.doubt))
    if splits == 0 or weighed.doubt[worst] < _DOUBT:
        yield weighed
        return
    for settled in (0.0, 1.0):
        held = wrong.copy()
        held[worst] = settled
        half = _weighed(miss, evidence, held, weighed.noise)
        yield from _followed(miss, evidence, held, half, splits - 1)


def _spread(evidence: Evidence, noise: FloatArray) -> tuple[FloatArray, float]:
    """Covariance of the errors given the evidence, shape (X, X), and minus its log-determinant.

    Solved for the errors, which are far fewer than the notes of a long log (Woodbury identity:
    Hager, W. W. 1989. Updating the inverse of a matrix. SIAM Review 31:221-239).
    """
    own, loads = evidence.own, evidence.loads
    return solved(np.diag(own) + product(loads.T / noise, loads), np.eye(own.size))


def _gain(evidence: Evidence, noise: FloatArray) -> FloatArray:
    """By how much each unit of each piece of evidence moves each error, shape (X, E)."""
    return product(_spread(evidence, noise)[0], evidence.loads.T / noise)


def _weighed(
    miss: FloatArray, evidence: Evidence, wrong: FloatArray, noise: FloatArray | None = None
) -> _Weighed:
    """Find by repetition how far each piece is to be trusted.

    wrong : as in `_followed`. noise : to begin with.
    """
    loads, right, off, _ = evidence
    if noise is None:
        noise = right + WRONG_SHARE * (off - right)
    for _ in range(_ROUNDS):
        told = product(loads, _spread(evidence, noise)[0])
        own_say = (told * loads).sum(axis=1) / noise
        # What is left of a piece when all the others have had their say, and its variance.
        left = (miss - product(told, product(loads.T, miss / noise))) / (1 - own_say)
        free = noise * own_say / (1 - own_say)
        odds = _log_normal(left, free + right) - _log_normal(left, free + off)
        found = WRONG_SHARE / (WRONG_SHARE + (1 - WRONG_SHARE) * np.exp(np.minimum(odds, 700.0)))
        chance = np.where(np.isnan(wrong), found, wrong)
        # Precisions average: a note that is surely wrong still says a little.
        before, noise = noise, 1 / ((1 - chance) / right + chance / off)
        if np.abs(noise / before - 1).max() < _SETTLED:
            break
    step = left * (free / (free + right) - free / (free + off))
    doubt = chance * (1 - chance) * step**2 * (1 / free + 1 / noise)
    return _Weighed(noise, doubt, _log_density(miss, evidence, noise, chance))


def _log_normal(left: FloatArray, variance: FloatArray) -> FloatArray:
    return np.asarray(-0.5 * (left**2 / variance + np.log(variance)))


def _log_density(
    miss: FloatArray, evidence: Evidence, noise: FloatArray, chance: FloatArray
) -> float:
    """Lower bound of the logarithm of the evidence, but for a constant; exact where all is settled.

    chance : shape (E,), of each piece to be wrong. The bound is that of independent chances
        (Jordan, M. I. et al. 1999. An introduction to variational methods for graphical models.
        Machine Learning 37:183-233).
    """
    loads, right, off, _ = evidence
    spread, log_determinant = _spread(evidence, noise)
    unexplained = miss - product(loads, product(spread, product(loads.T, miss / noise)))
    square = (miss * unexplained / noise).sum()
    normal = -0.5 * (square + log_determinant + np.log(noise).sum())
    mixed = 0.5 * (np.log(noise) - (1 - chance) * np.log(right) - chance * np.log(off))
    surprise = _relative(chance, WRONG_SHARE) + _relative(1 - chance, 1 - WRONG_SHARE)
    return float(normal + (mixed - surprise).sum())


def _relative(chance: FloatArray, prior: float) -> FloatArray:
    """`chance · ln(chance / prior)`, 0 for a chance of 0."""
    return np.asarray(chance * np.log(np.maximum(chance, np.finfo(float).tiny) / prior))
