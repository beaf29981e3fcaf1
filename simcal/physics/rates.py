"""Leak rates as amounts of gas: from every form a shop states them in, and from what a fixed volume loses.

A rate is held in mol/s. Pa m3/s and sccm are amounts too, rate = Q/(R T_ref), and mean nothing without T_ref. What a
volume loses is the change of its real-gas density: p V/(R T) is right at low pressure only.
"""

from __future__ import annotations

import math

from simcal.physics.gas import density, properties
from simcal.tables.gas import GasTable
from simcal.units.table import R

RESOLUTION_SHARE, ACCURACY_SHARE = 0.1, 0.25
"""of the permitted rate, which a pressure decay test must resolve and be accurate to (ASTM E2930-13, 5.1)"""


def from_pressure_volume(flow: float, reference: float) -> float:
    """Return the rate [mol/s] of a flow stated as pressure times volume per time, an ideal gas at `reference`.

    flow: [Pa m3/s]; a volume flow at a stated pressure times that pressure, 101325 Pa for "standard" ones
    reference: temperature for which it is stated [K]
    Source: amount of ideal gas, n = p V/(R T).
    """
    return flow / (R * reference)


def to_pressure_volume(rate: float, reference: float) -> float:
    """Return the flow [Pa m3/s] of ideal gas at `reference` that a rate is.

    rate: [mol/s]
    reference: temperature in which it is to be stated [K]
    Source: amount of ideal gas, p V = n R T.
    """
    return rate * R * reference


def from_mass(flow: float, molar_mass: float) -> float:
    """Return the rate [mol/s] of a mass flow, of a gas lost in g/a for example.

    flow: [kg/s]
    molar_mass: [kg/mol]
    Source: definition of the mole.
    """
    return flow / molar_mass


def from_pressure_fall(table: GasTable, capacity: float, pressure: float, temperature: float, fall: float) -> float:
    """Return the rate [mol/s] out of a rigid volume at even temperature whose pressure falls by `fall`.

    rate = V (d rho/dp)_T fall / M.

    table: the gas
    capacity: of the volume [m3]
    pressure: absolute [Pa]
    temperature: of the gas, steady [K]
    fall: of the pressure per time, falling positive [Pa/s]
    Range: the gas table; a total fall of at most a few per cent of the pressure.
    Errors: ValueError outside the gas table.
    Source: conservation of mass with real-gas density.
    """
    slope = properties(table, _density(table, pressure, temperature), temperature)[1]
    return capacity * fall / (slope * table.molar_mass)


def to_pressure_fall(table: GasTable, capacity: float, pressure: float, temperature: float, rate: float) -> float:
    """Return the fall of pressure [Pa/s] that a rate makes in a rigid volume at even temperature.

    table: the gas
    capacity: of the volume [m3]
    pressure: absolute [Pa]
    temperature: of the gas, steady [K]
    rate: out of the volume [mol/s]
    Range, errors, source: as `from_pressure_fall`, of which it is the inverse.
    """
    return rate / from_pressure_fall(table, capacity, pressure, temperature, 1.0)


def between(
    table: GasTable, capacity: float, time: float, p_start: float, T_start: float, p_end: float, T_end: float
) -> float:
    """Return the mean rate [mol/s] out of a rigid volume between two states of its gas.

    rate = V (rho_start - rho_end)/(M t).

    table: the gas
    capacity: of the volume [m3]
    time: between the states [s], > 0
    p_start: absolute pressure at the start [Pa]
    T_start: gas temperature at the start [K]
    p_end: absolute pressure at the end [Pa]
    T_end: gas temperature at the end [K]
    Errors: ValueError outside the gas table.
    Source: conservation of mass; with an ideal gas the principle of EN 13184 and ASTM E2930.
    """
    lost = _density(table, p_start, T_start) - _density(table, p_end, T_end)
    return capacity * lost / (table.molar_mass * time)


def between_sd(
    table: GasTable,
    capacity: float,
    time: float,
    pressure: float,
    temperature: float,
    pressure_sd: float,
    temperature_sd: float,
) -> float:
    """Return the standard deviation [mol/s] of `between` for independent readings at both ends, states close together.

    table: the gas
    capacity: of the volume [m3]
    time: between the readings [s], > 0
    pressure: absolute, mean of both [Pa]
    temperature: mean of both [K]
    pressure_sd: of one reading of the pressure [Pa]
    temperature_sd: of one reading of the gas temperature [K]
    Errors: ValueError outside the gas table.
    Source: law of propagation of uncertainty, JCGM 100:2008, 5.1.2.
    """
    _, p_rho, p_T, *_ = properties(table, _density(table, pressure, temperature), temperature)
    one = math.hypot(pressure_sd, p_T * temperature_sd) / p_rho
    return capacity * math.sqrt(2.0) * one / (table.molar_mass * time)


def decay_test_needs(limit: float) -> tuple[float, float]:
    """Return the resolution and the accuracy [mol/s] that a pressure decay test needs for a permitted rate.

    limit: permitted rate [mol/s]
    Range: rigid bodies; total change of pressure below 10 % of that at the start.
    Source: ASTM E2930-13 (2021), 5.1.
    """
    return RESOLUTION_SHARE * limit, ACCURACY_SHARE * limit


def _density(table: GasTable, pressure: float, temperature: float) -> float:
    rho = float(density(table, pressure, temperature))
    if not rho > 0.0:
        raise ValueError(f"state ({pressure:.6g} Pa, {temperature:.5g} K) must lie inside the gas table.")
    return rho
