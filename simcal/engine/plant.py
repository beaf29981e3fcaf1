"""What the network does at one state: rates of all states and totals and, where wanted, their derivatives.

Mass and energy leave one volume and enter the next by the same number, so both balance to rounding whatever the
integrator does with it. Derivatives hold the upstream gas's Z, viscosity and C* and the film's properties fixed; the
Rosenbrock method keeps its order with such a Jacobian; the quiet map gets the rest from `slow.py`.
"""

from __future__ import annotations

from simcal.engine.arrays import (
    B_CSTAR,
    B_ENTHALPY,
    B_PRESSURE,
    B_TEMPERATURE,
    B_VISCOSITY,
    B_Z,
    CAPACITY,
    CREEP,
    CREEP_TIME,
    FROM,
    LAW,
    ROOM_LINK,
    STRETCH,
    STRETCH_TIME,
    TO,
    VALVE,
    WALL_HEAT,
    Floats,
    Network,
)
from simcal.jit import inlined, kernel, merged
from simcal.physics.flow import REGULATOR, SERVO, Upstream, edge_flow
from simcal.physics.gas import properties, temperature, transport
from simcal.physics.heat import film
from simcal.tables.gas import GasTable

# columns of the gas scratch [n + b, 21], filled by `gas_states`
(P, T, RHO, H, Z, MU, COND, CSTAR, P_M, P_U, T_M, T_U, H_M, H_U, P_E, T_E, H_E, JET, CV, P_T, P_RHO) = range(21)
GAS_COLUMNS = 21


@inlined
def gas_states(net: Network, table: GasTable, x: Floats, gas: Floats) -> bool:
    """Pressure, temperature and their slopes with mass, energy and strain, into `gas`; False outside the table.

    gas [n + b, 21] also holds the previous temperatures, from which the search starts.
    """
    n = net.node_par.shape[0]
    for i in range(n):
        volume = net.node_par[i, CAPACITY]
        s = net.node_strain[i]
        if s >= 0:
            volume *= 1.0 + x[s] + x[s + 1]
        m, energy = x[i], x[n + i]
        if not m > 0.0:
            return False
        rho, u = m / volume, energy / m
        t = temperature(table, rho, u, gas[i, T])
        if not (table.T_min <= t <= table.T_max and rho <= table.rho_max):
            return False
        p, p_rho, p_t, _, u_rho, u_t = properties(table, rho, t)
        row = gas[i]
        row[P], row[T], row[RHO] = p, t, rho
        row[Z] = p / (rho * table.r * t)
        row[MU], row[COND], row[CSTAR] = transport(table, rho, t)
        row[T_U] = 1.0 / (m * u_t)
        row[T_M] = (-u / m - u_rho / volume) / u_t
        row[P_U] = p_t * row[T_U]
        row[P_M] = p_rho / volume + p_t * row[T_M]
        row[H] = u + p * volume / m
        row[H_U] = 1.0 / m + volume / m * row[P_U]
        row[H_M] = -u / m + volume / m * row[P_M] - p * volume / (m * m)
        if s >= 0:
            per_strain = net.node_par[i, CAPACITY] / volume
            row[T_E] = u_rho * rho * per_strain / u_t
            row[P_E] = -p_rho * rho * per_strain + p_t * row[T_E]
            row[H_E] = (row[P_E] * volume + p * net.node_par[i, CAPACITY]) / m
        row[JET] = 0.0
        row[CV], row[P_T], row[P_RHO] = u_t, p_t, p_rho
    return True


@kernel
def gas_at(net: Network, table: GasTable, x: Floats, gas: Floats) -> bool:
    """`gas_states` as a function of its own, where it is not called in every stage."""
    return gas_states(net, table, x, gas)


@kernel
def boundary_states(net: Network, gas: Floats) -> None:
    """The fixed gas of the boundaries, into the rows after the volumes."""
    n = net.node_par.shape[0]
    for k in range(net.bound.shape[0]):
        row = gas[n + k]
        row[:] = 0.0
        row[P], row[T] = net.bound[k, B_PRESSURE], net.bound[k, B_TEMPERATURE]
        row[H], row[Z] = net.bound[k, B_ENTHALPY], net.bound[k, B_Z]
        row[MU], row[CSTAR] = net.bound[k, B_VISCOSITY], net.bound[k, B_CSTAR]


@kernel
def add_column(jac: Floats, tot: Floats, c: int, a: int, b: int, n: int, k: int, e: int, dm: float, dh: float) -> None:
    """One column of an edge's derivatives into the rows of both ends and of the totals."""
    if a < n:
        jac[a, c] -= dm
        jac[n + a, c] -= dh
    if b < n:
        jac[b, c] += dm
        jac[n + b, c] += dh
    tot[k, c] += dm
    tot[e + k, c] += dh


@merged
def _edge(
    net: Network,
    table: GasTable,
    x: Floats,
    gas: Floats,
    k: int,
    servo_on: float,
    f: Floats,
    rate: Floats,
    jac: Floats,
    tot: Floats,
    want: bool,
) -> None:
    """Flow of edge k with its enthalpy, into the rates and, if `want`, into the derivatives."""
    n, e = net.node_par.shape[0], net.edge_int.shape[0]
    a, b = net.edge_int[k, FROM], net.edge_int[k, TO]
    law, valve = net.edge_int[k, LAW], net.edge_int[k, VALVE]
    first = x.shape[0] - 1 - net.valve_lag.shape[0]
    opening, p_a, scale = 1.0, gas[a, P], 0.0
    if law == SERVO:
        scale = net.edge_par[k, 1]
        p_a = x[first + valve] * scale
        opening = servo_on
    elif valve >= 0:
        opening = x[first + valve]
    p_b = gas[b, P]
    forward = p_a >= p_b
    up, down, sign = (a, b, 1.0) if forward else (b, a, -1.0)
    if opening == 0.0 and not want:
        return
    if law == REGULATOR and not forward:
        return
    row = gas[up]
    state = Upstream(table.r, row[Z], row[MU], table.gamma0, row[CSTAR], table.molar_mass)
    m, d_up, d_down, d_t = edge_flow(law, max(p_a, p_b), min(p_a, p_b), row[T], state, net.edge_par[k])
    flow, h = sign * opening * m, row[H]
    if a < n:
        f[a] -= flow
        f[n + a] -= flow * h
    if b < n:
        f[b] += flow
        f[n + b] += flow * h
    rate[k] = flow
    rate[e + k] = flow * h
    if down < n:
        gas[down, JET] += abs(flow)
    if not want:
        return
    share = sign * opening
    for end in range(2):
        i = up if end == 0 else down
        if i >= n:
            continue
        dp = d_up if end == 0 else d_down
        dt = d_t if end == 0 else 0.0
        dh = flow if end == 0 else 0.0
        g = gas[i]
        dm = share * (dp * g[P_M] + dt * g[T_M])
        add_column(jac, tot, i, a, b, n, k, e, dm, dm * h + dh * g[H_M])
        dm = share * (dp * g[P_U] + dt * g[T_U])
        add_column(jac, tot, n + i, a, b, n, k, e, dm, dm * h + dh * g[H_U])
        s = net.node_strain[i]
        if s >= 0:
            dm = share * (dp * g[P_E] + dt * g[T_E])
            add_column(jac, tot, s, a, b, n, k, e, dm, dm * h + dh * g[H_E])
            add_column(jac, tot, s + 1, a, b, n, k, e, dm, dm * h + dh * g[H_E])
    if valve >= 0:
        dm = sign * m
        if law == SERVO:
            dm = sign * servo_on * (d_up if forward else d_down) * scale
        add_column(jac, tot, first + valve, a, b, n, k, e, dm, dm * h)


@kernel
def film_of(row: Floats, d: float, jet: float, parameters: Floats) -> tuple[float, float]:
    """The film's conductance (W/K) and its slope with d = wall minus gas (K), for the gas in `row` and a jet (kg/s)."""
    t, rho, cv, p_t, p_rho = row[T], row[RHO], row[CV], row[P_T], row[P_RHO]
    cp = cv + t * p_t * p_t / (rho * rho * p_rho)
    return film(d, t, rho, row[MU], row[COND], cp, cv, p_t / (rho * p_rho), jet, parameters)


@merged
def _wall(
    net: Network,
    x: Floats,
    gas: Floats,
    i: int,
    f: Floats,
    rate: Floats,
    jac: Floats,
    tot: Floats,
    want: bool,
) -> None:
    """Heat of volume i: film between gas and wall, link between wall and room."""
    n, e = net.node_par.shape[0], net.edge_int.shape[0]
    w, room = 2 * n + i, x.shape[0] - 1
    row = gas[i]
    d = x[w] - row[T]
    g, dg = film_of(row, d, row[JET], net.node_film[i])
    heat, link = g * d, net.node_par[i, ROOM_LINK]
    outside = link * (x[room] - x[w])
    inverse = 1.0 / net.node_par[i, WALL_HEAT]
    f[n + i] += heat
    f[w] += (outside - heat) * inverse
    rate[2 * e] += outside
    if not want:
        return
    slope = g + d * dg
    jac[n + i, i] -= slope * row[T_M]
    jac[n + i, n + i] -= slope * row[T_U]
    jac[n + i, w] += slope
    jac[w, i] += slope * row[T_M] * inverse
    jac[w, n + i] += slope * row[T_U] * inverse
    jac[w, w] -= (slope + link) * inverse
    jac[w, room] += link * inverse
    tot[2 * e, w] -= link
    tot[2 * e, room] += link
    s = net.node_strain[i]
    if s >= 0:
        for c in (s, s + 1):
            jac[n + i, c] -= slope * row[T_E]
            jac[w, c] += slope * row[T_E] * inverse


@merged
def _hose(
    net: Network,
    x: Floats,
    gas: Floats,
    i: int,
    f: Floats,
    rate: Floats,
    jac: Floats,
    tot: Floats,
    want: bool,
) -> None:
    """Two Kelvin-Voigt elements of a hose wall at volume i, and the work that the gas does on them."""
    n, e = net.node_par.shape[0], net.edge_int.shape[0]
    s = net.node_strain[i]
    row, par = gas[i], net.node_par[i]
    p, p_room = row[P], net.bound[net.bound.shape[0] - 1, B_PRESSURE]
    for j in range(2):
        compliance = par[STRETCH] if j == 0 else par[CREEP]
        lag = par[STRETCH_TIME] if j == 0 else par[CREEP_TIME]
        c = s + j
        speed = (compliance * (p - p_room) - x[c]) / lag
        f[c] += speed
        power = p * par[CAPACITY] * speed
        f[n + i] -= power
        rate[2 * e + 1] += power
        if not want:
            continue
        for column, dp in ((i, row[P_M]), (n + i, row[P_U]), (s, row[P_E]), (s + 1, row[P_E])):
            d_speed = compliance * dp / lag - (1.0 / lag if column == c else 0.0)
            d_power = par[CAPACITY] * (dp * speed + p * d_speed)
            jac[c, column] += d_speed
            jac[n + i, column] -= d_power
            tot[2 * e + 1, column] += d_power


@inlined
def rates(
    net: Network,
    table: GasTable,
    x: Floats,
    command: Floats,
    slope: float,
    servo_on: float,
    gas: Floats,
    f: Floats,
    rate: Floats,
    jac: Floats,
    tot: Floats,
    want: bool,
    known: bool,
) -> bool:
    """Rates `f` [states] and `rate` [totals] at x; if `want`, their derivatives `jac` and `tot` [..., states].

    command [v]: where the openings go; slope: of the room temperature, K/s; servo_on 0 or 1; gas: scratch
    [n + b, 21] whose boundary rows are filled, and if `known` those of the volumes too, at x. False when a volume has
    left the gas table (rates then void).
    """
    n, e = net.node_par.shape[0], net.edge_int.shape[0]
    f[:] = 0.0
    rate[:] = 0.0
    if want:
        jac[:, :] = 0.0
        tot[:, :] = 0.0
    if not known and not gas_states(net, table, x, gas):
        return False
    for k in range(e):
        _edge(net, table, x, gas, k, servo_on, f, rate, jac, tot, want)
    for i in range(n):
        _wall(net, x, gas, i, f, rate, jac, tot, want)
        if net.node_strain[i] >= 0:
            _hose(net, x, gas, i, f, rate, jac, tot, want)
    room = x.shape[0] - 1
    valve = room - net.valve_lag.shape[0]
    gauge = valve - net.gauge_node.shape[0]
    for j in range(net.gauge_node.shape[0]):
        i, inverse = net.gauge_node[j], 1.0 / net.gauge_lag[j]
        f[gauge + j] = (gas[i, P] - x[gauge + j]) * inverse
        if want:
            jac[gauge + j, i] = gas[i, P_M] * inverse
            jac[gauge + j, n + i] = gas[i, P_U] * inverse
            jac[gauge + j, gauge + j] = -inverse
            s = net.node_strain[i]
            if s >= 0:
                jac[gauge + j, s] = jac[gauge + j, s + 1] = gas[i, P_E] * inverse
    for j in range(net.valve_lag.shape[0]):
        inverse = 1.0 / net.valve_lag[j]  # nought for an opening that is set
        f[valve + j] = (command[j] - x[valve + j]) * inverse
        if want:
            jac[valve + j, valve + j] = -inverse
    f[room] = slope
    return True


@kernel
def plant(
    net: Network,
    table: GasTable,
    x: Floats,
    command: Floats,
    slope: float,
    servo_on: float,
    gas: Floats,
    f: Floats,
    rate: Floats,
    jac: Floats,
    tot: Floats,
    want: bool,
) -> bool:
    """`rates` as a function of its own, where it is not called again and again."""
    known = x.shape[0] < 0  # not a literal, for which the compiler would make a second version
    return rates(net, table, x, command, slope, servo_on, gas, f, rate, jac, tot, want, known)
