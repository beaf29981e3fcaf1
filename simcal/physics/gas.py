"""State of a gas from its table: pressure, energy, their derivatives, and the inverses.

All functions are compiled scalars. A `GasTable` holds bicubic cells in density and s = 1/T; every
derivative below is the derivative of the same cells. Outside the table the nearest cell is continued;
`inside` tells. Units: T [K], rho [kg/m3], p [Pa], u and h [J/kg], viscosity [Pa s], conductivity [W/(m K)].
"""

from __future__ import annotations

import numpy as np

from simcal.jit import inlined, kernel
from simcal.tables.gas import GasTable

_TURNS = 40
_CLOSE = 1e-9  # relative Newton step after which the next would be below rounding


@kernel
def _place(x: float, n: int) -> tuple[int, float]:
    """(cell, position in the cell) of a coordinate counted in cells; the end cells reach on outside."""
    if x >= n - 1:
        i = n - 2
    elif x > 0.0:
        i = int(x)
    else:
        i = 0
    return i, x - i


@kernel
def _value(c: np.ndarray, x: float, y: float) -> float:
    """sum_ab c[a, b] x^a y^b."""
    g0 = c[0, 0] + y * (c[0, 1] + y * (c[0, 2] + y * c[0, 3]))
    g1 = c[1, 0] + y * (c[1, 1] + y * (c[1, 2] + y * c[1, 3]))
    g2 = c[2, 0] + y * (c[2, 1] + y * (c[2, 2] + y * c[2, 3]))
    g3 = c[3, 0] + y * (c[3, 1] + y * (c[3, 2] + y * c[3, 3]))
    return g0 + x * (g1 + x * (g2 + x * g3))


@kernel
def _along(c: np.ndarray, x: float) -> tuple[float, float, float, float]:
    """Coefficients over y of sum_ab c[a, b] x^a y^b at one x."""
    return (
        c[0, 0] + x * (c[1, 0] + x * (c[2, 0] + x * c[3, 0])),
        c[0, 1] + x * (c[1, 1] + x * (c[2, 1] + x * c[3, 1])),
        c[0, 2] + x * (c[1, 2] + x * (c[2, 2] + x * c[3, 2])),
        c[0, 3] + x * (c[1, 3] + x * (c[2, 3] + x * c[3, 3])),
    )


@kernel
def _surface(c: np.ndarray, x: float, y: float) -> tuple[float, float, float]:
    """(value, d/dx, d/dy) of sum_ab c[a, b] x^a y^b."""
    g0 = c[0, 0] + y * (c[0, 1] + y * (c[0, 2] + y * c[0, 3]))
    g1 = c[1, 0] + y * (c[1, 1] + y * (c[1, 2] + y * c[1, 3]))
    g2 = c[2, 0] + y * (c[2, 1] + y * (c[2, 2] + y * c[2, 3]))
    g3 = c[3, 0] + y * (c[3, 1] + y * (c[3, 2] + y * c[3, 3]))
    k0 = c[0, 1] + y * (2.0 * c[0, 2] + 3.0 * y * c[0, 3])
    k1 = c[1, 1] + y * (2.0 * c[1, 2] + 3.0 * y * c[1, 3])
    k2 = c[2, 1] + y * (2.0 * c[2, 2] + 3.0 * y * c[2, 3])
    k3 = c[3, 1] + y * (2.0 * c[3, 2] + 3.0 * y * c[3, 3])
    value = g0 + x * (g1 + x * (g2 + x * g3))
    d_x = g1 + x * (2.0 * g2 + 3.0 * x * g3)
    d_y = k0 + x * (k1 + x * (k2 + x * k3))
    return value, d_x, d_y


@inlined
def properties(t: GasTable, rho: float, T: float) -> tuple[float, float, float, float, float, float]:
    """(p, dp/drho at T, dp/dT at rho, u, du/drho at T, du/dT at rho) at density rho and temperature T.

    p = rho r T Z [Pa]; u [J/kg]; du/dT is cv [J/(kg K)]. Right in the limit rho -> 0. Continued outside the
    table.

    Args:
        t: gas table [-].
        rho: density [kg/m3].
        T: temperature [K].
    """
    s = 1.0 / T
    i, x = _place((rho - t.rho0) / t.drho, t.n_rho)
    j, y = _place((s - t.s0) / t.ds, t.n_s)
    z, z_x, z_y = _surface(t.coef[i, j, 0], x, y)
    w, w_x, w_y = _surface(t.coef[i, j, 1], x, y)  # u / T
    rT = t.r * T
    dp_drho = rT * (z + rho * z_x / t.drho)
    dp_dT = rho * t.r * (z - s * z_y / t.ds)
    return rho * rT * z, dp_drho, dp_dT, w * T, w_x / t.drho * T, w - s * w_y / t.ds


@kernel
def enthalpy(t: GasTable, rho: float, T: float) -> float:
    """Specific enthalpy u + p/rho [J/kg], written u + Z r T so that it holds at rho = 0.

    Args:
        t: gas table [-].
        rho: density [kg/m3].
        T: temperature [K].
    """
    i, x = _place((rho - t.rho0) / t.drho, t.n_rho)
    j, y = _place((1.0 / T - t.s0) / t.ds, t.n_s)
    return (_value(t.coef[i, j, 1], x, y) + _value(t.coef[i, j, 0], x, y) * t.r) * T


@inlined
def transport(t: GasTable, rho: float, T: float) -> tuple[float, float, float]:
    """(viscosity [Pa s], conductivity [W/(m K)], critical flow factor C* [-]) at rho, T; C* with it at rest.

    Args:
        t: gas table [-].
        rho: density [kg/m3].
        T: temperature [K].
    Range: within 2e-5 of the reference library, but 2e-3 beside a kink of its equations (conductivity of
    nitrogen, air and argon near twice the critical temperature, viscosity of helium near 300 K); C* 1e-7.
    """
    i, x = _place((rho - t.rho0) / t.drho, t.n_rho)
    j, y = _place((1.0 / T - t.s0) / t.ds, t.n_s)
    viscosity = _value(t.coef[i, j, 2], x, y)
    conductivity = _value(t.coef[i, j, 3], x, y)
    return viscosity, conductivity, _value(t.coef[i, j, 4], x, y)


@kernel
def inside(t: GasTable, rho: float, T: float) -> bool:
    """True when density and temperature lie in the table's range (NaN does not).

    Args:
        t: gas table [-].
        rho: density [kg/m3].
        T: temperature [K].
    """
    return t.rho0 <= rho <= t.rho_max and t.T_min <= T <= t.T_max


@kernel
def temperature(t: GasTable, rho: float, u: float, T_guess: float) -> float:
    """Temperature [K] at density rho and internal energy u; NaN when it lies outside the table.

    Newton's rule kept inside the table; u rises with T, so leaving on the same side twice means there is no
    answer.

    Args:
        t: gas table [-].
        rho: density [kg/m3].
        u: internal energy [J/kg].
        T_guess: where to start, any number or NaN [K].
    """
    if not t.rho0 <= rho <= t.rho_max:
        return np.nan
    i, x = _place((rho - t.rho0) / t.drho, t.n_rho)
    T = min(max(T_guess, t.T_min), t.T_max) if T_guess == T_guess else 0.5 * (t.T_min + t.T_max)
    cell, c0, c1, c2, c3 = -1, 0.0, 0.0, 0.0, 0.0
    for _ in range(_TURNS):
        s = 1.0 / T
        j, y = _place((s - t.s0) / t.ds, t.n_s)
        if j != cell:
            cell = j
            c0, c1, c2, c3 = _along(t.coef[i, j, 1], x)
        w, w_y = c0 + y * (c1 + y * (c2 + y * c3)), c1 + y * (2.0 * c2 + 3.0 * y * c3)
        step = (u - w * T) / (w - s * w_y / t.ds)
        T_new = T + step
        if abs(step) <= _CLOSE * T:
            return T_new if t.T_min <= T_new <= t.T_max else np.nan
        T_new = min(max(T_new, t.T_min), t.T_max)
        if T_new == T:
            return np.nan
        T = T_new
    return np.nan


@kernel
def density(t: GasTable, p: float, T: float) -> float:
    """Density [kg/m3] at pressure p and temperature T; NaN when it lies outside the table.

    Newton's rule from the ideal gas, kept inside the table; p rises with density at every tabulated
    temperature.

    Args:
        t: gas table [-].
        p: absolute pressure [Pa].
        T: temperature [K].
    """
    if not (t.T_min <= T <= t.T_max and p >= 0.0):
        return np.nan
    rho = min(p / (t.r * T), t.rho_max)
    for _ in range(_TURNS):
        found, dp_drho, _a, _b, _c, _d = properties(t, rho, T)
        step = (p - found) / dp_drho
        rho_new = rho + step
        if abs(step) <= _CLOSE * rho:
            return rho_new if rho_new <= t.rho_max else np.nan
        rho_new = min(max(rho_new, 0.0), t.rho_max)
        if rho_new == rho:
            return rho if found == p else np.nan
        rho = rho_new
    return np.nan
