"""The compiled hold: valves shut, no controller, free steps; readings at given times by cubic Hermite interpolation."""

from __future__ import annotations

import numpy as np

from simcal.engine.arrays import Floats, Network
from simcal.engine.plant import GAS_COLUMNS, P, T, boundary_states, plant
from simcal.engine.box import pressure_of, temperature_of
from simcal.engine.rosenbrock import step
from simcal.engine.sample import room_temperature
from simcal.engine.stretch import LEFT_TABLE, OK, SMALLEST_STEP, STUCK
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
    out: Floats,
) -> tuple[int, int]:
    """Advance x and totals in place from `start` to times[-1] (s), writing out [k, 3 n + g] at the rising `times` [k].

    command [v]: where the openings go (nought: shut). Returns status and the number of rows written.
    """
    n, nx, na = net.node_par.shape[0], x.shape[0], totals.shape[0]
    gas = np.zeros((n + net.bound.shape[0], GAS_COLUMNS))
    gas[:, T] = net.room[0]
    boundary_states(net, gas)
    jac, tot, work = np.zeros((nx, nx)), np.zeros((na, nx)), np.zeros((11, nx + na))
    m = out.shape[1]
    old, old_speed, new, new_speed = np.zeros(m), np.zeros(m), np.zeros(m), np.zeros(m)
    f, rate = np.zeros(nx), np.zeros(na)
    longest = net.room[3] * CYCLE_SHARE if net.room[2] != 0.0 else np.inf
    t, row, h, size = start, 0, 1e-3, 1.0
    x[nx - 1] = room_temperature(net.room, t)
    while True:
        ahead = min(h, longest)
        slope = (room_temperature(net.room, t + ahead) - x[nx - 1]) / ahead
        if not plant(net, table, x, command, slope, 0.0, gas, f, rate, jac, tot, False):
            return LEFT_TABLE, row
        _outputs(net, gas, x, f, new, new_speed)
        while row < times.shape[0] and times[row] <= t:
            back = t - times[row]
            if back <= 0.0 or t == start:
                out[row] = new
            else:
                _hermite(old, old_speed, new, new_speed, size, 1.0 - back / size, out[row])
            row += 1
        if row == times.shape[0]:
            return OK, row
        old[:], old_speed[:] = new, new_speed
        while True:
            size = min(h, longest)
            slope = (room_temperature(net.room, t + size) - x[nx - 1]) / size
            err = step(net, table, x, totals, command, slope, 0.0, size, tolerance, gas, work, jac, tot, True)
            if err <= 1.0:
                break
            h = size * (0.1 if err == np.inf else max(0.1, 0.9 * err ** (-1.0 / 3.0)))
            if h < SMALLEST_STEP:
                return (LEFT_TABLE if err == np.inf else STUCK), row
        t += size
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
