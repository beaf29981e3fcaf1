"""Where the one-sample map may be used: a box around its point of linearisation.

Bounded are the pressures, the gas temperatures and their differences from the wall (the film's coefficient follows
them), the openings (flow is opening times a function of pressure), and the pressure differences along edges whose
flow is not straight in them. All of it scales with one size, which the self-check halves.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import FROM, LAW, TO, VALVE, Controller, Floats, Ints, Network
from simcal.engine.plant import MU, P_E, P_M, P_U, T_E, T_M, T_U, P, T, Z
from simcal.jit import kernel
from simcal.physics.flow import HOLE, ISO, KV, TUBE
from simcal.physics.heat import JET_BORE
from simcal.tables.gas import GasTable

SPAN = 1e-3
"""of full scale"""
PRESSURE = 2e-3
"""of the absolute pressure"""
KELVIN, KELVIN_LEAST = 0.5, 0.01
FILM = 0.1
"""of the difference between gas and wall"""
OPENING = 0.003
DIFFERENCE = 0.1
"""of the pressure difference along an edge"""
STRAIGHT = 0.002
"""of the upstream pressure, within which a throat's flow is straight in the difference"""
LAMINAR = 1000.0
"""Reynolds number up to which a tube's flow is straight in the difference"""
FAINT = 1.0
"""the same where a tube blows into a volume whose film minds the jet: below it the jet counts for nothing"""


class Box(NamedTuple):
    """Half-widths: pressure [n] Pa, kelvin [n] K (also of gas minus wall), opening [v], difference [e] Pa."""

    pressure: Floats
    kelvin: Floats
    opening: Floats
    difference: Floats


@kernel
def new_box(nodes: int, valves: int, edges: int) -> Box:
    """An empty box."""
    return Box(np.zeros(nodes), np.zeros(nodes), np.zeros(valves), np.zeros(edges))


@kernel
def straight_difference(net: Network, table: GasTable, gas: Floats, k: int) -> float:
    """Pressure difference (Pa) within which the flow of edge k is straight in it; inf where it always is nearly so."""
    law = net.edge_int[k, LAW]
    up, down = net.edge_int[k, FROM], net.edge_int[k, TO]
    if gas[down, P] > gas[up, P]:
        up, down = down, up
    row = gas[up]
    if law == TUBE:
        bore, length = net.edge_par[k, 0], net.edge_par[k, 1]
        blown = down < net.node_film.shape[0] and net.node_film[down, JET_BORE] > 0.0
        # Hagen-Poiseuille at that Reynolds number
        return (
            32.0
            * (FAINT if blown else LAMINAR)
            * row[MU] ** 2
            * length
            * row[Z]
            * table.r
            * row[T]
            / (row[P] * bore**3)
        )
    if law in (ISO, KV, HOLE):
        return STRAIGHT * row[P]
    return math.inf


@kernel
def set_box(net: Network, table: GasTable, ctl: Controller, x: Floats, gas: Floats, size: float, box: Box) -> None:
    """The box around x, scaled by `size`."""
    n = net.node_par.shape[0]
    valve = x.shape[0] - 1 - net.valve_lag.shape[0]
    for i in range(n):
        box.pressure[i] = size * min(SPAN * ctl.scale[1], PRESSURE * gas[i, P])
        apart = abs(x[2 * n + i] - gas[i, T])
        box.kelvin[i] = size * max(KELVIN_LEAST, min(KELVIN, FILM * apart))
    for j in range(net.valve_lag.shape[0]):
        box.opening[j] = size * OPENING
    if ctl.index[4] >= 0:
        box.opening[ctl.index[4]] = math.inf  # the servo's flow is linear in its command
    for k in range(net.edge_int.shape[0]):
        j = net.edge_int[k, VALVE]
        if j >= 0 and x[valve + j] == 0.0:
            box.difference[k] = math.inf
            continue
        now = abs(gas[net.edge_int[k, FROM], P] - gas[net.edge_int[k, TO], P])
        box.difference[k] = size * max(DIFFERENCE * now, straight_difference(net, table, gas, k))


@kernel
def pressure_of(gas: Floats, strain: Ints, d: Floats, i: int) -> float:
    """Change of pressure (Pa) of volume i for a small deviation d [states]; strain [n] as in `arrays`."""
    n, s = strain.shape[0], strain[i]
    dp = gas[i, P_M] * d[i] + gas[i, P_U] * d[n + i]
    if s >= 0:
        dp += gas[i, P_E] * (d[s] + d[s + 1])
    return dp


@kernel
def temperature_of(gas: Floats, strain: Ints, d: Floats, i: int) -> float:
    """Change of gas temperature (K) of volume i for a small deviation d [states]; strain [n] as in `arrays`."""
    n, s = strain.shape[0], strain[i]
    dt = gas[i, T_M] * d[i] + gas[i, T_U] * d[n + i]
    if s >= 0:
        dt += gas[i, T_E] * (d[s] + d[s + 1])
    return dt


@kernel
def state_inside(gas: Floats, strain: Ints, ends: Ints, d: Floats, box: Box, dp: Floats) -> bool:
    """Whether the deviation d [states] stays in the box; ends [e, 4] are the edges, dp [n] takes the pressures' changes."""
    n, v = strain.shape[0], box.opening.shape[0]
    valve = d.shape[0] - 1 - v
    for j in range(v):
        if abs(d[valve + j]) > box.opening[j]:
            return False
    for i in range(n):
        dp[i] = pressure_of(gas, strain, d, i)
        dt = temperature_of(gas, strain, d, i)
        if abs(dp[i]) > box.pressure[i] or abs(dt) > box.kelvin[i] or abs(d[2 * n + i] - dt) > box.kelvin[i]:
            return False
    for k in range(ends.shape[0]):
        a, b = ends[k, 0], ends[k, 1]
        change = (dp[a] if a < n else 0.0) - (dp[b] if b < n else 0.0)
        if abs(change) > box.difference[k]:
            return False
    return True


@kernel
def command_inside(pace: Floats, x0: Floats, command: Floats, box: Box) -> bool:
    """Whether openings that follow their commands at `pace` [v] (1/s; nought: set) stay in the box around x0."""
    valve = x0.shape[0] - 1 - command.shape[0]
    for j in range(command.shape[0]):
        if pace[j] > 0.0 and abs(command[j] - x0[valve + j]) > box.opening[j]:
            return False
    return True
