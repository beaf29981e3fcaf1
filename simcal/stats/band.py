"""The band in which the results of the trials lie, with the counting error of its two ends.

The interval of a quantile from the order statistics needs no assumption on the distribution: the count of
results below the true quantile is binomial (H. A. David and H. N. Nagaraja, Order Statistics, 3rd ed. 2003,
section 7.1).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr

Vector = NDArray[np.float64]


class Band(NamedTuple):
    """The middle part of the results; the ends may be inf where results never came."""

    low: float
    high: float
    low_between: tuple[float, float]
    """interval of the true lower end; -inf or inf where the trials are too few to bound it"""
    high_between: tuple[float, float]
    n: int


def empirical_quantile(ranked: Vector, q: float) -> float:
    """The quantile q of the values in rising order, linear between them (definition 6 of Hyndman and Fan, 1996).

    Between two such quantiles a further value lies with their difference as its chance, if the values are enough to
    have q (n + 1) inside them; the outermost value stands for what is not.
    """
    at = min(max(q * (len(ranked) + 1) - 1.0, 0.0), len(ranked) - 1.0)
    i = int(at)
    share = at - i
    if share == 0.0 or ranked[i] == ranked[i + 1]:
        return float(ranked[i])
    return float(ranked[i] + share * (ranked[i + 1] - ranked[i]))


def quantile_between(ranked: Vector, q: float, confidence: float = 0.95) -> tuple[float, float]:
    """The interval that holds the true quantile q with at least `confidence`, half of the rest outside each end.

    ranked : values in rising order. An end that no order statistic bounds is -inf or inf.
    """
    n = len(ranked)
    out = 0.5 * (1.0 - confidence)
    below = bdtr(np.arange(n, dtype=np.float64), n, q)
    lower = int(np.searchsorted(below, out, side="right"))
    upper = int(np.searchsorted(below, 1.0 - out, side="left")) + 1
    return (
        float(ranked[lower - 1]) if lower >= 1 else -math.inf,
        float(ranked[upper - 1]) if upper <= n else math.inf,
    )


def band(values: ArrayLike, share: float = 0.90, confidence: float = 0.95) -> Band:
    """The band that holds the middle `share` of the results, 5th to 95th percentile by default.

    values : (n,), n >= 1; inf for a result that never came, no NaN. Raises ValueError otherwise.
    """
    ranked = np.sort(np.asarray(values, dtype=np.float64))
    if ranked.ndim != 1 or not len(ranked) or np.isnan(ranked).any():
        raise ValueError("values must be a list of at least one number, without NaN.")
    out = 0.5 * (1.0 - share)
    return Band(
        low=empirical_quantile(ranked, out),
        high=empirical_quantile(ranked, 1.0 - out),
        low_between=quantile_between(ranked, out, confidence),
        high_between=quantile_between(ranked, 1.0 - out, confidence),
        n=len(ranked),
    )
