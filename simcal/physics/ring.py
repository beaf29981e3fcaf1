"""A rubber ring of round section: how hard it presses when it is squeezed, what it stands, how it ages."""

from __future__ import annotations

import math

STATIC_LEAST, STATIC_MOST = 0.10, 0.30
"""Squeeze of a static ring [-]: least of a wide design range (a seal maker's guide), most (Mechanical Engineers'
Handbook, vol. 3, seal chapter)."""
MOST_SQUEEZE = 0.6
"""Squeeze [-] up to which the force law is used here; the measurements behind it end near 0.4."""

_PSI = 6894.757293168
EXTRUSION = {
    70.0: ((500, 0.406e-3), (1000, 0.254e-3), (1500, 0.152e-3), (2000, 0.102e-3), (3000, 0.051e-3)),
    90.0: ((500, 0.711e-3), (1000, 0.610e-3), (1500, 0.508e-3), (2000, 0.406e-3), (3000, 0.254e-3)),
}
"""Hardness [Shore A] -> (pressure psi up to which it holds, largest diametral clearance m); a seal distributor's
design page."""
SET_EXPONENT = 0.5
"""with which set grows in time [-]: a stated teaching assumption, slow processes of rubber go like a root of time"""


def modulus(hardness: float) -> float:
    """Return Young's modulus of rubber [Pa].

    hardness: Shore A or IRHD [-], 30..95
    Source: A. N. Gent, Trans. Inst. Rubber Ind. 34 (1958) 46 (recalled from memory).
    """
    return 1e6 * 0.0981 * (56.0 + 7.62336 * hardness) / (0.137505 * (254.0 - 2.54 * hardness))


def bracket(squeeze: float) -> float:
    """Return 1.25 C^1.5 + 50 C^6 [-], the force of a squeezed ring over pi D d E.

    squeeze: C, share of the section that is squeezed away [-], 0..0.4 measured, used to MOST_SQUEEZE
    Source: P. B. Lindley, J. Strain Analysis 1 (1966) 190; J. Inst. Rubber Ind. 1 (1967) 209 (recalled).
    """
    return 1.25 * squeeze**1.5 + 50.0 * squeeze**6


def squeeze_force(squeeze: float, diameter: float, section: float, modulus: float) -> float:
    """Return the force [N] that squeezes a ring.

    squeeze: share of the section [-]
    diameter: mean diameter of the ring [m]
    section: diameter of its section [m]
    modulus: Young's modulus [Pa]
    Range and source: as `bracket`.
    """
    return math.pi * diameter * section * modulus * bracket(squeeze)


def squeeze_under(force: float, diameter: float, section: float, modulus: float) -> float:
    """Return the squeeze [-] that a force makes, the inverse of `squeeze_force`; below 1 for any force.

    force: on the ring [N], >= 0
    diameter: mean diameter of the ring [m]
    section: diameter of its section [m]
    modulus: Young's modulus [Pa]
    """
    wanted = force / (math.pi * diameter * section * modulus)
    low, high = 0.0, min(0.999, (wanted / 50.0) ** (1.0 / 6.0), (wanted / 1.25) ** (2.0 / 3.0))
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if bracket(middle) < wanted else (low, middle)
    return 0.5 * (low + high)


def contact(squeeze: float, section: float, modulus: float) -> tuple[float, float]:
    """Return (width [m], peak pressure [Pa]) of the band in which a squeezed ring touches a flat face.

    width = d sqrt(6/pi bracket), peak = 4 F'/(pi width) with F' = d E bracket, the force per length.

    squeeze: share of the section [-]
    section: diameter of the section [m]
    modulus: Young's modulus [Pa]
    Source: line contact with Lindley's force, as used by Green and English 1994 (recalled, formula not seen).
    """
    part = bracket(squeeze)
    width = section * math.sqrt(6.0 / math.pi * part)
    return width, 4.0 * modulus * section * part / (math.pi * width) if width > 0.0 else 0.0


def fill(section: float, width: float, depth: float) -> float:
    """Return the share of a groove that a ring fills [-].

    section: diameter of the section [m]
    width: of the groove [m]
    depth: left for the section when the joint is closed [m]
    Source: areas of circle and rectangle.
    """
    return 0.25 * math.pi * section**2 / (width * depth)


def extrusion_limit(pressure: float, hardness: float) -> float:
    """Return the clearance [m] into which a ring begins to be drawn at a pressure difference.

    Through the published points straight in the logarithm over pressure and hardness, at the upper end of each
    published band of pressure; it does not rise below the first, and goes on with the last slope above the last.

    pressure: across the ring [Pa], published to 20.7 MPa
    hardness: Shore A [-], published for 70 and 90, held at its ends outside 50..95
    Source: a seal distributor's design page, diametral clearance.
    """
    psi = pressure / _PSI
    logs = []
    for points in EXTRUSION.values():
        k = next((i for i, point in enumerate(points) if psi <= point[0]), len(points) - 1)
        (p0, c0), (p1, c1) = points[max(k - 1, 0)], points[max(k, 1)]
        logs.append(math.log(c0) + (max(psi, p0) - p0) / (p1 - p0) * math.log(c1 / c0))
    soft, hard = logs
    share = (min(max(hardness, 50.0), 95.0) - 70.0) / 20.0
    return math.exp(soft + share * (hard - soft))


def set_of(free: float, squeezed: float, recovered: float) -> float:
    """Return the compression set [-]: the share of a compression that stays.

    free: height before [m]
    squeezed: height while squeezed [m]
    recovered: height after recovery [m]
    Source: definition of ISO 815-1 and ASTM D395 method B.
    """
    return (free - recovered) / (free - squeezed)


def set_after(age: float, measured: float, time: float) -> float:
    """Return the set [-] at an age, from the one measured after `time`: 1 - (1 - measured)^sqrt(age/time).

    age: since the ring was squeezed [s], >= 0
    measured: set after `time` at the same temperature [-], 0..1
    time: of that measurement [s], > 0
    Source: a stated teaching assumption (SET_EXPONENT); zero at first and complete at last.
    """
    return 1.0 - (1.0 - measured) ** ((age / time) ** SET_EXPONENT)


def squeeze_left(squeeze: float, set_share: float) -> float:
    """Return the squeeze [-] that still presses: that of a ring of the recovered height.

    squeeze: of the new ring [-]
    set_share: compression set [-], 0..1
    Source: definition of compression set.
    """
    return squeeze * (1.0 - set_share) / (1.0 - set_share * squeeze)


def permeation_shape(diameter: float, squeeze: float) -> float:
    """Return area over thickness [m] of a squeezed ring for gas that permeates it, 4 D (1 - C)^2.

    A section of height h = d (1 - C) is as wide as keeps its area, pi d^2/(4 h); gas crosses that width through pi D h.

    diameter: mean diameter [m]
    squeeze: C [-]
    Source: a slab of that height and width. A seal handbook's 0.7 F D P Q (1 - S)^2 with D in inch and P in psi is the
        same: 4 x 2.54 x 0.0689476 = 0.7005 (recalled).
    """
    return 4.0 * diameter * (1.0 - squeeze) ** 2


def permeation_path(section: float, squeeze: float) -> float:
    """Return the thickness [m] of that slab, for its lag.

    section: diameter of the section [m]
    squeeze: [-], below 1
    Source: a section that keeps its area.
    """
    return 0.25 * math.pi * section / (1.0 - squeeze)
