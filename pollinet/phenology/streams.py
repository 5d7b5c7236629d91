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
    digest = sha256("\0".join(words).encode()).digest()
    key = [int.from_bytes(digest[i : i + 4], "little") for i in range(0, 16, 4)]
    return np.random.default_rng([seed, *key])


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


def shuffled_normals(draws: int, rng: np.random.Generator) -> FloatArray:
    """The values of `even_normals` in random order, shape (draws,)."""
    return rng.permutation(even_normals(draws))
