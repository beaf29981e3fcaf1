"""The interval of a mean of few values that are not normal."""

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit


def mean_interval(values: ArrayLike, confidence: float = 0.95) -> tuple[float, float, float]:
    """(Mean, low, high): Student's t, its skewness removed by a cubic transformation.

    values: (n,), n >= 2. Where the values are not skewed it is the interval of Student's t.
    Source: P. Hall, J. R. Statist. Soc. B 54 (1992) 221 (recalled): with T = sqrt(n) (mean - mu) / s and the skewness
    g, T + g T^2 / (3 sqrt n) + g^2 T^3 / (27 n) + g / (6 sqrt n) is nearly symmetric, and rises with T.
    """
    x = np.asarray(values, dtype=np.float64)
    n, mean, sd = len(x), float(x.mean()), float(x.std(ddof=1))
    if sd == 0.0 or np.ptp(x) == 0.0:
        return mean, mean, mean
    half = float(stdtrit(n - 1, 0.5 + 0.5 * confidence))
    bend = float(np.mean(((x - mean) / sd) ** 3)) / math.sqrt(n)
    ends = [mean - sd / math.sqrt(n) * _unbent(t, bend) for t in (half, -half)]
    return mean, ends[0], ends[1]


def _unbent(t: float, bend: float) -> float:
    """T whose transform is t; bend: skewness over sqrt(n)."""
    if abs(bend) < 1e-9:
        return t
    return 3.0 / bend * (math.cbrt(1.0 + bend * (t - bend / 6.0)) - 1.0)
