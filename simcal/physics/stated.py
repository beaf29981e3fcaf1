"""A path from what is stated about it: a rate in mol/s at stated pressures, gas and temperature."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from simcal.physics.flow import HOLE, LAMINAR, LAWS, MOLECULAR, PARAMETERS, SEAT, Upstream, edge_flow
from simcal.physics.gas import density, transport
from simcal.tables.gas import GasTable

SEAT_GAP = 1e-6
"""Bore that stands for the paths past a shut seat [m]: a micrometre, the roughness of what should close
them."""


def upstream(table: GasTable, pressure: float, temperature: float) -> Upstream:
    """Return what a flow law needs to know about the gas at a pressure and a temperature.

    table: the gas
    pressure: absolute pressure [Pa], > 0
    temperature: [K]
    Errors: ValueError when the state lies outside the table.
    """
    rho = density(table, pressure, temperature)
    if not rho > 0.0:
        raise ValueError(f"state ({pressure:.6g} Pa, {temperature:.5g} K) must lie inside the gas table.")
    viscosity, _, c_star = transport(table, rho, temperature)
    z = pressure / (rho * table.r * temperature)
    return Upstream(table.r, z, viscosity, table.gamma0, c_star, table.molar_mass)


def leak_path(
    kind: str | int, rate: float, p_high: float, p_low: float, temperature: float, table: GasTable
) -> NDArray[np.float64]:
    """Return the parameters `a` of a leak's law for which a stated rate results, float64[10].

    kind: "hole", "laminar", "molecular", "seat", or its code
    rate: stated rate [mol/s], >= 0
    p_high: absolute pressure inside at which the rate is stated [Pa]
    p_low: absolute pressure outside at which the rate is stated [Pa], below p_high
    temperature: temperature at which the rate is stated [K]
    table: the gas for which the rate is stated, and which flows
    Range: any; a "seat" is split into laminar and molecular flow as a round path of bore SEAT_GAP would be.
    Errors: ValueError for another law, p_high not above p_low, or a state outside the table.
    """
    law = LAWS.get(kind, -1) if isinstance(kind, str) else int(kind)
    if law not in (HOLE, LAMINAR, MOLECULAR, SEAT):
        raise ValueError(f'kind(={kind!r}) must be "hole", "laminar", "molecular" or "seat".')
    if not p_high > p_low >= 0.0:
        raise ValueError(f"p_high(={p_high:.6g} Pa) must be above p_low(={p_low:.6g} Pa), and p_low not negative.")
    gas = upstream(table, p_high, temperature)
    a = np.zeros(PARAMETERS)
    a[0] = 1.0
    if law == SEAT:
        a[:2] = capillary(SEAT_GAP, table.r)
    unit = edge_flow(law, p_high, p_low, temperature, gas, a)[0]
    scaled: NDArray[np.float64] = a * (rate * table.molar_mass / unit)
    return scaled


def law_flow(law: str, p_high: float, p_low: float, temperature: float, table: GasTable) -> float:
    """Return the flow of a real gas by a leak's law through a path of one unit [mol/s of a unit path].

    For ratios between two pressures of one path and one gas. "laminar" is the integral of 2 p/(Z viscosity) over the
    pressure along the path; the law of the engine takes both from the upstream side, which is 0.5 % low for nitrogen
    from 2 MPa to the room, 14 % from 20.7 MPa and 24 % from 35 MPa.

    law: "hole", "laminar" or "molecular" [-]
    p_high: absolute pressure on one side [Pa]
    p_low: absolute pressure on the other [Pa], >= 0, not above p_high
    temperature: of gas and path [K]
    table: the gas
    Errors: ValueError for another law, or a state outside the table.
    Source: Hagen-Poiseuille, integrated; else the law itself.
    """
    if law != "laminar":
        if law not in ("hole", "molecular"):
            raise ValueError(f'law(={law!r}) must be "hole", "laminar" or "molecular".')
        a = np.zeros(PARAMETERS)
        a[0] = 1.0
        gas = upstream(table, p_high, temperature)
        return float(edge_flow(LAWS[law], p_high, p_low, temperature, gas, a)[0]) / table.molar_mass
    middle, half = 0.5 * (p_high + p_low), 0.5 * (p_high - p_low)
    places, weights = np.polynomial.legendre.leggauss(PLACES)
    states = [(p, upstream(table, p, temperature)) for p in middle + half * places]
    along = [2.0 * p / (gas.z * gas.viscosity) for p, gas in states]
    return half * float(weights @ along) / temperature


PLACES = 12
"""pressures along a path at which its gas is looked up [-]: the integral to 1e-6 from 35 MPa"""
LIMIT_LAWS = ("hole", "laminar", "molecular", "none")
"""Ways in which a permitted rate goes from the pressure it was stated for to another one."""


def limit_factor(
    law: str,
    p_stated: float,
    p_wanted: float,
    p_low: float,
    temperature: float,
    table: GasTable,
    stated_table: GasTable | None = None,
) -> float:
    """Return what a rate stated at one pressure is multiplied by at another one, and of another gas [-].

    The path that passes the stated rate passes `limit_factor` times it, in mol/s. "none" gives 1: the limit is taken
    as it stands, whatever the pressure and the gas.

    law: one of LIMIT_LAWS [word]
    p_stated: absolute pressure inside for which the rate is stated [Pa], above p_low
    p_wanted: absolute pressure inside for which it is wanted [Pa], above p_low
    p_low: absolute pressure outside, at both [Pa]
    temperature: at both [K]
    table: the gas that flows
    stated_table: the gas for which the rate is stated, where that is another one [table]
    Errors: ValueError for another law, a pressure not above p_low, or a state outside the table.
    Source: the law itself; EN 1779 asks for the conversion by flow regime, pressure, temperature and gas.
    """
    if law not in LIMIT_LAWS:
        raise ValueError(f"law(={law!r}) must be one of {', '.join(LIMIT_LAWS)}.")
    if not (p_stated > p_low and p_wanted > p_low):
        raise ValueError(f"{p_stated:.6g} Pa and {p_wanted:.6g} Pa must be above p_low(={p_low:.6g} Pa).")
    if law == "none":
        return 1.0
    stated_table = stated_table or table
    # for one path: K of `laminar` goes with 1/r, so alike in mol/s for every gas; of `molecular` with 1/sqrt(r)
    path = math.sqrt(stated_table.r / table.r) if law == "molecular" else 1.0
    wanted, stated = (
        law_flow(law, p, p_low, temperature, gas) for p, gas in ((p_wanted, table), (p_stated, stated_table))
    )
    return path * wanted / stated


def capillary(bore: float, r: float) -> tuple[float, float]:
    """Return the coefficients of one metre of round capillary for `seat`.

    The first is K of `laminar` [kg K/(Pa s)], the second K of `molecular` [kg sqrt(K)/(s Pa)]. The
    second is the slip of viscous flow, 1/1.24 of Knudsen's molecular conductance.

    bore: [m], > 0
    r: specific gas constant [J/(kg K)]
    Source: Hagen-Poiseuille; Knudsen, Ann. Phys. 333 (1909) 75.
    """
    viscous = math.pi * bore**4 / (256.0 * r)
    return viscous, bore**3 / 6.0 * math.sqrt(2.0 * math.pi / r) / 1.24
