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
    Range: Reynolds number below 2300, mean free path small against the path's width.
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
