"""Pressure of a gas column between two heights."""

from __future__ import annotations

# Standard acceleration of free fall, m/s2 (3rd CGPM, 1901; exact by definition).
GRAVITY = 9.80665


def head(rho: float, height: float, gauge: bool, rho_air: float = 1.2) -> float:
    """Pressure [Pa] by which a point lies below the pressure of one `height` lower: rho g height.

    A device above the reference reads that much less; below it (height negative), more. A gauge device has
    the air column of the room on its other side and sees (rho - rho_air) g height, which turns its sign
    near the room's pressure.

    Args:
        rho: density of the gas in the line [kg/m3].
        height: height of the device above the reference [m].
        gauge: True for a device that measures against the room's air [-].
        rho_air: density of that air [kg/m3].
    Range: density taken as even over the height, good to 1e-4 of the head per metre.
    Source: hydrostatics.
    """
    return (rho - rho_air if gauge else rho) * GRAVITY * height
