"""Small networks for engine tests, put together by hand so that the engine is tested without the bench file's door."""

from __future__ import annotations

import numpy as np

from simcal.engine import elimination, simulate
from simcal.engine.arrays import Controller, Network
from simcal.physics import flow, gas
from simcal.tables.gas import GasTable, load

ROOM_K, ROOM_PA = 293.15, 101325.0


def boundary(table: GasTable, p: float, T: float = ROOM_K) -> list[float]:
    """A boundary row: pressure, temperature, enthalpy, Z, viscosity, C*."""
    rho = gas.density(table, p, T)
    viscosity, _, c_star = gas.transport(table, rho, T)
    return [p, T, gas.enthalpy(table, rho, T), p / (rho * table.r * T), viscosity, c_star]


def network(
    table: GasTable,
    capacities: list[float],
    edges: list[tuple],
    boundaries: list[float],
    *,
    films: list[list[float]] | None = None,
    wall_heat: list[float] | float = 200.0,
    room_link: list[float] | float = 0.3,
    gauges: list[tuple[int, float]] = (),
    valve_lags: list[float] = (),
    room: tuple[float, ...] = (ROOM_K, 0.0, 0.0, 600.0, 0.0),
    strains: dict[int, tuple[float, float, float, float]] | None = None,
) -> Network:
    """A network: capacities m3; edges (from, to, law, valve or -1, parameters); boundaries Pa; gauges (node, lag s)."""
    n = len(capacities)
    node_par = np.zeros((n, 7))
    node_par[:, 0] = capacities
    node_par[:, 1] = wall_heat
    node_par[:, 2] = room_link
    node_strain = np.full(n, -1, np.int64)
    for count, (i, values) in enumerate((strains or {}).items()):
        node_par[i, 3:7] = values
        node_strain[i] = 3 * n + 2 * count
    node_film = np.zeros((n, 8))
    for i, row in enumerate(films or [[0, 0.01, 0.02, 1.0, 5.0]] * n):
        node_film[i, : len(row)] = row
    edge_par = np.zeros((len(edges), flow.PARAMETERS))
    for k, edge in enumerate(edges):
        edge_par[k, : len(edge) - 4] = edge[4:]
    net = Network(
        node_par, node_film, node_strain, np.array([boundary(table, p) for p in boundaries]),
        np.array([edge[:4] for edge in edges], np.int64).reshape(-1, 4), edge_par,
        np.array([g[0] for g in gauges], np.int64), np.array([g[1] for g in gauges], float),
        np.array(valve_lags, float), np.array(room, float), *(np.zeros(0, np.int64),) * 3,
    )  # fmt: skip
    return elimination.with_plan(net)


def pid(
    valves: int,
    gauge: int = 0,
    *,
    gains=(50.0, 1.0, 0.01, 0.02, 0.5),
    full_scale=2e6,
    period=0.01,
    noise=0.0,
    weight=1.0,
    inlet=0,
    outlet=1,
    vent=-1,
    drive=None,
    pulse=(0.0, 0.0, 0.0, 0.0),
) -> Controller:
    """A sampled PID on an inlet and an outlet valve."""
    g = np.zeros(10)
    g[:5], g[5], g[6] = gains, period, weight
    base = np.zeros((3, valves))
    if vent >= 0:
        base[2, vent] = 1.0
    return Controller(
        0, period, np.array([ROOM_PA, full_scale, noise, 0.0, 0.0, 0.0]), g, np.zeros(8) if drive is None else drive,
        np.zeros(6), np.array([gauge, inlet, outlet, vent, -1], np.int64), base, np.array(pulse), 1.0,
    )  # fmt: skip


def system(
    net: Network, table: GasTable, controller: Controller, start: float | np.ndarray = ROOM_PA
) -> simulate.System:
    """A system whose parts are named by their numbers."""
    n = net.node_par.shape[0]
    names = simulate.Names(
        {str(i): i for i in range(n)},
        {str(i): i for i in range(len(net.gauge_node))},
        {str(i): i for i in range(len(net.valve_lag))},
        {str(i): i for i in range(len(net.edge_int))},
        {str(i): n + i for i in range(len(net.bound))},
    )
    return simulate.System(net, table, controller, names, np.broadcast_to(start, (n,)).astype(float))


def yardstick(nodes: int = 2, table: GasTable | None = None, noise: float = 0.0, **options) -> simulate.System:
    """The two-volume loop that speed and accuracy are measured on, or the same with its test volume cut into parts."""
    table = table or load("nitrogen")
    rest = nodes - 1
    length = 1.0 / rest
    edges = [(nodes, 0, flow.ISO, 0, 1e-10, 0.3), (0, nodes + 1, flow.ISO, 1, 3e-10, 0.3)]
    edges += [(i, i + 1, flow.TUBE, -1, 0.002, length, 1.5e-6) for i in range(rest)]
    edges += [(rest, nodes + 1, flow.LAMINAR, -1, 1.3e-18 * 17.6e-6)]
    net = network(
        table,
        [20e-6] + [100e-6 / rest] * rest,
        edges,
        [1.2 * 2e6 + ROOM_PA, ROOM_PA],
        films=[[0, 0.05, 0.02, 1.0, 1.0]] + [[0, 0.12 / rest, 0.04, 1.0, 1.0]] * rest,
        wall_heat=[200.0] + [140.0 / rest] * rest,
        room_link=[0.3] + [0.3 / rest] * rest,
        gauges=[(0, 0.01)],
        valve_lags=[0.005, 0.005],
    )
    return system(net, table, pid(2, noise=noise, **options))
