"""Wall materials: density, specific heat and conductivity at room temperature, each with its source.

The metals' figures are those of textbook tables; a shop's alloy differs by some per cent, plastics and
rubbers by a fifth and more with their make. What a wall does to a pressure depends on them weakly (square
root of their product).
"""

from __future__ import annotations

from dataclasses import dataclass

from simcal.errors import InputError

_METALS = "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table A.1, 300 K"
_OTHERS = "Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table A.3, 300 K"
_TYPICAL = "typical of makers' data sheets at 23 degC; no single source"


@dataclass(frozen=True)
class Material:
    """A wall material: density [kg/m3], specific_heat [J/(kg K)], conductivity [W/(m K)], its source."""

    name: str
    density: float
    specific_heat: float
    conductivity: float
    about: str
    source: str


_ALL = (
    Material("steel", 7854.0, 434.0, 60.5, "plain carbon steel", _METALS),
    Material("stainless", 7900.0, 477.0, 14.9, "stainless steel AISI 304", _METALS),
    Material("aluminium", 2700.0, 896.0, 167.0, "alloy 6061-T6", "ASM metals handbook, as usually quoted"),
    Material("brass", 8530.0, 380.0, 110.0, "cartridge brass, 70 % copper", _METALS),
    Material("copper", 8933.0, 385.0, 401.0, "pure copper", _METALS),
    Material("titanium", 4500.0, 522.0, 21.9, "pure titanium", _METALS),
    Material("plastic", 1140.0, 1700.0, 0.25, "polyamide, as in pneumatic tube", _TYPICAL),
    Material("polyurethane", 1200.0, 1800.0, 0.2, "as in soft pneumatic tube", _TYPICAL),
    Material("ptfe", 2200.0, 1000.0, 0.25, "polytetrafluoroethylene", _TYPICAL),
    Material("rubber", 1100.0, 2010.0, 0.13, "vulcanised, soft", _OTHERS),
    Material("glass", 2500.0, 750.0, 1.4, "plate glass, soda lime", _OTHERS),
)
MATERIALS: dict[str, Material] = {material.name: material for material in _ALL}


def find(name: str) -> Material:
    """The material of that name; InputError with the list when there is none."""
    if name not in MATERIALS:
        raise InputError("", "material", f'"{name}"', f"one of {', '.join(MATERIALS)}")
    return MATERIALS[name]
