"""One error-controlled step: ROS34PW2, four stages, third order, L-stable, stiffly accurate.

Rang and Angermann, BIT Numerical Mathematics 45 (2005) 761-787 (coefficients from memory; a test confirms the third
order). It is a W-method: the order holds for any Jacobian, so the film's and the gas's slow properties may be left out
of ours. Walls, gauges, openings and hose walls are eliminated before the volumes (`elimination`).
"""

from __future__ import annotations

import numpy as np

from simcal.engine.arrays import Floats, Network
from simcal.engine.elimination import factor, solve
from simcal.engine.plant import P_E, P_M, P_T, P_U, T_E, T_M, T_U, plant
from simcal.jit import kernel
from simcal.tables.gas import GasTable

GAMMA = 4.3586652150845900e-01
_ALPHA = np.array(
    [
        [0.0, 0.0, 0.0, 0.0],
        [8.7173304301691801e-01, 0.0, 0.0, 0.0],
        [8.4457060015369423e-01, -1.1299064236484185e-01, 0.0, 0.0],
        [0.0, 0.0, 1.0, 0.0],
    ]
)
_GAMMAS = np.array(
    [
        [GAMMA, 0.0, 0.0, 0.0],
        [-8.7173304301691801e-01, GAMMA, 0.0, 0.0],
        [-9.0338057013044082e-01, 5.4180672388095326e-02, GAMMA, 0.0],
        [2.4212380706095346e-01, -1.2232505839045147e00, 5.4526025533510214e-01, GAMMA],
    ]
)
_B = np.array([2.4212380706095346e-01, -1.2232505839045147e00, 1.5452602553351020e00, GAMMA])
_B_LOW = np.array([3.7810903145819369e-01, -9.6042292212423178e-02, 0.5, 2.1793326075422950e-01])
_INVERSE = np.linalg.inv(_GAMMAS)
# the usual change of variables that avoids a matrix product in every stage
STAGE = _ALPHA @ _INVERSE
COUPLE = np.diag(np.diag(_INVERSE)) - _INVERSE
WEIGHT = _B @ _INVERSE
ERROR = (_B - _B_LOW) @ _INVERSE

STAGES = 4


@kernel
def pressure_error(net: Network, gas: Floats, e: Floats, tolerance: float) -> float:
    """Largest error in e [states] over the tolerance (Pa): pressures, gauges, and what the temperature is worth in Pa."""
    n = net.node_par.shape[0]
    worst = 0.0
    for i in range(n):
        row = gas[i]
        dp = row[P_M] * e[i] + row[P_U] * e[n + i]
        dt = row[T_M] * e[i] + row[T_U] * e[n + i]
        s = net.node_strain[i]
        if s >= 0:
            dp += row[P_E] * (e[s] + e[s + 1])
            dt += row[T_E] * (e[s] + e[s + 1])
        worst = max(worst, abs(dp) / tolerance, abs(dt * row[P_T]) / tolerance)
    gauge = e.shape[0] - 1 - net.valve_lag.shape[0] - net.gauge_node.shape[0]
    for j in range(net.gauge_node.shape[0]):
        worst = max(worst, abs(e[gauge + j]) / tolerance)
    return worst


@kernel
def step(
    net: Network,
    table: GasTable,
    x: Floats,
    totals: Floats,
    command: Floats,
    slope: float,
    servo_on: float,
    h: float,
    tolerance: float,
    gas: Floats,
    work: Floats,
    jac: Floats,
    tot: Floats,
    fresh: bool,
) -> float:
    """Try one step of h s from x; returns error over tolerance (accepted if <= 1; inf: left the gas table).

    x [states] and totals are changed only when the step is accepted. work [11, states + totals] scratch: row 0 and the
    derivatives in jac, tot belong to x and are reused when not `fresh` (a step tried again).
    """
    nx, na = x.shape[0], totals.shape[0]
    if fresh:
        if not plant(net, table, x, command, slope, servo_on, gas, work[0, :nx], work[0, nx:], jac, tot, True):
            return np.inf
    matrix = np.empty((nx, nx))
    diagonal = 1.0 / (GAMMA * h)
    for i in range(nx):
        for j in range(nx):
            matrix[i, j] = -jac[i, j]
        matrix[i, i] += diagonal
    factor(matrix, net.order, net.heads, net.lists)
    y = work[9, :nx]
    base_gas = gas.copy()
    for s in range(STAGES):
        u = work[1 + s]
        if s == 0:
            u[:] = work[0]
        else:
            y[:] = x
            for r in range(s):
                if STAGE[s, r] != 0.0:
                    for i in range(nx):
                        y[i] += STAGE[s, r] * work[1 + r, i]
            if not plant(net, table, y, command, slope, servo_on, gas, u[:nx], u[nx:], jac, tot, False):
                gas[:, :] = base_gas
                return np.inf
            for r in range(s):
                c = COUPLE[s, r] / h
                for i in range(nx + na):
                    u[i] += c * work[1 + r, i]
        solve(matrix, net.order, net.heads, net.lists, u[:nx])
        for a in range(na):
            value = u[nx + a]
            for j in range(nx):
                value += tot[a, j] * u[j]
            u[nx + a] = value / diagonal
    error = work[10, :nx]
    error[:] = 0.0
    for s in range(STAGES):
        for i in range(nx):
            error[i] += ERROR[s] * work[1 + s, i]
    gas[:, :] = base_gas
    size = pressure_error(net, gas, error, tolerance)
    if not size <= 1.0:
        return size if size == size else np.inf
    for s in range(STAGES):
        for i in range(nx):
            x[i] += WEIGHT[s] * work[1 + s, i]
        for a in range(na):
            totals[a] += WEIGHT[s] * work[1 + s, nx + a]
    return size
