"""What the derivatives of `plant` hold fixed and the one-sample map wants: jets, and the gas's slow properties.

A step does without, for sparser elimination: the Rosenbrock method keeps its order either way.
"""

from __future__ import annotations

from simcal.engine.arrays import CAPACITY, FROM, LAW, TO, VALVE, WALL_HEAT, Floats, Network
from simcal.engine.plant import (
    COND,
    CSTAR,
    CV,
    JET,
    MU,
    P_RHO,
    P_T,
    RHO,
    T_E,
    T_M,
    T_U,
    H,
    P,
    T,
    Z,
    add_column,
    film_of,
)  # fmt: skip
from simcal.jit import kernel, merged
from simcal.physics.flow import SERVO, Upstream, edge_flow
from simcal.physics.gas import properties, transport
from simcal.physics.heat import FIXED, JET_BORE, KIND
from simcal.tables.gas import GasTable

SLOW_STEP = 1e-5
"""relative step of the differences that stand for the slopes of flows and films with the slow properties"""
JET_STEP = 1e-4
"""relative step of the difference that stands for the film's slope with its jet"""


@merged
def add_jets(net: Network, x: Floats, gas: Floats, rate: Floats, jac: Floats, tot: Floats) -> None:
    """Add to the derivatives how a jet's film follows its flow, which couples a wall to the neighbouring volumes.

    Only the one-sample map wants it: it lives while a jet dies away. A step does without, for sparser elimination.
    """
    n = net.node_par.shape[0]
    for i in range(n):
        jet = gas[i, JET]
        # a jet below a millionth of a Reynolds number is none, and would end in a quotient of noughts
        faint = 1e-6 * gas[i, MU] * net.node_film[i, JET_BORE]
        if jet <= faint or net.node_film[i, JET_BORE] <= 0.0 or net.node_film[i, KIND] == FIXED:
            continue
        d = x[2 * n + i] - gas[i, T]
        more, _ = film_of(gas[i], d, jet * (1.0 + JET_STEP), net.node_film[i])
        less, _ = film_of(gas[i], d, jet * (1.0 - JET_STEP), net.node_film[i])
        per_flow = d * (more - less) / (2.0 * JET_STEP * jet)
        inverse = 1.0 / net.node_par[i, WALL_HEAT]
        for k in range(net.edge_int.shape[0]):
            sign = 0.0
            if net.edge_int[k, TO] == i and rate[k] > 0.0:
                sign = 1.0
            elif net.edge_int[k, FROM] == i and rate[k] < 0.0:
                sign = -1.0
            if sign != 0.0:
                for c in range(x.shape[0]):
                    change = per_flow * sign * tot[k, c]
                    jac[n + i, c] += change
                    jac[2 * n + i, c] -= change * inverse


@kernel
def _slow_row(table: GasTable, rho: float, t: float, row: Floats) -> None:
    """What flows and films take from the gas at a density (kg/m3) and temperature (K), pressure apart."""
    p, p_rho, p_t, _, _, cv = properties(table, rho, t)
    row[T], row[RHO], row[Z] = t, rho, p / (rho * table.r * t)
    row[MU], row[COND], row[CSTAR] = transport(table, rho, t)
    row[CV], row[P_T], row[P_RHO] = cv, p_t, p_rho


@merged
def _slow_edge(
    net: Network, table: GasTable, x: Floats, gas: Floats, moved: Floats, k: int, up: int, down: int
) -> float:
    """Change of the mass flow of edge k (from its first to its second node) with the gas of `moved` upstream."""
    opening = 1.0
    if net.edge_int[k, VALVE] >= 0:
        opening = x[x.shape[0] - 1 - net.valve_lag.shape[0] + net.edge_int[k, VALVE]]
    row, other, law = gas[up], moved[up], net.edge_int[k, LAW]
    state = Upstream(table.r, row[Z], row[MU], table.gamma0, row[CSTAR], table.molar_mass)
    less, _, _, _ = edge_flow(law, row[P], gas[down, P], row[T], state, net.edge_par[k])
    state = Upstream(table.r, other[Z], other[MU], table.gamma0, other[CSTAR], table.molar_mass)
    more, _, _, _ = edge_flow(law, row[P], gas[down, P], row[T], state, net.edge_par[k])
    return opening * (more - less) * (1.0 if net.edge_int[k, FROM] == up else -1.0)


@kernel
def _slow_share(net: Network, x: Floats, row: Floats, i: int, by_density: bool, column: int) -> float:
    """Relative change of density or temperature of volume i with its mass (column 0), energy (1), a strain (2, 3)."""
    if by_density:
        if column == 0:
            return 1.0 / x[i]
        return 0.0 if column == 1 else -net.node_par[i, CAPACITY] * row[RHO] / x[i]
    return row[T_M if column == 0 else (T_U if column == 1 else T_E)] / row[T]


@merged
def add_slow(
    net: Network, table: GasTable, x: Floats, gas: Floats, moved: Floats, rate: Floats, jac: Floats, tot: Floats
) -> None:
    """Add to the derivatives what the slow properties of the gas do: Z, viscosity, C*, and those of the films.

    Only the one-sample map wants it, like `add_jets`. moved: another gas scratch, left with the volumes displaced.
    """
    n, e = net.node_par.shape[0], net.edge_int.shape[0]
    for which in range(2):
        by_density = which == 1
        for i in range(n):
            rho, t = gas[i, RHO], gas[i, T]
            if by_density:
                _slow_row(table, rho * (1.0 + SLOW_STEP), t, moved[i])
            else:
                _slow_row(table, rho, t * (1.0 + SLOW_STEP), moved[i])
        for k in range(e):
            a, b = net.edge_int[k, FROM], net.edge_int[k, TO]
            up, down = (a, b) if rate[k] > 0.0 else (b, a)
            if rate[k] == 0.0 or up >= n or net.edge_int[k, LAW] == SERVO:
                continue
            change = _slow_edge(net, table, x, gas, moved, k, up, down) / SLOW_STEP
            for column in range(4 if net.node_strain[up] >= 0 else 2):
                c = column * n + up if column < 2 else net.node_strain[up] + column - 2
                dm = change * _slow_share(net, x, gas[up], up, by_density, column)
                add_column(jac, tot, c, a, b, n, k, e, dm, dm * gas[up, H])
        for i in range(n):
            d, inverse = x[2 * n + i] - gas[i, T], 1.0 / net.node_par[i, WALL_HEAT]
            less, _ = film_of(gas[i], d, gas[i, JET], net.node_film[i])
            more, _ = film_of(moved[i], d, gas[i, JET], net.node_film[i])
            for column in range(4 if net.node_strain[i] >= 0 else 2):
                c = column * n + i if column < 2 else net.node_strain[i] + column - 2
                heat = d * (more - less) / SLOW_STEP * _slow_share(net, x, gas[i], i, by_density, column)
                jac[n + i, c] += heat
                jac[2 * n + i, c] -= heat * inverse
