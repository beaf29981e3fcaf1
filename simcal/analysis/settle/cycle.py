"""A lasting oscillation in a pressure that should stand still, and what another signal makes of it.

Pure functions of arrays over controller samples; the finding itself is `simcal.control.cycle`.
"""

import numpy as np
from numpy.typing import NDArray

from simcal.control.cycle import Cycle, cycle, detrended, half_swing

Vector = NDArray[np.float64]

TREND = 2
"""order of the polynomial taken off a signal before its swing is measured"""


def find(values: Vector, period: float, least: float) -> Cycle | None:
    """The oscillation of a pressure [Pa] sampled every `period` s; None below the amplitude `least` [Pa]."""
    if not np.isfinite(values).all() or half_swing(values) < least:
        return None
    found = cycle(values, period)
    return found if found is not None and found.amplitude >= least else None


def amplitude_at(values: Vector, cycle_s: float, period: float) -> float:
    """Median half of peak to peak [Pa] of another signal over the cycles of a known length [s]."""
    length = max(round(cycle_s / period), 2)
    left = level(values)
    count = left.shape[0] // length
    if count == 0:
        return half_swing(left)
    return float(np.median([half_swing(left[i * length : (i + 1) * length]) for i in range(count)]))


def level(values: Vector) -> Vector:
    """The values less their slow trend."""
    return detrended(values, TREND)


def moving_means(values: Vector, length: int) -> Vector:
    """Means over every window of `length` periods, both ends included (trapezoid)."""
    sums = np.concatenate(([0.0], np.cumsum(0.5 * (values[1:] + values[:-1]))))
    return np.asarray((sums[length:] - sums[:-length]) / length)
