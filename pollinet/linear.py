"""Small linear algebra whose last digits do not hang on the number of threads.

The BLAS under numpy's `@` and `linalg` cuts a sum in pieces, one a thread, and sums in another
order add up to other last digits: the same plan would not give the same bytes on two machines.
`einsum` without `optimize` adds in one order, on one thread.
"""

from __future__ import annotations

import numpy as np

from pollinet.domain import FloatArray


def product(left: FloatArray, right: FloatArray) -> FloatArray:
    """Matrix product, as `left @ right`: shapes (I, J) and (J,) or (J, K)."""
    return np.asarray(np.einsum("ij,j...->i...", left, right))


def solved(matrix: FloatArray, right: FloatArray) -> tuple[FloatArray, float]:
    """Solution of a symmetric positive definite system, and the logarithm of its determinant.

    Elimination without exchange of rows, which is stable for such matrices (Higham, N. J. 2002.
    Accuracy and Stability of Numerical Algorithms, 2nd ed., chapter 10; `memory`).

    Parameters
    ----------
    matrix : shape (N, N). right : shape (N,) or (N, K).
    """
    size = len(matrix)
    rows = np.column_stack([matrix, right]).astype(float)
    logarithm = 0.0
    for place in range(size):
        pivot = rows[place, place]
        logarithm += float(np.log(pivot))
        rows[place] /= pivot
        factors = rows[:, place].copy()
        factors[place] = 0.0
        rows -= factors[:, None] * rows[place]
    return rows[:, size:].reshape(np.shape(right)), logarithm
