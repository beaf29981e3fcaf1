"""The compiled run under a sampled controller: sample, command, advance by one period, record.

A quiet loop advances by the one-sample map of `quiet` as long as it stays in the `box` around the point of linearisation;
otherwise, or where a map would not live long, by Rosenbrock steps.
"""

from __future__ import annotations

import numpy as np

from simcal.engine.arrays import Controller, Floats, Ints, Network
from simcal.engine.box import command_inside, new_box, pressure_of, set_box, state_inside
from simcal.engine.plant import GAS_COLUMNS, P, T, boundary_states, gas_states
from simcal.engine.quiet import apply_map, build_map, close_map, new_map
from simcal.engine.sample import CONTROL, commands, room_temperature
from simcal.engine.stretch import LEFT_TABLE, OK, stretch
from simcal.jit import kernel
from simcal.tables.gas import GasTable

LIVES = 8
"""samples that a map must be expected to live, else it is not worth building"""
JUMP = 4e-9
"""of full scale: what a map's pressures may be wrong by when it is left, aimed at by its box"""
TRUST, LEAST_TRUST = 0.3, 0.02
"""share of the full box at first, and at least"""


@kernel
def _record(gas: Floats, strain: Ints, gauge: int, x: Floats, d: Floats, u: float, row: Floats) -> None:
    """Pressures, gauge readings and drive at the start of a sample; d is the deviation from the state behind `gas`."""
    n = strain.shape[0]
    for i in range(n):
        row[i] = gas[i, P] + pressure_of(gas, strain, d, i)
    for j in range(row.shape[0] - n - 1):
        row[n + j] = x[gauge + j] + d[gauge + j]
    row[-1] = u


@kernel
def _trust(trust: float, gas: Floats, expected: Floats, allowed: float) -> float:
    """Share of the full box for the next map, from how far the last one's pressures [n] had gone wrong (Pa).

    The error of a linearisation grows with the square of the box.
    """
    worst = 0.0
    for i in range(expected.shape[0]):
        worst = max(worst, abs(gas[i, P] - expected[i]))
    return min(max(trust * min(max((allowed / (worst + 1e-300)) ** 0.5, 0.5), 1.5), LEAST_TRUST), 1.0)


@kernel
def _pulses(
    net: Network,
    table: GasTable,
    x: Floats,
    totals: Floats,
    command: Floats,
    on_time: Floats,
    slope: float,
    servo_on: float,
    period: float,
    tolerance: float,
    gas: Floats,
    work: Floats,
    jac: Floats,
    tot: Floats,
) -> int:
    """One sample with pulsed valves open for their on-times (s); steps end where a pulse ends."""
    valve = x.shape[0] - 1 - command.shape[0]
    now = 0.0
    while True:
        end = period
        for j in range(command.shape[0]):
            if on_time[j] >= 0.0:
                x[valve + j] = 1.0 if on_time[j] > now else 0.0
                if now < on_time[j] < end:
                    end = on_time[j]
        status, _ = stretch(
            net, table, x, totals, command, slope, servo_on, end - now, tolerance, 1e-4, gas, work, jac, tot
        )
        now = end
        if status != OK or now >= period:
            break
    for j in range(command.shape[0]):
        if on_time[j] >= 0.0:
            x[valve + j] = 0.0
    return status


@kernel
def run(
    net: Network,
    table: GasTable,
    ctl: Controller,
    mode: int,
    target: float,
    noise: bool,
    seed: int,
    first: int,
    command_at: int,
    x: Floats,
    totals: Floats,
    memory: Floats,
    size: float,
    tolerance: float,
    out: Floats,
) -> tuple[int, int, int]:
    """Advance x, totals and memory in place by out.shape[0] controller samples, recording into out.

    first, command_at: sample numbers of the start and of the present command. target: Pa abs. out [k, n + g + 1]: pressures
    of the volumes, gauge readings, drive, each at the start of its sample. size scales the box, tolerance (Pa) bounds the
    error of a step. Returns status, samples done, maps built.
    """
    n, v = net.node_par.shape[0], net.valve_lag.shape[0]
    nx, na = x.shape[0], totals.shape[0]
    valve, period, strain, ends = nx - 1 - v, ctl.period, net.node_strain, net.edge_int
    gauge, pace = valve - net.gauge_node.shape[0], 1.0 / net.valve_lag
    gas = np.zeros((n + net.bound.shape[0], GAS_COLUMNS))
    gas[:, T] = net.room[0]
    boundary_states(net, gas)
    m, box = new_map(nx, na, v), new_box(n, v, ends.shape[0])
    jac, tot, work = np.zeros((nx, nx)), np.zeros((na, nx)), np.zeros((11, nx + na))
    d, ahead, nought, dp, z = np.zeros(nx), np.zeros(nx), np.zeros(nx), np.zeros(n), np.zeros(nx + v + 1)
    command, on_time = np.zeros(v), np.zeros(v)
    servo_on = 1.0 if mode == CONTROL and ctl.kind == 1 else 0.0
    mapped, lived, built, calm, h, trust = False, 0, 0, True, period, TRUST
    for k in range(out.shape[0]):
        sample = first + k
        t = sample * period
        if net.room[2] != 0.0:
            room = room_temperature(net.room, t)
            slope = (room_temperature(net.room, t + period) - room) / period
        else:
            room, slope = net.room[0] + net.room[1] * t, net.room[1]
        if mapped:
            for i in range(nx):
                x[i] = m.x0[i] + d[i]
        sensed = x[gauge + ctl.index[0]] if ctl.index[0] >= 0 else 0.0
        u = commands(
            ctl, mode, target, (sample - command_at) * period, t, noise, seed, sample, sensed, memory, command, on_time
        )
        pulsed = False
        for j in range(v):
            pulsed = pulsed or on_time[j] > 0.0
        done = False
        for attempt in range(2):  # on the map there is, else on one made here, where the old one was merely outgrown
            if not mapped:
                x[nx - 1] = room
                for i in range(n):
                    dp[i] = gas[i, P] + pressure_of(gas, strain, d, i)
                if not gas_states(net, table, x, gas):
                    return LEFT_TABLE, k, built
                if attempt == 1:
                    trust = _trust(trust, gas, dp, JUMP * size * ctl.scale[1])
                set_box(net, table, ctl, x, gas, size * trust, box)
                if calm and not pulsed and command_inside(pace, x, command, box):
                    build_map(net, table, x, command, servo_on, period, gas, m)
                    d[:] = 0.0
                    lived, mapped = 0, True
                    built += 1
            if attempt == 0:
                _record(gas, strain, gauge, m.x0 if mapped else x, d if mapped else nought, u, out[k])
            if not mapped:
                break
            for j in range(nx):
                z[j] = d[j]
            for j in range(v):
                z[nx + j] = (command[j] - m.x0[valve + j]) * pace[j]
            z[nx + v] = slope
            apply_map(m.columns, z, m.still, ahead)
            kept = not pulsed and command_inside(pace, m.x0, command, box)
            if kept and state_inside(gas, strain, ends, ahead, box, dp):
                for j in range(nx):
                    m.sums[j] += d[j]
                for j in range(v + 1):
                    m.forces[valve + j] += z[nx + j]
                d, ahead = ahead, d
                lived += 1
                done = True
                break
            close_map(m, totals, lived, v, period)
            mapped, calm = False, lived >= LIVES
            if not calm or not kept:
                break
        if done:
            continue
        d[:] = x
        if pulsed:
            status = _pulses(
                net, table, x, totals, command, on_time, slope, servo_on, period, tolerance, gas, work, jac, tot
            )
        else:
            status, h = stretch(
                net, table, x, totals, command, slope, servo_on, period, tolerance, h, gas, work, jac, tot
            )
        if status != OK:
            return status, k, built
        for i in range(nx):
            d[i] = LIVES * (x[i] - d[i])
        calm = state_inside(gas, strain, ends, d, box, dp)
    if mapped:
        x[:] = m.x0 + d
        close_map(m, totals, lived, v, period)
    return OK, out.shape[0], built
