"""From the controller's one output to the two control valves: split range, resolution, dead band, pulses."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from simcal.jit import inlined, kernel

Vector = NDArray[np.float64]


def drive_array(
    dead_band: tuple[float, float] = (0.0, 0.0),
    levels: tuple[int, int] = (0, 0),
    compensated: float = 0.0,
    least: tuple[float, float] = (0.0, 0.0),
) -> Vector:
    """The array d of `shape`; every pair is (inlet, outlet).

    dead_band : command below which the valve stays shut, fraction 0 to < 1.
    levels : number of steps of the drive, 0 for a continuous one.
    compensated : share of the dead band that the controller jumps over, 0 to 1.
    least : smallest command that opens a pulsed valve (shortest pulse over the period), fraction; 0 for a
        proportional one.
    """
    return np.array([*dead_band, *levels, compensated, *least, 0.0], dtype=np.float64)


@inlined
def _opening(command: float, dead_band: float, levels: float, compensated: float, least: float) -> float:
    """Opening (0 to 1) that one valve takes for a command of 0 to 1."""
    if command <= 0.0:
        return 0.0
    jump = compensated * dead_band
    c = jump + (1.0 - jump) * min(command, 1.0)
    if levels > 0.0:
        c = math.floor(c * levels + 0.5) / levels
    if c <= dead_band or c < least:
        return 0.0
    return (c - dead_band) / (1.0 - dead_band)


@inlined
def shape(u: float, d: Vector) -> tuple[float, float]:
    """Split the drive u (-1 to 1) into the openings (inlet, outlet), each 0 to 1, that the valves lag behind.

    d : float64[8], [dead band inlet, outlet, levels inlet, outlet, share of the dead band compensated, least
        command inlet, outlet, spare]; see `drive_array`. At most one of the two results is above 0.
    """
    if u >= 0.0:
        return _opening(u, d[0], d[2], d[4], d[5]), 0.0
    return 0.0, _opening(-u, d[1], d[3], d[4], d[6])


@kernel
def pulse(command: float, period: float, min_pulse: float, resolution: float) -> float:
    """Time (s) for which a pulsed valve is open in one period.

    command : wanted open share, 0 to 1.  period, min_pulse, resolution : s; resolution 0 for a continuous
        time.
    A pulse shorter than min_pulse does not open the valve.
    """
    on = min(max(command, 0.0), 1.0) * period
    if resolution > 0.0:
        on = min(math.floor(on / resolution + 0.5) * resolution, period)
    if on < min_pulse:
        return 0.0
    return on
