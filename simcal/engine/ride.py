"""Riding on a one-sample map: the loop in which a quiet run spends its time."""

from __future__ import annotations

from simcal.engine.arrays import Controller, Floats, Ints
from simcal.engine.box import Box, state_inside
from simcal.engine.quiet import Map
from simcal.engine.sample import Orders, commands, room_slope
from simcal.engine.vectors import product
from simcal.jit import inlined, kernel

ENDED, OUTGROWN, COMMANDED, LOOK = 0, 1, 2, 3
"""Why a ride ended: no more samples, the state would leave the box, a command would, it is time to look"""


@inlined
def forcing(x0: Floats, pace: Floats, command: Floats, on_time: Floats, opening: Floats, z: Floats) -> bool:
    """Put what the commands [v] add into z; False where an opening that follows its command would leave the box, or
    where a valve is pulsed."""
    nx, v = x0.shape[0], command.shape[0]
    valve = nx - 1 - v
    inside = True
    for j in range(v):
        away = command[j] - x0[valve + j]
        z[nx + j] = away * pace[j]
        if on_time[j] > 0.0 or (pace[j] > 0.0 and not abs(away) <= opening[j]):
            inside = False
    return inside


@kernel
def ride(
    ctl: Controller,
    orders: Orders,
    room: Floats,
    strain: Ints,
    ends: Ints,
    first: int,
    k: int,
    stop: int,
    m: Map,
    box: Box,
    memory: Floats,
    command: Floats,
    on_time: Floats,
    out: Floats,
) -> tuple[int, int, int]:
    """Go on from row k, sample first + k, which has its commands, up to row `stop` while the map holds.

    Returns the sample reached, the number of samples carried, and why it ended; m.z is left as the deviation reached.
    The sample reached has its commands, its forcing and its row in `out`, unless the samples have ended. Plain arrays
    only inside the loop.
    """
    columns, still, z, ahead, sums, x0 = m.columns, m.still, m.z, m.ahead, m.sums, m.x0
    decay, gain, pace, at, dp = m.decay, m.gain, m.pace, box.at, box.dp
    step, off = m.step, m.rest_pressure
    pressure, kelvin, opening, difference = box.pressure, box.kelvin, box.opening, box.difference
    nx, v, n, g = x0.shape[0], command.shape[0], strain.shape[0], out.shape[1] - strain.shape[0] - 1
    valve = nx - 1 - v
    gauge = valve - g
    sensor, period, lived = ctl.index[0], ctl.period, 0
    while True:
        product(columns, z, still, ahead)
        if not state_inside(at, strain, ends, ahead, pressure, kelvin, difference, dp):
            return k, lived, OUTGROWN
        for j in range(v):
            if not abs(decay[j] * z[valve + j] + gain[j] * z[nx + j]) <= opening[j]:
                return k, lived, OUTGROWN
        for j in range(sums.shape[0]):
            sums[j] += z[j]
        for j in range(v):
            z[valve + j] = decay[j] * z[valve + j] + gain[j] * z[nx + j]
        z[nx - 1] += period * z[nx + v]
        for j in range(valve):
            z[j] = ahead[j]
        for j in range(step.shape[0]):
            still[j] += step[j]
        lived += 1
        k += 1
        if k == out.shape[0]:
            return k, lived, ENDED
        z[nx + v] = room_slope(room, first + k, period)
        sensed = x0[gauge + sensor] + z[gauge + sensor] if sensor >= 0 else 0.0
        u = commands(ctl, orders, first + k, sensed, memory, command, on_time)
        for i in range(n):
            out[k, i] = at[i, 0] + dp[i] + off[0, i] + lived * off[1, i]
        for j in range(g):
            out[k, n + j] = x0[gauge + j] + z[gauge + j]
        out[k, n + g] = u
        if not forcing(x0, pace, command, on_time, opening, z):
            return k, lived, COMMANDED
        if k == stop:
            return k, lived, LOOK
