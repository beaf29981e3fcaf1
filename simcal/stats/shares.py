"""Which of the drawn inputs moves the answer most.

Linear regression of the answer's ranks on the ranks of the inputs (R. L. Iman and W. J. Conover,
Technometrics 21 (1979) 499); the square of a standardised coefficient is the share of the answer's variance
in ranks that goes with that input, when the inputs were drawn independently. It sees what is monotone.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import stdtr, stdtrit

Vector = NDArray[np.float64]

LEVEL = 0.01
"""probability of naming an input as leading where none moves the answer, over all inputs together"""
FEWEST = 12
"""trials below which nothing is said"""


class Share(NamedTuple):
    """The part of the answer's spread that goes with one input."""

    name: str
    share: float
    """0 to 1, freed of what chance alone gives"""
    low: float
    """95 % interval of the share"""
    high: float
    rises: bool
    """whether the answer rises with the input"""
    stands_out: bool
    """whether the input matters beyond chance"""


def ranks(values: ArrayLike) -> Vector:
    """Ranks from 1, equal values (inf among them) share the mean of theirs."""
    x = np.asarray(values, dtype=np.float64)
    _, where, counts = np.unique(x, return_inverse=True, return_counts=True)
    last = np.cumsum(counts).astype(np.float64)
    return np.asarray((last - 0.5 * (counts - 1.0))[where])


def _standard(values: ArrayLike) -> Vector | None:
    """Ranks with mean 0 and standard deviation 1, None when all are equal."""
    x = ranks(values)
    x = x - x.mean()
    size = math.sqrt(float(x @ x) / len(x))
    return x / size if size > 0.0 else None


def _coefficients(x: Vector, y: Vector) -> tuple[Vector, Vector, int]:
    """Standardised coefficients, standard errors, degrees of freedom; one input at a time if trials are few."""
    n, k = x.shape
    free = n - k - 1
    if free < max(FEWEST, k):
        beta = x.T @ y / n
        return beta, np.sqrt(np.maximum(1.0 - beta**2, 1e-12) / (n - 2)), n - 2
    inverse = np.linalg.pinv(x.T @ x)
    beta = inverse @ (x.T @ y)
    rest = y - x @ beta
    variance = max(float(rest @ rest) / free, 1e-12)
    return beta, np.sqrt(variance * np.diag(inverse)), free


def shares(inputs: Mapping[str, ArrayLike], answer: ArrayLike) -> tuple[Share, ...]:
    """The shares of the inputs in the answer's spread, largest first.

    inputs : name -> (n,) drawn values; one that never varied is left out.  answer : (n,), inf allowed, no
    NaN. Empty when the answer does not vary, or with fewer than 12 trials.
    """
    y = _standard(answer)
    columns = {name: column for name, values in inputs.items() if (column := _standard(values)) is not None}
    if y is None or not columns or len(y) < FEWEST:
        return ()
    beta, error, free = _coefficients(np.column_stack(list(columns.values())), y)
    wide = float(stdtrit(free, 0.975))
    chance = 2.0 * stdtr(free, -np.abs(beta) / error) * len(columns)
    found = [
        Share(
            name=name,
            share=min(max(b * b - e * e, 0.0), 1.0),
            low=max(abs(b) - wide * e, 0.0) ** 2,
            high=min((abs(b) + wide * e) ** 2, 1.0),
            rises=bool(b > 0.0),
            stands_out=bool(p < LEVEL),
        )
        for name, b, e, p in zip(columns, beta.tolist(), error.tolist(), chance.tolist(), strict=True)
    ]
    return tuple(sorted(found, key=lambda one: (-one.share, -one.high, one.name)))


def leading(found: tuple[Share, ...]) -> Share | None:
    """The input that moves the answer most, None when none stands out."""
    return found[0] if found and found[0].stands_out else None
