"""Independent re-implementation, shares nothing with simcal/: gas properties by CoolProp on a grid of our own.

Even grid in density and in temperature, properties p/(rho T), u, viscosity, conductivity and C*; between its points the
cubic through the four nearest in each direction. CoolProp is asked for every point but C*, which is smooth enough for
a coarse grid and a quintic spline.
"""

from typing import NamedTuple

import CoolProp
import numpy as np
from numba import njit
from scipy.interpolate import RectBivariateSpline
from scipy.optimize import minimize_scalar

MOLAR_GAS_CONSTANT = 8.314462618  # J/(mol K), CODATA 2018; the library counts with older values for some gases


class Gas(NamedTuple):
    """r J/(kg K); molar_mass kg/mol; gamma of the dilute gas at 293.15 K; the grid; values [5, rho, T]."""

    r: float
    molar_mass: float
    gamma: float
    rho0: float
    drho: float
    T0: float
    dT: float
    values: np.ndarray


def tabulate(fluid: str, rho_high: float, T_low: float, T_high: float, n_rho: int = 60, n_T: int = 300) -> Gas:
    """The gas between density nought and rho_high (kg/m3) and between two temperatures (K)."""
    state = CoolProp.AbstractState("HEOS", fluid)
    state.specify_phase(CoolProp.iphase_gas)
    rho = np.linspace(1e-6, rho_high, n_rho)
    T = np.linspace(T_low, T_high, n_T)
    values = np.empty((5, n_rho, n_T))
    for i, density in enumerate(rho):
        for j, kelvin in enumerate(T):
            state.update(CoolProp.DmassT_INPUTS, density, kelvin)
            values[0, i, j] = state.p() / (density * kelvin)
            values[1, i, j] = state.umass()
            values[2, i, j] = state.viscosity()
            values[3, i, j] = state.conductivity()
    values[4] = _critical_flow_grid(fluid, rho, T)
    state.update(CoolProp.DmassT_INPUTS, 1e-6, 293.15)
    gamma = state.cpmass() / state.cvmass()
    mass = state.molar_mass()
    r = MOLAR_GAS_CONSTANT / mass
    return Gas(r, mass, gamma, rho[0], rho[1] - rho[0], T[0], T[1] - T[0], values)


def _critical_flow_grid(fluid: str, rho: np.ndarray, T: np.ndarray) -> np.ndarray:
    few_rho = np.linspace(rho[0], rho[-1], 7)
    few_T = np.linspace(T[0], T[-1], 9)
    few = [[critical_flow(fluid, a, b) for b in few_T] for a in few_rho]
    return RectBivariateSpline(few_rho, few_T, few, kx=5, ky=5)(rho, T)


def critical_flow(fluid: str, rho: float, T: float) -> float:
    """C* = G sqrt(r T)/p with G the largest mass flux on the isentrope from rest, kg/(s m2) (ISO 9300's definition)."""
    state = CoolProp.AbstractState("HEOS", fluid)
    state.update(CoolProp.DmassT_INPUTS, rho, T)
    p, h, s = state.p(), state.hmass(), state.smass()

    def flux(ratio: float) -> float:
        state.update(CoolProp.PSmass_INPUTS, ratio * p, s)
        return -state.rhomass() * np.sqrt(2.0 * (h - state.hmass()))

    best = minimize_scalar(flux, bounds=(0.4, 0.65), method="bounded", options={"xatol": 1e-7})
    r = MOLAR_GAS_CONSTANT / state.molar_mass()
    return -best.fun * np.sqrt(r * T) / p


@njit
def _weights(x, w, d):
    """Values and slopes of the four cubics that are 1 at one of the points -1, 0, 1, 2 and 0 at the others."""
    w[0] = -x * (x - 1.0) * (x - 2.0) / 6.0
    w[1] = (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0
    w[2] = -(x + 1.0) * x * (x - 2.0) / 2.0
    w[3] = (x + 1.0) * x * (x - 1.0) / 6.0
    d[0] = -(3.0 * x * x - 6.0 * x + 2.0) / 6.0
    d[1] = (3.0 * x * x - 4.0 * x - 1.0) / 2.0
    d[2] = -(3.0 * x * x - 2.0 * x - 2.0) / 2.0
    d[3] = (3.0 * x * x - 1.0) / 6.0


@njit
def look_up(gas, rho, T, out):
    """Into out: p, dp/drho, dp/dT, u, du/drho, du/dT, viscosity, conductivity, C*; outside the grid NaN."""
    a, b = (rho - gas.rho0) / gas.drho, (T - gas.T0) / gas.dT
    n, m = gas.values.shape[1], gas.values.shape[2]
    if not (-0.5 <= a <= n - 1.0 and 0.0 <= b <= m - 1.0):
        out[:] = np.nan
        return
    i, j = min(max(int(a), 1), n - 3), min(max(int(b), 1), m - 3)
    w, d, v, e = np.empty(4), np.empty(4), np.empty(4), np.empty(4)
    _weights(a - i, w, d)
    _weights(b - j, v, e)
    for k in range(5):
        value, along_rho, along_T = 0.0, 0.0, 0.0
        for s in range(4):
            row, slope = 0.0, 0.0
            for t in range(4):
                g = gas.values[k, i - 1 + s, j - 1 + t]
                row += v[t] * g
                slope += e[t] * g
            value += w[s] * row
            along_rho += d[s] * row
            along_T += w[s] * slope
        if k == 0:
            out[0] = rho * T * value
            out[1] = T * (value + rho * along_rho / gas.drho)
            out[2] = rho * (value + T * along_T / gas.dT)
        elif k == 1:
            out[3], out[4], out[5] = value, along_rho / gas.drho, along_T / gas.dT
        else:
            out[4 + k] = value


def density(gas: Gas, p: float, T: float) -> float:
    """Density (kg/m3) at p (Pa) and T (K), by Newton's rule."""
    out, rho = np.empty(9), p / (gas.r * T)
    for _ in range(30):
        look_up(gas, rho, T, out)
        rho -= (out[0] - p) / out[1]
    return rho
