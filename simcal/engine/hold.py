"""The compiled hold: valves shut, no controller, free steps; readings at given times by cubic Hermite interpolation."""

from __future__ import annotations

import numpy as np

from simcal.engine.arrays import Floats, Network
from simcal.engine.box import pressure_of, temperature_of
from simcal.engine.plant import P, T, plant
from simcal.engine.rosenbrock import Work, step
from simcal.engine.sample import room_temperature
from simcal.engine.stretch import LEFT_TABLE, OK, SMALLEST_STEP, STUCK
from simcal.engine.vectors import copy
from simcal.jit import kernel
from simcal.tables.gas import GasTable

CYCLE_SHARE = 1.0 / 40.0
"""of a period of the room's cycle that a step may span: the room is taken as straight within it"""


@kernel
def _outputs(net: Network, gas: Floats, x: Floats, f: Floats, values: Floats, speeds: Floats) -> None:
    """Pressures and temperatures of the volumes, wall temperatures and gauge readings [3 n + g] and their speeds."""
    n, g = net.node_par.shape[0], net.gauge_node.shape[0]
    gauge = x.shape[0] - 1 - net.valve_lag.shape[0] - g
    for i in range(n):
        values[i], speeds[i] = gas[i, P], pressure_of(gas, net.node_strain, f, i)
        values[n + i], speeds[n + i] = gas[i, T], temperature_of(gas, net.node_strain, f, i)
        values[2 * n + i], speeds[2 * n + i] = x[2 * n + i], f[2 * n + i]
    for j in range(g):
        values[3 * n + j], speeds[3 * n + j] = x[gauge + j], f[gauge + j]


@kernel
def run_hold(
    net: Network,
    table: GasTable,
    start: float,
    x: Floats,
    totals: Floats,
    command: Floats,
    tolerance: float,
    times: Floats,
    w: Work,
    ends: Floats,
    out: Floats,
) -> tuple[int, int]:
    """Advance x and totals in place from `start` to times[-1] (s), writing out [k, 3 n + g] at the rising `times` [k].

    command [v]: where the openings go (nought: shut); ends [4, 3 n + g]: scratch. Returns status and the number of rows
    written.
    """
    old, old_speed, new, new_speed = ends[0], ends[1], ends[2], ends[3]
    yes, no = out.shape[1] > 0, out.shape[1] == 0  # not literals, for which the compiler would make further versions
    longest = net.room[3] * CYCLE_SHARE if net.room[2] != 0.0 else np.inf
    room, t, row, h, size = x.shape[0] - 1, start, 0, 1e-3, 1.0
    x[room] = room_temperature(net.room, t)
    while True:
        ahead = min(h, longest)
        slope = (room_temperature(net.room, t + ahead) - x[room]) / ahead
        if not plant(net, table, x, command, slope, 0.0, w.gas, w.f[0], w.rate[0], w.jac, w.tot, yes):
            return LEFT_TABLE, row
        _outputs(net, w.gas, x, w.f[0], new, new_speed)
        while row < times.shape[0] and times[row] <= t:
            back = t - times[row]
            if back <= 0.0 or t == start:
                copy(new, out[row])
            else:
                _hermite(old, old_speed, new, new_speed, size, 1.0 - back / size, out[row])
            row += 1
        if row == times.shape[0]:
            return OK, row
        copy(new, old)
        copy(new_speed, old_speed)
        while True:
            left = times[-1] - t
            size = min(h, longest, left)
            w.f[0, room] = (room_temperature(net.room, t + size) - x[room]) / size
            err = step(net, table, x, totals, command, w.f[0, room], 0.0, size, tolerance, np.inf, w, no, no)
            if err <= 1.0:
                break
            h = size * (0.1 if err == np.inf else max(0.1, 0.9 * err ** (-1.0 / 3.0)))
            if h < SMALLEST_STEP:
                return (LEFT_TABLE if err == np.inf else STUCK), row
        t = times[-1] if size == left else t + size  # the state is left where the last reading is
        h = size * min(4.0, 0.9 * (err + 1e-12) ** (-1.0 / 3.0))


@kernel
def _hermite(a: Floats, va: Floats, b: Floats, vb: Floats, h: float, s: float, out: Floats) -> None:
    """Cubic through values a, b and speeds va, vb over a step h, at the share s of it."""
    for i in range(a.shape[0]):
        out[i] = (
            (1.0 + 2.0 * s) * (1.0 - s) ** 2 * a[i]
            + s * (1.0 - s) ** 2 * h * va[i]
            + s * s * (3.0 - 2.0 * s) * b[i]
            + s * s * (s - 1.0) * h * vb[i]
        )
