"""The one door to the reference library CoolProp, opened only when a table is made.

A thin layer: states by (density, temperature) without phase search, saturation, and what the library knows
about a gas. Nothing here is imported by an ordinary run.
"""

from __future__ import annotations

import json
from typing import Any

import CoolProp
from CoolProp import CoolProp as functions

VERSION: str = CoolProp.__version__


def gas_state(fluid: str) -> Any:
    """A state evaluated on the gas-like branch, without a phase search; place it with `put`."""
    state = CoolProp.AbstractState("HEOS", fluid)
    state.specify_phase(CoolProp.iphase_gas)
    return state


def plain_state(fluid: str) -> Any:
    """A library state that finds its phase."""
    return CoolProp.AbstractState("HEOS", fluid)


def put(state: Any, rho: float, T: float) -> None:
    """Place a state at density rho [kg/m3] and temperature T [K]; ValueError when the library fails."""
    state.update(CoolProp.DmassT_INPUTS, rho, T)


def saturation(state: Any, T: float) -> tuple[float, float]:
    """(vapour, liquid) density [kg/m3] of a plain state at saturation temperature T [K]."""
    state.update(CoolProp.QT_INPUTS, 0.0, T)
    liquid = state.rhomass()
    state.update(CoolProp.QT_INPUTS, 1.0, T)
    return state.rhomass(), liquid


def density(fluid: str, p: float, T: float) -> float:
    """Density [kg/m3] at pressure p [Pa] and temperature T [K]."""
    return float(functions.PropsSI("D", "P", p, "T", T, fluid))


def fluids() -> list[str]:
    """Names of all pure and pseudo-pure fluids of the library."""
    return sorted(functions.get_global_param_string("FluidsList").split(","))


def record(fluid: str) -> dict[str, Any]:
    """What the library tells about a fluid: names, hazard figures and more."""
    info: dict[str, Any] = json.loads(functions.get_fluid_param_string(fluid, "JSON"))[0]["INFO"]
    return info


def sources(fluid: str) -> str:
    """The library's keys of the papers behind a fluid's equations."""
    kinds = ("EOS", "VISCOSITY", "CONDUCTIVITY")
    return ", ".join(f"{kind.lower()} {functions.get_BibTeXKey(fluid, kind)}" for kind in kinds)
