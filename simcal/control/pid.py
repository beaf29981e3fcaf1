"""The sampled PID controller: one step, and a start without a kick.

Everything is a fraction of the sensor's full scale; the output lies in -1 (outlet fully open) to +1 (inlet
fully open). The algorithm is the textbook one (Astrom and Hagglund, Advanced PID Control, ISA 2006, chapters
3 and 13): derivative of the measurement through a first-order filter, setpoint weight on the proportional
part, back-calculation against windup.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.jit import inlined, kernel

Vector = NDArray[np.float64]

KP, TI, TD, FILTER, TRACK, PERIOD, WEIGHT, RAMP = 0, 1, 2, 3, 4, 5, 6, 7


class Gains(NamedTuple):
    """The gains of a sampled PID; `array` gives the form that `pid_step` takes."""

    kp: float
    """drive per error as a fraction of full scale, > 0"""
    ti: float = math.inf
    """integral time, s; inf for none"""
    td: float = 0.0
    """derivative time, s"""
    filter: float = 0.0
    """time constant of the derivative's filter, s"""
    track: float = math.inf
    """back-calculation time, s; inf: no protection, 0: integral frozen while the drive is at its limit"""
    setpoint_weight: float = 1.0
    """share of the setpoint in the proportional part, 0 to 1"""

    def array(self, period: float, ramp: float = 0.0) -> Vector:
        """The array g of `pid_step`: period in s, ramp in full scales per s (0: the setpoint steps)."""
        g = np.zeros(10)
        g[KP], g[TI], g[TD], g[FILTER], g[TRACK] = self.kp, self.ti, self.td, self.filter, self.track
        g[PERIOD], g[WEIGHT], g[RAMP] = period, self.setpoint_weight, ramp
        return g


@inlined
def pid_step(memory: Vector, y: float, target: float, g: Vector) -> float:
    """One controller sample.

    memory : float64[4], changed in place: integral part (drive), derivative of the error (1/s), the last
        reading and the setpoint in use (fractions of full scale).
    y, target : reading and wanted reading [fraction of full scale].
    g : float64[10], [kp, ti, td, filter, track, period, setpoint weight, ramp]; times in s, ramp in full
        scales per s.
    Returns the drive, -1 to 1.
    """
    period = g[5]
    setpoint = target
    if g[7] > 0.0:
        most = g[7] * period
        setpoint = memory[3] + min(max(target - memory[3], -most), most)
    memory[3] = setpoint
    error = setpoint - y
    memory[1] += period / (g[3] + period) * (-(y - memory[2]) / period - memory[1])
    memory[2] = y
    v = g[0] * (g[6] * setpoint - y + g[2] * memory[1]) + memory[0]
    u = min(max(v, -1.0), 1.0)
    change = g[0] / g[1] * error
    if g[4] > 0.0:
        change += (u - v) / g[4]
    elif (v - u) * error > 0.0:
        change = 0.0
    memory[0] += period * change
    return u


@kernel
def bumpless(memory: Vector, y: float, u: float, g: Vector) -> None:
    """Set the memory for a start at reading y [fraction of full scale] with the drive at u (-1 to 1).

    A first sample with y as its target gives u; a target elsewhere then acts as an ordinary setpoint step.
    Use it when control begins, or begins again after the valves were shut or the vent was open.
    """
    memory[0] = u + g[0] * (1.0 - g[6]) * y
    memory[1] = 0.0
    memory[2] = y
    memory[3] = y
