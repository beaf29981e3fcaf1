"""Ways past a rubber ring, as round channels whose bore follows the pressure that closes them.

The forces that close them are published laws (`ring`, `joint`). How a channel answers is a stated teaching assumption:
it rests on the mechanism only, with numbers of an ordinary kind; no leak rate of a real seal was measured for it.

Closing pressure of a channel: peak contact pressure of the squeeze plus what pressure adds. Rubber hardly changes its
volume and passes nu/(1 - nu) of the pressure on to the face; the gas in the channel, about half of the difference,
holds against it. So a ring that barely touches leaks at low pressure and closes at a higher one.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from simcal.physics import ring

TRANSMITTED = 0.98
"""share of the pressure that the ring passes on to the face [-], nu/(1 - nu) with Poisson's ratio 0.495"""
OPPOSED = 0.5
"""share of the pressure difference that stands in the channel and opposes [-]: the mean of its two ends"""
SEALING_FACTOR = 0.5e6
"""R [Pa], contact pressure that takes a channel between rubber and a turned face to 1/e of its bore"""
PITCH = 10.0
"""distance of the channels of a rough face over their bore [-]"""
LEAST_WIDTH = 0.05
"""of the section, which a channel is long at least [-]"""
NICK_LEFT, DIRT_LEFT = 0.3, 0.1
"""of the bore of a nick, and beside a piece of dirt, that no contact pressure closes [-]"""
DIRT_SHARE = 0.2
"""bore of each of the two channels beside a piece of dirt over its size [-]"""
BITTEN = 0.02
"""bore of the channel where an edge is bitten, over the squeeze beyond the most times the section, and over the
clearance beyond the limit of extrusion [-]"""
SHUT = 700.0
"""closing pressure over its scale at which nothing is left of a channel [-]"""
NEVER = 1e9
"""Pa; pressure difference that stands for none"""
LEAST_BORE = 1e-9
"""m; bore that stands for none"""


class Channel(NamedTuple):
    """Equal round channels side by side; at a pressure difference dp their bore is

        bore (floor + (1 - floor) exp(-(closed + closing dp - loosening (dp - lifts_at))) + opening (dp - opens_at)),

    what stands with lifts_at and opens_at from there on.

    bore [m], number [-], length [m], floor [-], closed [-], closing [1/Pa], opens_at [Pa], opening [1/Pa], lifts_at
    [Pa], loosening [1/Pa].
    """

    bore: float
    number: float
    length: float
    floor: float
    closed: float
    closing: float
    opens_at: float = NEVER
    opening: float = 0.0
    lifts_at: float = NEVER
    loosening: float = 0.0


def interface(finish: float, diameter: float, length: float, contact: float, added: float) -> Channel:
    """Return the channels that a rough face leaves under the ring, all closing with the contact pressure.

    Molecular flow goes with the third power of the bore, so with exp(-3 P/R).

    finish: depth of the roughness [m]
    diameter: mean diameter of the ring [m]
    length: width of the contact [m]
    contact: its pressure without gas [Pa]
    added: closing pressure per pressure difference [-]
    Source: A. Roth, Vacuum Sealing Techniques (1966), for exp(-3 P/R) (recalled); SEALING_FACTOR and PITCH are a stated
        teaching assumption.
    """
    number = math.pi * diameter / (PITCH * finish)
    return Channel(finish, number, length, 0.0, contact / SEALING_FACTOR, added / SEALING_FACTOR)


def nick(depth: float, length: float, contact: float, added: float, modulus: float) -> Channel:
    """Return the channel of a cut across the ring: contact pressure of the size of the modulus narrows it.

    depth: of the cut [m]
    length: width of the contact [m]
    contact: its pressure without gas [Pa]
    added: closing pressure per pressure difference [-]
    modulus: of the rubber [Pa]
    Source: a stated teaching assumption.
    """
    return Channel(depth, 1.0, length, NICK_LEFT, contact / modulus, added / modulus)


def dirt(size: float, length: float, contact: float, added: float, modulus: float) -> Channel:
    """Return the two channels beside a fibre or chip that lies across the ring.

    size: of what lies there [m]
    length: width of the contact [m]
    contact: its pressure without gas [Pa]
    added: closing pressure per pressure difference [-]
    modulus: of the rubber [Pa]
    Source: a stated teaching assumption.
    """
    return Channel(DIRT_SHARE * size, 2.0, length, DIRT_LEFT, contact / modulus, added / modulus)


def edge(squeeze: float, section: float, length: float, extrudes_at: float, excess: float) -> Channel:
    """Return the channel of an edge that is bitten, by too much squeeze or by a gap that pressure draws it into.

    The second part comes and goes with the pressure here; a real ring stays bitten.

    squeeze: of the ring [-]
    section: of the ring [m]
    length: width of the contact [m]
    extrudes_at: pressure difference at which the gap reaches the limit of extrusion [Pa]
    excess: clearance beyond that limit per pressure difference above it [m/Pa]
    Source: a stated teaching assumption.
    """
    bore = max(BITTEN * section * max(0.0, squeeze - ring.STATIC_MOST), LEAST_BORE)
    return Channel(bore, 1.0, length, 1.0, SHUT, 0.0, extrudes_at, BITTEN * excess / bore)
