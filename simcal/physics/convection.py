"""Convection: published Nusselt numbers inside a vessel and outside it."""

from __future__ import annotations

import math

from simcal.jit import kernel

GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s2]."""

STEFAN_BOLTZMANN = 5.670374419e-8
"""Stefan-Boltzmann constant [W/(m2 K4)] (CODATA 2018)."""

EMISSIVITY = 0.3
"""Emissivity of a matt metal body when nothing is known [-]: between polished (0.1) and painted (0.9)."""

HOLLANDS = 5803.0
"""Rayleigh number of the conductive layer in `heated_from_below` [-]."""

CRITICAL = 1708.0
"""Rayleigh number at which a level gap heated from below starts to move [-]."""


@kernel
def vessel_jet(re: float) -> float:
    """Return what a jet blowing in adds to the mean Nusselt number of a vessel, on its bore [-].

    Nu_D = 0.56 Re_d^0.67.

    re: Reynolds number of the jet 4 m/(pi d viscosity) on the inlet's bore d [-], >= 0
    Range: measured while vessels of litres were charged with hydrogen, nitrogen and argon.
    Source: Woodfield, Monde & Mitsutake, J. Thermal Science and Technology 2 (2007) 180 (from memory).
    """
    return 0.56 * re**0.67


@kernel
def heated_from_below(ra: float, pr: float) -> tuple[float, float]:
    """Return (Nu, dNu/d ln Ra) of a level gap heated from below, on the gap [-].

    Nu = 1 + [1 - 1708/Ra]+ [k1 + 2 (Ra^(1/3)/k2)^(1 - ln(Ra^(1/3)/k2))] + [(Ra/5803)^(1/3) - 1]+,
    k1 = 1.44/(1 + 0.018/Pr + 0.00136/Pr^2), k2 = 75 exp(1.5 Pr^(-1/2)).

    ra: Rayleigh number on the gap, with the difference between the plates [-]
    pr: Prandtl number [-]
    Range: wide gaps, Ra up to 1e11.
    Source: Hollands, Int. J. Heat Mass Transfer 27 (1984) 466, as the VDI Heat Atlas and `ht` give it.
    """
    if ra <= CRITICAL:
        return 1.0, 0.0
    root = math.log(ra ** (1.0 / 3.0) / (75.0 * math.exp(1.5 / math.sqrt(pr))))
    cells = 2.0 * math.exp(root * (1.0 - root))
    onset = 1.44 / (1.0 + 0.018 / pr + 0.00136 / pr**2) + cells
    share = 1.0 - CRITICAL / ra
    nu = 1.0 + share * onset
    growth = (1.0 - share) * onset + share * cells * (1.0 - 2.0 * root) / 3.0
    layer = (ra / HOLLANDS) ** (1.0 / 3.0)
    if layer > 1.0:
        return nu + layer - 1.0, growth + layer / 3.0
    return nu, growth


@kernel
def flat_cavity(ra: float, pr: float) -> tuple[float, float]:
    """Return (Nu, dNu/d ln Ra): what convection adds between two level plates of one temperature, on the gap [-].

    One of the plates, above warmer or below colder gas, carries a convecting layer; the other is still. In
    `heated_from_below` two such layers hold half the difference each: with twice the difference each plate passes
    what this one does, and the mean over both plates is half of it. At rest conduction is counted elsewhere.

    ra: Rayleigh number on the gap [-], >= 0, with the difference between mean gas and wall temperature
    pr: Prandtl number [-]
    Source: derived here from Hollands 1984.
    """
    nu, growth = heated_from_below(2.0 * ra, pr)
    return nu - 1.0, growth


@kernel
def around_sphere(ra: float, pr: float) -> float:
    """Return the mean Nusselt number of free convection around a sphere, on its diameter [-].

    Nu = 2 + 0.589 Ra^(1/4)/(1 + (0.469/Pr)^(9/16))^(4/9).

    ra: Rayleigh number on the diameter [-], up to 1e11
    pr: Prandtl number [-], from 0.7
    Source: Churchill, Heat Exchanger Design Handbook (1983).
    """
    return 2.0 + 0.589 * ra**0.25 / (1.0 + (0.469 / pr) ** (9.0 / 16.0)) ** (4.0 / 9.0)


@kernel
def around_cylinder(ra: float, pr: float) -> float:
    """Return the mean Nusselt number of free convection around a level cylinder, on its diameter [-].

    Nu = (0.60 + 0.387 Ra^(1/6)/(1 + (0.559/Pr)^(9/16))^(8/27))^2.

    ra: Rayleigh number on the diameter [-], 0..1e12
    pr: Prandtl number [-]
    Source: Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1049.
    """
    return (0.60 + 0.387 * ra ** (1.0 / 6.0) / (1.0 + (0.559 / pr) ** (9.0 / 16.0)) ** (8.0 / 27.0)) ** 2


PLATE_AT_REST = 0.825
"""Square root of `along_plate` at Ra = 0 [-]."""


@kernel
def along_plate(ra: float, pr: float) -> float:
    """Return the mean Nusselt number of free convection along an upright plate, on its height [-].

    Nu = (0.825 + 0.387 Ra^(1/6)/(1 + (0.492/Pr)^(9/16))^(8/27))^2.

    ra: Rayleigh number on the height [-], 0..1e12
    pr: Prandtl number [-]
    Source: Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.
    """
    return (PLATE_AT_REST + 0.387 * ra ** (1.0 / 6.0) / (1.0 + (0.492 / pr) ** (9.0 / 16.0)) ** (8.0 / 27.0)) ** 2


def radiation(T_surface: float, T_room: float, emissivity: float) -> float:
    """Return the film coefficient of radiation between a small body and a large room [W/(m2 K)].

    h = e sigma (Ts^2 + Tr^2)(Ts + Tr).

    T_surface: surface temperature [K]
    T_room: temperature of the room's walls [K]
    emissivity: emissivity of the surface [-], 0..1
    Source: any text on heat transfer.
    """
    return emissivity * STEFAN_BOLTZMANN * (T_surface**2 + T_room**2) * (T_surface + T_room)


AROUND = {"cylinder": around_cylinder, "sphere": around_sphere, "slab": along_plate}
"""Shape of a body -> its free convection outside: a level cylinder, a sphere, an upright plate."""


def outside_film(shape: str, diameter: float, T_surface: float, T_room: float, emissivity: float = EMISSIVITY) -> float:
    """Return the film coefficient between a body and the still air of a room [W/(m2 K)].

    Free convection with air at the film temperature and 101325 Pa, plus radiation.

    shape: "cylinder" (level), "sphere" or "slab" (upright)
    diameter: outer diameter of the body, of a slab its height [m], > 0
    T_surface: surface temperature [K]
    T_room: room temperature [K]
    emissivity: emissivity of the surface [-], 0..1; 0.3 stands for a matt metal body
    Range: 250..400 K; a fan or a draught gives several times more.
    Errors: KeyError for another shape.
    Source: `AROUND`, `radiation`; air: U.S. Standard Atmosphere 1976 (viscosity, conductivity), cp 1006.
    """
    T = 0.5 * (T_surface + T_room)
    viscosity = 1.458e-6 * T**1.5 / (T + 110.4)
    conductivity = 2.64638e-3 * T**1.5 / (T + 245.4 * 10.0 ** (-12.0 / T))
    rho = 101325.0 / (287.05 * T)
    pr = 1006.0 * viscosity / conductivity
    grashof = GRAVITY * abs(T_surface - T_room) / T * diameter**3 * (rho / viscosity) ** 2
    convection: float = AROUND[shape](grashof * pr, pr) * conductivity / diameter
    return convection + radiation(T_surface, T_room, emissivity)
