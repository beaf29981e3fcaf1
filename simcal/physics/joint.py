"""A joint that squeezes a ring: from torque to force, and what pressure leaves of it.

Screws are stiff beside rubber: pressure stretches them hardly, and takes the squeeze away only as far as it does. Where
metal meets metal the faces stay together until the pressure has used up the spare clamp force, then part.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from simcal.physics import ring

STEEL = 200e9
"""Young's modulus of steel [Pa]"""
GRIP, CORE, JOINT_SHARE = 4.0, 0.85, 0.1
"""length of a screw over its size, core over size, and stiffness of the joint with bending faces over that of its
screws alone [-]: a stated teaching assumption"""


class Closed(NamedTuple):
    """A joint without pressure.

    squeeze: of the ring [-]
    spare: clamp force that presses metal on metal [N]; 0 where faces do not meet
    apart: distance of the faces of a metal stop that do not meet [m]
    """

    squeeze: float
    spare: float
    apart: float


def thread_force(torque: float, nut_factor: float, thread: float) -> float:
    """Return the force of one screw [N], T/(K d).

    torque: T [N m]
    nut_factor: K [-], 0.1..0.5, within a factor of two for the same screw
    thread: nominal diameter d [m]
    Source: any text on bolted joints; worked in Mechanical Fastening, Joining, and Assembly, p. 85.
    """
    return torque / (nut_factor * thread)


def nut_factor(pitch: float, flank: float, head: float, thread: float, friction: float) -> float:
    """Return K of `thread_force` [-] from friction, the same in the thread and under the head.

    pitch: of the thread [m]
    flank: pitch diameter [m]
    head: mean diameter of the surface under the head [m]
    thread: nominal diameter [m]
    friction: coefficient [-], 0.08..0.3
    Source: VDI 2230-1, M = F (0.16 P + 0.58 d2 mu + D_Km mu/2) (recalled).
    """
    return (0.16 * pitch + 0.58 * flank * friction + 0.5 * head * friction) / thread


def end_load(pressure: float, diameter: float) -> float:
    """Return the force [N] with which pressure pushes a joint apart.

    pressure: difference across the joint [Pa]
    diameter: sealed diameter [m]
    Source: statics.
    """
    return 0.25 * math.pi * diameter**2 * pressure


def lift_pressure(spare: float, diameter: float) -> float:
    """Return the pressure difference [Pa] that uses up a spare clamp force.

    spare: clamp force on metal [N]
    diameter: sealed diameter [m]
    Source: statics.
    """
    return spare / (0.25 * math.pi * diameter**2)


def stiffness(thread: float, screws: int) -> float:
    """Return the stiffness of a joint [N/m]: steel screws four sizes long, a tenth left by bending faces.

    thread: nominal diameter [m]
    screws: how many [-]
    Source: E A/L of a rod; GRIP, CORE and JOINT_SHARE are a stated teaching assumption.
    """
    return JOINT_SHARE * screws * STEEL * 0.25 * math.pi * (CORE * thread) ** 2 / (GRIP * thread)


def without_stop(clamp: float, diameter: float, section: float, modulus: float) -> Closed:
    """Return a joint in which nothing but the ring stands against the screws.

    clamp: force of all screws [N]
    diameter: mean diameter of the ring [m]
    section: of the ring [m]
    modulus: of the rubber [Pa]
    """
    return Closed(ring.squeeze_under(clamp, diameter, section, modulus), 0.0, 0.0)


def with_stop(clamp: float, diameter: float, section: float, modulus: float, gland: float) -> Closed:
    """Return a joint whose metal faces meet when the ring is squeezed into its groove.

    clamp: force of all screws [N]
    diameter: mean diameter of the ring [m]
    section: of the ring [m]
    modulus: of the rubber [Pa]
    gland: depth of the groove [m], below `section`
    """
    full = 1.0 - gland / section
    needed = ring.squeeze_force(full, diameter, section, modulus)
    if clamp >= needed:
        return Closed(full, clamp - needed, 0.0)
    part = ring.squeeze_under(clamp, diameter, section, modulus)
    return Closed(part, 0.0, section * (1.0 - part) - gland)
