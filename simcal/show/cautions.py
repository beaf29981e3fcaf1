"""What stands beside any advice about compressed gas: no permitted distance, relief size or all-clear."""

import re
from dataclasses import dataclass

from simcal.show import words

ESTIMATE = (
    "An estimate for planning and teaching. Local codes and regulations, the site's competent person and the "
    "makers' limits decide; where the law keeps this work for licensed or certified people, it stays theirs."
)
JOINTS = (
    "Never tighten or loosen a joint under pressure: vent and confirm zero on a gauge first. Work at or "
    "below the lowest rated pressure of every part; strength tests are another job."
)
HOSES = (
    "A hose or fitting that lets go whips or flies: restrain hoses at both ends, stand to the side of "
    "gauges and plugs, raise the pressure in steps with people away, wear eye protection."
)
SUPPLY = "Protect every section that can be shut in, and each device, against the supply regulator failing open."
OXYGEN = (
    "A device for oxygen must never meet oil, or a bench that has held oil: compression heat can light it. "
    "Oxygen is never a test gas."
)
VACUUM = "Below the room's pressure: glass can implode, and a supply at high pressure can fill back suddenly."
VENTING = "A fast vent chills the gas below its dew point, and its noise harms hearing within seconds close by."

DISPLACING = {"nitrogen": "Nitrogen", "helium": "Helium", "argon": "Argon"}
"""Gases that displace air without a warning; dry air does not."""

LOUD_PA = 1.0e6
"""Absolute pressure from which the noise and chill of a vent are mentioned: a choice of ours, no source."""


@dataclass(frozen=True)
class Hazard:
    """What the cautions depend on. Pressures are absolute; an empty gas is an unknown one."""

    gas: str
    highest_Pa: float
    lowest_Pa: float
    room_Pa: float
    stored_energy_J: float | None
    stored_energy_method: str


def cautions(hazard: Hazard, unicode: bool = True) -> tuple[str, ...]:
    """The cautions that belong to this run, the general ones first, each one or two sentences."""
    found = [
        ESTIMATE,
        f"Compressed gas stores energy: {_stored(hazard, unicode)}.",
        JOINTS,
        HOSES,
        SUPPLY,
        _air(hazard.gas),
        OXYGEN,
    ]
    if hazard.lowest_Pa < 0.98 * hazard.room_Pa:
        found.append(VACUUM)
    if hazard.highest_Pa >= LOUD_PA:
        found.append(VENTING)
    return tuple(text for text in found if text)


def brief_caution(hazard: Hazard, unicode: bool = True) -> str:
    """The cautions in one short paragraph, for a text that is pasted."""
    room = f"{DISPLACING[hazard.gas]} displaces air without warning. " if hazard.gas in DISPLACING else ""
    return (
        f"Compressed gas: {_stored(hazard, unicode, brief=True)}. Never tighten or loosen a joint under pressure: vent "
        f"and confirm zero first. Hoses whip: restrain them. {room}Oxygen devices must never meet oil. An "
        "estimate: local codes, the site's competent person and the makers' limits decide, and work that the "
        "law keeps for licensed people stays theirs."
    )


def _stored(hazard: Hazard, unicode: bool, brief: bool = False) -> str:
    if hazard.stored_energy_J is None:
        return "its stored energy was not computed here"
    energy = words.in_units(hazard.stored_energy_J, words.ENERGIES, unicode, 2)
    method = hazard.stored_energy_method.strip().rstrip(".")
    method = re.split("[,;]", method)[0] if brief else method
    return (
        f"about {energy} stored at the highest pressure of this run (method: {method}; other published "
        "methods can give more than twice as much, supply cylinders come on top)"
    )


def _air(gas: str) -> str:
    if gas == "air":
        return ""
    name = DISPLACING.get(gas, "A gas other than air")
    return (
        f"{name} displaces the air we breathe without any warning: vent it outdoors or watch the room's "
        "oxygen; below 19.5 % oxygen people are in danger."
    )
