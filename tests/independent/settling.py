"""Independent re-implementation, shares nothing with simcal/: arrival, dwell and reading, by their words, on a trace.

A trace has one row per controller sample, the first at the command, the last at or after the end of the window. A
window of n periods holds the n + 1 samples from its start to its end. Pressures in Pa abs, the gas column between the
instruments taken off. Two decisions that the words leave open are the documented ones: the mean of a window weighs its
two end samples by half, and two readings of one instrument count as two only where its lag lies between them.
"""

from dataclasses import dataclass

import numpy as np

GRAVITY, ROOM_AIR = 9.80665, 1.2  # m/s2; kg/m3, the column on the other side of a gauge device


@dataclass(frozen=True)
class Trace:
    """Rows from the command on: readings of reference and device, true pressures at port and reference node.

    inside: highest, lowest pressure and fastest rate at the port from each row to the next.
    """

    reference: np.ndarray
    device: np.ndarray
    port: np.ndarray
    node: np.ndarray
    inside: np.ndarray | None = None


@dataclass(frozen=True)
class Wanted:
    """What counts as there. target, nearness, allowance, random: Pa; window, soak: samples; up: direction."""

    target: float
    nearness: float
    allowance: float
    random: float
    window: int
    soak: int
    up: bool


def nearness(step: float, allowance: float) -> float:
    """The larger of 1 % of the step and the allowance."""
    return max(0.01 * abs(step), allowance)


def is_near(trace: Trace, wanted: Wanted) -> list[bool]:
    return [abs(value - wanted.target) <= wanted.nearness for value in trace.reference]


def is_good(trace: Trace, wanted: Wanted) -> list[bool]:
    """Sample by sample: |device reading - reference reading| + 2 s of the mean inside the allowance."""
    pairs = zip(trace.device, trace.reference, strict=True)
    return [abs(d - r) + wanted.random <= wanted.allowance for d, r in pairs]


def first_stretch(flags: list[bool], periods: int, begin: int = 0) -> int | None:
    """First sample at or after `begin` from which all of `periods` + 1 samples are set."""
    for k in range(begin, len(flags) - periods):
        if all(flags[k : k + periods + 1]):
            return k
    return None


def valves_shut(trace: Trace, wanted: Wanted) -> int | None:
    """First sample at which the reference's reading has been inside nearness for the soak."""
    start = first_stretch(is_near(trace, wanted), wanted.soak)
    return None if start is None else start + wanted.soak


def window_start(trace: Trace, wanted: Wanted, begin: int = 0) -> int | None:
    """Start of the earliest window whose every sample is near and good."""
    both = [a and b for a, b in zip(is_near(trace, wanted), is_good(trace, wanted), strict=True)]
    return first_stretch(both, wanted.window, begin)


def arrival(trace: Trace, wanted: Wanted, window: int) -> int:
    """The reference reading's last entry into nearness before the window."""
    near = is_near(trace, wanted)
    k = window
    while k > 0 and near[k - 1]:
        k -= 1
    return k


def mean(values: np.ndarray, wanted: Wanted, start: int) -> float:
    """Mean over the window's time, straight lines between samples."""
    part = values[start : start + wanted.window + 1]
    return float(np.trapezoid(part, dx=1.0) / wanted.window)


def readings_of_their_own(window: float, period: float, lag: float) -> float:
    """How often an instrument of a lag says something new while a window lasts (all s), asked once a period."""
    apart = lag if lag > period else period
    return window / apart if window > apart else 1.0


def random_of_mean(instruments: list[tuple[float, float]], readings: list[float]) -> float:
    """2 s of the difference of two means of so many `readings` each; instruments: (noise s, resolution), Pa.

    White noise falls with the root of the count. Rounding to a step adds the mean error that a level between two marks
    keeps however often it is read (found here by integrating over level and noise); what is left falls too.
    """
    variance = 0.0
    for (noise, step), count in zip(instruments, readings, strict=True):
        stays = kept_by_rounding(noise, step) if step > 0.0 else 0.0
        variance += stays + (noise**2 + step**2 / 12.0 - stays) / count
    return 2.0 * variance**0.5


def kept_by_rounding(noise: float, step: float) -> float:
    """Variance (Pa2) over the level of the expected rounding error."""
    level = (np.arange(400) + 0.5) / 400 * step
    if noise == 0.0:
        return float(np.mean((np.round(level / step) * step - level) ** 2))
    z = np.linspace(-8.0, 8.0, 32001)
    weight = np.exp(-0.5 * z * z) / np.exp(-0.5 * z * z).sum()
    expected = [np.sum(weight * (np.round((x + noise * z) / step) * step)) - x for x in level]
    return float(np.mean(np.square(expected)))


def column(density: float, higher: float) -> float:
    """Device minus reference, Pa, of a gauge device `higher` m above the reference in gas of a density (kg/m3)."""
    return -(density - ROOM_AIR) * GRAVITY * higher


@dataclass(frozen=True)
class Exposure:
    """True pressure at the port from the command to the end of the window: Pa, Pa, Pa/s."""

    overshoot: float
    peak: float
    peak_rate: float


def exposure(trace: Trace, wanted: Wanted, end: int) -> Exposure:
    highest, lowest, fastest = trace.inside[:end].T
    beyond = highest.max() - wanted.target if wanted.up else wanted.target - lowest.min()
    return Exposure(max(beyond, 0.0), highest.max(), fastest.max())


def latest_start(time: np.ndarray, trace: Trace, wanted: Wanted, seconds: float) -> float:
    """Latest start (s) of a window of that length inside nearness and allowance; straight lines between rows."""
    latest = -np.inf
    room = (
        wanted.nearness - np.abs(trace.reference - wanted.target),
        wanted.allowance - wanted.random - np.abs(trace.device - trace.reference),
    )
    inside, k, last = (room[0] >= 0.0) & (room[1] >= 0.0), 0, len(time) - 1
    while k <= last:
        if not inside[k]:
            k += 1
            continue
        opens = time[k] if k == 0 else max(_passes(time, left, k - 1, 1.0) for left in room)
        while k < last and inside[k + 1]:
            k += 1
        closes = time[k] if k == last else min(_passes(time, left, k, -1.0) for left in room)
        if closes - opens >= seconds:
            latest = closes - seconds
        k += 1
    return float(latest)


def _passes(time: np.ndarray, left: np.ndarray, k: int, way: float) -> float:
    """Where `left` goes through nought between rows k and k + 1, rising (way 1) or falling (-1); else no bound."""
    if (left[k] >= 0.0) == (left[k + 1] >= 0.0):
        return -way * np.inf
    return time[k] + (time[k + 1] - time[k]) * left[k] / (left[k] - left[k + 1])
