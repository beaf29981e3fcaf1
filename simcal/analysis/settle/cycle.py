"""A lasting oscillation in a pressure that should stand still: amplitude and period from its turns.

Pure functions of arrays over controller samples.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

FEWEST_TURNS = 3
"""whole cycles that must be seen"""
LASTING = 0.6
"""amplitude late over amplitude early from which an oscillation lasts; ringing that dies is no cycle"""
HYSTERESIS = 0.3
"""share of the amplitude that the signal must pass on both sides of its middle to count as a crossing"""
REGULAR = 0.35
"""standard deviation of the periods over their mean, up to which they are one period"""


@dataclass(frozen=True)
class Oscillation:
    """Half of peak to peak [Pa] and period [s]."""

    amplitude_Pa: float
    period_s: float


def detrended(values: Vector, order: int = 2) -> Vector:
    """The signal less its own polynomial of `order` (least squares)."""
    t = np.linspace(-1.0, 1.0, values.shape[0])
    fitted = np.polynomial.polynomial.polyval(t, np.polynomial.polynomial.polyfit(t, values, order))
    return np.asarray(values - fitted)


def rises(values: Vector, band: float) -> NDArray[np.int64]:
    """Samples at which the signal first exceeds +band after having been below -band."""
    level = np.where(values > band, 1, np.where(values < -band, -1, 0))
    places = np.flatnonzero(level)
    turned = np.flatnonzero((level[places][1:] == 1) & (level[places][:-1] == -1)) + 1
    return np.asarray(places[turned])


def _half_swing(values: Vector) -> float:
    return 0.5 * float(values.max() - values.min())


def find(values: Vector, period: float, least: float) -> Oscillation | None:
    """The oscillation of a pressure [Pa] sampled every `period` s; None below the amplitude `least` [Pa].

    It must be seen for three whole cycles, be regular and not die away. The amplitude is the median of half
    of peak to peak of its cycles.
    """
    if values.shape[0] < 2 * FEWEST_TURNS + 2:
        return None
    left = detrended(values)
    size = _half_swing(left)
    if size < least:
        return None
    third = values.shape[0] // 3
    late, early = _half_swing(left[-third:]), _half_swing(left[:third])
    if late < LASTING * early or late < least:
        return None
    starts = rises(left, HYSTERESIS * late)
    if starts.shape[0] < FEWEST_TURNS + 1:
        return None
    lengths = np.diff(starts)
    if lengths.std() > REGULAR * lengths.mean():
        return None
    swings = [_half_swing(left[a:b]) for a, b in pairwise(starts)]
    amplitude = float(np.median(swings))
    return Oscillation(amplitude, float(lengths.mean()) * period) if amplitude >= least else None


def amplitude_at(values: Vector, cycle_s: float, period: float) -> float:
    """Median half of peak to peak [Pa] of another signal over the cycles of a known length [s]."""
    length = max(round(cycle_s / period), 2)
    left = detrended(values)
    count = left.shape[0] // length
    if count == 0:
        return _half_swing(left)
    return float(np.median([_half_swing(left[i * length : (i + 1) * length]) for i in range(count)]))
