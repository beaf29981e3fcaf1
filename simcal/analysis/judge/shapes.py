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

PERMEATION_LAGS = (0.03, 0.1, 0.3, 1.0, 3.0, 10.0)
"""lag of a seal's material over the time from the move to the end of the hold"""
IN_AIR = {"nitrogen": 0.78, "air": 1.0}
"""share of a gas in the room's pressure, as far as a seal is concerned"""
TURNED = 0.05
"""of its mean: a flow that goes the other way by more than that within the hold has no size over the watch"""
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


class Move(NamedTuple):
    """What came before as far as a seal minds: pressure before, Pa, and time from then to isolation, s."""

    before: float
    rested: float


def leak_courses(
    time: Vector, pressure: Vector, outside: float, length: float, move: Move, gas: str | None
) -> list[Course]:
    """Flows of every law at times s since isolation, rising, and pressures Pa, against `outside` Pa.

    length: of the hold, s. A flow counts as positive the way it goes on the whole.
    """
    found = [Course(law, np.abs(law_flow(law, pressure, outside)), LAW_WEIGHTS[law]) for law in LAWS]
    beyond = sorted({IN_AIR.get(gas or "", 0.0) * outside, outside})
    each = LAW_WEIGHTS["permeation"] / (len(beyond) * len(PERMEATION_LAGS))
    since = np.maximum(time + move.rested, 1e-3 * (length + move.rested))
    watched = (time >= 0.0) & (time <= length)
    for lag in PERMEATION_LAGS:
        early = _uptake(since / (lag * (length + move.rested)))
        for pressure_there in beyond:
            flow = pressure - pressure_there + (pressure - move.before) * early
            mean = float(np.trapezoid(flow[watched], time[watched]))
            if mean < 0.0:
                flow, mean = -flow, -mean
            mean /= float(np.ptp(time[watched]))
            if mean <= 0.0 or float(flow[watched].min()) < -TURNED * mean:
                flow = np.abs(pressure - outside)
            found.append(Course("permeation", flow, each))
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


def _uptake(since: Vector) -> Vector:
    """What a slab takes up beyond its steady flow after a step of pressure on one side, over that flow for the step.

    since: time since the step over the slab's lag. A slab that was steady before answers to the step alone.
    Source: J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, section 4.3.3.
    """
    fourier = np.maximum(since, 1e-4) / 6.0
    n = np.arange(1, 60)[:, None]
    return np.asarray(2.0 * np.sum(np.exp(-(n**2) * math.pi**2 * fourier), axis=0))


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
