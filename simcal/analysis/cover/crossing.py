"""Pressures at which two sensors are equally good."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from simcal.analysis.cover.budget import sensor_uncertainty
from simcal.analysis.cover.result import Crossover
from simcal.bench.lab import Reference

NODES = 2001
EQUAL = 1e-9
"""relative difference below which two uncertainties count as equal"""


def crossovers(sensors: dict[str, Reference], barometer: float) -> tuple[Crossover, ...]:
    """Every crossing of the uncertainties of two sensors inside both their ranges, in the order of pressure.

    barometer: Pa. Accuracy, drift, calibration and resolution count, k=1.
    """
    names = list(sensors)
    found = [
        one
        for i, first in enumerate(names)
        for second in names[i + 1 :]
        for one in _of_pair(first, sensors[first], second, sensors[second], barometer)
    ]
    return tuple(sorted(found, key=lambda one: (one.pressure_Pa, one.below, one.above)))


def _of_pair(first: str, a: Reference, second: str, b: Reference, barometer: float) -> Iterator[Crossover]:
    low = max(one.range.absolute(one.range.low, barometer) for one in (a, b))
    high = min(one.range.absolute(one.range.high, barometer) for one in (a, b))
    if high <= low:
        return

    def uncertainty(one: Reference, pressure: np.ndarray) -> np.ndarray:
        return sensor_uncertainty(one, pressure - barometer if one.range.gauge else pressure)

    def over(pressure: float) -> float:
        at = np.array([pressure])
        return float(uncertainty(a, at)[0] - uncertainty(b, at)[0])

    grid = np.linspace(low, high, NODES)
    of_a, of_b = uncertainty(a, grid), uncertainty(b, grid)
    sign = np.where(np.abs(of_a - of_b) <= EQUAL * of_a, 0.0, np.sign(of_a - of_b))
    told = np.flatnonzero(sign)
    for i, j in pairwise(told.tolist()):
        if sign[i] == sign[j]:
            continue
        at = float(brentq(over, grid[i], grid[j], xtol=1e-9 * high))
        below, above = (first, second) if sign[i] < 0.0 else (second, first)
        yield Crossover(below, above, at, float(uncertainty(a, np.array([at]))[0]))
