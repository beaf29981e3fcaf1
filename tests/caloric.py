"""What tests derive from a table's pressure and energy by the usual identities."""

from __future__ import annotations

import math

from simcal.physics import gas
from simcal.tables.gas import GasTable


def caloric(t: GasTable, rho: float, T: float) -> tuple[float, float, float]:
    """(cp, cv, speed of sound) from the table's derivatives by the usual identities."""
    _p, p_rho, p_T, _u, _u_rho, cv = gas.properties(t, rho, T)
    cp = cv + T * (p_T / rho) ** 2 / p_rho
    return cp, cv, math.sqrt(p_rho * cp / cv)


def compressibility(t: GasTable, rho: float, T: float) -> float:
    """Z with the gas constant that the table's own equation was made with (1 in the dilute limit)."""
    return gas.properties(t, rho, T)[0] / (rho * gas.properties(t, 0.0, T)[1])
