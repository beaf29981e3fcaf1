"""The way to a target of a controller that is known from outside only.

Known are the highest rate, the overshoot, the time from the end of the way until it stands, the ripple that
stays and the time constant of its loop. The way ends when a ramp at the highest rate, begun at the command, would
have reached the target: at step / rate. So one `settled_in` serves for small steps and for large ones. The
curve is a plain choice of ours with these properties, not the law of any controller: a start smoothed over the
loop time, the highest rate, then

* without overshoot: the rest dies away exponentially, so that it is within the ripple at step / rate + `settled_in`;
* with overshoot: a smooth turn at the peak, from where the excess dies away critically damped, within the
  ripple at step / rate + `settled_in`.

Where `settled_in` leaves less time than the loop time and the overshoot need, these rule, and the end comes as soon
as the loop time allows.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from simcal.jit import kernel

Vector = NDArray[np.float64]

TAIL = 1e-5
"""with no ripple stated, the approach counts as settled at this share of the step"""
LEAST = 1e-9
"""a ripple below this share of the step is no ripple"""


@kernel
def _rest(step: float, ripple: float) -> float:
    """What may be left of the step (Pa) for the approach to count as settled."""
    return ripple if ripple > LEAST * step else TAIL * step


@kernel
def _damped(share: float) -> float:
    """z > 0 with (1 + z) exp(-z) = share, for a share in (0, 1)."""
    z = 1.0 - math.log(share)
    for _ in range(6):
        z += ((1.0 + z) * math.exp(-z) - share) / (z * math.exp(-z))
    return z


@kernel
def _creep(step: float, rate: float, rest: float, end: float) -> float:
    """Time constant (s) of the exponential end, so that `rest` is left of `step` at the time `end` (s)."""
    high = end / max(math.log(step / rest), 1e-9)
    low = rest / rate
    for _ in range(40):
        middle = 0.5 * (low + high)
        far = min(rate * middle, step)
        if (step - far) / rate + middle * math.log(far / rest) > end:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@kernel
def _plain(step: float, time: float, rate: float, end: float, ripple: float, loop: float) -> float:
    """Distance covered (Pa) without overshoot, `time` s after the (smoothed) start."""
    rest = _rest(step, ripple)
    constant = loop
    if step > rest:
        constant = max(loop, _creep(step, rate, rest, end))
    far = min(rate * constant, step)
    run = (step - far) / rate
    if time <= run:
        return rate * time
    return step - far * math.exp(-(time - run) / constant)


@kernel
def _peaked(step: float, over: float, time: float, rate: float, end: float, ripple: float, loop: float) -> float:
    """Distance covered (Pa) with an overshoot `over` (Pa), `time` s after the (smoothed) start."""
    turn = 2.0 * loop
    speed = min(rate, 2.0 * (step + over) / turn)
    run = max((step + over) / speed - 0.5 * turn, 0.0)
    if time <= run:
        return speed * time
    after = time - run
    if after <= turn:
        return speed * (run + 0.5 * after + turn / (2.0 * math.pi) * math.sin(math.pi * after / turn))
    after -= turn
    share = _rest(step, ripple) / over
    constant = loop
    if share < 0.99:
        constant = max(loop, (end - run - turn) / _damped(share))
    return step + over * (1.0 + after / constant) * math.exp(-after / constant)


@kernel
def approach(p_start: float, target: float, t: float, b: Vector) -> float:
    """The reference pressure (Pa) at t s after the command, from rest at p_start towards target (Pa).

    b : float64[5], [rate Pa/s > 0, overshoot Pa >= 0, settled_in s >= 0 from the end of the way (step / rate),
        ripple Pa >= 0, loop time s >= 0].
    Continuous with a continuous rate, which never passes b[0] before the peak; monotone up to the overshoot
    (at most the step itself), then monotone back. The ripple itself is not added: see `ripple`.
    """
    step = abs(target - p_start)
    if step == 0.0 or t <= 0.0:
        return p_start
    loop = max(b[4], 1e-6)
    late = loop * (1.0 - math.exp(-t / loop))
    end = step / b[0] + max(b[2] - loop, 0.0)
    over = min(b[1], step)
    if over > 0.0:
        x = _peaked(step, over, t - late, b[0], end, b[3], loop)
    else:
        x = _plain(step, t - late, b[0], end, b[3], loop)
    return p_start + x if target > p_start else p_start - x


@kernel
def ripple(t: float, b: Vector) -> float:
    """The standing ripple (Pa) at t s: amplitude b[3], angular frequency 1/b[4]; none if b[4] is 0."""
    if b[4] <= 0.0:
        return 0.0
    return b[3] * math.sin(t / b[4])
