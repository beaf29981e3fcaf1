"""One error-controlled step: ROS34PW2, four stages, third order, L-stable, stiffly accurate.

Rang and Angermann, BIT Numerical Mathematics 45 (2005) 761-787 (coefficients from memory; a test confirms the third
order). It is a W-method: the order holds for any Jacobian, so the film's and the gas's slow properties may be left out
of ours. Walls, gauges, openings and hose walls are eliminated before the volumes (`elimination`).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import Floats, Network, sizes
from simcal.engine.box import pressure_of
from simcal.engine.elimination import factor, solve
from simcal.engine.plant import GAS_COLUMNS, P_E, P_M, P_T, P_U, T_E, T_M, T_U, T, boundary_states, rates
from simcal.engine.vectors import copy, inner
from simcal.jit import merged
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
LEAST = 1e-2
"""of the tolerance: it is not made smaller than this where pressures stand still"""


@merged
def pressure_error(net: Network, gas: Floats, e: Floats, tolerance: float) -> float:
    """Largest error in e [states] over the tolerance (Pa): pressures, gauges, temperatures in the Pa they are worth."""
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


@merged
def own_tolerance(net: Network, gas: Floats, f: Floats, h: float, tolerance: float, share: float) -> float:
    """The tolerance (Pa) of a step of h s from a state with the rates f [states]: `share` of what the fastest pressure
    changes, but at most `tolerance` and at least LEAST of it; `tolerance` itself where share is inf.

    Steps among samples on a map would else show in the rates of a bench that hardly moves any more.
    """
    if share == np.inf:
        return tolerance
    fastest = 0.0
    for i in range(net.node_par.shape[0]):
        fastest = max(fastest, abs(pressure_of(gas, net.node_strain, f, i)))
    return min(tolerance, max(share * h * fastest, LEAST * tolerance))


class Work(NamedTuple):
    """Scratch of a step. gas [n + b, 21] and jac [s, s], tot [a, s] belong to the state x at the start of the step, as
    does row 0 of f [5, s] and rate [5, a], whose other rows are the stages, to which stage_gas belongs; matrix [s, s],
    y [s].
    """

    gas: Floats
    stage_gas: Floats
    f: Floats
    rate: Floats
    jac: Floats
    tot: Floats
    matrix: Floats
    y: Floats


def new_work(net: Network) -> Work:
    """Room for steps, with the gas of the boundaries in place."""
    size = sizes(net)
    s, a = size.states, size.totals
    gas = np.zeros((size.nodes + net.bound.shape[0], GAS_COLUMNS))
    gas[:, T] = net.room[0]
    boundary_states(net, gas)
    return Work(
        gas=gas,
        stage_gas=gas.copy(),
        f=np.zeros((1 + STAGES, s)),
        rate=np.zeros((1 + STAGES, a)),
        jac=np.zeros((s, s)),
        tot=np.zeros((a, s)),
        matrix=np.zeros((s, s)),
        y=np.zeros(s),
    )


@merged
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
    share: float,
    w: Work,
    fresh: bool,
    known: bool,
) -> float:
    """Try one step of h s from x; returns error over tolerance (accepted if <= 1; inf: left the gas table).

    tolerance (Pa) and share as in `own_tolerance`.
    x [states] and totals are changed only when the step is accepted. What in w belongs to x is reused when not `fresh`
    (a step tried again); known: w.gas is at x already.
    """
    nx, na = x.shape[0], totals.shape[0]
    f, rate, jac, tot, matrix, y = w.f, w.rate, w.jac, w.tot, w.matrix, w.y
    diagonal = 1.0 / (GAMMA * h)
    for s in range(1 + STAGES):
        u, a = f[s], rate[s]
        if s == 1:
            copy(f[0], u)
            copy(rate[0], a)
        elif s > 1 or fresh:
            copy(x, y)
            for r in range(1, s):
                c = STAGE[s - 1, r - 1]
                if c != 0.0:
                    for i in range(nx):
                        y[i] += c * f[r, i]
            gas = w.gas if s == 0 else w.stage_gas
            if not rates(net, table, y, command, slope, servo_on, gas, u, a, jac, tot, s == 0, s == 0 and known):
                return np.inf
        if s == 0:
            for i in range(nx):
                for j in range(nx):
                    matrix[i, j] = -jac[i, j]
                matrix[i, i] += diagonal
            factor(matrix, net.order, net.heads, net.lists)
            continue
        for r in range(1, s):
            c = COUPLE[s - 1, r - 1] / h
            for i in range(nx):
                u[i] += c * f[r, i]
            for i in range(na):
                a[i] += c * rate[r, i]
        solve(matrix, net.order, net.heads, net.lists, u)
        for i in range(na):
            a[i] = (a[i] + inner(tot, i, u)) / diagonal
    for i in range(nx):
        y[i] = 0.0
        for s in range(STAGES):
            y[i] += ERROR[s] * f[1 + s, i]
    size = pressure_error(net, w.gas, y, own_tolerance(net, w.gas, f[0], h, tolerance, share))
    if not size <= 1.0:
        return size if size == size else np.inf
    for s in range(STAGES):
        for i in range(nx):
            x[i] += WEIGHT[s] * f[1 + s, i]
        for i in range(na):
            totals[i] += WEIGHT[s] * rate[1 + s, i]
    return size
