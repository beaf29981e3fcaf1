"""Energy that compressed gas would give off in a sudden release: an estimate for planning and teaching."""

from __future__ import annotations

import math
from collections.abc import Iterable

from simcal.physics import gas
from simcal.tables.gas import GasTable

STORED_ENERGY_METHOD = (
    "isentropic expansion of the real gas from the highest pressure to the room's, m (u1 - u2), nothing"
    " subtracted for pushing back the room's air; colder than the gas table it goes on as an ideal gas with"
    " the ratio of heat capacities of the dilute gas, condensation left out: up to 35 MPa up to 12 % low for argon,"
    " which would condense, up to 3 % high for nitrogen and air"
)

_STEP = 0.02  # in ln(rho)


def _slope(t: GasTable, rho: float, T: float) -> tuple[float, float]:
    """(d ln T / d ln rho, d ln p / d ln rho) along the isentrope: dT/drho = T (dp/dT) / (rho^2 cv)."""
    p, dp_drho, dp_dT, _u, _u_rho, cv = gas.properties(t, rho, T)
    rise = dp_dT / (rho * cv)
    return rise, (rho * dp_drho + T * dp_dT * rise) / p


def _step(t: GasTable, rho: float, T: float, h: float) -> float:
    """T [K] after a step h in ln(rho) along the isentrope, classical Runge-Kutta."""
    k1 = _slope(t, rho, T)[0]
    half = rho * math.exp(0.5 * h)
    k2 = _slope(t, half, T * math.exp(0.5 * h * k1))[0]
    k3 = _slope(t, half, T * math.exp(0.5 * h * k2))[0]
    k4 = _slope(t, rho * math.exp(h), T * math.exp(h * k3))[0]
    return T * math.exp(h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4))


def expand(t: GasTable, rho: float, T: float, p_end: float) -> tuple[float, float, bool]:
    """State (rho [kg/m3], T [K]) reached from (rho, T) along the isentrope at p_end, or where it leaves the
    table.

    Args:
        t: gas table [-].
        rho: density at the start [kg/m3].
        T: temperature at the start [K].
        p_end: pressure at the end [Pa], at or below the start's.
    Returns the state and whether p_end was reached inside the table. Integrated in steps of 2 % of density.
    Source: thermodynamic identity dT/drho at constant entropy = T (dp/dT) / (rho^2 cv).
    """
    for _ in range(5000):
        p = gas.properties(t, rho, T)[0]
        wanted = math.log(p_end / p)
        if wanted > -1e-12:
            return rho, T, True
        h = max(-_STEP, wanted / _slope(t, rho, T)[1])
        T_next = _step(t, rho, T, h)
        if T_next < t.T_min:
            return rho, T, False
        rho, T = rho * math.exp(h), T_next
    return rho, T, False


def energy_per_mass(t: GasTable, p: float, T: float, p_room: float) -> float:
    """u1 - u2 [J/kg] of the isentropic expansion from (p, T) to p_room by STORED_ENERGY_METHOD; NaN off the
    table.

    Args:
        t: gas table [-].
        p: pressure at the start [Pa].
        T: temperature at the start [K].
        p_room: pressure at the end [Pa].
    """
    rho = gas.density(t, p, T)
    if math.isnan(rho):
        return math.nan
    u_start = gas.properties(t, rho, T)[3]
    rho_end, T_end, reached = expand(t, rho, T, p_room)
    p_end, _p_rho, _p_T, u_end, _u_rho, _cv = gas.properties(t, rho_end, T_end)
    if reached:
        return u_start - u_end
    cv = t.r / (t.gamma0 - 1.0)
    T_room = T_end * (p_room / p_end) ** ((t.gamma0 - 1.0) / t.gamma0)
    return u_start - u_end + cv * (T_end - T_room)


def stored_energy(t: GasTable, parts: Iterable[tuple[float, float]], p_high: float, p_room: float) -> float:
    """Energy [J] released when volumes filled to p_high expand to the room, by STORED_ENERGY_METHOD.

    Args:
        t: gas table [-].
        parts: (volume [m3], gas temperature [K]) of everything that stands under p_high.
        p_high: highest pressure [Pa], absolute.
        p_room: the room's pressure [Pa], absolute.
    0 when p_high is not above the room's pressure; NaN when the state lies outside the table.
    Range: an estimate for planning and teaching, not a figure of any pressure code. Against an expansion
    that condenses in equilibrium (reference library, from 293 K, up to 35 MPa) it is high by up to 3.3 %
    for nitrogen and air, 0.1 % for helium, and low by up to 12.4 % for argon, which gives off heat as it
    condenses. Sources: first law; the ideal-gas limit is the form of ASME PCC-2 article 5.1 for air and
    nitrogen.
    """
    if p_high <= p_room:
        return 0.0
    total = 0.0
    for volume, T in parts:
        total += gas.density(t, p_high, T) * volume * energy_per_mass(t, p_high, T, p_room)
    return total
