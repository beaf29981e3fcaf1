"""Quiet samples of a bench with pulsed valves: a map for each valve open and one for all shut, for any length.

Within a sample one valve is open for its on-time and all are shut for the rest. Each of these plants, linearised where
the bench is, has d' = A d + b, whose exact map over t is kept for t = period / 2^i: a stretch of any length is a few of
them, by the binary digits of the length, and three terms of a series for what is less than the shortest. So a pulse
costs some products of a matrix and a vector, and pressures are seen at points that lie closer behind its edges.

What the plant with all valves shut leaves out of its rates is looked up every few samples, as for the plain map
(`quiet`), and stands in all plants until the next look.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import FROM, TO, VALVE, Controller, Floats, Network, sizes
from simcal.engine.between import BEGAN, FASTEST, HIGHEST, LOWEST, SPEED, reach
from simcal.engine.box import Box, pressure_of, straight_difference
from simcal.engine.plant import P_E, P_M, P_U, P
from simcal.engine.quiet import derivatives, exponentials, scales
from simcal.engine.sample import CONTROL, Orders
from simcal.engine.vectors import copy, multiply
from simcal.jit import inlined, kernel
from simcal.tables.gas import GasTable

PLANTS = 3
"""all shut; the inlet open; the outlet open"""
FINEST = 1.0 / 64.0
"""norm of the matrix times the shortest stretch, below which three terms are enough: the rest is under 2e-7 of them"""
LEVELS = 26
"""stretches at most; a stiffer plant is advanced in steps"""
NEAR = 0.03
"""of the pressure difference along a pulsed valve, within which its flow is straight"""


class Pulses(NamedTuple):
    """The maps of the three plants [3, ...], s states, a totals.

    table [3, LEVELS, s, 2 s]: column by column what d adds to the next d and to the integral of d; second
    [3, LEVELS, s, s]: F2; ends [3, LEVELS, 2 s]: what comes without any d. jac [3, s, s], f [3, s], tot [3, a, s],
    rate [3, a]: of the plants; b [3, s]: f and the rest; slope [3, n, s + 1]: pressures' rates with d, and without any.
    d [s]; next [2 s]; v [2, s]; now, w [3, s]: integrals of d in this sample and before; spent [3] s.
    start [s]: the point of linearisation; used [s], used_totals [a]: the rest in use; seen_rate [a]: totals' rates at a
    look; bend [n]: what is left out of the pressures there. e [4, s, s] and work: scratch.
    """

    table: Floats
    second: Floats
    ends: Floats
    jac: Floats
    f: Floats
    tot: Floats
    rate: Floats
    b: Floats
    slope: Floats
    d: Floats
    next: Floats
    v: Floats
    now: Floats
    w: Floats
    spent: Floats
    start: Floats
    used: Floats
    used_totals: Floats
    seen_rate: Floats
    bend: Floats
    e: Floats
    work: Floats


def new_pulses(net: Network) -> Pulses:
    """Room for the maps; hardly any where no valve is set rather than followed."""
    size = sizes(net)
    s, a, n = size.states, size.totals, size.nodes
    levels = LEVELS if np.isinf(net.valve_lag).any() else 0
    return Pulses(
        table=np.empty((PLANTS, levels, s, 2 * s)),
        second=np.empty((PLANTS, levels, s, s)),
        ends=np.empty((PLANTS, levels, 2 * s)),
        jac=np.zeros((PLANTS, s, s)),
        f=np.zeros((PLANTS, s)),
        tot=np.zeros((PLANTS, a, s)),
        rate=np.zeros((PLANTS, a)),
        b=np.zeros((PLANTS, s)),
        slope=np.zeros((PLANTS, n, s + 1)),
        d=np.zeros(s),
        next=np.zeros(2 * s),
        v=np.zeros((2, s)),
        now=np.zeros((PLANTS, s)),
        w=np.zeros((PLANTS, s)),
        spent=np.zeros(PLANTS),
        start=np.zeros(s),
        used=np.zeros(s),
        used_totals=np.zeros(a),
        seen_rate=np.zeros(a),
        bend=np.zeros(n),
        e=np.zeros((4, s, s)),
        work=np.zeros((2, s, 4 * s)),
    )


@kernel
def pulsed_only(ctl: Controller, orders: Orders, pace: Floats, start: Floats, command: Floats, on_time: Floats) -> bool:
    """Whether all valves that move do so by pulses, and one does in this sample; the others stand where they should."""
    if orders.mode != CONTROL or ctl.kind != 0:
        return False
    some = False
    for j in range(command.shape[0]):
        if j == ctl.index[1] or j == ctl.index[2]:
            if on_time[j] < 0.0:
                return False
            some = some or on_time[j] > 0.0
        elif pace[j] > 0.0 and not abs(command[j] - start[j]) <= 1e-9:
            return False
    return some


@kernel
def build_pulses(
    net: Network, table: GasTable, ctl: Controller, x: Floats, command: Floats, size: float, gas: Floats,
    spare: Floats, box: Box, q: Pulses,
) -> int:  # fmt: skip
    """The maps around x with all pulsed valves shut, into q; returns the number of halvings (-1: too stiff).

    The box gets the differences along pulsed valves. gas: at x, before and after.
    """
    nx, v, n = x.shape[0], net.valve_lag.shape[0], net.node_par.shape[0]
    valve, norm = nx - 1 - v, 0.0
    for k in range(net.edge_int.shape[0]):
        j = net.edge_int[k, VALVE]
        if j >= 0 and (j == ctl.index[1] or j == ctl.index[2]):
            apart = abs(gas[net.edge_int[k, FROM], P] - gas[net.edge_int[k, TO], P])
            box.difference[k] = size * max(NEAR * apart, straight_difference(net, table, gas, k))
    for plants in range(PLANTS):
        which = (plants + 1) % PLANTS  # all shut comes last, so that the gas is left with its jets
        j = ctl.index[which] if which > 0 else -1
        if which > 0 and j < 0:
            continue
        if j >= 0:
            x[valve + j] = 1.0
        derivatives(net, table, x, command, 0.0, gas, spare, q.f[which], q.rate[which], q.jac[which], q.tot[which])
        if j >= 0:
            x[valve + j] = 0.0
        for i in range(valve, nx):
            q.f[which, i] = 0.0
        scales(net, x, gas, q.v[0])
        for i in range(nx):
            total = 0.0
            for c in range(nx):
                total += abs(q.jac[which, i, c]) * q.v[0, c]
            norm = max(norm, total / q.v[0, i])
    halvings, shortest = 0, ctl.period
    while norm * shortest > FINEST:
        shortest *= 0.5
        halvings += 1
    if halvings >= q.table.shape[1]:
        return -1
    for which in range(PLANTS):
        if which > 0 and ctl.index[which] < 0:
            continue
        t = shortest
        e, f1, f2, spare1 = q.e[0], q.e[1], q.e[2], q.e[3]
        scales(net, x, gas, q.v[0])
        exponentials(q.jac[which], q.v[0], t, e, f1, f2, spare1, q.work)
        for level in range(halvings + 1):
            for j in range(nx):
                for i in range(nx):
                    q.table[which, level, j, i], q.table[which, level, j, nx + i] = e[i, j], f1[i, j]
                    q.second[which, level, i, j] = f2[i, j]
            if level == halvings:
                break
            multiply(e, f2, spare1)
            for i in range(nx):
                for j in range(nx):
                    f2[i, j] += t * f1[i, j] + spare1[i, j]
            multiply(e, f1, spare1)
            for i in range(nx):
                for j in range(nx):
                    f1[i, j] += spare1[i, j]
            multiply(e, e, spare1)
            for i in range(nx):
                copy(spare1[i], e[i])
            t *= 2.0
    q.d[:] = 0.0
    q.w[:, :] = 0.0
    q.spent[:] = 0.0
    q.used[:] = 0.0
    q.used_totals[:] = 0.0
    q.bend[:] = 0.0
    for i in range(n):
        for which in range(PLANTS):
            for c in range(nx):
                slope = gas[i, P_M] * q.jac[which, i, c] + gas[i, P_U] * q.jac[which, n + i, c]
                h = net.node_strain[i]
                if h >= 0:
                    slope += gas[i, P_E] * (q.jac[which, h, c] + q.jac[which, h + 1, c])
                q.slope[which, i, c] = slope
    return halvings


@kernel
def renew_ends(net: Network, gas: Floats, halvings: int, room_slope: float, q: Pulses) -> None:
    """What the maps add without any deviation, for the rest in use; gas: at the point of linearisation."""
    nx = q.d.shape[0]
    for which in range(PLANTS):
        b = q.b[which]
        for i in range(nx):
            b[i] = q.f[which, i] + q.used[i]
        b[nx - 1] = room_slope
        for level in range(halvings + 1):
            end, first, second = q.ends[which, level], q.table[which, level], q.second[which, level]
            for i in range(nx):
                end[i] = end[nx + i] = 0.0
            for j in range(nx):
                if b[j] != 0.0:
                    for i in range(nx):
                        end[i] += first[j, nx + i] * b[j]
                        end[nx + i] += second[i, j] * b[j]
        for i in range(q.slope.shape[1]):
            q.slope[which, i, nx] = pressure_of(gas, net.node_strain, b, i)


@inlined
def _seen(net: Network, box: Box, which: int, h: float, q: Pulses, between: Floats) -> None:
    """Take up that a stretch of h s has ended at q.d (0: that one begins there)."""
    nx, d = q.d.shape[0], q.d
    for i in range(between.shape[0]):
        at, b, s, slope = box.at[i], between[i], net.node_strain[i], q.slope[which, i]
        p = at[0] + q.bend[i] + at[1] * d[i] + at[2] * d[between.shape[0] + i]
        if s >= 0:
            p += at[3] * (d[s] + d[s + 1])
        speed = slope[nx]
        for c in range(nx):
            speed += slope[c] * d[c]
        if h > 0.0:
            reach(b, p, h * b[SPEED], h * speed)
        b[HIGHEST], b[LOWEST] = max(b[HIGHEST], p), min(b[LOWEST], p)
        b[BEGAN], b[SPEED], b[FASTEST] = p, speed, max(b[FASTEST], abs(speed))


@kernel
def travel(
    net: Network, box: Box, which: int, span: float, shortest: float, halvings: int, q: Pulses, between: Floats
) -> None:
    """Advance q.d by `span` s under one plant, adding the integral of d to q.now, and the extremes to `between`."""
    nx, d, now, jac = q.d.shape[0], q.d, q.now[which], q.jac[which]
    whole = int(span / shortest)
    left = max(span - whole * shortest, 0.0)
    _seen(net, box, which, 0.0, q, between)
    if left > 0.0:
        rate, ahead = q.v[0], q.v[1]
        for i in range(nx):
            total = q.b[which, i]
            for c in range(nx):
                total += jac[i, c] * d[c]
            rate[i] = total
            now[i] += left * d[i]
        share = left
        for term in range(2, 5):
            for i in range(nx):
                d[i] += share * rate[i]
                now[i] += share * left / term * rate[i]
            if term == 4:
                break
            share *= left / term
            for i in range(nx):
                total = 0.0
                for c in range(nx):
                    total += jac[i, c] * rate[c]
                ahead[i] = total
            copy(ahead, rate)
        _seen(net, box, which, left, q, between)
    h = shortest
    for level in range(halvings + 1):
        if (whole >> level) & 1:
            table = q.table[which, level]
            copy(q.ends[which, level], q.next)
            for j in range(nx):
                value = d[j]
                if value != 0.0:
                    for i in range(2 * nx):
                        q.next[i] += table[j, i] * value
            for i in range(nx):
                d[i] = q.next[i]
                now[i] += q.next[nx + i]
            _seen(net, box, which, h, q, between)
        h *= 2.0


@kernel
def close_pulses(q: Pulses, totals: Floats) -> None:
    """Add to the totals what the samples on the maps carried, but for the rest's."""
    for which in range(PLANTS):
        for a in range(totals.shape[0]):
            total = q.rate[which, a] * q.spent[which]
            for i in range(q.d.shape[0]):
                total += q.tot[which, a, i] * q.w[which, i]
            totals[a] += total
