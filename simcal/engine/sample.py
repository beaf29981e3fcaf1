"""One sample of the controller inside the compiled loop: what it sees and what it commands."""

from __future__ import annotations

import math

import numpy as np

from simcal.control.approach import approach, ripple
from simcal.control.drive import pulse, shape
from simcal.control.pid import pid_step
from simcal.engine.arrays import Controller, Floats
from simcal.jit import kernel

CONTROL, SHUT, VENT = 0, 1, 2


@kernel
def room_temperature(room: Floats, t: float) -> float:
    """Temperature of the room (K) at time t (s): start, ramp and one cycle."""
    return room[0] + room[1] * t + room[2] * math.sin(2.0 * math.pi * t / room[3] + room[4])


@kernel
def normal(seed: int, k: int) -> float:
    """Standard normal number k of stream `seed`: SplitMix64 (Steele, Lea, Flood 2014, from memory) and Box-Muller.

    Counter-based, so sample k gets the same number however the run is cut into calls.
    """
    pair = np.uint64(k // 2)
    z1 = _mix(
        np.uint64(seed) * np.uint64(0xD1342543DE82EF95)
        + (np.uint64(2) * pair + np.uint64(1)) * np.uint64(0x9E3779B97F4A7C15)
    )
    z2 = _mix(
        np.uint64(seed) * np.uint64(0xD1342543DE82EF95)
        + (np.uint64(2) * pair + np.uint64(2)) * np.uint64(0x9E3779B97F4A7C15)
    )
    u1 = (float(z1 >> np.uint64(11)) + 0.5) * 2.0**-53
    u2 = (float(z2 >> np.uint64(11)) + 0.5) * 2.0**-53
    radius = math.sqrt(-2.0 * math.log(u1))
    return radius * (math.cos(2.0 * math.pi * u2) if k % 2 == 0 else math.sin(2.0 * math.pi * u2))


@kernel
def _mix(z: np.uint64) -> np.uint64:
    """The finaliser of SplitMix64."""
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))


@kernel
def reading(scale: Floats, sensed: float, t: float, noise: bool, seed: int, k: int) -> float:
    """What the controller's sensor says (Pa abs) when the lagged pressure is `sensed`: offset, noise, resolution."""
    value = sensed + scale[4] + scale[5] * t
    if noise and scale[2] > 0.0:
        value += scale[2] * normal(seed, k)
    if scale[3] > 0.0:
        value = scale[0] + math.floor((value - scale[0]) / scale[3] + 0.5) * scale[3]
    return value


@kernel
def commands(
    ctl: Controller,
    mode: int,
    target: float,
    since: float,
    t: float,
    noise: bool,
    seed: int,
    k: int,
    sensed: float,
    memory: Floats,
    command: Floats,
    on_time: Floats,
) -> float:
    """One controller sample: valve commands [v] and on-times of pulsed valves [v] (s); returns the drive u.

    sensed: lagged pressure at the controller's sensor, Pa abs. memory [11]: the PID's four, then of a servo the pressure at
    the command (Pa), its last reference (Pa) and the five numbers of its approach. on_time is -1 for a valve that is not pulsed.
    """
    for j in range(command.shape[0]):
        command[j] = ctl.base[mode, j]
        on_time[j] = -1.0
    if mode != CONTROL:
        return 0.0
    scale = ctl.scale
    if ctl.kind == 1:
        p = approach(memory[4], target, since, memory[6:11]) + ripple(t, ctl.behaviour)
        memory[5] = p
        command[ctl.index[4]] = p / ctl.servo_scale
        return (p - scale[0]) / scale[1]
    seen = reading(scale, sensed, t, noise, seed, k)
    u = pid_step(memory, (seen - scale[0]) / scale[1], (target - scale[0]) / scale[1], ctl.gains)
    inlet, outlet = shape(u, ctl.drive)
    for which in range(2):
        j, value = ctl.index[1 + which], inlet if which == 0 else outlet
        if j < 0:
            continue
        command[j] = value
        if ctl.pulse[which] > 0.0:
            command[j] = 0.0
            on_time[j] = pulse(value, ctl.period, ctl.pulse[2 + which], 0.0)
    return u
