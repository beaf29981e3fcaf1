"""What two instruments read of a point: pairing by time, means over a window, and the random part in closed form.

All arrays run over controller samples, the first at the command; pressures in Pa absolute, times in s.
"""

import math

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

RANDOM_FACTOR = 2.0
"""the random part counts as this many standard deviations of the mean"""


def quantisation_bias(noise: float, resolution: float) -> float:
    """Standard deviation [Pa] of the part of rounding that averaging does not remove.

    noise : standard deviation of one reading before rounding [Pa], >= 0.
    resolution : step of the indication [Pa], >= 0.

    Over a level whose place between two steps is not known, the mean of rounded noisy readings keeps the
    variance sum_k q^2/(2 pi^2 k^2) exp(-4 pi^2 k^2 s^2/q^2). Without noise that is q^2/12; from s = q/2 on
    it is below 0.2 % of q. Source: Widrow and Kollar, Quantization Noise, Cambridge 2008, chapters 5 and 9
    (characteristic function of the rounding error).
    """
    if resolution <= 0.0:
        return 0.0
    if noise <= 0.0:
        return resolution / math.sqrt(12.0)
    ratio = (noise / resolution) ** 2
    # from this k on the terms are below 1e-18; the tail of a small ratio is closed by the known full sum
    most = min(int(math.sqrt(41.4 / (4.0 * math.pi**2 * ratio))) + 1, 2000)
    k = np.arange(1, most + 1)
    total = float(np.sum(np.exp(-4.0 * math.pi**2 * k**2 * ratio) / (2.0 * math.pi**2 * k**2)))
    return resolution * math.sqrt(total)


def independent(window: float, period: float, lag: float) -> float:
    """How many independent readings a window holds [all s]: one a period, but no more than one a lag; at least 1."""
    return max(window / max(period, lag), 1.0)


def mean_deviation(noise: float, resolution: float, count: float) -> float:
    """Standard deviation [Pa] of the mean of `count` independent readings of one instrument.

    White noise and the dithered share of rounding shrink with the square root of the count, the rest of the
    rounding does not (`quantisation_bias`). Arguments in Pa, count >= 1.
    """
    stays = quantisation_bias(noise, resolution)
    falls = max(noise**2 + resolution**2 / 12.0 - stays**2, 0.0) / count
    return math.sqrt(falls + stays**2)


def random_part(instruments: list[tuple[float, float, float]]) -> float:
    """Two standard deviations [Pa] of the difference of means; instruments as (noise [Pa], resolution [Pa], count)."""
    return RANDOM_FACTOR * math.sqrt(sum(mean_deviation(*one) ** 2 for one in instruments))


def delayed(values: Vector, delay: float, time: Vector) -> Vector:
    """The values `delay` s earlier (>= 0) on the clock `time` [s], linear between; NaN before its beginning.

    A window belongs to the later of two instruments, so that everything has been read when it ends; the earlier one is
    taken this much before.
    """
    if delay <= 0.0:
        return values
    out = np.interp(time - delay, time, values)
    out[time - time[0] < delay * (1.0 - 1e-12)] = np.nan
    return out


def window_mean(values: Vector, start: int, length: int) -> float:
    """Mean over the window of `length` periods that starts at sample `start` (trapezoid, ends included)."""
    part = values[start : start + length + 1]
    if part.shape[0] < 2:
        return float(part[0])
    return float((part.sum() - 0.5 * (part[0] + part[-1])) / (part.shape[0] - 1))


def recovering(size: float, time_constant: float, time: Vector) -> Vector:
    """A shift that decays from `size` [Pa] at time 0 with `time_constant` [s]; stays if that is infinite."""
    if size == 0.0:
        return np.zeros_like(time)
    if time_constant <= 0.0:
        return np.zeros_like(time)
    return size * np.exp(-time / time_constant)
