"""What a stated seal is when it is closed: squeeze, contact, spare clamp force, the channels past it, in words.

Plain arithmetic without arrays: the door of the bench file looks at it too.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from simcal.bench.seal import METAL_STOP, NO_STOP, Seal
from simcal.physics import joint, ring
from simcal.physics import permeation as slab
from simcal.physics import seal as law

ASSUMPTION = "a stated teaching assumption: its leak rests on the mechanism only, nothing measured"
HIGHEST = 35e6
"""Pa; up to which it is asked whether a seal is drawn into its gap"""


@dataclass(frozen=True)
class Fitted:
    """A closed seal, without pressure: squeeze and what still presses of it (-), contact pressure Pa and width m.

    lifts_at: pressure difference at which metal faces part, Pa (inf: they do not, or never met); per_pressure: how far
    faces part per pressure beyond it, m/Pa; extrudes_at: pressure difference at which the gap behind the ring reaches
    the limit of extrusion, Pa (inf: not below HIGHEST); excess: growth of the gap over that limit from there on, m/Pa.
    """

    seal: Seal
    squeeze: float
    pressing: float
    contact: float
    width: float
    lifts_at: float
    per_pressure: float
    apart: float
    extrudes_at: float
    excess: float


def fitted(seal: Seal) -> Fitted:
    """The seal as its joint closes it."""
    modulus = ring.modulus(seal.hardness)
    closed, parts, per_pressure = _closed(seal, modulus)
    pressing = ring.squeeze_left(closed.squeeze, set_now(seal))
    width, contact = ring.contact(pressing, seal.section, modulus)

    def excess(dp: float) -> float:
        gap = seal.clearance + closed.apart + max(0.0, dp - parts) * per_pressure
        return gap - ring.extrusion_limit(dp, seal.hardness)

    extrudes_at = _crossing(excess)
    step = 1e3
    growth = (excess(extrudes_at + step) - excess(extrudes_at)) / step if math.isfinite(extrudes_at) else 0.0
    return Fitted(
        seal, closed.squeeze, pressing, contact, max(width, law.LEAST_WIDTH * seal.section), parts, per_pressure,
        closed.apart, extrudes_at, max(growth, 0.0),
    )  # fmt: skip


def set_now(seal: Seal) -> float:
    """Compression set at the age of the seal (-)."""
    if seal.set_time is None or seal.age is None:
        return seal.set_share
    return ring.set_after(seal.age, seal.set_share, seal.set_time)


def clamp(seal: Seal) -> float:
    """Force of all screws, N."""
    assert seal.torque is not None and seal.thread is not None
    return seal.screws * joint.thread_force(seal.torque, seal.nut_factor, seal.thread)


def _closed(seal: Seal, modulus: float) -> tuple[joint.Closed, float, float]:
    """The closed joint, the pressure at which its faces part, and how far per pressure."""
    size = (seal.diameter, seal.section, modulus)
    if seal.joint not in (NO_STOP, METAL_STOP):
        assert seal.gland is not None
        return joint.Closed(1.0 - seal.gland / seal.section, 0.0, 0.0), math.inf, 0.0
    assert seal.thread is not None
    firm = seal.stiffness or joint.stiffness(seal.thread, seal.screws)
    per_pressure = joint.end_load(1.0, seal.diameter) / firm
    if seal.joint == NO_STOP:
        return joint.without_stop(clamp(seal), *size), 0.0, per_pressure
    assert seal.gland is not None
    closed = joint.with_stop(clamp(seal), *size, seal.gland)
    return closed, joint.lift_pressure(closed.spare, seal.diameter), per_pressure


def channels(fit: Fitted) -> dict[str, law.Channel]:
    """The channels past a seal, by name; "" is the face itself."""
    seal, modulus = fit.seal, ring.modulus(fit.seal.hardness)
    added = law.TRANSMITTED - law.OPPOSED
    lost = _contact_slope(fit, modulus) * fit.per_pressure / seal.section  # per pressure that parts the faces
    lifts_at = min(fit.lifts_at, law.NEVER)
    if fit.lifts_at == 0.0:  # from the start pressure stretches the screws and takes squeeze away
        added, lost, lifts_at = added - lost, 0.0, law.NEVER
    face = law.interface(seal.finish, seal.diameter, fit.width, fit.contact, added)
    face = face._replace(lifts_at=lifts_at, loosening=lost / law.SEALING_FACTOR)
    if fit.per_pressure > 0.0:  # the faces open a slit once the ring has followed them as far as it was squeezed
        loose = fit.lifts_at + fit.pressing * seal.section / fit.per_pressure
        face = face._replace(opens_at=min(loose, law.NEVER), opening=fit.per_pressure / seal.finish)
    loose_metal = {"lifts_at": lifts_at, "loosening": min(lost, max(added, 0.0)) / modulus}
    found = {"": face}
    if seal.nick > 0.0:
        found["nick"] = law.nick(seal.nick, fit.width, fit.contact, max(added, 0.0), modulus)._replace(**loose_metal)
    if seal.dirt > 0.0:
        found["dirt"] = law.dirt(seal.dirt, fit.width, fit.contact, max(added, 0.0), modulus)._replace(**loose_metal)
    if fit.squeeze > ring.STATIC_MOST or math.isfinite(fit.extrudes_at):
        extrudes_at = min(fit.extrudes_at, law.NEVER)
        found["edge"] = law.edge(fit.squeeze, seal.section, fit.width, extrudes_at, fit.excess)
    return found


def _contact_slope(fit: Fitted, modulus: float) -> float:
    """Loss of contact pressure per loss of squeeze, Pa."""
    step = 1e-4
    less = ring.contact(max(fit.pressing - step, 0.0), fit.seal.section, modulus)[1]
    return (fit.contact - less) / step


def permeation(fit: Fitted) -> tuple[float, float] | None:
    """Steady conductance (mol/(s Pa)) and lag (s) of the rubber itself; None where its numbers are not stated."""
    seal = fit.seal
    if seal.permeability is None or seal.diffusivity is None:
        return None
    steady = seal.permeability * ring.permeation_shape(seal.diameter, fit.squeeze)
    return steady, slab.lag(ring.permeation_path(seal.section, fit.squeeze), seal.diffusivity)


def condition(fit: Fitted) -> str:
    """The condition in words: how it is tightened, then what is wrong with the ring."""
    seal = fit.seal
    words = ["good"]
    if fit.apart > 0.0:
        words = ["under-tightened: the faces do not meet"]
    elif fit.squeeze < ring.STATIC_LEAST:
        words = ["squeezed too little" if seal.torque is None else "under-tightened"]
    elif fit.squeeze > ring.STATIC_MOST:
        words = ["squeezed too much" if seal.torque is None else "over-tightened: the ring's edge is bitten"]
    words += ["nicked"] * (seal.nick > 0.0) + ["dirty"] * (seal.dirt > 0.0)
    if set_now(seal) > 0.0:
        words.append(f"{100.0 * set_now(seal):.2g} % set")
    return ", ".join(words)


def summary(fit: Fitted) -> str:
    """The closed seal in one line, for what a run assumes."""
    words = [condition(fit), f"squeeze {100.0 * fit.squeeze:.1f} %", f"contact {fit.contact / 1e6:.2f} MPa"]
    if 0.0 < fit.lifts_at < math.inf:
        words.append(f"faces part at {fit.lifts_at / 1e5:.3g} bar difference")
    if math.isfinite(fit.extrudes_at):
        words.append(f"drawn into its gap from {fit.extrudes_at / 1e5:.3g} bar difference")
    return ", ".join(words)


def _crossing(excess: Callable[[float], float]) -> float:
    """The least pressure difference (Pa) at which `excess` is not negative, inf if there is none below HIGHEST."""
    if excess(0.0) >= 0.0:
        return 0.0
    if excess(HIGHEST) < 0.0:
        return math.inf
    low, high = 0.0, HIGHEST
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if excess(middle) < 0.0 else (low, middle)
    return high
