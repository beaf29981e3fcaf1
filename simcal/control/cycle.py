"""Finding a lasting oscillation in a trace: of a sticking or stepping drive, or of too tight a loop.

Two ways. A trace that repeats itself is found by its correlation with itself, through noise too. A trace whose
period grows or shrinks steadily, as that of a pulsed valve while the gas still cools, never repeats itself: it is
found by its turns, from the ratios of successive periods.
"""

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
BANDS = (0.3, 0.05)
"""shares of the swing that a turn passes on both sides of the middle; a clean trace turns as often by either"""
FEWEST = 4
"""periods by which a changing period is judged, at least"""
JUDGED = 8
"""the last periods, by whose lengths and swings a changing one is judged"""
RATIO = 1.6
"""a successive ratio of periods may differ by this factor from the median one, beside the rounding to samples"""
CHANGE = 3.0
"""the median ratio of successive periods, or its inverse, is at most this"""
EVEN = 0.6
"""the smallest swing of these periods over the largest"""
REPORTED = 5
"""the median of so many last periods is the period of a changing one"""


class Cycle(NamedTuple):
    """A lasting oscillation."""

    amplitude: float
    """half of its swing from peak to peak, in the unit of the values"""
    period: float
    """s"""


def detrended(values: Vector, order: int) -> Vector:
    """The values less their own polynomial of `order` (least squares)."""
    t = np.linspace(-1.0, 1.0, len(values))
    fitted = np.polynomial.polynomial.polyval(t, np.polynomial.polynomial.polyfit(t, values, order))
    return np.asarray(values - fitted)


def half_swing(values: Vector) -> float:
    """Half of peak to peak."""
    return 0.5 * float(values.max() - values.min())


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


def _rises(x: Vector, band: float) -> NDArray[np.int64]:
    """Samples at which x first exceeds +band after having been below -band."""
    level = np.where(x > band, 1, np.where(x < -band, -1, 0))
    places = np.flatnonzero(level)
    turned = np.flatnonzero((level[places][1:] == 1) & (level[places][:-1] == -1)) + 1
    return np.asarray(places[turned])


def _turns(x: Vector) -> NDArray[np.int64] | None:
    """Samples at which the last periods of a clean trace begin; None where noise turns it at random."""
    late = half_swing(x[-(len(x) // 3) :])
    firm, faint = (_rises(x, band * late) for band in BANDS)
    firm = firm[-JUDGED - 1 :]
    return firm if len(firm) and np.count_nonzero(faint >= firm[0]) <= len(firm) else None


def _changing(x: Vector) -> tuple[float, float] | None:
    """Half the swing and the period (samples) of a clean oscillation whose period changes steadily."""
    third = len(x) // 3
    if half_swing(x[-third:]) < LASTING * half_swing(x[:third]):
        return None
    starts = _turns(x)
    if starts is None or len(starts) < FEWEST + 1:
        return None
    lengths = np.diff(starts).astype(np.float64)
    steps = np.log(lengths[1:] / lengths[:-1])
    rounding = np.log1p(1.0 / np.minimum(lengths[1:], lengths[:-1]))
    usual = float(np.median(steps))
    if abs(usual) > np.log(CHANGE) or (np.abs(steps - usual) > np.log(RATIO) + rounding).any():
        return None
    swings = [half_swing(x[a:b]) for a, b in pairwise(starts)]
    if min(swings) < EVEN * max(swings):
        return None
    return float(np.median(swings)), float(np.median(lengths[-REPORTED:]))


def _repeating(x: Vector) -> tuple[float, float] | None:
    """Half the swing and the period (samples) of a trace that repeats itself."""
    samples = _period(_autocorrelation(x))
    third = len(x) // 3
    if samples is None or x[-third:].std() < LASTING * x[:third].std():
        return None
    starts = _turns(x)
    if samples < BINS or starts is None or len(starts) < PERIODS:
        return _swing(x, samples), samples
    return float(np.median([half_swing(x[a:b]) for a, b in pairwise(starts)])), samples


def cycle(values: Vector, period: float) -> Cycle | None:
    """Amplitude and period (s) of the lasting oscillation in evenly sampled values, None when there is none.

    values : (n,), after the approach is over; a slow trend is taken off.  period : of the sampling, s.
    Rules: at least three periods of four samples; the trace repeats itself (correlation 0.5 one period
    later, 0.4 two periods later); the swing of its last third is at least 0.6 of that of its first. Or: at least
    five periods of nearly equal swing, without noise, the ratio of successive periods steady within a factor of 1.6;
    the median of the last periods is given.
    """
    values = np.asarray(values, dtype=np.float64)
    if len(values) < PERIODS * SHORTEST or not np.isfinite(values).all():
        return None
    straight = detrended(values, 1)
    if straight.std() <= 1e-13 * np.abs(values).max():
        return None
    found = _repeating(straight) or _changing(detrended(values, 2))
    return None if found is None else Cycle(found[0], found[1] * period)
