"""How a leak goes with pressure and time, and how slow yielding goes with time; all normed, so that one number is left.

A leak's course is that of its law along the smoothed reading, scaled so that its number is the fall of pressure it
makes over the watch. Slow courses: exponential and logarithmic in the time since the move (hose, trapped volume,
uptake, a sensor that recovers), and the square root of diffusion into or out of what is soft.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

PERMEATION_TIMES = (0.05, 0.15, 0.5, 1.5)
"""lag of a slab of sealing material over the length of the hold"""
EXPOSURES = (0.02, 0.5)
"""time under pressure before the valves shut, over the length of the hold"""
LAWS = ("hole", "laminar", "molecular", "constant")
LAW_WEIGHTS = {"hole": 0.25, "laminar": 0.2, "molecular": 0.15, "constant": 0.2, "permeation": 0.2}
SLOW_TIMES = (0.03, 0.1, 0.3, 1.0, 3.0, 10.0)
SLOW_LOGS = (3.0, 40.0)
"""s"""
SURFACE = ("logarithmic", "diffusion")
"""slow courses of hoses, seals and walls that take up or give off gas"""
CRITICAL = 0.5283
"""pressure ratio of choked flow, gamma 1.4"""


class Course(NamedTuple):
    """One law's flow over time [n], in any unit, and its prior weight."""

    law: str
    flow: Vector
    weight: float


def leak_courses(time: Vector, pressure: Vector, outside: float, length: float) -> list[Course]:
    """Flows of every law at the given times (s since isolation) and pressures (Pa), against `outside` Pa."""
    found = [Course(law, np.abs(law_flow(law, pressure, outside)), LAW_WEIGHTS[law]) for law in LAWS]
    driving = np.abs(pressure - outside)
    each = LAW_WEIGHTS["permeation"] / (2 * len(PERMEATION_TIMES) * len(EXPOSURES))
    for lag in PERMEATION_TIMES:
        for exposed in EXPOSURES:
            theta = (np.maximum(time, 0.0) + exposed * length) / (lag * length)
            found.append(Course("permeation", driving * _through_slab(theta, True), each))
            found.append(Course("permeation", driving * _through_slab(theta, False), each))
    return found


def law_flow(law: str, p: Vector, outside: float) -> Vector:
    """Flow by a leak law, any unit, positive outward: "hole", "laminar", "molecular", "constant"."""
    if law == "laminar":
        return np.asarray(p * p - outside * outside)
    if law == "molecular":
        return np.asarray(p - outside)
    if law == "constant":
        return np.sign(p - outside) * np.ones_like(p)
    high, low = np.maximum(p, outside), np.minimum(p, outside)
    ratio = np.clip(low / np.maximum(high, 1e-9), 0.0, 1.0)
    past = np.maximum((ratio - CRITICAL) / (1.0 - CRITICAL), 0.0)
    return np.asarray(np.sign(p - outside) * high * np.sqrt(np.maximum(1.0 - past * past, 0.0)))


def _through_slab(theta: Vector, upstream: bool) -> Vector:
    """Flow into (upstream) or out of a slab over its steady flow, theta = time / (6 lag) as D t / L^2 times 6.

    Source: J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, section 4.3.3.
    """
    fourier = np.maximum(theta, 1e-4) / 6.0
    n = np.arange(1, 30)[:, None]
    sign = np.ones_like(n, dtype=float) if upstream else (-1.0) ** n
    return np.asarray(np.maximum(1.0 + 2.0 * np.sum(sign * np.exp(-(n**2) * math.pi**2 * fourier), axis=0), 0.0))


class Slow(NamedTuple):
    """One slow course since the valves shut [n], normed to 1 when it is over (or after a decade of hours)."""

    name: str
    course: Vector


def slow_courses(time: Vector, since_move: float, length: float) -> list[Slow]:
    """Slow courses at times s since isolation, the move having ended `since_move` s before."""
    found = [Slow("exponential", 1.0 - np.exp(-time / (tau * length))) for tau in SLOW_TIMES]
    for tau in SLOW_LOGS:
        start = tau + since_move
        found.append(Slow("logarithmic", np.log1p(time / start) / math.log1p(36000.0 / tau)))
    root = np.sqrt(time + since_move) - math.sqrt(since_move)
    found.append(Slow("diffusion", root / math.sqrt(length + since_move)))
    return found
