"""Independent re-implementation, shares nothing with simcal/: one real gas in a window of its own.

CoolProp is asked at Chebyshev nodes of the window; polynomials in the scaled pressure and temperature go through them.
"""

from functools import lru_cache

import CoolProp
import numpy as np

NAMES = {"nitrogen": "Nitrogen", "air": "Air", "helium": "Helium", "argon": "Argon"}
R = 8.314462618  # J/(mol K), CODATA 2018
DEGREE_P, DEGREE_T = 8, 13
Z, H, K, MU = range(4)
LOW_T = {"nitrogen": 185.0, "air": 190.0, "helium": 110.0, "argon": 205.0}
HIGH_T = {"nitrogen": 440.0, "air": 440.0, "helium": 540.0, "argon": 540.0}


@lru_cache(maxsize=8)
def state(name: str) -> CoolProp.AbstractState:
    """The library's gas of that name."""
    return CoolProp.AbstractState("HEOS", NAMES[name])


@lru_cache(maxsize=8)
def molar_mass(name: str) -> float:
    """kg/mol."""
    return float(state(name).molar_mass())


def enthalpy(name: str, p: float, T: float) -> float:
    """J/kg on the library's scale."""
    gas = state(name)
    gas.update(CoolProp.PT_INPUTS, p, T)
    return float(gas.hmass())


def at(name: str, p: float, T: float) -> dict[str, float]:
    """Density, its slope, dp/dT at constant density, cp, cv, conductivity, viscosity at one state, SI."""
    gas = state(name)
    gas.update(CoolProp.PT_INPUTS, p, T)
    return {
        "rho": gas.rhomass(),
        "drho_dp": gas.first_partial_deriv(CoolProp.iDmass, CoolProp.iP, CoolProp.iT),
        "dp_dT": gas.first_partial_deriv(CoolProp.iP, CoolProp.iT, CoolProp.iDmass),
        "cp": gas.cpmass(),
        "cv": gas.cvmass(),
        "k": gas.conductivity(),
        "mu": gas.viscosity(),
        "beta": gas.isobaric_expansion_coefficient(),
    }


def nodes(low: float, high: float, degree: int) -> tuple[np.ndarray, np.ndarray]:
    """Chebyshev nodes on -1..1 and in the window."""
    s = np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))
    return s, 0.5 * (low + high) + 0.5 * (high - low) * s


def tabulate(name: str, p_low: float, p_high: float) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients [property, power of scaled T, power of scaled p]; window (p mid, p half, T mid, T half, r)."""
    T_low, T_high = LOW_T[name], HIGH_T[name]
    sp, p = nodes(p_low, p_high, DEGREE_P)
    sT, T = nodes(T_low, T_high, DEGREE_T)
    r = R / molar_mass(name)
    values = np.empty((4, T.size, p.size))
    gas = state(name)
    for i, kelvin in enumerate(T):
        for j, pascal in enumerate(p):
            gas.update(CoolProp.PT_INPUTS, pascal, kelvin)
            values[:, i, j] = (
                pascal / (gas.rhomass() * r * kelvin),
                gas.hmass(),
                gas.conductivity(),
                gas.viscosity(),
            )
    to_T = np.linalg.inv(np.vander(sT, increasing=True))
    to_p = np.linalg.inv(np.vander(sp, increasing=True))
    coef = np.array([to_T @ one @ to_p.T for one in values])
    window = np.array(
        [0.5 * (p_low + p_high), 0.5 * (p_high - p_low), 0.5 * (T_low + T_high), 0.5 * (T_high - T_low), r]
    )
    return np.ascontiguousarray(coef), window
