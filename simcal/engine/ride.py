"""Riding on a one-sample map: the loop in which a quiet run spends its time."""

from __future__ import annotations

from simcal.engine.arrays import Controller, Floats, Ints
from simcal.engine.box import Box, state_inside
from simcal.engine.quiet import Map
from simcal.engine.sample import Orders, commands, room_slope
from simcal.engine.vectors import product
from simcal.jit import inlined, merged

ENDED, OUTGROWN, COMMANDED, LOOK = 0, 1, 2, 3
"""Why a ride ended: no more samples, the state would leave the box, a command would, it is time to look"""


@inlined
def forcing(start: Floats, pace: Floats, command: Floats, on_time: Floats, opening: Floats, forces: Floats) -> bool:
    """Forces [v] of the commands on openings that stood at `start` [v].

    False where an opening that follows its command would leave the box, or where a valve is pulsed.
    """
    inside = True
    for j in range(command.shape[0]):
        away = command[j] - start[j]
        forces[j] = away * pace[j]
        if on_time[j] > 0.0 or (pace[j] > 0.0 and not abs(away) <= opening[j]):
            inside = False
    return inside


@merged
def ride(
    ctl: Controller,
    orders: Orders,
    room: Floats,
    strain: Ints,
    k: int,
    stop: int,
    m: Map,
    box: Box,
    memory: Floats,
    command: Floats,
    on_time: Floats,
    out: Floats,
) -> tuple[int, int, int]:
    """Go on from row k, which has its commands, up to row `stop` while the map holds.

    Returns the sample reached, the number of samples carried, and why it ended; m.z is left as the deviation reached.
    The sample reached has its commands, its forcing and its row in `out`, unless the samples have ended. Pressures in
    `out` are straight in the deviation: `bend_rows` puts them right. Plain arrays only inside the loop.
    """
    rows, still, z, opened, forces = m.rows, m.still, m.z, m.opened, m.forces
    ahead, sums, x0, decay, gain, pace = m.ahead, m.sums, m.x0, m.decay, m.gain, m.pace
    step = m.step
    pressure, kelvin, opening, difference = box.pressure, box.kelvin, box.opening, box.difference
    pairs, at, dp = box.pairs, box.at, box.dp
    nx, v, n, g = x0.shape[0], command.shape[0], strain.shape[0], out.shape[1] - strain.shape[0] - 1
    valve = nx - 1 - v
    start, gauge, energy, wall = x0[valve : nx - 1], x0[valve - g : valve], ahead[n : 2 * n], ahead[2 * n : 3 * n]
    measured, core, sensor, period, lived = z[valve - g : valve], ahead[:valve], ctl.index[0], ctl.period, 0
    first = orders.first
    while True:
        product(rows, z, still, ahead)
        inside = state_inside(at, strain, pairs, ahead, energy, wall, pressure, kelvin, difference, dp)
        for j in range(v):
            if not abs(decay[j] * opened[j] + gain[j] * forces[j]) <= opening[j]:
                inside = False
        if not inside:
            return k, lived, OUTGROWN
        for j in range(sums.shape[0]):
            sums[j] += z[j]
        for j in range(v):
            opened[j] = decay[j] * opened[j] + gain[j] * forces[j]
        z[nx - 1] += period * z[nx + v]
        for j in range(core.shape[0]):
            z[j] = core[j]
        for j in range(step.shape[0]):
            still[j] += step[j]
        lived += 1
        k += 1
        if k == out.shape[0]:
            return k, lived, ENDED
        z[nx + v] = room_slope(room, first + k, period)
        sensed = gauge[sensor] + measured[sensor] if sensor >= 0 else 0.0
        u = commands(ctl, orders, first + k, sensed, memory, command, on_time)
        row = out[k]
        for i in range(n):
            row[i] = at[i, 0] + dp[i]
        for j in range(g):
            row[n + j] = gauge[j] + measured[j]
        row[n + g] = u
        if not forcing(start, pace, command, on_time, opening, forces):
            return k, lived, COMMANDED
        if k == stop:
            return k, lived, LOOK
