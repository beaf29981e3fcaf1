"""Which sensor is read at each point of one run: fewest switches first, then the best ratios."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


def route(serves: Mask, ratio: Array, free: Mask) -> tuple[list[int | None], int]:
    """(Sensor of each point, switches between two sensors); None at a point that needs none or that none serves.

    serves: [points, sensors] sensors of the set that serve a point. ratio: the same, how well. free: [points] points
    read without a sensor, at which the one in use stays.
    Exact, by dynamic programming; equal ways take the sensor listed first.
    """
    needed = [p for p in range(len(serves)) if not free[p] and serves[p].any()]
    chosen: list[int | None] = [None] * len(serves)
    if not needed:
        return chosen, 0
    worth = np.where(serves, 1.0 / np.maximum(np.where(np.isfinite(ratio), ratio, 1e12), 1e-12), np.inf)
    cost = [(0, float(w)) if np.isfinite(w) else None for w in worth[needed[0]]]
    before: list[list[int]] = []
    for p in needed[1:]:
        steps = [_step(cost, k, float(worth[p, k])) for k in range(serves.shape[1])]
        cost = [one[0] if one is not None else None for one in steps]
        before.append([one[1] if one is not None else -1 for one in steps])
    last = min((k for k, one in enumerate(cost) if one is not None), key=lambda k: (cost[k], k))
    switches = cost[last][0]  # type: ignore[index]
    for p, came in zip(reversed(needed), [*reversed(before), []], strict=True):
        chosen[p] = last
        last = came[last] if came else last
    return chosen, switches


def _step(cost: Sequence[tuple[int, float] | None], sensor: int, worth: float) -> tuple[tuple[int, float], int] | None:
    """Cheapest way to read the next point with a sensor, and the sensor before it."""
    if not np.isfinite(worth):
        return None
    ways = [((one[0] + (k != sensor), one[1] + worth), k) for k, one in enumerate(cost) if one is not None]
    return min(ways) if ways else None
