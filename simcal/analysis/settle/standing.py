"""The share of the pressure difference between port and reference that the flow of standing leaks makes.

Every path between two volumes passes m = G dp at the state of the window. The leaks' flows alone are put on this
linear network: held, the control node takes up the sum; isolated, every volume of a connected part gives in
proportion to the gas it stores per pressure, V d(rho)/dp.
"""

import numpy as np
from numpy.typing import NDArray

from simcal.engine.arrays import CAPACITY, FROM, LAW, TO, VALVE
from simcal.engine.simulate import State, System, pressures, temperatures
from simcal.physics.flow import REGULATOR, SERVO, edge_flow
from simcal.physics.gas import properties
from simcal.physics.stated import upstream

Floats = NDArray[np.float64]

CLOSE = 1e-6
"""relative pressure difference below which the slope of the law stands for its quotient"""


def connected(count: int, links: list[tuple[int, int, float]]) -> list[list[int]]:
    """Parts of the network that gas can pass between; links (a, b, G) with G > 0."""
    part = list(range(count))
    for a, b, _ in links:
        old, new = part[b], part[a]
        part = [new if p == old else p for p in part]
    return [[i for i in range(count) if part[i] == p] for p in sorted(set(part))]


def differences(
    count: int, links: list[tuple[int, int, float]], taken: Floats, stored: Floats, ground: int | None
) -> Floats:
    """Pressure of every volume [Pa], within each connected part against its ground or its mean.

    links : (a, b, G), flow from a to b = G (p_a - p_b) [kg/(s Pa)].
    taken : flow that leaks take out of each volume [kg/s].
    stored : gas per pressure of each volume [kg/Pa].
    ground : the volume that is held; None: none is, all volumes give what the leaks take.
    """
    out = np.zeros(count)
    for part in connected(count, links):
        if len(part) == 1:
            continue
        place = {node: i for i, node in enumerate(part)}
        matrix = np.zeros((len(part), len(part)))
        for a, b, g in links:
            if a in place:
                i, j = place[a], place[b]
                matrix[i, i] += g
                matrix[j, j] += g
                matrix[i, j] -= g
                matrix[j, i] -= g
        right = -taken[part]
        if ground in place:
            keep = [i for i, node in enumerate(part) if node != ground]
            solved = np.zeros(len(part))
            solved[keep] = np.linalg.solve(matrix[np.ix_(keep, keep)], right[keep])
        else:
            right = right - stored[part] / stored[part].sum() * right.sum()
            solved = np.linalg.lstsq(matrix, right, rcond=None)[0]
        out[part] = solved
    return out


def paths(system: System, state: State) -> list[tuple[int, int, float]]:
    """Open paths between volumes at a state, leaks aside, as (a, b, G [kg/(s Pa)])."""
    net, size = system.net, system.sizes
    p, t = pressures(system, state), temperatures(system, state)
    found = []
    for k in sorted(set(range(size.edges)) - set(leak_edges(system))):
        a, b = int(net.edge_int[k, FROM]), int(net.edge_int[k, TO])
        law, valve = int(net.edge_int[k, LAW]), int(net.edge_int[k, VALVE])
        if a >= size.nodes or b >= size.nodes or law in (SERVO, REGULATOR):
            continue
        opening = state.x[size.valve + valve] if valve >= 0 else 1.0
        if opening <= 1e-9:
            continue
        high, low = (a, b) if p[a] >= p[b] else (b, a)
        gas = upstream(system.table, float(p[high]), float(t[high]))
        m, slope, _, _ = edge_flow(law, float(p[high]), float(p[low]), float(t[high]), gas, net.edge_par[k])
        gap = float(p[high] - p[low])
        conductance = opening * (m / gap if gap > CLOSE * p[high] else slope)
        if conductance > 0.0:
            found.append((a, b, float(conductance)))
    return found


def stored_per_pressure(system: System, state: State) -> Floats:
    """V d(rho)/dp of every volume at constant temperature, kg/Pa."""
    size = system.sizes
    t = temperatures(system, state)
    capacity = system.net.node_par[:, CAPACITY]
    density = state.x[: size.nodes] / capacity
    slope = [properties(system.table, float(density[i]), float(t[i]))[1] for i in range(size.nodes)]
    return np.asarray(capacity / np.array(slope))


def leak_edges(system: System) -> list[int]:
    """Paths that stand open and lose gas: plain leaks, seats and seals."""
    return [k for name, k in system.names.edge.items() if name.split(".")[0] in ("leak", "seat", "seal")]


def leak_rise(system: System, state: State, flows: Floats, ground: int | None) -> Floats:
    """Pressures [n, Pa] that the standing leaks alone make along the paths; differences between volumes count.

    flows : mass flow of every edge, mean of the window [kg/s].
    ground : the volume that is held, None when the valves are shut.
    """
    net, size = system.net, system.sizes
    taken = np.zeros(size.nodes)
    for k in leak_edges(system):
        a, b = int(net.edge_int[k, FROM]), int(net.edge_int[k, TO])
        if a < size.nodes:
            taken[a] += flows[k]
        if b < size.nodes:
            taken[b] -= flows[k]
    if not taken.any():
        return np.zeros(size.nodes)
    stored = stored_per_pressure(system, state)
    return differences(size.nodes, paths(system, state), taken, stored, ground)
