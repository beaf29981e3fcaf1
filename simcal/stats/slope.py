"""The slope of a straight line through evenly spaced readings."""

from __future__ import annotations

import math


def slope_sd(noise: float, duration: float, count: int) -> float:
    """Standard deviation of the least-squares slope of `count` evenly spaced readings with independent noise.

    sd = noise/duration sqrt(12 (n - 1)/(n (n + 1))).

    noise: standard deviation of one reading, in its unit.
    duration: from the first reading to the last, s.
    count: of readings, at least 2.
    Source: least squares; sum of squares of evenly spaced times.
    """
    return noise / duration * math.sqrt(12.0 * (count - 1) / (count * (count + 1)))
