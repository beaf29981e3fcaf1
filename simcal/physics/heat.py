"""Heat between the gas of a volume and its wall."""

from __future__ import annotations

import math

from simcal.jit import kernel
from simcal.physics.conduction import cylinder_eigenvalue, slab_eigenvalue, sphere_eigenvalue
from simcal.physics.convection import GRAVITY, PLATE_AT_REST, along_plate, flat_cavity, vessel_jet
from simcal.physics.upstream import Floats

FIXED = 0
CYLINDER = 1
SPHERE = 2
SLAB = 3

FILMS = {"fixed": FIXED, "cylinder": CYLINDER, "sphere": SPHERE, "slab": SLAB}
"""Name of every kind of film -> its code."""

KIND = 0
AREA = 1
DIAMETER = 2
MULTIPLIER = 3
COEFFICIENT = 4
JET_BORE = 5

STILL = 1e-3
"""Temperature difference below which convection no longer weakens [K]: it keeps the slope finite at rest."""


@kernel
def conduction_floor(kind: int, gamma: float) -> float:
    """Return the Nusselt number on DIAMETER of a lumped balance that decays as conduction alone does [-].

    kind: CYLINDER, SPHERE or SLAB [-]
    gamma: cp/cv at the state [-], >= 1
    Source: see `simcal.physics.conduction`.
    """
    if kind == SPHERE:
        return 2.0 / 3.0 * sphere_eigenvalue(gamma) / gamma
    if kind == SLAB:
        return 2.0 * slab_eigenvalue(gamma) / gamma
    return cylinder_eigenvalue(gamma) / gamma


@kernel
def film(
    dT: float,
    T: float,  # noqa: ARG001 - for films with properties at a mean temperature
    rho: float,
    viscosity: float,
    conductivity: float,
    cp: float,
    cv: float,
    beta: float,
    jet: float,
    f: Floats,
) -> tuple[float, float]:
    """Return (G, dG/ddT): conductance from wall to gas [W/K] and its slope over dT [W/K2]; heat to the gas
    is G dT.

    G = multiplier area (k/D) (Nu0^3 + Nu^3)^(1/3): Nu0 the conduction floor, Nu free convection plus the
    jet. The difference enters as sqrt(dT^2 + STILL^2). The slope is exact with the gas properties held.

    dT: wall minus gas temperature [K], any sign
    T: gas temperature [K] (not used by the present films)
    rho: density [kg/m3]
    viscosity: dynamic viscosity [Pa s]
    conductivity: thermal conductivity [W/(m K)]
    cp: heat capacity at constant pressure [J/(kg K)]
    cv: heat capacity at constant volume [J/(kg K)]
    beta: thermal expansion -(d rho/dT)_p/rho [1/K]
    jet: mass flow that blows in [kg/s], >= 0
    f: [kind, area m2, diameter (slab: gap) m, multiplier -, fixed coefficient W/(m2 K) (kind FIXED), jet
        bore m], float64[8]; a jet bore of 0 means no jet
    Range: the floor is exact for small dT without motion (side walls of a long cylinder); convection within
        a factor of two, for which the multiplier stands.
    Source: `conduction_floor`; `along_plate` on the bore less its value at rest, `vessel_jet` while gas blows in;
        slab: `flat_cavity`. Joining by cubes is our own choice.
    """
    kind = int(f[KIND])
    if kind == FIXED:
        return f[MULTIPLIER] * f[AREA] * f[COEFFICIENT], 0.0
    square = dT * dT + STILL * STILL
    d = f[DIAMETER]
    per_kelvin = GRAVITY * max(beta, 0.0) * d * d * d * rho * rho * cp / (viscosity * conductivity)
    ra = per_kelvin * math.sqrt(square)
    if kind == SLAB:
        free, growth = flat_cavity(ra, viscosity * cp / conductivity)  # growth: d free / d ln(ra)
    else:
        plate = math.sqrt(along_plate(ra, viscosity * cp / conductivity))
        free = plate * plate - PLATE_AT_REST * PLATE_AT_REST  # at rest the conduction floor stands for it
        growth = plate * (plate - PLATE_AT_REST) / 3.0
    moving = free
    if jet > 0.0 and f[JET_BORE] > 0.0:
        moving += vessel_jet(4.0 * jet / (math.pi * f[JET_BORE] * viscosity))
    floor = conduction_floor(kind, cp / cv)
    nu = (floor**3 + moving**3) ** (1.0 / 3.0)
    scale = f[MULTIPLIER] * f[AREA] * conductivity / d
    slope = (moving / nu) ** 2 * growth * dT / square
    return scale * nu, scale * slope
