"""When a point is ready: arrival, the earliest window, the latest one. Pure functions of arrays over samples.

Sample k is k periods after the command. A window of n periods that starts at k covers the samples k .. k + n,
both ends included. A missing value (NaN) is never inside a band.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Ready:
    """Samples from the command; None where there is none yet."""

    arrival: int | None
    window: int | None  # start of the earliest good window


def near(reference: Vector, target: float, nearness: float) -> Flags:
    """Where the reference's reading [Pa] is inside target +- nearness [Pa]."""
    return np.abs(reference - target) <= nearness


def within(difference: Vector, random: float, allowance: float) -> Flags:
    """Where |device - reference| [Pa] plus the random part [Pa, 2 s of the mean] is inside the allowance [Pa]."""
    return np.abs(difference) + random <= allowance


def windows(good: Flags, length: int) -> Flags:
    """For every start whether all samples of its window are good; shorter than `good` by `length`."""
    if good.shape[0] <= length:
        return np.zeros(0, dtype=np.bool_)
    bad = np.concatenate(([0], np.cumsum(~good)))
    return bad[length + 1 :] == bad[: good.shape[0] - length]


def first_window(good: Flags, length: int, not_before: int = 0) -> int | None:
    """Start of the earliest window of good samples at or after `not_before`."""
    starts = windows(good, length)[not_before:]
    if not starts.any():
        return None
    return not_before + int(np.argmax(starts))


def last_entry(inside: Flags, until: int) -> int | None:
    """Sample of the last entry into nearness at or before `until`, at which the reading is inside.

    0 when it has been inside since the command; None when it is not inside at `until`.
    """
    if not inside[until]:
        return None
    outside = np.flatnonzero(~inside[: until + 1])
    return 0 if outside.size == 0 else int(outside[-1]) + 1


def first_rest(inside: Flags, length: int) -> int | None:
    """First sample at which the reading has been inside nearness for `length` periods: the valves shut here."""
    start = first_window(inside, length)
    return None if start is None else start + length


def earliest(inside: Flags, good: Flags, length: int, not_before: int = 0) -> Ready:
    """Arrival and start of the earliest window in which the reading is inside nearness and the error is good."""
    window = first_window(inside & good, length, not_before)
    if window is None:
        return Ready(last_entry(inside, inside.shape[0] - 1) if inside.size else None, None)
    return Ready(last_entry(inside, window), window)


def after_dwell(inside: Flags, length: int, dwell: int, not_before: int = 0) -> Ready:
    """Arrival and window start when the dwell is given: it counts from an entry that lasts through it.

    None for the window while the reading has not been inside nearness for `dwell` periods at a stretch, or
    while the window of `length` periods is not over.
    """
    start = first_window(inside, dwell)
    if start is None or max(start + dwell, not_before) + length >= inside.shape[0]:
        return Ready(start, None)
    return Ready(start, max(start + dwell, not_before))


def last_failure(good: Flags, window: int, arrival: int) -> int | None:
    """Last sample from the arrival on, before the window, at which the error was not good; None: no waiting."""
    bad = np.flatnonzero(~good[arrival:window])
    return None if bad.size == 0 else arrival + int(bad[-1])


def latest_start(time: Vector, margins: Vector, window: float) -> tuple[float | None, int]:
    """Latest start [s] of a window of `window` s inside, on an uneven clock; and the number of stretches inside.

    time : rising [s].  margins : [limits, rows] or [rows], distance to each limit, any unit, >= 0 inside. Crossings
    are interpolated limit by limit; a stretch ends at the earliest of them and begins at the latest.
    Every stretch inside allows starts up to its end less the window. None when no stretch holds a window.
    """
    margins = np.atleast_2d(margins)
    inside = np.logical_and.reduce(margins >= 0.0)
    firsts = np.flatnonzero(inside & ~np.insert(inside[:-1], 0, False))
    lasts = np.flatnonzero(inside & ~np.append(inside[1:], False))
    latest, count = None, 0
    for first, last in zip(firsts, lasts, strict=True):
        start = time[first] if first == 0 else max(_crossings(time, margins, int(first) - 1))
        end = time[last] if last == time.shape[0] - 1 else min(_crossings(time, margins, int(last)))
        if end - start >= window * (1.0 - 1e-9):
            latest, count = float(end - window), count + 1
    return latest, count


def _crossings(time: Vector, margins: Vector, i: int) -> list[float]:
    """Where each limit that changes sides between i and i + 1 is passed."""
    return [_crossing(time, one, i) for one in margins if (one[i] >= 0.0) != (one[i + 1] >= 0.0)]


def _crossing(time: Vector, margin: Vector, i: int) -> float:
    """Where the margin passes 0 between i and i + 1; at the inner end if the value beyond is missing."""
    a, b = margin[i], margin[i + 1]
    if not (np.isfinite(a) and np.isfinite(b)):
        return float(time[i] if a >= 0.0 else time[i + 1])
    return float(time[i] + (time[i + 1] - time[i]) * a / (a - b))
