"""Flow through short restrictions: ISO 6358 element, control valve by its Kv, hole.

All three have the form m = c p_up F(x) / sqrt(T_up), with x = 1 - p_down/p_up the pressure drop fraction. The
published F starts like sqrt(x), whose slope at equal pressure is infinite. Below x = START it is replaced by
the odd cubic a x + b x^3 that meets F in value and slope: flow creeps laminar there, and the slope stays
finite. Above START every law is the published one to rounding.
"""

from __future__ import annotations

import math

from simcal.jit import kernel
from simcal.physics.upstream import Floats, Upstream

START = 0.01
"""Reach of the laminar start [-]: pressure drop fraction below which F is the cubic."""

DENSITY_REFERENCE = 1.185
"""Density of air in the reference atmosphere [kg/m3]: 100 kPa, 293.15 K, 65 % humidity (ISO 6358-1:2013)."""

TEMPERATURE_REFERENCE = 293.15
"""Temperature of the reference atmosphere of ISO 6358-1:2013 [K]."""

MOLAR_MASS_AIR = 0.02896546
"""Molar mass of dry air [kg/mol] (Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331)."""

CRITICAL_FLOW_AIR = 0.6847314563772704
"""Critical flow factor of ideal air, sqrt(1.4 (2/2.4)^6) [-]."""

IEC_N9 = 24.6
"""Constant N9 of IEC 60534-2-1 for kPa, K, g/mol, and m3/h at 273.15 K and 101.325 kPa, as the standard
rounds it."""

MOLAR_VOLUME_NORMAL = 8.314462618 * 273.15 / 101325.0
"""Molar volume of an ideal gas at 273.15 K and 101325 Pa [m3/mol]."""

IEC_MASS_FLOW = IEC_N9 / 3600.0 * 1e-3 / math.sqrt(1e3) / MOLAR_VOLUME_NORMAL
"""The same constant for m [kg/s] = IEC_MASS_FLOW Kv p [Pa] Y sqrt(x M [kg/mol] / (T Z)), Kv in m3/h."""


@kernel
def laminar_start(x: float, value: float, slope: float) -> tuple[float, float]:
    """Return (F, dF/dx) of the cubic that leaves zero and meets `value` and `slope` at x = START.

    x: pressure drop fraction [-], -START..START
    value: F at START [-]
    slope: dF/dx at START [-]
    """
    t = x / START
    rise = slope * START
    linear = 0.5 * (3.0 * value - rise)
    cubic = 0.5 * (rise - value)
    return t * (linear + cubic * t * t), (linear + 3.0 * cubic * t * t) / START


@kernel
def through(
    p_up: float, p_down: float, T_up: float, c: float, share: float, slope: float
) -> tuple[float, float, float, float]:
    """Return (m, dm/dp_up, dm/dp_down, dm/dT_up) of m = c p_up F(x) / sqrt(T_up).

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa]
    T_up: upstream temperature [K]
    c: coefficient [kg sqrt(K)/(s Pa)]
    share: F(x) [-]
    slope: dF/dx [-]
    """
    k = c / math.sqrt(T_up)
    m = k * p_up * share
    return m, k * (share + slope * p_down / p_up), -k * slope, -0.5 * m / T_up


@kernel
def ellipse(x: float, b: float) -> tuple[float, float]:
    """Return (F, dF/dx), F = sqrt(1 - ((r - b)/(1 - b))^2) with r = 1 - x, and 1 when choked (r <= b).

    x: pressure drop fraction [-]
    b: critical pressure ratio [-], 0 <= b < 1
    """
    y = x / (1.0 - b)
    if y >= 1.0:
        return 1.0, 0.0
    share = math.sqrt(y * (2.0 - y))
    return share, (1.0 - y) / (share * (1.0 - b))


@kernel
def iso(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow of an ISO 6358 element and its derivatives.

    m = C p_up rho0 sqrt(T0/T_up) F(x) g; g = (c_star/psi_air) sqrt(M/M_air) is 1 for ideal air: C is stated
    for air, another gas scales by its own critical flow factor and molar mass through the same throat, b
    stays.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [C m3/(s Pa), b -]
    Range: any pressures; laminar start below 1 - p_down/p_up = START.
    Source: ISO 6358-1:2013 (formula and reference atmosphere); other gases from one-dimensional choked flow.
    """
    x = (p_up - p_down) / p_up
    if x < START:
        value, rise = ellipse(START, a[1])
        share, slope = laminar_start(x, value, rise)
    else:
        share, slope = ellipse(x, a[1])
    other_gas = gas.c_star / CRITICAL_FLOW_AIR * math.sqrt(gas.molar_mass / MOLAR_MASS_AIR)
    c = a[0] * DENSITY_REFERENCE * math.sqrt(TEMPERATURE_REFERENCE) * other_gas
    return through(p_up, p_down, T_up, c, share, slope)


@kernel
def expansion(x: float, choked_at: float) -> tuple[float, float]:
    """Return (F, dF/dx), F = Y sqrt(x) with Y = 1 - x/(3 choked_at) and x held at `choked_at` when choked.

    x: pressure drop fraction [-]
    choked_at: Fg xT, pressure drop fraction at which the valve chokes [-]
    """
    if x >= choked_at:
        return 2.0 / 3.0 * math.sqrt(choked_at), 0.0
    root = math.sqrt(x)
    return (1.0 - x / (3.0 * choked_at)) * root, 0.5 * (1.0 - x / choked_at) / root


@kernel
def kv(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow of a control valve of given Kv and its derivatives, without fittings.

    m = IEC_MASS_FLOW Kv p_up Y sqrt(x M/(T_up Z)), Y = 1 - x/(3 Fg xT), Fg = gamma/1.4, choked at x = Fg xT.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [Kv m3/h, xT -]
    Range: turbulent flow, gamma 1.08..1.67; laminar start below 1 - p_down/p_up = START.
    Source: IEC 60534-2-1:2011, gas sizing equations with N9 = 24.6.
    """
    x = (p_up - p_down) / p_up
    choked_at = gas.gamma / 1.4 * a[1]
    if x < START:
        value, rise = expansion(START, choked_at)
        share, slope = laminar_start(x, value, rise)
    else:
        share, slope = expansion(x, choked_at)
    c = IEC_MASS_FLOW * a[0] * math.sqrt(gas.molar_mass / gas.z)
    return through(p_up, p_down, T_up, c, share, slope)


@kernel
def isentropic_square(x: float, gamma: float) -> tuple[float, float]:
    """Return (q, dq/dx), q the square of isentropic mass flow relative to its choked value [-].

    q = psi^2(r)/psi*^2, psi^2 = 2 g/(g-1) (r^(2/g) - r^((g+1)/g)), r = 1 - x, psi*^2 = g
    (2/(g+1))^((g+1)/(g-1)); q = 1 at and below the critical ratio r* = (2/(g+1))^(g/(g-1)). Written with
    log1p and expm1: exact to rounding however small x is.

    x: pressure drop fraction [-], 0..1
    gamma: ratio of heat capacities [-], > 1
    Source: any text on gas dynamics, e.g. Shapiro, Compressible Fluid Flow I (1953), chapter 4.
    """
    throat_temperature = 2.0 / (gamma + 1.0)
    throat_density = throat_temperature ** (1.0 / (gamma - 1.0))
    if 1.0 - x <= throat_density * throat_temperature:
        return 1.0, 0.0
    lead = 2.0 / ((gamma - 1.0) * throat_density * throat_density * throat_temperature)
    log_r = math.log1p(-x)
    density_square = math.exp(2.0 / gamma * log_r)
    q = -lead * density_square * math.expm1((gamma - 1.0) / gamma * log_r)
    slope = (gamma + 1.0) / gamma * math.sqrt(density_square) - 2.0 / gamma * density_square / (1.0 - x)
    return q, lead * slope


@kernel
def isentropic(x: float, gamma: float) -> tuple[float, float]:
    """Return (F, dF/dx), F isentropic mass flow relative to choked [-].

    x: pressure drop fraction [-], > 0
    gamma: ratio of heat capacities [-], > 1
    """
    q, slope = isentropic_square(x, gamma)
    share = math.sqrt(q)
    return share, 0.5 * slope / share


@kernel
def hole(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow of a sharp hole or nozzle and its derivatives.

    m = Cd A c_star p_up F(x) / sqrt(r T_up), F the isentropic share of choked flow with the dilute gamma;
    c_star carries the real gas.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [Cd A m2]
    Range: any pressures; laminar start below 1 - p_down/p_up = START.
    Source: isentropic nozzle flow; ISO 9300 for the critical flow factor.
    """
    x = (p_up - p_down) / p_up
    if x < START:
        value, rise = isentropic(START, gas.gamma)
        share, slope = laminar_start(x, value, rise)
    else:
        share, slope = isentropic(x, gas.gamma)
    c = a[0] * gas.c_star / math.sqrt(gas.r)
    return through(p_up, p_down, T_up, c, share, slope)
