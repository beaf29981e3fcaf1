"""How sure a counted share is: the exact binomial interval, and the same where the trials come in clusters.

C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404; for clusters E. L. Korn and B. I. Graubard, Survey
Methodology 24 (1998) 193: the same interval with the number of trials divided by the design effect.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betaincinv, stdtrit


def exact(count: float, trials: float, confidence: float = 0.95) -> tuple[float, float]:
    """The interval that holds the true share with at least `confidence`, half of the rest outside each end.

    count, trials: 0 <= count <= trials, trials > 0; they need not be whole. Raises ValueError otherwise.
    """
    if not 0.0 <= count <= trials or not trials > 0.0:
        raise ValueError(f"count(={count}) must be from 0 to trials(={trials}), and trials above 0.")
    out = 0.5 * (1.0 - confidence)
    low = 0.0 if count <= 0.0 else float(betaincinv(count, trials - count + 1.0, out))
    high = 1.0 if count >= trials else float(betaincinv(count + 1.0, trials - count, 1.0 - out))
    return low, high


def clustered(counts: ArrayLike, size: int, confidence: float = 0.95) -> tuple[float, tuple[float, float]]:
    """The share over clusters of `size` trials each, and its interval.

    counts: (clusters,) of each cluster. With one cluster, or none that differs, nothing is known between clusters: the
    trials then count as independent, or, with one cluster, the interval is that of the cluster alone.
    """
    found = np.asarray(counts, dtype=np.float64)
    clusters, trials = len(found), float(len(found) * size)
    share = float(found.sum() / trials)
    plain = share * (1.0 - share) / trials
    between = float(np.var(found / size, ddof=1) / clusters) if clusters > 1 else 0.0
    if between <= 0.0 or plain <= 0.0:
        return share, exact(found.sum(), trials, confidence)
    out = 0.5 * (1.0 - confidence)
    effective = share * (1.0 - share) / between
    effective *= (float(stdtrit(trials - 1.0, out)) / float(stdtrit(clusters - 1.0, out))) ** 2
    effective = min(effective, trials)
    return share, exact(share * effective, effective, confidence)
