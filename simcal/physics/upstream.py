"""What a flow law needs to know about the gas on its upstream side."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
"""Parameters of a law, one-dimensional."""


class Upstream(NamedTuple):
    """Gas of the side with the higher pressure, at that side's state.

    The laws take these numbers as constants: their derivatives hold them fixed.

    r: specific gas constant [J/(kg K)]
    z: compressibility factor p/(rho r T) [-]
    viscosity: dynamic viscosity [Pa s]
    gamma: ratio of heat capacities of the dilute gas [-], > 1
    c_star: critical flow factor, m = A c_star p / sqrt(r T) for a choked ideal nozzle [-]
    molar_mass: molar mass [kg/mol]
    """

    r: float
    z: float
    viscosity: float
    gamma: float
    c_star: float
    molar_mass: float
