"""Random numbers that belong to a thing and not to its place in a list.

Every variety has streams of its own, named by words: adding a variety to a plan leaves the draws
of all others as they are.
"""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from statistics import NormalDist

import numpy as np

from pollinet.domain import FloatArray


def stream(seed: int, *words: str) -> np.random.Generator:
    """A generator that depends on the seed and the words alone."""
    digest = sha256("\0".join((str(seed), *words)).encode()).digest()
    return np.random.default_rng(int.from_bytes(digest[:16], "little"))


@cache
def even_normals(draws: int) -> FloatArray:
    """`draws` ordered values of mean 0 and SD 1, evenly spread over the normal distribution.

    With few draws they carry the stated spread, which random ones only do on average.
    """
    if draws == 1:
        return np.zeros(1)
    normal = NormalDist()
    values = np.array([normal.inv_cdf((draw + 0.5) / draws) for draw in range(draws)])
    return np.asarray(values / values.std())


def shuffled_normals(
    draws: int, rng: np.random.Generator, columns: int | None = None
) -> FloatArray:
    """The values of `even_normals` in random order, shape (draws,) or (draws, columns)."""
    values = even_normals(draws)
    if columns is None:
        return rng.permutation(values)
    return rng.permuted(np.tile(values[:, None], columns), axis=0)
