"""Independent re-implementation, shares nothing with simcal/: what flows out of a hold, and what changes its volume.

Every leak law gives a shape; the leak is its coefficient (mol/s) times the shape.
"""

import math

import numpy as np
from numba import njit

NONE, HOLE, LAMINAR, MOLECULAR, PERMEATION = range(5)
LAWS = {"hole": HOLE, "laminar": LAMINAR, "molecular": MOLECULAR, "permeation": PERMEATION}
STILL, STRETCHED, POWER = range(3)
CELLS = 10
"""of the seal that gas permeates"""


@njit
def psi(ratio, gamma):
    """Isentropic flow through a nozzle over its choked value, for the pressure ratio down/up."""
    critical = (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))
    if ratio <= critical:
        return 1.0
    top = ratio ** (2.0 / gamma) - ratio ** ((gamma + 1.0) / gamma)
    return math.sqrt(max(top, 0.0) / (critical ** (2.0 / gamma) - critical ** ((gamma + 1.0) / gamma)))


@njit
def shape(law, p, beyond, T, gamma):
    """Flow out of pressure p towards `beyond` (Pa abs), signed; pascals to the first or second power, 293.15 K."""
    if law == HOLE:
        if p >= beyond:
            return p * psi(beyond / p, gamma) * math.sqrt(293.15 / T)
        return -beyond * psi(p / beyond, gamma)
    if law == LAMINAR:
        return p * p - beyond * beyond
    if law == MOLECULAR:
        return (p - beyond) * math.sqrt(293.15 / T)
    return 0.0


@njit
def swelling(kind, t, size, tau, power):
    """d ln V/dt (1/s) of a body that gives way since t = 0: stretched exponential or power law."""
    if kind == STRETCHED and t > 0.0:
        x = (t + 1e-3 * tau) / tau
        return size * power / tau * x ** (power - 1.0) * math.exp(-(x**power))
    if kind == POWER and t > 0.0:
        return size * power / tau * (1.0 + t / tau) ** (power - 1.0)
    return 0.0


def swollen(kind: int, t: float | np.ndarray, size: float, tau: float, power: float) -> float | np.ndarray:
    """ln V(t)/V(0), the integral of `swelling`."""
    t = np.maximum(t, 0.0)
    if kind == STRETCHED:
        return size * (math.exp(-(1e-3**power)) - np.exp(-(((t + 1e-3 * tau) / tau) ** power)))
    if kind == POWER:
        return size * ((1.0 + t / tau) ** power - 1.0)
    return 0.0 * t
