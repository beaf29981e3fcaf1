"""Make the gas tables that simcal ships, from the reference library CoolProp.

Run as `python -m simcal.tables.make [GAS ...]`; it writes `simcal/tables/data/GAS.npz`. It is needed only
when a range, the grid or the library changes: an ordinary run reads the files.

The nodes are even in density and in s = 1/T. At every node five properties are kept with the derivatives a
bicubic Hermite cell needs: f, df/drho, df/ds, d2f/drho ds. For Z and u/T these are the exact derivatives of
the equation of state (its Helmholtz energy); for viscosity, conductivity and the critical flow factor they
are differences on a grid eight times finer.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from typing import Any

import numpy as np

from simcal.tables import grid, library
from simcal.tables.critical import critical_flow
from simcal.tables.store import DATA, GasFile, write_table

N_RHO = 64
N_S = 32
FINE = 8  # the difference grid is this much finer than the nodes


@dataclass(frozen=True)
class Recipe:
    """What to tabulate: the library's fluid, the range and where the equations come from.

    T_min, T_max [K]; p_max [Pa] is the highest pressure the table is meant for at T_dense [K], the coldest
    temperature at which that pressure is expected. The table ends at 1.05 times the density there, or at
    rho_max [kg/m3] where that is given.
    """

    fluid: str
    T_min: float
    T_max: float
    source: str
    p_max: float = 35.0e6
    T_dense: float = 250.0
    rho_max: float | None = None


_TRANSPORT = "viscosity and conductivity: Lemmon & Jacobsen, Int. J. Thermophys. 25 (2004) 21"
RECIPES = {
    "nitrogen": Recipe("Nitrogen", 150.0, 600.0, f"Span et al., J. Phys. Chem. Ref. Data 29 (2000) 1361; {_TRANSPORT}"),
    "air": Recipe(
        "Air",
        150.0,
        600.0,
        f"Lemmon et al., J. Phys. Chem. Ref. Data 29 (2000) 331, pseudo-pure; {_TRANSPORT}",
    ),
    "helium": Recipe(
        "Helium",
        120.0,
        700.0,
        "Ortiz-Vega et al. (library key OrtizVega-JPCRD-2019); viscosity: Arp, McCarty & Friend, NIST"
        " Technical Note 1334 (1998); conductivity: Hands & Arp, Cryogenics 21 (1981) 697",
    ),
    "argon": Recipe("Argon", 160.0, 600.0, f"Tegeler et al., J. Phys. Chem. Ref. Data 28 (1999) 779; {_TRANSPORT}"),
}


def _caloric(state: Any, rho: float, s: float) -> tuple[list[float], list[float]]:
    """(Z, u/T) of one node, each as [f, f_rho, f_s, f_rho_s], exact derivatives of the Helmholtz energy.

    Kept is u/T [J/(kg K)], not u: with s = 1/T it is nearly straight, exactly so for a constant heat
    capacity.

    Z is defined with the CODATA gas constant, p = rho (R/M) T Z, so that p is the library's. The library's
    own R is the older 8.31451 J/(mol K) for nitrogen, air and argon: its dilute Z is therefore 1 + 5.7e-6
    here.
    """
    library.put(state, max(rho, 1e-12), 1.0 / s)
    T_red = state.T_reducing()
    rho_red = state.rhomolar_reducing() * state.molar_mass()
    r_lib = state.gas_constant() / state.molar_mass()
    delta = rho / rho_red
    a_d, a_dd = state.dalphar_dDelta(), state.d2alphar_dDelta2()
    a_dt, a_ddt = state.d2alphar_dDelta_dTau(), state.d3alphar_dDelta2_dTau()
    a_t = state.dalpha0_dTau() + state.dalphar_dTau()
    a_tt = state.d2alpha0_dTau2() + state.d2alphar_dTau2()
    a_dtt = state.d3alphar_dDelta_dTau2()
    scale = state.gas_constant() / grid.R
    z = [
        scale * (1.0 + delta * a_d),
        scale * (a_d + delta * a_dd) / rho_red,
        scale * T_red * delta * a_dt,
        scale * T_red * (a_dt + delta * a_ddt) / rho_red,
    ]
    tau = T_red * s
    u = [
        r_lib * tau * a_t,
        r_lib * tau * a_dt / rho_red,
        r_lib * T_red * (a_t + tau * a_tt),
        r_lib * T_red * (a_dt + tau * a_dtt) / rho_red,
    ]
    return z, u


def _transport(state: Any, rho: float, s: float) -> tuple[float, float]:
    """(viscosity Pa s, conductivity W/(m K)) of one point."""
    library.put(state, max(rho, 1e-9), 1.0 / s)
    return state.viscosity(), state.conductivity()


def tabulate(name: str, recipe: Recipe) -> GasFile:
    """The table of one gas by the library; seconds to a minute of work."""
    state = library.gas_state(recipe.fluid)
    molar_mass = state.molar_mass()
    rho_max = recipe.rho_max
    if rho_max is None:
        rho_max = 1.05 * library.density(recipe.fluid, recipe.p_max, recipe.T_dense)
    rho = np.linspace(0.0, rho_max, N_RHO)
    s = np.linspace(1.0 / recipe.T_max, 1.0 / recipe.T_min, N_S)
    nodes = np.empty((N_RHO, N_S, 5, 4))
    for i, rho_i in enumerate(rho):
        for j, s_j in enumerate(s):
            nodes[i, j, 0], nodes[i, j, 1] = _caloric(state, rho_i, s_j)
    fine_rho = np.linspace(0.0, rho_max, FINE * (N_RHO - 1) + 1)
    fine_s = np.linspace(s[0], s[-1], FINE * (N_S - 1) + 1)
    pair = np.array([[_transport(state, a, b) for b in fine_s] for a in fine_rho])
    nodes[:, :, 2] = grid.node_derivatives(pair[:, :, 0], fine_rho, fine_s, FINE)
    nodes[:, :, 3] = grid.node_derivatives(pair[:, :, 1], fine_rho, fine_s, FINE)
    factor, reached = critical_flow(state, recipe.fluid, fine_rho, fine_s, grid.R / molar_mass)
    nodes[:, :, 4] = grid.node_derivatives(factor, fine_rho, fine_s, FINE)
    library.put(state, 1e-9, 293.15)
    meta = {
        "gas": name,
        "library": "CoolProp",
        "library_version": library.VERSION,
        "fluid": recipe.fluid,
        "source": recipe.source,
        "R_J_per_mol_K": grid.R,
        "library_R_J_per_mol_K": state.gas_constant(),
        "critical_flow": reached,
    }
    return GasFile(
        meta=meta,
        molar_mass=molar_mass,
        gamma0=state.cpmass() / state.cvmass(),
        rho_max=rho_max,
        T_min=recipe.T_min,
        T_max=recipe.T_max,
        p_max=recipe.p_max,
        nodes=nodes,
    )


def main(names: list[str]) -> None:
    """Make and write the named gases, all of them when none is named."""
    for name in names or list(RECIPES):
        path = DATA / f"{name}.npz"
        path.write_bytes(write_table(tabulate(name, RECIPES[name])))
        print(f"{path.name}: {path.stat().st_size} bytes", file=sys.stderr)


if __name__ == "__main__":
    main(sys.argv[1:])
