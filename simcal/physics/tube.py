"""Flow through a tube: one continuous law from molecular to choked flow, without iteration.

Three parts, each explicit in the pressures:
- friction of isothermal gas, from X = Re sqrt(f), which the pressures give directly;
- slip and molecular flow side by side with it;
- the ideal nozzle of the bore in series, in quadrature: it stands for the velocity head taken up at the
  entrance and lost at the exit, and no flow can pass it. Where a line is cut into n pieces, each bears the nth part
  of that one head (`shared_nozzle`).
"""

from __future__ import annotations

import math

from simcal.jit import kernel
from simcal.physics.nozzle import isentropic_square
from simcal.physics.upstream import Floats, Upstream

LAMINAR_END = 2300.0
"""Reynolds number at which laminar flow ends [-]."""

TURBULENT_START = 4000.0
"""Reynolds number above which friction is Colebrook's [-], as near as Haaland's formula places it (2 %)."""

ROUGHEST = 0.03
"""Largest roughness/bore [-]; rougher tubes are taken as this rough: beyond, the transition would not be
monotone."""

LAMINAR_END_X2 = 64.0 * LAMINAR_END
"""(Re sqrt(f))^2 at the end of laminar flow [-]."""


@kernel
def colebrook(x: float, roughness: float) -> tuple[float, float]:
    """Return (Re, dRe/dX) of turbulent flow, explicit in X = Re sqrt(f).

    1/sqrt(f) = -2 log10(e/3.7 + 2.51/X), e roughness/bore.

    x: Re sqrt(f) [-], f the Darcy friction factor
    roughness: roughness/bore [-]
    Source: Colebrook, J. Inst. Civil Engineers 11 (1939) 133.
    """
    shear = 2.51 / x
    inside = roughness / 3.7 + shear
    root = -2.0 * math.log10(inside)
    return x * root, root + 2.0 / math.log(10.0) * shear / inside


@kernel
def turbulent_start(roughness: float) -> float:
    """Return X = Re sqrt(f) where the transition ends: Re = 4000 with f by Haaland's explicit formula.

    roughness: roughness/bore [-]
    Source: Haaland, J. Fluids Engineering 105 (1983) 89.
    """
    root = -1.8 * math.log10((roughness / 3.7) ** 1.11 + 6.9 / TURBULENT_START)
    return TURBULENT_START / root


@kernel
def reynolds_number(x2: float, roughness: float) -> tuple[float, float]:
    """Return (Re, dRe/d(X^2)) of flow through a tube whose pressures give X = Re sqrt(f).

    Laminar f = 64/Re, i.e. Re = X^2/64, up to Re 2300; Colebrook from Re 4000; between them the cubic of ln
    Re over ln X that meets both in value and slope. The transition is our own choice: real flow there is
    unsteady.

    x2: X^2 = (p_up^2 - p_down^2) d^3/(z r T L viscosity^2) [-]
    roughness: roughness/bore [-]
    Range: roughness/bore 0..0.03.
    """
    if x2 <= LAMINAR_END_X2:
        return x2 / 64.0, 1.0 / 64.0
    rough = min(roughness, ROUGHEST)
    x = math.sqrt(x2)
    end = turbulent_start(rough)
    if x >= end:
        re, slope = colebrook(x, rough)
        return re, 0.5 * slope / x
    re_end, slope_end = colebrook(end, rough)
    begin = math.sqrt(LAMINAR_END_X2)
    width = math.log(end / begin)
    rise = math.log(re_end / LAMINAR_END)
    left = 2.0 * width
    right = slope_end * end / re_end * width
    t = math.log(x / begin) / width
    c2 = 3.0 * rise - 2.0 * left - right
    c3 = left + right - 2.0 * rise
    re = LAMINAR_END * math.exp(t * (left + t * (c2 + t * c3)))
    return re, re * (left + t * (2.0 * c2 + t * 3.0 * c3)) / (2.0 * width * x2)


@kernel
def viscous(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow by wall friction alone and its derivatives.

    m = (pi d viscosity/4) Re(X^2).

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa]
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [bore m, length m, roughness m]
    Source: isothermal flow of gas without the term of acceleration, p_up^2 - p_down^2 = z r T (m/A)^2 f L/d.
    """
    mu = gas.viscosity
    per_square = a[0] ** 3 / (mu * mu * gas.z * gas.r * T_up * a[1])
    x2 = per_square * (p_up - p_down) * (p_up + p_down)
    re, slope = reynolds_number(x2, a[2] / a[0])
    k = 0.25 * math.pi * a[0] * mu
    pull = k * slope * per_square
    return k * re, 2.0 * pull * p_up, -2.0 * pull * p_down, -k * slope * x2 / T_up


@kernel
def slip(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow by slip and molecular motion and its derivatives.

    m = Z Cm (p_up - p_down)/(z r T), Cm = d^3/(6 L) sqrt(2 pi r T), Z = (1 + u)/(1 + 1.24 u),
    u = d p/(viscosity sqrt(r T)), p the mean pressure.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa]
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [bore m, length m]
    Range: long tube, L >> d.
    Source: Knudsen, Ann. Phys. 333 (1909) 75.
    """
    root = math.sqrt(gas.r * T_up)
    k = a[0] ** 3 / (6.0 * a[1]) * math.sqrt(2.0 * math.pi) / (gas.z * root)
    per_pressure = 0.5 * a[0] / (gas.viscosity * root)
    u = per_pressure * (p_up + p_down)
    below = 1.0 + 1.24 * u
    share = (1.0 + u) / below
    turn = -0.24 / (below * below)
    drop = p_up - p_down
    change = k * turn * per_pressure * drop
    m = k * share * drop
    return m, k * share + change, -k * share + change, -0.5 * (m + k * turn * u * drop) / T_up


@kernel
def shared_nozzle(q: float, gamma: float, pieces: float) -> tuple[float, float]:
    """Return (s, ds/dq), s the square of a piece's nozzle flow relative to the choked flow of the bore [-].

    1/s^2 = 1/(n q)^2 + 1/k^4 - 1/n^2, k^2 = 1/(1 - psi*^2 (n - 1)/n), psi*^2 = g (2/(g+1))^((g+1)/(g-1)).

    For a small drop s = n q: n pieces in series together cost the head of one nozzle. A choked piece passes k times
    the choked flow at its own upstream pressure, where the pieces before it have already taken up their heads;
    that makes n pieces without friction choke at the flow of the one nozzle (n large: k = 1.37 for g = 1.4).
    Cut into 2 to 65 pieces a line passes within 1.5 % of the whole one while a sixth of the pressure is lost, and up
    to 11 % less when choked; there the whole one lies as much above adiabatic flow (`tube`).

    q: square of isentropic mass flow relative to choked [-], 0..1
    gamma: ratio of heat capacities [-], > 1
    pieces: n [-]; at or below 1 the nozzle is whole, s = q
    Range: any.
    Source: our own choice, so that the flow of a line does not depend on how many pieces it is cut into.
    """
    if pieces <= 1.0:
        return q, 1.0
    throat_temperature = 2.0 / (gamma + 1.0)
    choked = gamma * throat_temperature * throat_temperature ** (2.0 / (gamma - 1.0))
    rest = 1.0 - choked * (pieces - 1.0) / pieces
    bend = rest * rest - 1.0 / (pieces * pieces)
    plain = pieces * q
    below = 1.0 + bend * plain * plain
    share = plain / math.sqrt(below)
    return share, pieces / (below * math.sqrt(below))


@kernel
def tube(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow of a tube and its derivatives.

    m = mf/sqrt(1 + (mf/mn)^2), mf = viscous + slip, mn the ideal nozzle of the bore, A c_star p_up sqrt(s)/sqrt(r T),
    s by `shared_nozzle`.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [bore m, length m of this piece, roughness m, number of pieces that share the line's one velocity head; 0 and 1:
        a whole line]
    Range: molecular to choked flow, friction isothermal. Within 0.8 % of exact isothermal flow for
        f L/d > 60. Above adiabatic flow with the same friction (Fanno) by up to 3.6 % at p_down/p_up 0.8
        and above, 6 % at 0.5, 11 % when choked; long tubes less.
    Source: the parts as named there; adding the nozzle in quadrature is our own choice (one velocity head).
    """
    m, up, down, warm = viscous(p_up, p_down, T_up, gas, a)
    slip_m, slip_up, slip_down, slip_warm = slip(p_up, p_down, T_up, gas, a)
    m, up, down, warm = m + slip_m, up + slip_up, down + slip_down, warm + slip_warm
    x = (p_up - p_down) / p_up
    whole, whole_slope = isentropic_square(x, gas.gamma)
    if x <= 0.0 or whole <= 0.0:
        return m, up, down, warm
    q, per_whole = shared_nozzle(whole, gas.gamma, a[3])
    q_slope = per_whole * whole_slope
    nozzle = 0.25 * math.pi * a[0] ** 2 * gas.c_star * p_up
    w = m * m * gas.r * T_up / (nozzle * nozzle * q)
    bend = q_slope / (q * p_up)
    scale = 1.0 / ((1.0 + w) * math.sqrt(1.0 + w))
    held = 0.5 * m * w
    return (
        m * (1.0 + w) * scale,
        scale * (up + held * (2.0 / p_up + bend * p_down / p_up)),
        scale * (down - held * bend),
        scale * (warm - held / T_up),
    )
