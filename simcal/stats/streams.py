"""Random numbers that belong to (seed, trial, name) and to nothing else.

Trial i of 100 draws what trial i of 10,000 draws, and a further name changes no other's numbers. The
generator is the counter-based Philox 4x64 (Salmon et al., SC11, 2011, doi:10.1145/2063384.2063405) as numpy
ships it; its key is a hash. Draws go through the inverse of the distribution, one number each, so that they
do not hang on numpy's own methods.
"""

from __future__ import annotations

import hashlib
import math

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

SHAPES = ("exact", "normal", "uniform", "log")


def generator(seed: int, trial: int, name: str) -> np.random.Generator:
    """The stream of `name` in one trial; equal arguments give equal numbers on every machine."""
    digest = hashlib.blake2b(f"{seed}|{trial}|{name}".encode(), digest_size=16).digest()
    return np.random.Generator(np.random.Philox(key=int.from_bytes(digest, "little")))


def quantile(shape: str, value: float, sd: float, p: float) -> float:
    """The value that a spread stays below with probability p (0 < p < 1).

    shape : "exact"; "normal"; "uniform", of half-width sd sqrt 3; "log", where value is the median and sd
        the standard deviation of the natural logarithm (ln 2 for a factor of two).
    value, sd : in one unit, sd >= 0.  Raises ValueError for another shape.
    """
    if shape == "exact" or sd == 0.0:
        return value
    if shape == "normal":
        return value + sd * float(ndtri(p))
    if shape == "uniform":
        return value + sd * math.sqrt(3.0) * (2.0 * p - 1.0)
    if shape == "log":
        return value * math.exp(sd * float(ndtri(p)))
    raise ValueError(f"shape(={shape!r}) must be one of {', '.join(SHAPES)}.")


def probability(source: np.random.Generator) -> float:
    """An even draw from the open interval (0, 1), from 53 bits of the raw stream."""
    return (float(int(source.bit_generator.random_raw()) >> 11) + 0.5) * 2.0**-53


def probabilities(source: np.random.Generator, count: int) -> NDArray[np.float64]:
    """`count` draws of `probability` at once, the same numbers."""
    raw = source.bit_generator.random_raw(count)
    return np.asarray(((raw >> np.uint64(11)).astype(np.float64) + 0.5) * 2.0**-53)


def draw(source: np.random.Generator, shape: str, value: float, sd: float) -> float:
    """One value of a spread; arguments as in `quantile`. It takes one number of the stream, whatever the shape."""
    return quantile(shape, value, sd, probability(source))
