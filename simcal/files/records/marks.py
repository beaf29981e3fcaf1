"""What asks for a look in a record: spikes, gaps, frozen stretches, equal times; and how fine its values are."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from simcal.bench.record import FROZEN, GAP, SAME_TIME, SPIKE, Flag, FloatArray

MOST_FLAGS = 1000
"""Stretches listed; all are counted."""
_GAP, _SPIKE, _STEPS, _LONG = 5.0, 10.0, 5.0, 20
_WINDOW = 7
_NEIGHBOURS, _FEWEST, _ALIVE = 60, 10, 0.6
"""rows beside a stretch that are looked at, the fewest that say something, noise over the step that never rests"""
_OFTEN = 0.01
_SHOWN = ("-9999", "-99999", "-999.25", "-999.9", "9999", "99999", "9999.9", "999999", "-32768", "32767", "65535")
_PLACEHOLDERS = np.array([float(text) for text in _SHOWN])


def placeholders(values: FloatArray) -> np.ndarray:
    """True where a number stands for "no value": one of the customary ones, and far from all others.

    Which numbers are customary is common practice, no source. `values` are in the unit of the file.
    """
    suspect = np.isin(values, _PLACEHOLDERS)
    others = values[~suspect]
    if not suspect.any() or len(others) < 2:
        return np.zeros(len(values), dtype=bool)
    low, high = np.quantile(others, (0.01, 0.99))
    margin = 3.0 * max(high - low, 0.01 * abs(low), 0.01 * abs(high))
    return suspect & ((values < low - margin) | (values > high + margin))


def resolution_of(pressure: FloatArray, written: float) -> float | None:
    """Smallest step that the values show, Pa; None where they never change.

    Args:
        pressure: in Pa.
        written: the last digit as the file writes it, Pa; 0 where that is not known.
    """
    values = np.unique(pressure[:200_000])
    steps = np.diff(values)
    steps = steps[steps > 1e-11 * np.abs(values).max()] if len(values) else steps
    if not len(steps):
        return None
    smallest = float(steps.min())
    if written <= 0.0 or smallest < 0.5 * written or steps.max() > 1e15 * written:
        return smallest
    levels = _levels(values, written)
    if levels is not None:
        return levels
    counts = np.maximum(np.round(steps / written), 1.0).astype(np.int64)
    return float(np.gcd.reduce(counts)) * written


def _levels(values: FloatArray, written: float) -> float | None:
    """The step between levels that rounding has spread over two digits each; None where there are no such levels."""
    apart = np.diff(values) > 1.5 * written
    edges = np.concatenate([[0], np.flatnonzero(apart) + 1, [len(values)]])
    first, last = values[edges[:-1]], values[edges[1:] - 1]
    if len(first) < 3 or (last - first).max() > 1.5 * written:
        return None
    steps = np.diff(0.5 * (first + last))
    step = float(steps.min())
    off = np.abs(steps / step - np.round(steps / step)) * step
    return step if step > 3.0 * written and off.max() <= 1.5 * written else None


def flags_of(
    time: FloatArray, pressure: FloatArray, segments: Sequence[tuple[int, int]], resolution: float | None
) -> tuple[tuple[Flag, ...], dict[str, int], list[str]]:
    """Flags (at most `MOST_FLAGS`), the count of each kind, and remarks."""
    notes: list[str] = []
    found: list[Flag] = []
    for first, last in segments:
        own_time, own = time[first : last + 1], pressure[first : last + 1]
        for flag in (*_gaps(own_time, own, notes), *_frozen(own, resolution), *_spikes(own, resolution)):
            found.append(Flag(flag.kind, flag.first + first, flag.last + first))
    counts = dict(sorted(Counter(flag.kind for flag in found).items()))
    found.sort(key=lambda flag: (flag.first, flag.kind))
    return tuple(found[:MOST_FLAGS]), counts, list(dict.fromkeys(notes))


def _gaps(time: FloatArray, pressure: FloatArray, notes: list[str]) -> Iterator[Flag]:
    """Steps of time far above the usual one, and stretches of equal times."""
    steps = np.diff(time)
    rising = steps[steps > 0.0]
    if len(rising) < 3:
        return
    usual = float(np.median(rising))
    if len(rising) >= 10 and np.quantile(rising, 0.9) > 3.0 * usual and (np.diff(pressure) != 0.0).mean() > 0.95:
        notes.append("logged on change: silence means that the reading stayed where it was")
    else:
        for row in np.flatnonzero(steps > _GAP * usual):
            yield Flag(GAP, int(row), int(row) + 1)
    for start, end in _runs(steps == 0.0):
        yield Flag(SAME_TIME, start, end + 1)


def _frozen(pressure: FloatArray, resolution: float | None) -> Iterator[Flag]:
    """Stretches of one value that neither noise nor resolution explains: the logger hung.

    Equal readings are honest where noise is finer than the step. So a stretch counts as frozen only where its
    neighbours scatter over the step, or where the reading went on as if it had moved all the while.
    """
    if len(pressure) < _LONG or resolution is None:
        return
    runs = [(start, end + 1) for start, end in _runs(np.diff(pressure) == 0.0)]
    if not runs:
        return
    lengths = np.array([end - start + 1 for start, end in runs])
    singles = len(pressure) - int(lengths.sum())
    every = np.concatenate([lengths, np.ones(min(singles, len(pressure)), dtype=np.int64)])
    usual = float(np.quantile(every, 0.9)) if len(every) > 1 else 1.0
    for (start, end), length in zip(runs, lengths, strict=True):
        if length < _LONG:
            continue
        before, after = pressure[max(start - _NEIGHBOURS, 0) : start], pressure[end + 1 : end + 1 + _NEIGHBOURS]
        alive = length >= 10.0 * usual and _scatter(before, after) > _ALIVE * resolution
        if alive or _missed(before, after, int(length), float(pressure[start]), resolution):
            yield Flag(FROZEN, start, end)


def _scatter(before: FloatArray, after: FloatArray) -> float:
    """Noise of the neighbours, Pa, from third differences less the largest tenth; chatter over one step gives 0.4."""
    thirds = np.concatenate([np.abs(np.diff(side, 3)) for side in (before, after) if len(side) > 3] or [np.zeros(1)])
    thirds.sort()
    kept = thirds[: max(1, int(0.9 * len(thirds)))]
    return math.sqrt(float(np.mean(kept * kept)) / 20.0) if len(thirds) >= _FEWEST else 0.0


def _missed(before: FloatArray, after: FloatArray, length: int, value: float, resolution: float) -> bool:
    """Whether the reading moved alike before and after, and made up for the stretch by a jump at its end."""
    if min(len(before), len(after)) < _FEWEST:
        return False
    slopes = [float(np.polyfit(np.arange(len(side)), side, 1)[0]) for side in (before, after)]
    jump, least = float(after[0]) - value, min(slopes, key=abs) * length
    return slopes[0] * slopes[1] > 0.0 and least * jump > 0.0 and abs(jump) >= max(3.0 * resolution, 0.5 * abs(least))


def _spikes(pressure: FloatArray, resolution: float | None) -> Iterator[Flag]:
    """Up to three rows that leave the course of their neighbours and come back; none where that is common."""
    if len(pressure) < 2 * _WINDOW:
        return
    half = _WINDOW // 2
    padded = np.concatenate([pressure[:half], pressure, pressure[-half:]])
    middle = np.median(np.lib.stride_tricks.sliding_window_view(padded, _WINDOW), axis=1)
    off = np.abs(pressure - middle)
    away = off[off > 0.0]
    usual = 1.4826 * float(np.median(away)) if len(away) * 2 > len(off) else 0.0
    limit = max(_SPIKE * usual, _STEPS * (resolution or 0.0), 1e-6 * float(np.abs(pressure).max()))
    high = off > limit
    if not high.any() or high.mean() > _OFTEN:
        return
    for start, end in _runs(high):
        yield Flag(SPIKE, start, end)


def _runs(true: np.ndarray) -> list[tuple[int, int]]:
    """First and last index of each stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], true, [False]]).astype(np.int8)))
    return list(zip(edges[0::2].tolist(), (edges[1::2] - 1).tolist(), strict=True))
