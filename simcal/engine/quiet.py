"""The exact one-sample map of the plant linearised where it is: what makes a quiet loop cheap.

Around x* the deviation d obeys d' = A d + f* + B c, so over a time h
    d(h) = E d + F1 (f* + B c),   integral of d = F1 d + F2 (f* + B c),
with E = exp(A h), F1 = integral of E, F2 = integral of F1 (Van Loan, IEEE Trans. Automatic Control 23 (1978) 395-404).
A linear map keeps every linear balance, so mass and energy are kept to rounding.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import Floats, Network
from simcal.engine.plant import CV, P, T, add_jets, plant
from simcal.jit import kernel
from simcal.tables.gas import GasTable

TERMS = 10
"""Taylor terms at a norm below a quarter: the rest is under 1e-14 of the result"""


@kernel
def multiply(a: Floats, b: Floats, out: Floats) -> None:
    """out = a b, for square matrices; the inner loop runs along rows."""
    n = a.shape[0]
    for i in range(n):
        for j in range(n):
            out[i, j] = 0.0
        for k in range(n):
            value = a[i, k]
            if value != 0.0:
                for j in range(n):
                    out[i, j] += value * b[k, j]


@kernel
def exponentials(a: Floats, scale: Floats, h: float, e: Floats, f1: Floats, f2: Floats, work: Floats) -> None:
    """E, F1 and F2 of the matrix a [n, n] over h s into e, f1, f2; work [2, n, n].

    A Taylor series at a small step, then doubled: F2 <- F2 + t F1 + E F2, F1 <- F1 + E F1, E <- E E. The norm that
    sets the number of doublings is taken in units of `scale` [n] > 0, so kilograms beside joules do not inflate it.
    """
    n = a.shape[0]
    norm = 0.0
    for i in range(n):
        total = 0.0
        for j in range(n):
            total += abs(a[i, j]) * scale[j]
        norm = max(norm, total / scale[i])
    doublings = 0
    t = h
    while norm * t > 0.25 and doublings < 60:
        t *= 0.5
        doublings += 1
    f2[:, :] = 0.0
    for i in range(n):
        f2[i, i] = 1.0
    for term in range(TERMS, 2, -1):
        multiply(a, f2, work[0])
        for i in range(n):
            for j in range(n):
                f2[i, j] = work[0, i, j] * t / term
            f2[i, i] += 1.0
    for i in range(n):
        for j in range(n):
            f2[i, j] *= 0.5 * t * t
    multiply(a, f2, f1)
    for i in range(n):
        f1[i, i] += t
    multiply(a, f1, e)
    for i in range(n):
        e[i, i] += 1.0
    for _ in range(doublings):
        multiply(e, f2, work[0])
        multiply(e, f1, work[1])
        for i in range(n):
            for j in range(n):
                f2[i, j] += t * f1[i, j] + work[0, i, j]
                f1[i, j] += work[1, i, j]
        multiply(e, e, work[0])
        e[:, :] = work[0]
        t *= 2.0


@kernel
def scales(net: Network, x: Floats, gas: Floats, scale: Floats) -> None:
    """Sizes of the states at x, for the norm of `exponentials`."""
    n = net.node_par.shape[0]
    for i in range(n):
        scale[i], scale[n + i], scale[2 * n + i] = (
            x[i],
            abs(x[n + i]) + x[i] * gas[i, CV] * gas[i, T],
            gas[i, T],
        )
    for i in range(3 * n, x.shape[0]):
        scale[i] = 1.0
    gauge = x.shape[0] - 1 - net.valve_lag.shape[0] - net.gauge_node.shape[0]
    for j in range(net.gauge_node.shape[0]):
        scale[gauge + j] = gas[net.gauge_node[j], P]
    scale[x.shape[0] - 1] = gas[0, T]


class Map(NamedTuple):
    """A one-sample map and what has been carried on it.

    x0 [s] point of linearisation; e, f1, f2 [s, s]; columns [s + v + 1, s]: what one state, command or the room's slope
    adds to the next state; still [s]: what comes without any; f [s] rates at x0, those of openings and room set to
    nought; rate [a], tot [a, s] totals' rates and derivatives; sums, forces [s]: sums over the samples so far of the
    deviations and of the forcing.
    """

    x0: Floats
    e: Floats
    f1: Floats
    f2: Floats
    columns: Floats
    still: Floats
    f: Floats
    rate: Floats
    jac: Floats
    tot: Floats
    sums: Floats
    forces: Floats
    spare: Floats


@kernel
def new_map(states: int, totals: int, valves: int) -> Map:
    """Room for a map."""
    return Map(
        np.zeros(states),
        np.zeros((states, states)),
        np.zeros((states, states)),
        np.zeros((states, states)),
        np.zeros((states + valves + 1, states)),
        np.zeros(states),
        np.zeros(states),
        np.zeros(totals),
        np.zeros((states, states)),
        np.zeros((totals, states)),
        np.zeros(states),
        np.zeros(states),
        np.zeros((3, states, states)),
    )


@kernel
def build_map(
    net: Network, table: GasTable, x: Floats, command: Floats, servo_on: float, period: float, gas: Floats, m: Map
) -> None:
    """The map over one period (s) around x, into m; gas scratch is left as it is at x."""
    nx, v = x.shape[0], net.valve_lag.shape[0]
    valve = nx - 1 - v
    plant(net, table, x, command, 0.0, servo_on, gas, m.f, m.rate, m.jac, m.tot, True)
    add_jets(net, x, gas, m.rate, m.jac, m.tot)
    scales(net, x, gas, m.spare[2, 0])
    exponentials(m.jac, m.spare[2, 0], period, m.e, m.f1, m.f2, m.spare)
    for i in range(v + 1):
        m.f[valve + i] = 0.0  # their inputs are renewed every sample
    for i in range(nx):
        m.still[i] = 0.0
        for j in range(nx):
            m.still[i] += m.f1[i, j] * m.f[j]
            m.columns[j, i] = m.e[i, j]
        for j in range(v + 1):
            m.columns[nx + j, i] = m.f1[i, valve + j]
    m.x0[:] = x
    m.sums[:] = 0.0
    m.forces[:] = 0.0


@kernel
def close_map(m: Map, totals: Floats, lived: int, valves: int, period: float) -> None:
    """Add to the totals what `lived` samples on the map carried: rate* t + W (F1 sum of d + F2 sum of forcing)."""
    nx = m.sums.shape[0]
    for i in range(nx - 1 - valves):
        m.forces[i] = lived * m.f[i]
    for i in range(nx):
        integral = 0.0
        for j in range(nx):
            integral += m.f1[i, j] * m.sums[j] + m.f2[i, j] * m.forces[j]
        for a in range(totals.shape[0]):
            totals[a] += m.tot[a, i] * integral
    for a in range(totals.shape[0]):
        totals[a] += m.rate[a] * lived * period


@kernel
def apply_map(columns: Floats, z: Floats, still: Floats, ahead: Floats) -> None:
    """ahead = still + sum of columns[j] z[j]; along the columns, so that the compiler may use vectors."""
    for i in range(ahead.shape[0]):
        ahead[i] = still[i]
    for j in range(z.shape[0]):
        value = z[j]
        for i in range(ahead.shape[0]):
            ahead[i] += columns[j, i] * value
