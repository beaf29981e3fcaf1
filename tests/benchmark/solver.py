"""The yardstick for a general solver: a plain right-hand side in Python, LSODA restarted at every controller sample.

Two right-hand sides: `Real` calls the engine's own laws of gas and flow and so gives the engine's trace; `Ideal` is the
cheapest that one might write, ideal nitrogen and formulas in plain numbers.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from simcal.engine import simulate
from simcal.engine.arrays import B_CSTAR, B_ENTHALPY, B_PRESSURE, B_TEMPERATURE, B_VISCOSITY, B_Z
from simcal.physics.flow import ISO, LAMINAR, TUBE, Upstream, edge_flow
from simcal.physics.gas import properties, temperature, transport

PERIOD, RTOL = 0.01, 1e-8  # an error of some 1e-8 of full scale, like the engine's
SUPPLY, ROOM = 0, 1
States = list[float]
Rates = Callable[[float, States, float, float], list[float]]


def balances(x: States, flows: tuple[float, ...], heats: tuple[float, float], energies: tuple[float, ...], p0: float,
             inlet: float, outlet: float) -> list[float]:  # fmt: skip
    """Rates of two masses, two energies, two walls, gauge and two openings from the flows into, out, along, leak."""
    into, out, along, leak = flows
    carried_in, carried_out, carried, leaked = energies
    return [
        into - out - along,
        along - leak,
        carried_in - carried_out - carried + heats[0],
        carried - leaked + heats[1],
        (0.3 * (293.15 - x[4]) - heats[0]) / 200.0,
        (0.3 * (293.15 - x[5]) - heats[1]) / 140.0,
        (p0 - x[6]) / 0.01,
        (inlet - x[7]) / 0.005,
        (outlet - x[8]) / 0.005,
    ]


class Real:
    """The engine's laws, called one by one."""

    def __init__(self, system: simulate.System) -> None:
        self.table, self.net = system.table, system.net
        columns = system.net.bound[:, [B_PRESSURE, B_TEMPERATURE, B_ENTHALPY, B_Z, B_VISCOSITY, B_CSTAR]]
        self.ends = [(*row[:3], self._gas(*row[3:])) for row in columns]  # p, T, h, gas
        self.guess = [293.15, 293.15]

    def _gas(self, z: float, viscosity: float, c_star: float) -> Upstream:
        return Upstream(self.table.r, z, viscosity, self.table.gamma0, c_star, self.table.molar_mass)

    def volume(self, i: int, m: float, energy: float) -> tuple[float, float, float, Upstream]:
        """Pressure, temperature, enthalpy and gas of volume i."""
        rho, u = m / self.net.node_par[i, 0], energy / m
        t = self.guess[i] = temperature(self.table, rho, u, self.guess[i])
        p = properties(self.table, rho, t)[0]
        viscosity, _, c_star = transport(self.table, rho, t)
        return p, t, u + p / rho, self._gas(p / (rho * self.table.r * t), viscosity, c_star)

    def flow(self, law: int, edge: int, a: tuple, b: tuple) -> tuple[float, float]:
        """Mass and enthalpy that pass from a to b."""
        up, down, sign = (a, b, 1.0) if a[0] >= b[0] else (b, a, -1.0)
        m = sign * edge_flow(law, up[0], down[0], up[1], up[3], self.net.edge_par[edge])[0]
        return m, m * up[2]

    def __call__(self, _t: float, x: States, inlet: float, outlet: float) -> list[float]:
        a, b = self.volume(0, x[0], x[2]), self.volume(1, x[1], x[3])
        into, out = self.flow(ISO, 0, self.ends[SUPPLY], a), self.flow(ISO, 1, a, self.ends[ROOM])
        along, leak = self.flow(TUBE, 2, a, b), self.flow(LAMINAR, 3, b, self.ends[ROOM])
        flows = (x[7] * into[0], x[8] * out[0], along[0], leak[0])
        energies = (x[7] * into[1], x[8] * out[1], along[1], leak[1])
        return balances(x, flows, (0.05 * (x[4] - a[1]), 0.12 * (x[5] - b[1])), energies, a[0], inlet, outlet)


class Ideal:
    """Ideal nitrogen; the tube laminar, in series with its entrance."""

    R, CV, CP, GAMMA = 296.8039, 2.5 * 296.8039, 3.5 * 296.8039, 1.4
    OTHER_GAS = math.sqrt(0.0280134 / 0.02896546)
    SUPPLY_PA, ROOM_PA = 1.2 * 2e6 + 101325.0, 101325.0

    def throat(self, conductance: float, up: float, down: float, t: float) -> float:
        """ISO 6358 element with b = 0.3, kg/s."""
        x = max(1.0 - down / up, 0.0)
        y = min(x / 0.7, 1.0)
        share = math.sqrt(y * (2.0 - y)) if x >= 0.01 else x / 0.01 * 0.168
        return conductance * up * 1.185 * math.sqrt(293.15 / t) * share * self.OTHER_GAS

    def tube(self, p0: float, p1: float, t0: float, t1: float) -> float:
        """2 mm by 1 m from volume 0 to 1, kg/s."""
        up, down, t, sign = (p0, p1, t0, 1.0) if p0 >= p1 else (p1, p0, t1, -1.0)
        m = math.pi * 0.002**4 / (256.0 * 17.6e-6 * self.R) * (up * up - down * down) / t
        r = max(down / up, 0.5283)
        psi = math.sqrt(7.0 * max(r ** (2.0 / 1.4) - r ** (2.4 / 1.4), 0.0))
        nozzle = 0.25 * math.pi * 0.002**2 * up / math.sqrt(self.R * t) * psi
        return sign * m / math.sqrt(1.0 + (m / nozzle) ** 2) if nozzle > 0.0 else 0.0

    def __call__(self, _t: float, x: States, inlet: float, outlet: float) -> list[float]:
        t0, t1 = x[2] / (x[0] * self.CV), x[3] / (x[1] * self.CV)
        p0, p1 = x[0] * self.R * t0 / 20e-6, x[1] * self.R * t1 / 100e-6
        into = x[7] * self.throat(1e-10, self.SUPPLY_PA, p0, 293.15)
        out = x[8] * self.throat(3e-10, p0, self.ROOM_PA, t0)
        along, leak = self.tube(p0, p1, t0, t1), 1.3e-18 * (p1 * p1 - self.ROOM_PA**2) / t1
        warm = t0 if along >= 0.0 else t1
        energies = (into * self.CP * 293.15, out * self.CP * t0, along * self.CP * warm, leak * self.CP * t1)
        heats = (0.05 * (x[4] - t0), 0.12 * (x[5] - t1))
        return balances(x, (into, out, along, leak), heats, energies, p0, inlet, outlet)


@dataclass(frozen=True)
class Solved:
    """Gauge at every sample (Pa), seconds of computing spent by then."""

    gauge: np.ndarray
    spent: np.ndarray


def solve(rates: Rates, system: simulate.System, target: float, seconds: float) -> Solved:
    """From the system's rest to `target` (Pa abs), the yardstick's controller without noise."""
    x = simulate.begin(system).x[:-1].tolist()
    if isinstance(rates, Ideal):
        for i, volume in enumerate((20e-6, 100e-6)):
            x[i] = rates.ROOM_PA * volume / (rates.R * 293.15)
            x[2 + i] = x[i] * rates.CV * 293.15
    zero, full = system.controller.scale[:2]
    kp, ti, td, lag, track = system.controller.gains[:5]
    atol = RTOL * np.maximum(np.abs(x), 1e-3)
    integral = derivative = last = 0.0
    count = round(seconds / PERIOD)
    gauge, spent = np.empty(count), np.empty(count)
    started = time.process_time()
    for k in range(count):
        gauge[k], spent[k] = x[6], time.process_time() - started
        y = (x[6] - zero) / full
        error = (target - zero) / full - y
        derivative += PERIOD / (lag + PERIOD) * (-(y - last) / PERIOD - derivative)
        last = y
        v = kp * (error + td * derivative) + integral
        u = min(max(v, -1.0), 1.0)
        integral += PERIOD * (kp / ti * error + (u - v) / track)
        arguments = (max(u, 0.0), max(-u, 0.0))
        x = solve_ivp(rates, (0.0, PERIOD), x, method="LSODA", rtol=RTOL, atol=atol, args=arguments).y[:, -1]
    return Solved(gauge, spent)
