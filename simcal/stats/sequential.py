"""Looking as often as one likes: sets that hold the truth at every look, all looks together.

Where p(x) is the prior of an unknown and p(x | data so far) its posterior, the ratio p(x)/p(x | data) at the true x is
a martingale with mean 1, a mixture likelihood ratio. By Ville's inequality it ever exceeds 1/alpha with probability
alpha at most; so the set of all x whose ratio stays below 1/alpha holds the truth at all looks with 1 - alpha.

Sources: H. Robbins, Ann. Math. Statist. 41 (1970) 1397 (mixtures); I. Waudby-Smith and A. Ramdas, NeurIPS 33 (2020),
"Confidence sequences for sampling without replacement" (the prior-posterior ratio).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from simcal.stats.mixture import SMALLEST

Vector = NDArray[np.float64]

GRID = 400
TURNS = 30


def log_density(x: Vector, weight: Vector, mean: Vector, sd: Vector) -> Vector:
    """Logarithm of the density of a mixture of normal distributions [k] at x [n]."""
    each = np.log(weight / sd) - 0.5 * ((x[:, None] - mean) / sd) ** 2 - 0.5 * np.log(2.0 * np.pi)
    top = each.max(axis=1)
    return np.asarray(top + np.log(np.exp(each - top[:, None]).sum(axis=1)))


def held(
    x: Vector, posterior: tuple[Vector, Vector, Vector], prior: tuple[Vector, Vector, Vector], alpha: float
) -> NDArray[np.bool_]:
    """Whether prior/posterior is below 1/alpha at x [n]; arguments as in `lasting_interval`."""
    return np.asarray(log_density(x, *posterior) > np.log(alpha) + log_density(x, *prior))


def lasting_interval(
    posterior: tuple[Vector, Vector, Vector], prior: tuple[Vector, Vector, Vector], alpha: float
) -> tuple[float, float]:
    """The smallest interval that holds every x with prior/posterior below 1/alpha.

    posterior, prior: (weight, mean, sd) of mixtures of normal distributions, weights summing to 1; alpha: 0..1,
    probability that the truth is ever left out, over all looks.
    """
    weight, mean, sd = posterior
    keep = weight > SMALLEST * weight.max()
    kept = weight[keep], mean[keep], sd[keep]

    def inside(x: Vector) -> NDArray[np.bool_]:
        return held(x, kept, prior, alpha)

    widest = float((9.0 * kept[2]).max())
    low, high = float(kept[1].min()) - widest, float(kept[1].max()) + widest
    x = np.unique(np.concatenate([np.linspace(low, high, GRID), kept[1][np.argsort(kept[0])[-GRID:]]]))
    found = np.flatnonzero(inside(x))
    if not len(found):
        return low, high
    first, last = int(found[0]), int(found[-1])
    left = _edge(x[max(first - 1, 0)], x[first], inside)
    right = _edge(x[min(last + 1, len(x) - 1)], x[last], inside)
    return left, right


def _edge(out: float, within: float, inside: Callable[[Vector], NDArray[np.bool_]]) -> float:
    """Where the set ends between a point outside and one inside, by bisection."""
    for _ in range(TURNS):
        middle = 0.5 * (out + within)
        if inside(np.array([middle]))[0]:
            within = middle
        else:
            out = middle
    return float(within)
