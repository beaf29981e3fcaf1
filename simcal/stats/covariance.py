"""Factors of covariances that rounding has made slightly indefinite."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.float64]

SHARES = (0.0, 1e-13, 1e-11, 1e-9, 1e-7)
"""of the diagonal, tried one after the other until the factor exists"""


def factor(covariance: Matrix) -> Matrix:
    """Lower Cholesky factor [n, n] of a covariance, its diagonal raised by the least share that allows one.

    Raises numpy.linalg.LinAlgError when it is no covariance even to 1e-7 of its diagonal.
    """
    size = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(size, size)
    for share in SHARES:
        try:
            lower = np.linalg.cholesky(correlation + share * np.eye(len(size)))
        except np.linalg.LinAlgError:
            if share == SHARES[-1]:
                raise
            continue
        return np.asarray(lower * size[:, None])
    raise AssertionError("the last share either returns or raises")
