"""Conformity of a measured error to limits, and the risks of deciding by it.

The true error has a normal prior of mean 0 and standard deviation s, the measurement adds a normal error of mean 0 and
standard deviation u; the tolerance is -T..T, a reading in -A..A is accepted. All in one unit; arrays broadcast.
Risks are joint probabilities, as JCGM 106:2012, clause 9, defines them: consumer's = out of tolerance and accepted,
producer's = in tolerance and rejected.

The double integrals over a rectangle are those of the bivariate normal distribution, written with Owen's T function:
D. B. Owen, Ann. Math. Statist. 27 (1956) 1075.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri, owens_t

Vector = NDArray[np.float64]

LEAST, MOST = 1e-3, 1e3
"""s over the larger of T and u, between which the worst prior is looked for; risks are nought or falling beyond"""
NODES = 97
TURNS = 40


def probability_inside(low: ArrayLike, high: ArrayLike, measured: ArrayLike, u: ArrayLike) -> Vector:
    """Probability that the true value lies in low..high when `measured` was found with standard uncertainty u > 0.

    An end may be -inf or inf. Source: JCGM 106:2012, clause 7, normal distribution.
    """
    y, sd = np.asarray(measured, dtype=np.float64), np.asarray(u, dtype=np.float64)
    return np.asarray(ndtr((np.asarray(high) - y) / sd) - ndtr((np.asarray(low) - y) / sd))


def guard_band_for(risk: ArrayLike, u: ArrayLike) -> Vector:
    """Guard band that holds the specific consumer's risk at one limit to `risk` (0..1), in the unit of u.

    Source: JCGM 106:2012, 8.3.2: w = z(1 - risk) u.
    """
    return np.asarray(ndtri(1.0 - np.asarray(risk, dtype=np.float64)) * np.asarray(u, dtype=np.float64))


def prior_sd(share: float, tolerance: ArrayLike, u: ArrayLike = 0.0, observed: bool = False) -> Vector:
    """Standard deviation s of the true errors of which `share` (0..1) lies in the tolerance T.

    With `observed` the share is that of measured errors, which scatter by s and u together; NaN where measured errors
    scatter more by u alone than the share allows.
    """
    whole = np.asarray(tolerance, dtype=np.float64) / ndtri(0.5 * (1.0 + share))
    if not observed:
        return np.asarray(whole)
    square = whole**2 - np.asarray(u, dtype=np.float64) ** 2
    return np.asarray(np.sqrt(np.where(square > 0.0, square, np.nan)))


def global_risks(s: ArrayLike, u: ArrayLike, tolerance: ArrayLike, accept: ArrayLike) -> tuple[Vector, Vector]:
    """(consumer's, producer's) risk of accepting readings in -accept..accept; s, u, tolerance, accept > 0.

    NaN where one of them is. Good to 1e-14. Source: JCGM 106:2012, clause 9, joint probabilities.
    """
    s, u = np.asarray(s, dtype=np.float64), np.asarray(u, dtype=np.float64)
    seen = np.hypot(s, u)
    h, k = np.asarray(tolerance, dtype=np.float64) / s, np.asarray(accept, dtype=np.float64) / seen
    rho, rest = s / seen, u / seen
    both = 1.0 - 2.0 * (
        owens_t(h, (k - rho * h) / (h * rest))
        + owens_t(h, (k + rho * h) / (h * rest))
        + owens_t(k, (h - rho * k) / (k * rest))
        + owens_t(k, (h + rho * k) / (k * rest))
    )
    consumer, producer = (2.0 * ndtr(k) - 1.0) - both, (2.0 * ndtr(h) - 1.0) - both
    return np.asarray(np.maximum(consumer, 0.0)), np.asarray(np.maximum(producer, 0.0))


def worst_risks(u: ArrayLike, tolerance: ArrayLike, accept: ArrayLike) -> tuple[Vector, Vector]:
    """The largest consumer's and the largest producer's risk that any prior of mean 0 can give, each at its own s.

    u, tolerance > 0, accept > 0. Searched over s on a grid of `NODES`, then narrowed about its best node.
    """
    u, t, a = np.broadcast_arrays(*(np.asarray(x, dtype=np.float64) for x in (u, tolerance, accept)))
    found = []
    for which in (0, 1):
        low, high = np.log(LEAST * np.maximum(t, u)), np.log(MOST * np.maximum(t, u))
        grid = np.linspace(0.0, 1.0, NODES).reshape((-1,) + (1,) * u.ndim)
        best = np.argmax(global_risks(np.exp(low + grid * (high - low)), u, t, a)[which], axis=0)
        step = (high - low) / (NODES - 1)
        left, right = low + (best - 1) * step, low + (best + 1) * step
        for _ in range(TURNS):
            one, other = left + 0.381966 * (right - left), left + 0.618034 * (right - left)
            rises = global_risks(np.exp(one), u, t, a)[which] < global_risks(np.exp(other), u, t, a)[which]
            left, right = np.where(rises, one, left), np.where(rises, right, other)
        found.append(global_risks(np.exp(0.5 * (left + right)), u, t, a)[which])
    return found[0], found[1]


def acceptance_limit(risk: float, u: float, tolerance: float, s: float | None = None) -> float:
    """The largest A up to the tolerance with a consumer's risk of at most `risk`; s None takes the worst prior.

    u, tolerance, s > 0; risk 1e-6..0.5. Source: JCGM 106:2012, clause 9.
    """

    def over(accept: float) -> float:
        found = worst_risks(u, tolerance, accept) if s is None else global_risks(s, u, tolerance, accept)
        return float(found[0]) - risk

    if over(tolerance) <= 0.0:
        return tolerance
    return float(brentq(over, 1e-9 * tolerance, tolerance, xtol=1e-10 * tolerance))


def least_ratio(risk: float) -> float:
    """Ratio T / (2 u), 1 or more, from which on no prior gives a consumer's risk above `risk` when A = T.

    risk 1e-5..0.5. Below a ratio of 1 the risk falls again, because hardly anything is accepted; that is no merit.
    """

    def over(ratio: float) -> float:
        return float(worst_risks(0.5 / ratio, 1.0, 1.0)[0]) - risk

    return 1.0 if over(1.0) <= 0.0 else float(brentq(over, 1.0, 1e5, xtol=1e-9))
