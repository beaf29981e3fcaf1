"""Riding on the maps of `pulses`: the loop of a quiet run whose valves are pulsed."""

from __future__ import annotations

import numpy as np

from simcal.engine.arrays import Controller, Floats, Network
from simcal.engine.between import FASTEST, HIGHEST, LOWEST, Record
from simcal.engine.box import Box, pressure_of, state_inside
from simcal.engine.plant import JET, P, gas_at, rates
from simcal.engine.pulses import Pulses, close_pulses, renew_ends, travel
from simcal.engine.ride import ENDED, LOOK, OUTGROWN
from simcal.engine.sample import Orders, commands, room_slope, room_temperature
from simcal.engine.vectors import copy
from simcal.jit import kernel, merged
from simcal.tables.gas import GasTable

SELDOM = 64
"""samples between two looks at most, and without a pulse before the plain map takes over"""
FINE, SHARE, FORGET, TORN = 3e-10, 1e-2, 0.9, 3000.0
"""as in `loop`, of a run whose drive never rests"""


@merged
def one_sample(
    net: Network, ctl: Controller, box: Box, on_time: Floats, shortest: float, halvings: int, q: Pulses, between: Floats
) -> bool:
    """Advance q.d by a sample: at most one valve is open, for its on-time; False where the box would be left.

    Then q.d is void. between: the sample's extremes.
    """
    nx, n, which, tau = q.d.shape[0], between.shape[0], 0, 0.0
    for j in range(1, 3):
        if ctl.index[j] >= 0 and on_time[ctl.index[j]] > 0.0:
            which, tau = j, min(on_time[ctl.index[j]], ctl.period)
    for i in range(n):
        between[i, HIGHEST], between[i, LOWEST], between[i, FASTEST] = -np.inf, np.inf, 0.0
    q.now[:, :] = 0.0
    for part in range(2):
        plant, span = (which, tau) if part == 0 else (0, ctl.period - tau)
        if span <= 0.0:
            continue
        travel(net, box, plant, span, shortest, halvings, q, between)
        if not state_inside(
            box.at, net.node_strain, box.pairs, q.d, q.d[n : 2 * n], q.d[2 * n : 3 * n], box.pressure, box.kelvin,
            box.difference, box.dp,
        ):  # fmt: skip
            return False
        q.spent[plant] += span
    for plant in range(3):
        for i in range(nx):
            q.w[plant, i] += q.now[plant, i]
    return True


@merged
def _next_row(
    ctl: Controller, orders: Orders, k: int, gauge: int, memory: Floats, command: Floats, on_time: Floats, box: Box,
    q: Pulses, idle: int, out: Floats,
) -> int:  # fmt: skip
    """Commands and row k of the sample that begins at q.d; returns for how many samples no valve has opened."""
    n, index = box.at.shape[0], ctl.index[0]
    sensed = q.start[gauge + index] + q.d[gauge + index]
    u = commands(ctl, orders, orders.first + k, sensed, memory, command, on_time)
    for i in range(n):
        out[k, i] = box.at[i, 0] + box.dp[i]
    last = out.shape[1] - 1
    for j in range(n, last):
        out[k, j] = q.start[gauge + j - n] + q.d[gauge + j - n]
    out[k, last] = u
    idle += 1
    for j in range(command.shape[0]):
        if on_time[j] > 0.0:
            idle = 0
    return idle


@merged
def _bend(net: Network, base: Floats, gas: Floats, q: Pulses, since: int, k: int, out: Floats) -> None:
    """Add what the linearisation leaves out to the pressures in the rows up to k, straight since the last look."""
    for i in range(base.shape[0] - net.bound.shape[0]):
        value = gas[i, P] - base[i, P] - pressure_of(base, net.node_strain, q.d, i)
        slope = (value - q.bend[i]) / max(since, 1)
        for row in range(k - since + 1, min(k + 1, out.shape[0])):
            out[row, i] += q.bend[i] + (row - k + since) * slope
        q.bend[i] = value


@kernel
def pulsed_journey(
    net: Network, table: GasTable, ctl: Controller, orders: Orders, halvings: int, k: int, x: Floats, totals: Floats,
    memory: Floats, command: Floats, on_time: Floats, base: Floats, gas: Floats, box: Box, q: Pulses, between: Floats,
    before: Floats, record: Record, stepped: int,
) -> tuple[int, int, int, int]:  # fmt: skip
    """Ride on the maps from row k, looking every few samples at what they leave out; x ends where the ride does.

    base, gas: gas scratch at x, before and after, and another; before [s]: scratch. Returns the row reached (-1: left
    the gas table), the samples carried, why it ended, as `ride` does, and the samples with extremes in `record`.
    """
    out, first, period, nx, n = record.rows, orders.first, ctl.period, x.shape[0], net.node_par.shape[0]
    gauge, shortest = nx - 1 - command.shape[0] - net.gauge_node.shape[0], period
    for _ in range(halvings):
        shortest *= 0.5
    wanted = nx < 0  # not a literal, for which the compiler would make a second version
    lived, since, every, idle, brisk, why = 0, 0, 1, 0, 0.0, LOOK
    copy(x, q.start)
    renew_ends(net, base, halvings, room_slope(net.room, first + k, period), q)
    start = q.start
    while True:
        copy(q.d, before)
        spent = (q.spent[0], q.spent[1], q.spent[2])
        if one_sample(net, ctl, box, on_time, shortest, halvings, q, between):
            record.stepped[stepped] = k
            for i in range(n):
                copy(between[i, : FASTEST + 1], record.extremes[stepped, i])
            for a in range(totals.shape[0]):
                totals[a] += period * q.used_totals[a]
            stepped, k, lived, since = stepped + 1, k + 1, lived + 1, since + 1
            if k == out.shape[0]:
                why = ENDED
            else:
                idle = _next_row(ctl, orders, k, gauge, memory, command, on_time, box, q, idle, out)
                if idle == SELDOM:
                    why = OUTGROWN
        else:
            copy(before, q.d)
            q.spent[0], q.spent[1], q.spent[2] = spent
            why = OUTGROWN
        if why == LOOK and since < every:
            continue
        for i in range(nx):
            x[i] = start[i] + q.d[i]
        x[nx - 1] = room_temperature(net.room, (first + k) * period)
        q.d[nx - 1] = x[nx - 1] - start[nx - 1]
        if not gas_at(net, table, x, gas):
            return -1, lived, why, stepped
        _bend(net, base, gas, q, since, k, out)
        if why != LOOK:
            break
        rates(net, table, x, command, 0.0, 0.0, gas, q.v[0], q.seen_rate, q.jac[0], q.tot[0], wanted, not wanted)
        wrong, rate = _renew_rest(net, base, halvings, q)
        renew_ends(net, base, halvings, room_slope(net.room, first + k, period), q)
        brisk, since = max(rate, FORGET * brisk), 0
        fine = orders.size * max(FINE * ctl.scale[1], SHARE * brisk) * period
        if wrong > TORN * fine:
            why = OUTGROWN
            break
        if wrong > fine:
            every = max(every // 2, 1)
        elif wrong < 0.25 * fine:
            every = min(2 * every, SELDOM)
    close_pulses(q, totals)
    for i in range(n):
        copy(gas[i], base[i])
        base[i, JET] = 0.0
    return k, lived, why, stepped


@merged
def _renew_rest(net: Network, base: Floats, halvings: int, q: Pulses) -> tuple[float, float]:
    """Put the rest seen at q.d in use.

    q.v[0]: rates there. Returns by how much the one in use was wrong, as the pressure that it moves in a sample, and
    the largest rate of a pressure there.
    """
    nx, valve, n = q.d.shape[0], q.d.shape[0] - 1 - net.valve_lag.shape[0], net.node_par.shape[0]
    rate, wrong, top = 0.0, 0.0, q.table[0, halvings]
    for i in range(n):
        rate = max(rate, abs(pressure_of(base, net.node_strain, q.v[0], i)))
    for i in range(valve):
        value = q.v[0, i] - q.f[0, i]
        for c in range(nx):
            value -= q.jac[0, i, c] * q.d[c]
        q.v[1, i] = value - q.used[i]
        q.used[i] = value
    for i in range(valve):
        q.next[i] = 0.0
        for c in range(valve):
            q.next[i] += top[c, nx + i] * q.v[1, c]
    for i in range(n):
        wrong = max(wrong, abs(pressure_of(base, net.node_strain, q.next[:nx], i)))
    for a in range(q.used_totals.shape[0]):
        value = q.seen_rate[a] - q.rate[0, a]
        for c in range(nx):
            value -= q.tot[0, a, c] * q.d[c]
        q.used_totals[a] = value
    return wrong, rate
