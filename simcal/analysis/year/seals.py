"""How often a seal leaks after it was opened: from how it is tightened, through the seal of a bench file.

The torque reached is spread about the stated one. A nut factor that differs from joint to joint is that of this joint
and stays. What a seal then leaks is the bench's stated teaching assumption.
"""

import dataclasses
import math

import numpy as np
from scipy.special import ndtri

from simcal.bench.bench import Bench
from simcal.bench.leaking import seal_rates
from simcal.bench.year import BY_FEEL, TORQUE_LIMITED

SCATTER = {TORQUE_LIMITED: 0.05, BY_FEEL: 0.4}
"""Standard deviation of the natural logarithm of the torque reached; common practice, no source"""
STEPS = 200


def bad_share(bench: Bench, name: str, habit: str, permitted: float) -> float:
    """Share of closings after which seal `name` leaks more than `permitted` mol/s, at the bench's highest pressure."""
    seal = bench.seals[name]
    assert seal.torque is not None
    zero = bench.room.barometer
    pressure = max(zero, *[one.range.absolute(one.range.high, zero) for one in bench.devices.values()])
    bad = 0
    for p in (np.arange(STEPS) + 0.5) / STEPS:
        torque = seal.torque * math.exp(SCATTER[habit] * float(ndtri(p)))
        closed = dataclasses.replace(bench, seals={name: dataclasses.replace(seal, torque=torque)})
        bad += sum(seal_rates(closed, name, pressure).values()) > permitted
    return bad / STEPS
