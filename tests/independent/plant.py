"""Independent re-implementation, shares nothing with simcal/: a bench in plain numbers and its differential equations.

State: density, gas temperature and wall temperature of every vessel, then the reading of every gauge. Valve openings
are known functions of time between two samples.
"""

import math
from dataclasses import dataclass

import numpy as np
from numba import njit

from tests.independent.flow import ISO, flow
from tests.independent.gas import Gas, density, look_up
from tests.independent.heat import film, sealed_cylinder_roots, still_air


@dataclass(frozen=True)
class Vessel:
    """Gas m3; wall area m2 and bore m; wall J/K; link to the room W/K; film factor; fixed film W/(m2 K) or 0; jet m."""

    volume: float
    area: float
    bore: float
    wall: float
    link: float
    factor: float = 1.0
    film: float = 0.0
    jet: float = 0.0


def cylinder(
    volume: float, bore: float, thickness: float, metal: tuple[float, float], outside: float | None = None, **more
) -> Vessel:
    """A closed tube of a metal (kg/m3, J/(kg K)); outside W/(m2 K), else still air, 20 degC, the body 1 K warmer."""
    length = volume / (math.pi / 4.0 * bore**2)
    wide = bore + 2.0 * thickness
    long = length + 2.0 * thickness
    if outside is None:
        outside = still_air(wide, 294.15, 293.15)
    metal_volume = math.pi / 4.0 * (wide**2 * long - bore**2 * length)
    return Vessel(
        volume,
        math.pi * bore * (length + bore / 2.0),
        bore,
        metal_volume * metal[0] * metal[1],
        outside * math.pi * wide * (long + wide / 2.0),
        **more,
    )


def iso_bore(C: float) -> float:
    """Throat (m) whose ideal choked air flow is that of the conductance C."""
    return math.sqrt(4.0 / math.pi * C * 1.185 * math.sqrt(287.05 * 293.15) / 0.6847)


@dataclass(frozen=True)
class Edge:
    """A path from `a` to `b`: vessels by index, boundaries by name; valve: index of the opening that scales it."""

    a: int | str
    b: int | str
    law: int
    numbers: tuple[float, ...]
    valve: int | None = None


@dataclass(frozen=True)
class Pid:
    """Gains of the sampled PID; zero and span of its scale Pa; weight of the setpoint."""

    kp: float
    ti: float
    td: float
    filter: float
    track: float
    zero: float
    span: float
    weight: float = 1.0


@dataclass(frozen=True)
class Plant:
    """The bench: gauges (vessel, lag s); valve_lags s; boundaries (Pa, K); start Pa; room K at t = 0, ramp K/s."""

    gas: Gas
    vessels: list[Vessel]
    edges: list[Edge]
    boundaries: dict[str, tuple[float, float]]
    gauges: list[tuple[int, float]]
    valve_lags: list[float]
    pid: Pid
    period: float
    start: float
    room: float = 293.15
    ramp: float = 0.0

    def packed(self) -> tuple:
        """What `rates` takes besides time, state and openings."""
        names = list(self.boundaries)
        n = len(self.vessels)

        def end(which):
            return which if isinstance(which, int) else n + names.index(which)

        out, bound = np.empty(9), []
        for p, T in self.boundaries.values():
            rho = density(self.gas, p, T)
            look_up(self.gas, rho, T, out)
            bound.append([p, T, out[3] + p / rho, p / (rho * self.gas.r * T), out[6], out[8]])
        paths = [[end(e.a), end(e.b), e.law, -1 if e.valve is None else e.valve] for e in self.edges]
        numbers = np.zeros((len(self.edges), 4))
        for row, edge in zip(numbers, self.edges, strict=True):
            row[: len(edge.numbers)] = edge.numbers
        vessels = [[v.volume, v.area, v.bore, v.wall, v.link, v.factor, v.film, v.jet] for v in self.vessels]
        return (
            self.gas,
            sealed_cylinder_roots(),
            np.array(vessels),
            np.array(bound),
            np.array(paths, np.int64),
            numbers,
            np.array([g[0] for g in self.gauges], np.int64),
            np.array([g[1] for g in self.gauges]),
        )

    def at_rest(self) -> np.ndarray:
        """All vessels at the start pressure and the room's temperature."""
        rho = density(self.gas, self.start, self.room)
        n = len(self.vessels)
        return np.concatenate([np.full(n, rho), np.full(2 * n, self.room), np.full(len(self.gauges), self.start)])


def valve(a: int | str, b: int | str, C: float, ratio: float, index: int) -> Edge:
    """An ISO 6358 valve."""
    return Edge(a, b, ISO, (C, ratio), index)


@njit
def pressures(gas, y, n):
    out, p = np.empty(9), np.empty(n)
    for i in range(n):
        look_up(gas, y[i], y[n + i], out)
        p[i] = out[0]
    return p


@njit
def rates(
    t, y, begun, wanted, lags, since, room, ramp, gas, roots, vessels, bound, paths, numbers, gauge_at, gauge_lag
):
    """dy/dt at clock t (s); openings go from `begun` to `wanted` with `lags` (s) from the clock `since` on.

    m cv dT/dt = sum of enthalpies - (u + rho du/drho) dm/dt + heat from the wall; dm/dt = sum of flows.
    """
    n = vessels.shape[0]
    state = np.empty((n + bound.shape[0], 9))
    at = np.empty((n + bound.shape[0], 6))  # p, T, h, Z, mu, C*
    at[n:] = bound
    for i in range(n):
        look_up(gas, y[i], y[n + i], state[i])
        p = state[i, 0]
        at[i, 0], at[i, 1], at[i, 2] = p, y[n + i], state[i, 3] + p / y[i]
        at[i, 3], at[i, 4], at[i, 5] = p / (y[i] * gas.r * y[n + i]), state[i, 6], state[i, 8]
    mass, energy, inflow = np.zeros(len(at)), np.zeros(len(at)), np.zeros(len(at))
    for k in range(len(paths)):
        a, b = paths[k, 0], paths[k, 1]
        v = paths[k, 3]
        opening = 1.0
        if v >= 0:
            opening = wanted[v] + (begun[v] - wanted[v]) * math.exp(-(t - since) / lags[v])
        up, down = (a, b) if at[a, 0] >= at[b, 0] else (b, a)
        w = at[up]
        m = opening * flow(
            paths[k, 2], w[0], at[down, 0], w[1], w[3], w[4], w[5], gas.r, gas.molar_mass, gas.gamma, numbers[k]
        )
        mass[up] -= m
        mass[down] += m
        energy[up] -= m * w[2]
        energy[down] += m * w[2]
        inflow[down] += m
    f = np.empty(len(y))
    outside = room + ramp * t
    for i in range(n):
        volume, area, bore, wall, link, factor, fixed, jet = vessels[i]
        rho, T, body = y[i], y[n + i], y[2 * n + i]
        _, p_rho, p_T, u, u_rho, cv, mu, k, _ = state[i]
        cp = cv + T * (p_T / rho) ** 2 / p_rho
        G = film(body - T, rho, mu, k, cp, cv, p_T / (rho * p_rho), inflow[i], roots, area, bore, factor, fixed, jet)
        heat = G * (body - T)
        f[i] = mass[i] / volume
        f[n + i] = (energy[i] + heat - (u + rho * u_rho) * mass[i]) / (rho * volume * cv)
        f[2 * n + i] = (link * (outside - body) - heat) / wall
    for j in range(len(gauge_at)):
        f[3 * n + j] = (at[gauge_at[j], 0] - y[3 * n + j]) / gauge_lag[j]
    return f
