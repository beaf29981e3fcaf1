"""Independent re-implementation, shares nothing with simcal/: the slowest mode of gas sealed in a rigid vessel.

Roots of the three equations that follow from rho cp dT/dt = k lap T + dp/dt at constant mass and volume, found by
bracketing; gamma = 1 is conduction at constant pressure (Carslaw and Jaeger, Conduction of Heat in Solids).
"""

import math

from scipy.optimize import brentq
from scipy.special import j0, j1


def _slab(x: float, s: float) -> float:
    return (1.0 - s) * math.cos(x) + s * math.sin(x) / x


def _cylinder(x: float, s: float) -> float:
    return float((1.0 - s) * j0(x) + 2.0 * s * j1(x) / x)


def _sphere(x: float, s: float) -> float:
    return (1.0 - s) * math.sin(x) / x + 3.0 * s * (math.sin(x) - x * math.cos(x)) / x**3


ROOTS = {"slab": (1.5, 3.1416, _slab), "cylinder": (2.4, 3.8318, _cylinder), "sphere": (3.1, 4.4935, _sphere)}


def first_eigenvalue(shape: str, gamma: float) -> float:
    """x1^2 of a shape at cp/cv = gamma; the rate of the slowest decay is k x1^2/(rho cp R^2)."""
    low, high, function = ROOTS[shape]
    return brentq(function, low, high, args=(1.0 - 1.0 / gamma,), xtol=1e-14) ** 2
