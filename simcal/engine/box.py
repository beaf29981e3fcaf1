"""Where the one-sample map may be used: a box around its point of linearisation.

Bounded are the pressures, the gas temperatures and their differences from the wall (the film's coefficient follows
them), the openings (flow is opening times a function of pressure), and the pressure differences along edges whose
flow is not straight in them. All of it scales with one size, which the self-check halves.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from simcal.engine.arrays import FROM, LAW, TO, VALVE, Controller, Floats, Indices, Ints, Network
from simcal.engine.plant import CSTAR, MU, P_E, P_M, P_U, T_E, T_M, T_U, P, T, Z
from simcal.jit import inlined, kernel
from simcal.physics.flow import HOLE, ISO, KV, SERVO, TUBE, Upstream, edge_flow
from simcal.physics.heat import FIXED, JET_BORE, KIND
from simcal.tables.gas import GasTable

SPAN = 5e-4
"""of full scale"""
PRESSURE = 2e-3
"""of the absolute pressure"""
KELVIN, KELVIN_LEAST = 0.5, 0.03
FILM = 0.15
"""of the difference between gas and wall"""
OPENING = 0.003
DIFFERENCE = 0.1
"""of the pressure difference along an edge"""
STRAIGHT = 0.002
"""of the upstream pressure, within which a throat's flow is straight in the difference"""
JET = 0.1
"""of an opening whose jet a film minds"""
LAMINAR = 1000.0
"""Reynolds number up to which a tube's flow is straight in the difference"""
FAINT = 1.0
"""the same where a tube blows into a volume whose film minds the jet: below it the jet counts for nothing"""


class Box(NamedTuple):
    """Half-widths: pressure [n] Pa, kelvin [n] K (also of gas minus wall), opening [v], difference [e] Pa.

    pairs [e, 2]: the volumes at the ends of the edges, n for any boundary. at [n, 7]: pressure at the point of
    linearisation, its slopes with mass, energy and strain, then those of temperature; dp [n + 1]: changes of pressure
    at the last look, the last one nought for the boundaries.
    """

    pressure: Floats
    kelvin: Floats
    opening: Floats
    difference: Floats
    pairs: Indices
    at: Floats
    dp: Floats


def new_box(net: Network) -> Box:
    """Room for a box."""
    n = net.node_par.shape[0]
    valves, edges = net.valve_lag.shape[0], net.edge_int.shape[0]
    pairs = np.minimum(net.edge_int[:, [FROM, TO]], n).astype(np.uint64)
    return Box(np.zeros(n), np.zeros(n), np.zeros(valves), np.zeros(edges), pairs, np.zeros((n, 7)), np.zeros(n + 1))


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
def faint_opening(net: Network, table: GasTable, gas: Floats, k: int) -> float:
    """Opening of edge k below which its jet counts for nothing in the film that minds it; inf where none does."""
    up, down = net.edge_int[k, FROM], net.edge_int[k, TO]
    if gas[down, P] > gas[up, P]:
        up, down = down, up
    if down >= net.node_film.shape[0]:
        return math.inf
    bore = net.node_film[down, JET_BORE]
    if bore <= 0.0 or net.node_film[down, KIND] == FIXED:
        return math.inf
    row = gas[up]
    state = Upstream(table.r, row[Z], row[MU], table.gamma0, row[CSTAR], table.molar_mass)
    full, _, _, _ = edge_flow(net.edge_int[k, LAW], row[P], gas[down, P], row[T], state, net.edge_par[k])
    return 0.25 * FAINT * math.pi * bore * gas[down, MU] / max(full, 1e-300)


@kernel
def set_box(net: Network, table: GasTable, ctl: Controller, x: Floats, gas: Floats, size: float, box: Box) -> None:
    """The box around x, scaled by `size`."""
    n = net.node_par.shape[0]
    valve = x.shape[0] - 1 - net.valve_lag.shape[0]
    for i in range(n):
        box.pressure[i] = size * min(SPAN * ctl.scale[1], PRESSURE * gas[i, P])
        apart = abs(x[2 * n + i] - gas[i, T])
        box.kelvin[i] = size * max(KELVIN_LEAST, min(KELVIN, FILM * apart))
        row = gas[i]
        at = box.at[i]
        at[0], at[1], at[2], at[3] = row[P], row[P_M], row[P_U], row[P_E]
        at[4], at[5], at[6] = row[T_M], row[T_U], row[T_E]
    for j in range(net.valve_lag.shape[0]):
        box.opening[j] = size * OPENING
    if ctl.index[4] >= 0:
        box.opening[ctl.index[4]] = math.inf  # the servo's flow is linear in its command
    for k in range(net.edge_int.shape[0]):
        j = net.edge_int[k, VALVE]
        if j >= 0 and net.edge_int[k, LAW] != SERVO:
            faint = max(JET * x[valve + j], faint_opening(net, table, gas, k))
            box.opening[j] = min(box.opening[j], size * faint)
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


@inlined
def state_inside(
    at: Floats,
    strain: Ints,
    pairs: Indices,
    d: Floats,
    energy: Floats,
    wall: Floats,
    pressure: Floats,
    kelvin: Floats,
    difference: Floats,
    dp: Floats,
) -> bool:
    """Whether the deviation d of the volumes' states stays in the box; energy, wall: parts of d; others see `Box`."""
    inside = True
    for i in range(strain.shape[0]):
        change = at[i, 1] * d[i] + at[i, 2] * energy[i]
        warming = at[i, 4] * d[i] + at[i, 5] * energy[i]
        s = strain[i]
        if s >= 0:
            change += at[i, 3] * (d[s] + d[s + 1])
            warming += at[i, 6] * (d[s] + d[s + 1])
        dp[i] = change
        if not (abs(change) <= pressure[i] and abs(warming) <= kelvin[i]):
            inside = False
        if not abs(wall[i] - warming) <= kelvin[i]:
            inside = False
    for k in range(difference.shape[0]):
        if not abs(dp[pairs[k, 0]] - dp[pairs[k, 1]]) <= difference[k]:
            inside = False
    return inside
