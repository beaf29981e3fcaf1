"""One sample of the controller inside the compiled loop: what it sees and what it commands."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simcal.control.approach import approach, ripple
from simcal.control.drive import pulse, shape
from simcal.control.pid import pid_step
from simcal.engine.arrays import Controller, Floats
from simcal.jit import inlined, kernel

CONTROL, SHUT, VENT = 0, 1, 2


class Orders(NamedTuple):
    """What holds for a whole call.

    Mode, target (Pa abs), noise in the reading or not, its seed, numbers of the call's first sample and of the one at
    which the command began; what the sensor reads too much: offset (Pa), shift (Pa) that dies with its time (s); the
    factor on the map's box, and the error (Pa) allowed in a step.
    """

    mode: int
    target: float
    noise: bool
    seed: int
    first: int
    since: int
    offset: float
    shift: float
    shift_time: float
    size: float
    tolerance: float


@kernel
def room_temperature(room: Floats, t: float) -> float:
    """Temperature of the room (K) at time t (s): start, ramp and one cycle."""
    return room[0] + room[1] * t + room[2] * math.sin(2.0 * math.pi * t / room[3] + room[4])


@kernel
def room_slope(room: Floats, k: int, period: float) -> float:
    """Mean slope of the room's temperature (K/s) over sample k."""
    if room[2] == 0.0:
        return room[1]
    return (room_temperature(room, (k + 1) * period) - room_temperature(room, k * period)) / period


@kernel
def normals(seed: int, pair: int) -> tuple[float, float]:
    """Standard normals 2 pair and 2 pair + 1 of stream `seed`: SplitMix64 (Steele, Lea, Flood 2014, from memory) and
    Box-Muller. Counter-based, so a sample gets the same number however the run is cut into calls.
    """
    start = np.uint64(seed) * np.uint64(0xD1342543DE82EF95)
    first = np.uint64(2) * np.uint64(pair) + np.uint64(1)
    z1 = _mix(start + first * np.uint64(0x9E3779B97F4A7C15))
    z2 = _mix(start + (first + np.uint64(1)) * np.uint64(0x9E3779B97F4A7C15))
    u1 = (float(z1 >> np.uint64(11)) + 0.5) * 2.0**-53
    u2 = (float(z2 >> np.uint64(11)) + 0.5) * 2.0**-53
    radius = math.sqrt(-2.0 * math.log(u1))
    return radius * math.cos(2.0 * math.pi * u2), radius * math.sin(2.0 * math.pi * u2)


@inlined
def normal(seed: int, k: int, spare: Floats) -> float:
    """Standard normal number k of stream `seed`; spare [2] keeps the second of a pair and its number."""
    if spare[1] == k:
        return spare[0]
    even, odd = normals(seed, k // 2)
    spare[0], spare[1] = odd, (k // 2) * 2 + 1
    return even if k % 2 == 0 else odd


@kernel
def _mix(z: np.uint64) -> np.uint64:
    """The finaliser of SplitMix64."""
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))


@inlined
def reading(scale: Floats, sensed: float, t: float, error: float) -> float:
    """What the controller's sensor says (Pa abs) at the lagged pressure `sensed`: drift, `error`, resolution."""
    value = sensed + scale[4] + scale[5] * t + error
    if scale[3] > 0.0:
        value = scale[0] + math.floor((value - scale[0]) / scale[3] + 0.5) * scale[3]
    return value


@inlined
def commands(
    ctl: Controller, orders: Orders, k: int, sensed: float, memory: Floats, command: Floats, on_time: Floats
) -> float:
    """Controller sample k: valve commands [v] and on-times of pulsed valves [v] (s); returns the drive u.

    sensed: lagged pressure at the controller's sensor, Pa abs. memory [11]: the PID's four, then the second noise of a
    pair and its number; or, of a servo, after the four the pressure at the command (Pa), its last reference (Pa) and
    the five numbers of its approach. on_time is -1 for a valve that is not pulsed.
    """
    for j in range(command.shape[0]):
        command[j] = ctl.base[orders.mode, j]
        on_time[j] = -1.0
    if orders.mode != CONTROL:
        return 0.0
    scale, t, since = ctl.scale, k * ctl.period, (k - orders.since) * ctl.period
    error = orders.offset
    if orders.shift != 0.0:
        error += orders.shift * math.exp(-since / orders.shift_time)
    if ctl.kind == 1:
        p = approach(memory[4], orders.target, since, memory[6:11]) + ripple(t, ctl.behaviour)
        memory[5] = p
        p -= error
        command[ctl.index[4]] = p / ctl.servo_scale
        return (p - scale[0]) / scale[1]
    if orders.noise and scale[2] > 0.0:
        error += scale[2] * normal(orders.seed, k, memory[4:6])
    seen = reading(scale, sensed, t, error)
    u = pid_step(memory, (seen - scale[0]) / scale[1], (orders.target - scale[0]) / scale[1], ctl.gains)
    inlet, outlet = shape(u, ctl.drive)
    _to_valve(ctl.index[1], inlet, ctl.pulse[0], ctl.pulse[2], ctl.period, command, on_time)
    _to_valve(ctl.index[2], outlet, ctl.pulse[1], ctl.pulse[3], ctl.period, command, on_time)
    return u


@inlined
def _to_valve(
    j: int, value: float, pulsed: float, shortest: float, period: float, command: Floats, on_time: Floats
) -> None:
    """Command valve j (-1: none) to open by `value`, by a pulse if it is pulsed."""
    if j >= 0:
        command[j] = value
        if pulsed > 0.0:
            command[j] = 0.0
            on_time[j] = pulse(value, period, shortest, 0.0)
