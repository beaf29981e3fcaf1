"""Independent re-implementation, shares nothing with simcal/: heat between gas and wall, and between wall and room."""

import math

import numpy as np
from numba import njit
from scipy.optimize import brentq
from scipy.special import j0, j1

GAMMA_LOW, GAMMA_HIGH, GAMMA_POINTS = 1.0, 2.6, 1601


def sealed_cylinder_roots() -> np.ndarray:
    """x1^2 of (1 - s) J0(x) + 2 s J1(x)/x = 0, s = 1 - 1/gamma, over gamma: gas cooling in a sealed tube."""
    roots = []
    for gamma in np.linspace(GAMMA_LOW, GAMMA_HIGH, GAMMA_POINTS):
        s = 1.0 - 1.0 / gamma
        x = brentq(lambda x, s=s: (1.0 - s) * j0(x) + 2.0 * s * j1(x) / x, 2.4, 3.83, xtol=1e-13)
        roots.append(x * x)
    return np.array(roots)


@njit
def film(gap, rho, mu, k, cp, cv, beta, inflow, roots, area, bore, factor, fixed, jet_bore):
    """W/K between wall and gas whose temperatures differ by `gap` (K).

    fixed > 0: that coefficient (W/(m2 K)). Else conduction floor x1^2/gamma of a long cylinder and convection
    (Churchill & Chu 1975 for an upright plate as tall as the bore less its value at rest, and 0.56 Re^0.67 of the jet
    Woodfield et al. 2007), joined by cubes; Ra sees at least 1 mK.
    """
    if fixed > 0.0:
        return factor * area * fixed
    gamma = cp / cv
    place = (gamma - GAMMA_LOW) / (GAMMA_HIGH - GAMMA_LOW) * (GAMMA_POINTS - 1)
    i = min(int(place), GAMMA_POINTS - 2)
    floor = (roots[i] + (place - i) * (roots[i + 1] - roots[i])) / gamma
    difference = math.sqrt(gap * gap + 1e-6)
    ra = 9.80665 * beta * difference * bore**3 / (mu / rho) / (k / (rho * cp))
    pr = mu * cp / k
    moving = (0.825 + 0.387 * ra ** (1.0 / 6.0) / (1.0 + (0.492 / pr) ** 0.5625) ** (8.0 / 27.0)) ** 2 - 0.825**2
    if jet_bore > 0.0 and inflow > 0.0:
        moving += 0.56 * (4.0 * inflow / (math.pi * jet_bore * mu)) ** 0.67
    return factor * area * k / bore * (floor**3 + moving**3) ** (1.0 / 3.0)


def still_air(diameter: float, warm: float, room: float, emissivity: float = 0.3) -> float:
    """W/(m2 K) outside a level cylinder: Churchill & Chu 1975, air by the US Standard Atmosphere, and radiation."""
    T = 0.5 * (warm + room)
    mu = 1.458e-6 * T**1.5 / (T + 110.4)
    k = 2.64638e-3 * T**1.5 / (T + 245.4 * 10.0 ** (-12.0 / T))
    nu = mu / (101325.0 / (287.05 * T))
    pr = mu * 1006.0 / k
    ra = 9.80665 * (warm - room) / T * diameter**3 / nu**2 * pr
    nusselt = (0.60 + 0.387 * ra ** (1.0 / 6.0) / (1.0 + (0.559 / pr) ** (9.0 / 16.0)) ** (8.0 / 27.0)) ** 2
    return nusselt * k / diameter + emissivity * 5.670374419e-8 * (warm**4 - room**4) / (warm - room)
