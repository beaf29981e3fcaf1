"""Gas tables: the form the kernels read, and the files they come from.

A table covers density from 0 to rho_max and temperature from T_min to T_max with nodes even in density and in
s = 1/T. In each cell five properties are bicubic: compressibility Z, energy u/T, viscosity, conductivity and
the critical flow factor C*. What the physics derives from Z and u (pressure, heat capacity, enthalpy) are
derivatives of these same surfaces. Sources and library version travel in each file (`about`).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.tables import grid
from simcal.tables.store import DATA, NAMES, GasFile, read_table

# Order of the properties along axis 2 of the coefficients.
Z, U_OVER_T, VISCOSITY, CONDUCTIVITY, C_STAR = range(5)


class GasTable(NamedTuple):
    """One gas as the kernels read it: floats, integers and one array.

    r specific gas constant [J/(kg K)]; molar_mass [kg/mol]; gamma0 cp/cv of the dilute gas at 293.15 K [-];
    rho0 [kg/m3], drho [kg/m3], n_rho: density nodes; s0 [1/K], ds [1/K], n_s: nodes of 1/T, ascending;
    coef [n_rho-1, n_s-1, 5, 4, 4]: value = sum_ab coef[i, j, k, a, b] x^a y^b with x = (rho-rho_i)/drho,
    y = (s-s_j)/ds, properties k: 0 Z [-], 1 u/T [J/(kg K)], 2 viscosity [Pa s], 3 conductivity [W/(m K)], 4
    critical flow factor C* of the stagnation state [-]; rho_max [kg/m3], T_min [K], T_max [K]: the range;
    p_max [Pa]: the pressure the range was chosen for, not a limit of the table.
    """

    r: float
    molar_mass: float
    gamma0: float
    rho0: float
    drho: float
    n_rho: int
    s0: float
    ds: float
    n_s: int
    coef: NDArray[np.float64]
    rho_max: float
    T_min: float
    T_max: float
    p_max: float


def build(file: GasFile) -> GasTable:
    """The kernel form of a table: local cubic coefficients from node values and derivatives."""
    n_rho, n_s = file.nodes.shape[:2]
    drho = file.rho_max / (n_rho - 1)
    s0 = 1.0 / file.T_max
    ds = (1.0 / file.T_min - s0) / (n_s - 1)
    return GasTable(
        r=grid.R / file.molar_mass,
        molar_mass=file.molar_mass,
        gamma0=file.gamma0,
        rho0=0.0,
        drho=drho,
        n_rho=n_rho,
        s0=s0,
        ds=ds,
        n_s=n_s,
        coef=grid.cell_coefficients(file.nodes, drho, ds),
        rho_max=file.rho_max,
        T_min=file.T_min,
        T_max=file.T_max,
        p_max=file.p_max,
    )


def _file(name: str) -> GasFile:
    if name in NAMES:
        return read_table(DATA / f"{name}.npz")
    from simcal.tables import extra

    return extra.table_file(name)


@lru_cache(maxsize=8)
def load(name: str) -> GasTable:
    """The table of a gas by its name in files: "nitrogen", "air", "helium", "argon", or an extra
    (tables/extra.py).

    Raises InputError when there is no such gas or it may not be a test gas, SimcalError when the file is
    damaged.
    """
    return build(_file(name))


def about(name: str) -> dict[str, Any]:
    """Where a table comes from: library, version, source, notes and the hash of its numbers."""
    return _file(name).meta
