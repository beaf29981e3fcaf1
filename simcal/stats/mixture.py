"""Quantiles and moments of a mixture of normal distributions."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import ndtr

Vector = NDArray[np.float64]

CLOSE = 1e-9
"""of a mixture's whole width: how near a quantile is found"""
NARROW, REACH = 0.1, 3.5
"""of the normal distributions that a logarithm's is made of: width, over which exp is straight; reach in sd"""
COUNTS = 1e-5
"""weight over the largest below which a component is left out of a product"""
SMALLEST = 1e-7
"""weight below which a component is left out, after norming"""


def normed(log_weight: Vector) -> Vector:
    """Weights [n] that sum to 1 from their logarithms."""
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def probability_below(x: float, weight: Vector, mean: Vector, sd: Vector) -> float:
    """Probability that the mixture lies below x; weight [n] sums to 1, sd [n] > 0."""
    return float(weight @ ndtr((x - mean) / sd))


def times_lognormal(weight: Vector, mean: Vector, sd: Vector, relative_sd: float) -> tuple[Vector, Vector, Vector]:
    """Mixture of a variable times an independent positive factor of median 1, log-normal: (weight, mean, sd).

    weight, mean, sd [n]: mixture of the variable; relative_sd: standard deviation of the factor over its mean, >= 0.
    The factor's logarithm is a row of narrow normal distributions, about each of which the product is normal.
    """
    if relative_sd == 0.0:
        return weight, mean, sd
    keep = weight > COUNTS * weight.max()
    weight, mean, sd = weight[keep] / weight[keep].sum(), mean[keep], sd[keep]
    log_sd = math.sqrt(math.log1p(relative_sd**2))
    spacing = min(1.0, NARROW / log_sd)  # and width
    count = int(REACH / spacing) if spacing < 1.0 else 0
    z: Vector = spacing * np.arange(-count, count + 1, dtype=np.float64)
    share = normed(np.asarray(-0.5 * z**2 / max(1.0 - spacing**2, 1e-6), dtype=np.float64))
    factor = np.exp(log_sd * z)
    spread = np.hypot(sd, spacing * log_sd * mean)
    return np.outer(share, weight).ravel(), np.outer(factor, mean).ravel(), np.outer(factor, spread).ravel()


def quantile(share: float, weight: Vector, mean: Vector, sd: Vector) -> float:
    """The x below which `share` (0..1, exclusive) of the mixture lies, to 1e-9 of its width."""
    keep = weight > SMALLEST * weight.max()
    weight, mean, sd = weight[keep] / weight[keep].sum(), mean[keep], sd[keep]
    low, high = float((mean - 9.0 * sd).min()), float((mean + 9.0 * sd).max())
    return float(brentq(lambda x: probability_below(x, weight, mean, sd) - share, low, high, xtol=CLOSE * (high - low)))
