"""Finding a standing oscillation in a trace: of a sticking or stepping drive, or of too tight a loop."""

from __future__ import annotations

from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

ALIKE = 0.5
"""a cycle's trace correlates with itself one period later by at least this"""
NEARLY = 0.9
"""the period is the first lag at which the correlation reaches this share of its highest"""
STILL_ALIKE = 0.4
"""and two periods later by at least this"""
LASTING = 0.6
"""the last third still swings by at least this share of the first third; less is a decaying oscillation"""
PERIODS = 3
"""periods that the record must hold"""
SHORTEST = 4
"""samples that one period must have"""
FOLDED = 5
"""periods that are averaged before the swing is taken, against noise"""
BINS = 20
"""parts of a period in that average"""


class Cycle(NamedTuple):
    """A standing oscillation."""

    amplitude: float
    """half of its swing from peak to peak, in the unit of the values"""
    period: float
    """s"""


def _detrended(values: Vector) -> Vector:
    """The values less their straight line."""
    k = np.arange(len(values)) - 0.5 * (len(values) - 1)
    return np.asarray(values - values.mean() - k * (k @ values) / (k @ k))


def _autocorrelation(x: Vector) -> Vector:
    """The correlation of x with itself at lags 0 to n - 1, each from the samples that overlap."""
    n = len(x)
    size = 1 << (2 * n - 1).bit_length()
    power = np.abs(np.fft.rfft(x, size)) ** 2
    raw = np.fft.irfft(power, size)[:n] / np.arange(n, 0, -1)
    return np.asarray(raw / raw[0])


def _first_peak(r: Vector) -> int | None:
    """Lag of the first peak of the correlation r, once it was negative, that nearly reaches the highest."""
    last = len(r) // PERIODS
    below = np.nonzero(r[:last] < 0.0)[0]
    if not len(below):
        return None
    start = max(int(below[0]), SHORTEST)
    inner = r[start:last]
    peaks = start + np.nonzero((inner >= r[start - 1 : last - 1]) & (inner >= r[start + 1 : last + 1]))[0]
    if not len(peaks):
        return None
    bend = 2.0 * r[peaks] - r[peaks - 1] - r[peaks + 1]
    tops = r[peaks] + (r[peaks + 1] - r[peaks - 1]) ** 2 / (8.0 * np.maximum(bend, 1e-300))
    if tops.max() < ALIKE:
        return None
    lag = int(peaks[np.argmax(tops >= NEARLY * tops.max())])
    reach = lag // 8
    return lag - reach + int(np.argmax(r[lag - reach : lag + reach + 1]))


def _period(r: Vector) -> float | None:
    """Period (samples) of the correlation r: its first peak, sharpened on later ones; None without one."""
    lag = _first_peak(r)
    if lag is None:
        return None
    period = float(lag)
    for k in range(2, len(r) // (2 * lag) + 1):
        reach = max(1, lag // 4)
        middle = round(k * period)
        part = r[middle - reach : middle + reach + 1]
        best = middle - reach + int(np.argmax(part))
        if r[best] < STILL_ALIKE:
            return period if k > 2 else None
        period = best / k
    return period


def _fold(x: Vector, samples: float) -> float:
    """Half the swing of the mean period of x, in bins of a period, each the mean of what falls into it."""
    into = (np.mod(np.arange(len(x)) / samples, 1.0) * BINS).astype(int)
    count = np.bincount(into)
    total = np.bincount(into, weights=x)
    return float(0.5 * np.ptp(total[count > 0] / count[count > 0]))


def _swing(x: Vector, samples: float) -> float:
    """Half the swing from peak to peak: median over blocks of a few periods, each folded on one period."""
    edges = np.arange(0.0, len(x) + 1.0, samples).astype(int)[::FOLDED]
    if len(edges) < 2:
        return _fold(x, samples)
    return float(np.median([_fold(x[a:b], samples) for a, b in pairwise(edges)]))


def cycle(values: Vector, period: float) -> Cycle | None:
    """Amplitude and period (s) of the standing oscillation in evenly sampled values, None when there is none.

    values : (n,), after the approach is over; a straight trend is taken off.  period : of the sampling, s.
    Rules: at least three periods of four samples; the trace repeats itself (correlation 0.5 one period
    later, 0.4 two periods later); the swing of its last third is at least 0.6 of that of its first.
    """
    values = np.asarray(values, dtype=np.float64)
    n = len(values)
    if n < PERIODS * SHORTEST or not np.isfinite(values).all():
        return None
    x = _detrended(values)
    if x.std() <= 1e-13 * np.abs(values).max():
        return None
    samples = _period(_autocorrelation(x))
    if samples is None or x[-(n // 3) :].std() < LASTING * x[: n // 3].std():
        return None
    return Cycle(_swing(x, samples), samples * period)
