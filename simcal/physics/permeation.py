"""Gas that dissolves in a wall of rubber or plastic, diffuses through it and leaves on the other side.

A slab of area A and thickness L passes permeability A dp/L at last. Until the gas has spread through it less comes out,
and more goes in: the amount that has come out approaches the steady line shifted by the lag L^2/(6 D), the amount that
has gone in the same line shifted by -L^2/(3 D).
"""

from __future__ import annotations

import math
from typing import NamedTuple


class Ladder(NamedTuple):
    """Two stores and three ways in a row that stand for a slab.

    store: amount of gas per pressure in each of the two [mol/Pa]
    ways: amount flow per pressure difference into the first, between them, out of the second [mol/(s Pa)]
    """

    store: float
    ways: tuple[float, float, float]


def conductance(permeability: float, area: float, thickness: float) -> float:
    """Return the steady flow per pressure difference of a slab [mol/(s Pa)].

    permeability: solubility times diffusivity [mol/(m s Pa)]
    area: across the flow [m2]
    thickness: along the flow [m], > 0
    Range: Henry's law, so partial pressures up to a few MPa; one temperature.
    Source: J. Crank, The Mathematics of Diffusion, 2nd ed. (1975), 4.3.
    """
    return permeability * area / thickness


def lag(thickness: float, diffusivity: float) -> float:
    """Return the time lag of a slab [s], L^2/(6 D).

    thickness: along the flow [m]
    diffusivity: of the gas in it [m2/s], > 0
    Source: H. A. Daynes, Proc. R. Soc. A 97 (1920) 286; Crank, 2nd ed. (1975), 4.3.3.
    """
    return thickness**2 / (6.0 * diffusivity)


def ladder(conductance: float, lag: float) -> Ladder:
    """Return the two stores that stand for a slab of known conductance and lag.

    They lie at the two Gauss points of the thickness with half the slab's gas each. Stored gas and both lags are
    integrals of at most second order over the thickness, so all three are exactly the slab's. Only the course before
    steady flow differs: what comes out by at most 10 % of the steady flow, its sum by at most 5 % of steady flow times
    lag; the first rush into the slab is flattened, its sum by at most half of that product.

    conductance: of the slab [mol/(s Pa)], > 0
    lag: L^2/(6 D) [s], > 0
    Source: Gauss-Legendre quadrature; lags as in Crank, 2nd ed. (1975), 4.3.3.
    """
    first = 0.5 * (1.0 - 1.0 / math.sqrt(3.0))
    ways = (conductance / first, conductance * math.sqrt(3.0), conductance / first)
    return Ladder(store=0.5 * 6.0 * lag * conductance, ways=ways)
