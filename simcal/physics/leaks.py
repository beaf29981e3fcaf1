"""Flow through narrow paths, and linear paths."""

# ruff: noqa: ARG001 - every law has the same arguments, whether it needs them or not

from __future__ import annotations

import math

from simcal.jit import kernel
from simcal.physics.upstream import Floats, Upstream


@kernel
def laminar(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow of an isothermal laminar path and its derivatives.

    m = K (p_up^2 - p_down^2)/(z T_up viscosity); a round capillary has K = pi d^4/(256 L r). Acts both ways.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [K kg K/(Pa s), i.e. m3 kg K/J]
    Range: Reynolds number below 2300, mean free path small against the path's width. Z and viscosity are those of the
        upstream side all along: nitrogen to the room 0.5 % low from 2 MPa, 14 % from 20.7 MPa, 24 % from 35 MPa.
    Source: Hagen-Poiseuille with the density of a gas.
    """
    k = a[0] / (gas.z * T_up * gas.viscosity)
    m = k * (p_up - p_down) * (p_up + p_down)
    return m, 2.0 * k * p_up, -2.0 * k * p_down, -m / T_up


@kernel
def molecular(
    p_up: float,
    p_down: float,
    T_up: float,
    gas: Upstream,
    a: Floats,
) -> tuple[float, float, float, float]:
    """Return mass flow of a path in molecular flow and its derivatives.

    m = K (p_up - p_down)/sqrt(T_up); a long round tube has K = d^3/(6 L) sqrt(2 pi/r). Acts both ways.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side (not used: K holds for one gas)
    a: [K kg sqrt(K)/(s Pa)]
    Range: mean free path large against the path's width.
    Source: Knudsen, Ann. Phys. 333 (1909) 75.
    """
    k = a[0] / math.sqrt(T_up)
    m = k * (p_up - p_down)
    return m, k, -k, -0.5 * m / T_up


@kernel
def seat(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow past a shut valve seat and its derivatives.

    Laminar and molecular flow side by side. Acts both ways.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [K of `laminar` kg K/(Pa s), K of `molecular` kg sqrt(K)/(s Pa)]
    Range: as its two parts; their sum is the viscous path with slip.
    Source: the sum form of Knudsen, Ann. Phys. 333 (1909) 75.
    """
    m, up, down, warm = laminar(p_up, p_down, T_up, gas, a)
    k = a[1] / math.sqrt(T_up)
    extra = k * (p_up - p_down)
    return m + extra, up + k, down - k, warm - 0.5 * extra / T_up


GAPE = 3.0
"""Most that a channel under a ring that is lifted off gapes, as the logarithm of its bore over the stated one [-]."""
OPENS_WITHIN = 0.01
"""Of the pressure difference at which a channel opens or its joint lifts, over which that sets in [-]."""


@kernel
def _beyond(dp: float, begins: float) -> tuple[float, float]:
    """How far a pressure difference [Pa] is beyond another one, setting in softly; and its slope [-]."""
    beyond = dp - begins
    if beyond <= 0.0:
        return 0.0, 0.0
    soft = OPENS_WITHIN * begins + 1.0
    whole = beyond + soft
    return beyond * beyond / whole, beyond * (beyond + 2.0 * soft) / (whole * whole)


@kernel
def channel_bore(dp: float, a: Floats) -> tuple[float, float]:
    """Return (bore over the stated one [-], its slope with the pressure difference [1/Pa]) of a channel under a seal.

    dp: pressure difference [Pa], >= 0
    a: as `seal`
    """
    closed, slope = a[3] + a[4] * dp, a[4]
    apart, change = _beyond(dp, a[8])
    closed -= a[9] * apart
    slope -= a[9] * change
    if closed < 0.0:
        bent = math.tanh(-closed / GAPE)
        closed, slope = -GAPE * bent, slope * (1.0 - bent * bent)
    rest = (1.0 - a[2]) * math.exp(-closed)
    bore, change = a[2] + rest, -rest * slope
    opened, change_opened = _beyond(dp, a[5])
    return bore + a[6] * opened, change + a[6] * change_opened


@kernel
def seal(p_up: float, p_down: float, T_up: float, gas: Upstream, a: Floats) -> tuple[float, float, float, float]:
    """Return mass flow through channels under a rubber seal and its derivatives.

    As `seat`, with a bore that follows the pressure difference dp: K of the laminar part goes with its fourth power, K
    of the molecular part with its third,

        bore = floor + (1 - floor) exp(-(closed + closing dp - loosening beyond(lifts_at))) + opening beyond(opens_at)

    with beyond(x) = (dp - x)^2/(dp - x + soft) from x on. So the flow may fall while the pressure rises: the seal
    closes. In quadrature series with choked flow through the same bore, 1/m^2 = 1/m_friction^2 + 1/m_choked^2. Acts
    both ways.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa], not above p_up
    T_up: upstream temperature [K]
    gas: gas of the upstream side
    a: [K of `laminar` kg K/(Pa s), K of `molecular` kg sqrt(K)/(s Pa), floor -, closed -, closing 1/Pa, opens_at Pa,
        opening 1/Pa, area m2, lifts_at Pa, loosening 1/Pa], both K and the area at the stated bore
    Range: a stated teaching assumption, see `physics.seal`; below closed = 0 the bore gapes to exp(GAPE) at most.
    Source: Knudsen and Hagen-Poiseuille as `seat`; A. Roth, Vacuum Sealing Techniques (1966) for the exponential.
    """
    dp = p_up - p_down
    bore, change = channel_bore(dp, a)
    cube = bore * bore * bore
    viscous = a[0] / (gas.z * T_up * gas.viscosity)
    thin = a[1] / math.sqrt(T_up)
    square = dp * (p_up + p_down)
    m_viscous, m_thin = viscous * cube * bore * square, thin * cube * dp
    m = m_viscous + m_thin
    widening = change * bore * bore * (4.0 * viscous * bore * square + 3.0 * thin * dp)
    up = 2.0 * viscous * cube * bore * p_up + thin * cube + widening
    down = -2.0 * viscous * cube * bore * p_down - thin * cube - widening
    warm = -(m_viscous + 0.5 * m_thin) / T_up
    choked_per_pressure = a[7] * bore * bore * gas.c_star / math.sqrt(gas.r * T_up)
    choked = choked_per_pressure * p_up
    choked_widens = 2.0 * choked * change / bore
    part = m / choked
    share = 1.0 / math.sqrt(1.0 + part * part)
    both, cubed = share * share * share, part * part * part
    return (
        m * share,
        both * (up + cubed * (choked_per_pressure + choked_widens)),
        both * (down - cubed * choked_widens),
        both * (warm - cubed * 0.5 * choked / T_up),
    )


@kernel
def linear(
    p_up: float,
    p_down: float,
    T_up: float,
    gas: Upstream,
    a: Floats,
) -> tuple[float, float, float, float]:
    """Return m = G (p_up - p_down) and its derivatives.

    The path of a pressure regulator near its set pressure (droop), and the make-up of a controller known
    only from outside. The regulator passes one way: whoever calls gives zero when the pressures are reversed.

    p_up: upstream pressure [Pa]
    p_down: downstream pressure [Pa]
    T_up: upstream temperature [K] (not used)
    gas: gas of the upstream side (not used)
    a: [G kg/(s Pa)]
    Range: any.
    Source: a definition.
    """
    return a[0] * (p_up - p_down), a[0], -a[0], 0.0
