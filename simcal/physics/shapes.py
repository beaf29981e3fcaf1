"""Shapes of volumes: inner area, the length a film law is written on, and the heat capacity of the wall."""

from __future__ import annotations

import math


def inner(shape: str, capacity: float, bore: float) -> tuple[float, float]:
    """Return (area m2, diameter m) of the inside of a volume.

    "cylinder": closed tube of the given bore, area of side and both ends, diameter the bore.
    "sphere": bore follows from the capacity, the given one is not used.
    "slab": flat cavity of gap `bore`, area of both faces without the rim, diameter the gap.

    shape: "cylinder", "sphere" or "slab"
    capacity: inner volume [m3], > 0
    bore: inner diameter or gap [m], > 0
    Errors: ValueError for another shape.
    """
    if shape == "cylinder":
        return math.pi * bore * length(capacity, bore) + 0.5 * math.pi * bore**2, bore
    if shape == "sphere":
        diameter = sphere_bore(capacity)
        return math.pi * diameter**2, diameter
    if shape == "slab":
        return 2.0 * capacity / bore, bore
    raise ValueError(f'shape(={shape!r}) must be "cylinder", "sphere" or "slab".')


def length(capacity: float, bore: float) -> float:
    """Return the length of a closed tube [m], 4 V/(pi d^2).

    capacity: inner volume [m3], > 0
    bore: inner diameter [m], > 0
    """
    return 4.0 * capacity / (math.pi * bore**2)


def sphere_bore(capacity: float) -> float:
    """Return the inner diameter of a sphere [m], (6 V/pi)^(1/3).

    capacity: inner volume [m3], > 0
    """
    return float((6.0 * capacity / math.pi) ** (1.0 / 3.0))


def outer(shape: str, capacity: float, bore: float, thickness: float) -> tuple[float, float]:
    """Return (area m2, diameter m) of the outside of a volume's wall.

    A slab counts with its two faces, taken as round.

    shape: "cylinder", "sphere" or "slab"
    capacity: inner volume [m3], > 0
    bore: inner diameter or gap [m], > 0
    thickness: wall thickness [m], > 0
    Errors: ValueError for another shape.
    """
    if shape == "cylinder":
        wide = bore + 2.0 * thickness
        return math.pi * wide * (length(capacity, bore) + 2.0 * thickness) + 0.5 * math.pi * wide**2, wide
    if shape == "sphere":
        wide = sphere_bore(capacity) + 2.0 * thickness
        return math.pi * wide**2, wide
    area = inner(shape, capacity, bore)[0]
    return area, math.sqrt(2.0 * area / math.pi)


def wall_volume(shape: str, capacity: float, bore: float, thickness: float) -> float:
    """Return the volume of the wall's material [m3]; a slab's is that of its two faces.

    shape: "cylinder", "sphere" or "slab"
    capacity: inner volume [m3], > 0
    bore: inner diameter or gap [m], > 0
    thickness: wall thickness [m], > 0
    Errors: ValueError for another shape.
    """
    if shape == "cylinder":
        wide = bore + 2.0 * thickness
        return 0.25 * math.pi * wide**2 * (length(capacity, bore) + 2.0 * thickness) - capacity
    if shape == "sphere":
        return math.pi / 6.0 * (sphere_bore(capacity) + 2.0 * thickness) ** 3 - capacity
    return inner(shape, capacity, bore)[0] * thickness


def wall_heat_capacity(shape: str, capacity: float, bore: float, thickness: float, density: float, cp: float) -> float:
    """Return the heat capacity of a volume's wall [J/K].

    shape: "cylinder", "sphere" or "slab"
    capacity: inner volume [m3], > 0
    bore: inner diameter or gap [m], > 0
    thickness: wall thickness [m], > 0
    density: density of the wall [kg/m3]
    cp: specific heat capacity of the wall [J/(kg K)]
    Errors: ValueError for another shape.
    """
    return wall_volume(shape, capacity, bore, thickness) * density * cp
