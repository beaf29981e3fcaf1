"""Quantiles and moments of a mixture of normal distributions."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

Vector = NDArray[np.float64]

TURNS = 60
SMALLEST = 1e-7
"""weight below which a component is left out, after norming"""


def normed(log_weight: Vector) -> Vector:
    """Weights [n] that sum to 1 from their logarithms."""
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def probability_below(x: float, weight: Vector, mean: Vector, sd: Vector) -> float:
    """Probability that the mixture lies below x; weight [n] sums to 1, sd [n] > 0."""
    return float(weight @ ndtr((x - mean) / sd))


def quantile(share: float, weight: Vector, mean: Vector, sd: Vector) -> float:
    """The x below which `share` (0..1, exclusive) of the mixture lies, by bisection to 1e-9 of its width."""
    keep = weight > SMALLEST * weight.max()
    weight, mean, sd = weight[keep] / weight[keep].sum(), mean[keep], sd[keep]
    low, high = float((mean - 9.0 * sd).min()), float((mean + 9.0 * sd).max())
    close = 1e-9 * (high - low)
    for _ in range(TURNS):
        middle = 0.5 * (low + high)
        if probability_below(middle, weight, mean, sd) < share:
            low = middle
        else:
            high = middle
        if high - low < close:
            break
    return 0.5 * (low + high)
