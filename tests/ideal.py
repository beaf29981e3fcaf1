"""Ideal-gas tables for tests only: many check rows are ideal-gas rows; no config can choose these."""

from __future__ import annotations

import math

import numpy as np

from simcal.tables.gas import GasTable
from simcal.tables.grid import R

# Molar masses of the check rows, kg/mol.
NITROGEN, AIR, HELIUM, ARGON = 0.0280134, 0.02896546, 0.004002602, 0.039948


def choked_factor(gamma: float) -> float:
    """psi* = sqrt(g (2/(g+1))^((g+1)/(g-1))), critical flow factor of an ideal gas (gas dynamics texts)."""
    return math.sqrt(gamma * (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (gamma - 1.0)))


def ideal_table(
    molar_mass: float = NITROGEN,
    gamma: float = 1.4,
    viscosity: float = 17.6e-6,
    conductivity: float = 0.0254,
    rho_max: float = 1000.0,
    T_min: float = 10.0,
    T_max: float = 5000.0,
) -> GasTable:
    """One cell: p = rho r T, u = cv T with constant gamma, constant transport. Exact to rounding."""
    r = R / molar_mass
    coef = np.zeros((1, 1, 5, 4, 4))
    coef[0, 0, :, 0, 0] = 1.0, r / (gamma - 1.0), viscosity, conductivity, choked_factor(gamma)
    return GasTable(
        r=r,
        molar_mass=molar_mass,
        gamma0=gamma,
        rho0=0.0,
        drho=rho_max,
        n_rho=2,
        s0=1.0 / T_max,
        ds=1.0 / T_min - 1.0 / T_max,
        n_s=2,
        coef=coef,
        rho_max=rho_max,
        T_min=T_min,
        T_max=T_max,
        p_max=35.0e6,
    )
