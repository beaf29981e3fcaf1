"""A long record made short: means of blocks, how sure each mean is, and which single readings were spikes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

BINS = 64
SPIKE = 8.0
"""standard deviations from the median of its neighbours beyond which one reading is dropped"""
SIGMA_OF_MAD = 1.4826
SCALES = (1, 4, 16, 64, 256)


class Binned(NamedTuple):
    """Means of blocks of rows: time s, value, count of rows in each [n], and the standard deviation of each mean."""

    time: Vector
    value: Vector
    rows: Vector
    sd: Vector
    noise: float  # of a single reading
    dropped: int


def compress(time: Vector, value: Vector, noise: float | None, resolution: float, bins: int = BINS) -> Binned:
    """Blocks even in time united with blocks even in its logarithm; at most about 1.5 `bins` of them.

    time [n] s, rising, from about 0; value [n]; noise: of the data sheet, a lower bound; resolution: of one reading.
    """
    keep = ~spikes(value, max(noise or 0.0, resolution))
    time, value = time[keep], value[keep]
    levels = noise_levels(value)
    single = max(levels[0][1], noise or 0.0)
    edges = _edges(time, bins)
    index = np.searchsorted(edges, time, side="right") - 1
    index = np.clip(index, 0, len(edges) - 2)
    count = np.bincount(index, minlength=len(edges) - 1).astype(np.float64)
    full = count > 0
    mean_time = np.bincount(index, time, len(edges) - 1)[full] / count[full]
    mean = np.bincount(index, value, len(edges) - 1)[full] / count[full]
    count = count[full]
    sd = single / np.sqrt(count)
    for size, level in levels[1:]:  # noise that does not average out as white noise does
        white = single / np.sqrt(size)
        extra = np.sqrt(max(level * level - white * white, 0.0)) if level > 1.5 * white else 0.0
        sd = np.maximum(sd, np.where(count >= size, extra * np.sqrt(size / count), 0.0))
    return Binned(mean_time, mean, count, sd, single, int((~keep).sum()))


def spikes(value: Vector, floor: float) -> NDArray[np.bool_]:
    """True for single readings that stand far off the median of the five about them."""
    n = len(value)
    if n < 7:
        return np.zeros(n, dtype=bool)
    padded = np.concatenate([value[2:0:-1], value, value[-2:-4:-1]])
    middle = np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1)
    off = np.abs(value - middle)
    scale = max(SIGMA_OF_MAD * float(np.median(off)), roughness(value), floor, 1e-12 * float(np.abs(value).max()))
    found = off > SPIKE * scale
    found[0] = found[-1] = False
    return found


def roughness(value: Vector) -> float:
    """Standard deviation of one reading from third differences, which a smooth change does not enter."""
    if len(value) < 8:
        return 0.0
    third = value[3:] - 3.0 * value[2:-1] + 3.0 * value[1:-2] - value[:-3]
    return SIGMA_OF_MAD * float(np.median(np.abs(third))) / 20.0**0.5


def noise_levels(value: Vector) -> list[tuple[int, float]]:
    """(rows in a block, standard deviation of the blocks' means) for blocks of rising size, in the later half."""
    late = value[len(value) // 3 :]
    levels = []
    for size in SCALES:
        blocks = len(late) // size
        if blocks < 24 and size > 1:
            break
        levels.append((size, roughness(late[: blocks * size].reshape(blocks, size).mean(axis=1))))
    return levels


def _edges(time: Vector, bins: int) -> Vector:
    start, end = float(time[0]), float(time[-1])
    span = max(end - start, 1e-9)
    even = np.linspace(start, end, bins * 5 // 8 + 1)
    fine = start + np.geomspace(span / 600.0, span, bins * 5 // 8)
    edges = np.unique(np.concatenate([even, fine, [start]]))
    edges[-1] = end + 1e-9 * span
    return edges
