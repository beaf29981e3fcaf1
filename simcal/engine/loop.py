"""The compiled run under a sampled controller: sample, command, advance by one period, record.

A quiet loop advances by the one-sample map of `quiet` as long as it stays in the `box` around the point of
linearisation; otherwise, or where a map would not live long, by Rosenbrock steps.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import Controller, Floats, Network, sizes
from simcal.engine.between import CAME, FASTEST, Record, arrive, begin_sample
from simcal.engine.box import Box, new_box, pressure_of, set_box, state_inside
from simcal.engine.plant import JET, P, gas_at, gas_states
from simcal.engine.pulsed import pulsed_journey
from simcal.engine.pulses import Pulses, build_pulses, pulsed_only
from simcal.engine.quiet import Map, bend_rows, build_map, carry_rest, close_map, look_ahead, new_map, probe, step_back
from simcal.engine.ride import ENDED, LOOK, OUTGROWN, forcing, ride
from simcal.engine.rosenbrock import Work, new_work
from simcal.engine.sample import CONTROL, Orders, commands, room_slope, room_temperature
from simcal.engine.stretch import LEFT_TABLE, OK, stretch
from simcal.engine.vectors import copy
from simcal.jit import kernel, merged
from simcal.tables.gas import GasTable

LIVES = 8
"""samples that a map must be expected to live, else it is not worth building"""
FINE, FINE_SHARE = 3e-10, 3e-4
"""full scales per s, and share of a pressure's own rate, that a look may find wrong before the next comes sooner"""
NOISE_SHARE, FORGET = 1e-2, 0.9
"""the shares where noise drives the loop; a look takes the largest rate lately, of which this is kept each time"""
SHY = 32
"""samples for which no map is made for pulses after one that did not live long"""
STEP_SHARE = 3e-4
"""of what the fastest pressure changes in a step: the step's error at most"""
SELDOM = 128
"""samples between two looks at most"""
TORN = 3000.0
"""times that: the map is no longer that of this place"""


class Scratch(NamedTuple):
    """What a run works in; command, on_time [v] of the present sample; before [s]; gas at a look; between [n, 6]."""

    work: Work
    map: Map
    box: Box
    command: Floats
    on_time: Floats
    before: Floats
    gas: Floats
    between: Floats


class Carried(NamedTuple):
    """What a run carries on, in place: x [s], totals [a], the controller's memory [11]."""

    x: Floats
    totals: Floats
    memory: Floats


def new_scratch(net: Network) -> Scratch:
    """Room for a run."""
    v, s, work, between = net.valve_lag.shape[0], sizes(net).states, new_work(net), np.zeros((net.node_par.shape[0], 6))
    command, on_time, before, gas = np.zeros(v), np.zeros(v), np.zeros(s), work.gas.copy()
    return Scratch(work, new_map(net), new_box(net), command, on_time, before, gas, between)


@kernel
def _journey(
    net: Network,
    table: GasTable,
    ctl: Controller,
    orders: Orders,
    servo_on: float,
    k: int,
    carried: Carried,
    s: Scratch,
    out: Floats,
) -> tuple[int, int, int]:
    """Ride on the map from row k, looking every few samples at what it leaves out; x ends where the ride does.

    s.work.gas: at x, before and after. Returns the row reached (-1: left the gas table), the samples carried, and why
    it ended, as `ride` does.
    """
    m, gas, n, x = s.map, s.work.gas, net.node_par.shape[0], carried.x
    lived, every, brisk, ahead = 0, 1, 0.0, True
    while True:
        if ahead:
            look_ahead(m, ctl.period)
            since, why = 1, LOOK
        else:
            stop = min(k + every, out.shape[0])
            k, since, why = ride(
                ctl, orders, net.room, net.node_strain, k, stop, m, s.box, carried.memory, s.command, s.on_time, out
            )
            lived += since
            carry_rest(m, carried.totals, since, ctl.period)
        for i in range(x.shape[0]):
            x[i] = m.x0[i] + m.z[i]
        if not gas_at(net, table, x, s.gas):
            return -1, lived, why
        if since > 0 and not ahead:
            bend_rows(net, gas, s.gas, m, since, out[k - since + 1 : k + 1])
        if why != LOOK:
            break
        wrong = probe(net, table, x, s.command, servo_on, gas, s.gas, m, since, ctl.period)
        if ahead:
            step_back(m)
            ahead = False
            continue
        rate = 0.0
        for i in range(n):
            rate = max(rate, abs(pressure_of(gas, net.node_strain, m.seen, i)))
        brisk = max(rate, FORGET * brisk)
        share = NOISE_SHARE * brisk if orders.noise else FINE_SHARE * rate
        fine = orders.size * max(FINE * ctl.scale[1], share) * ctl.period
        if wrong > TORN * fine:
            why = OUTGROWN
            break
        if wrong > fine:
            every = max(every // 2, 1)
        elif wrong < 0.25 * fine:
            every = min(2 * every, SELDOM)
    for i in range(n):
        copy(s.gas[i], gas[i])
        gas[i, JET] = 0.0
    return k, lived, why


@merged
def _sample(
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
    share: float,
    h: float,
    w: Work,
    between: Floats,
) -> tuple[int, float]:
    """One sample in steps; pulsed valves are open for their on-times (s), steps end where a pulse ends.

    w.gas: at x before, not after; the last step has not arrived in `between`.
    """
    valve, now = x.shape[0] - 1 - command.shape[0], 0.0
    begin_sample(w.gas, between)
    while True:
        end = period
        for j in range(command.shape[0]):
            if on_time[j] >= 0.0:
                share = np.inf  # under pulses a bench never comes to rest
                x[valve + j] = 1.0 if on_time[j] > now else 0.0
                if now < on_time[j] < end:
                    end = on_time[j]
        status, h = stretch(net, table, x, totals, command, slope, servo_on, end - now, tolerance, share, h, w, between)
        now = end
        if status != OK or now >= period:
            break
        if not gas_at(net, table, x, w.gas):
            return LEFT_TABLE, h
        arrive(w.gas, between)
    for j in range(command.shape[0]):
        if on_time[j] >= 0.0:
            x[valve + j] = 0.0
    return status, h


@kernel
def run(
    net: Network, table: GasTable, ctl: Controller, orders: Orders, carried: Carried, s: Scratch, record: Record,
    pulses: Pulses | None,
) -> tuple[int, int, int, int]:  # fmt: skip
    """Advance `carried` in place by as many controller samples as `record` has rows, and record them.

    pulses: None where no valve is pulsed; the compiler then leaves out all that rides on maps of pulses.

    A row, [n + g + 1]: pressures of the volumes, gauge readings, drive, each at the start of its sample. Returns
    status, samples done, how many of them in steps, maps built.
    """
    x, totals, memory, out = carried.x, carried.totals, carried.memory, record.rows
    m, box, gas, command, on_time = s.map, s.box, s.work.gas, s.command, s.on_time
    n, v, nx = net.node_par.shape[0], net.valve_lag.shape[0], x.shape[0]
    valve, period, strain, first = nx - 1 - v, ctl.period, net.node_strain, orders.first
    g = net.gauge_node.shape[0]
    gauge = valve - g
    servo_on = 1.0 if orders.mode == CONTROL and ctl.kind == 1 else 0.0
    share = NOISE_SHARE if orders.noise else STEP_SHARE
    built, stepped, calm, known, h = 0, 0, True, False, period
    shy = first - first
    k = first - first  # not a literal 0, for which the compiler would make a version of `ride` of its own
    s.between[0, CAME] = 0.0
    while True:
        x[nx - 1] = room_temperature(net.room, (first + k) * period)
        if not known:  # else a map was outgrown here
            if not gas_states(net, table, x, gas):
                return LEFT_TABLE, k, stepped, built
            if s.between[0, CAME] > 0.0:
                arrive(gas, s.between)
                record.stepped[stepped] = k - 1
                for i in range(n):
                    copy(s.between[i, : FASTEST + 1], record.extremes[stepped, i])
                stepped += 1
            if k == out.shape[0]:
                return OK, k, stepped, built
            sensed = x[gauge + ctl.index[0]] if ctl.index[0] >= 0 else 0.0
            out[k, n + g] = commands(ctl, orders, first + k, sensed, memory, command, on_time)
            for i in range(n):
                out[k, i] = gas[i, P]
            for j in range(g):
                out[k, n + j] = x[gauge + j]
        known = False
        slope = room_slope(net.room, first + k, period)
        set_box(net, table, ctl, x, gas, orders.size, box)
        if calm and forcing(x[valve : nx - 1], m.pace, command, on_time, box.opening, m.forces):
            build_map(net, table, x, command, servo_on, period, gas, s.gas, m)
            forcing(x[valve : nx - 1], m.pace, command, on_time, box.opening, m.forces)
            m.z[nx + v] = slope
            built += 1
            begun = k
            k, lived, why = _journey(net, table, ctl, orders, servo_on, k, carried, s, out)
            close_map(m, totals, lived, period)
            if k < 0:
                return LEFT_TABLE, begun + lived, stepped, built
            known = calm = why == OUTGROWN and lived >= LIVES
            if why == ENDED:
                return OK, k, stepped, built
            if calm:
                continue
        elif pulses is not None:  # noqa: SIM102 - the compiler leaves out no other form
            if calm and k >= shy and pulsed_only(ctl, orders, m.pace, x[valve : nx - 1], command, on_time):
                halvings = build_pulses(net, table, ctl, x, command, orders.size, gas, s.gas, box, pulses)
                shy = k + SHY
                if halvings >= 0:
                    built += 1
                    begun = k
                    k, lived, why, stepped = pulsed_journey(
                        net, table, ctl, orders, halvings, k, x, totals, memory, command, on_time, gas, s.gas, box,
                        pulses, s.between, s.before, record, stepped,
                    )  # fmt: skip
                    if k < 0:
                        return LEFT_TABLE, begun + lived, stepped, built
                    known = calm = why == OUTGROWN and lived >= LIVES
                    shy = k if lived >= LIVES else k + SHY
                    if why == ENDED:
                        return OK, k, stepped, built
                    if calm:
                        continue
        copy(x, s.before)
        status, h = _sample(
            net, table, x, totals, command, on_time, slope, servo_on, period, orders.tolerance, share, h, s.work,
            s.between,
        )  # fmt: skip
        if status != OK:
            return status, k, stepped, built
        for i in range(nx):
            s.before[i] = LIVES * (x[i] - s.before[i])
        calm = state_inside(
            box.at, strain, box.pairs, s.before, s.before[n : 2 * n], s.before[2 * n : 3 * n], box.pressure, box.kelvin,
            box.difference, box.dp,
        )  # fmt: skip
        for j in range(v):
            calm = calm and abs(s.before[valve + j]) <= box.opening[j]
        k += 1
