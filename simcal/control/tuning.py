"""Gains by published rules, and the tuning of the bench's controller from its own linear model.

SIMC: S. Skogestad, Simple analytic rules for model reduction and PID controller tuning, J. Process Control 13
(2003) 291. Ultimate gain and period: J. G. Ziegler and N. B. Nichols, Trans. ASME 64 (1942) 759.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.control.margins import (
    DECADES,
    MOST_DECADES,
    frequencies,
    is_stable,
    margins,
    phase_crossings,
    pid_response,
    plant_response,
)
from simcal.control.pid import Gains

Vector = NDArray[np.float64]
Complex = NDArray[np.complex128]
Plant = tuple[Vector, Vector]

SENSITIVITY = 1.7
"""peak sensitivity of SIMC, tc = theta, integrator with delay (Skogestad 2003, table 1); limit of `tune_everywhere`"""
TURN = 0.25 * math.pi
"""rad; where its delay turns the phase by this much, the integrating model is matched to the plant"""
WEIGHT = 0.5
"""setpoint weight at which the zero of a critically damped PI loop on an integrator cancels a pole"""
WEAKEST = 0.25
"""the integral time looks at the weaker valve, but at no less than this share of the stronger one"""
FAINT = 1e-6
"""a valve whose response is below this share of the strongest one moves nothing"""
HEARD = 0.05
"""peak sensitivity is held with every valve of at least this share of the strongest one"""


class Integrating(NamedTuple):
    """An integrator with delay: reading = slope / s * exp(-delay s) * drive."""

    slope: float
    """fraction of full scale per s and unit of drive"""
    delay: float
    """s"""


def simc(slope: float, theta: float, tc: float | None = None, tau: float = math.inf) -> Gains:
    """PI gains by SIMC for slope exp(-theta s)/(s + 1/tau), Skogestad (2003) equations 23 and 24 and table 1.

    slope : fraction of full scale per s and unit of drive, > 0; of a first-order model its gain over tau.
    theta : delay, s.  tc : wanted closed-loop time constant, s; theta when None; needed when theta is 0.
    tau : the plant's own time constant, s; inf for an integrator.
    """
    tc = theta if tc is None else tc
    return Gains(kp=1.0 / (slope * (tc + theta)), ti=min(tau, 4.0 * (tc + theta)))


def ultimate(w: Vector, response: Complex) -> tuple[float, float]:
    """Ultimate gain and period (s): the smallest proportional gain at which the loop swings.

    w : rad/s, rising.  response : of the plant, with its hold and delays.  (inf, 0) when none does.
    """
    crossings = phase_crossings(w, response)
    if not crossings:
        return math.inf, 0.0
    at, gain = min(crossings, key=lambda one: one[1])
    return gain, 2.0 * math.pi / at


def ziegler_nichols(ku: float, pu: float, derivative: bool = False) -> Gains:
    """PI or PID gains from the ultimate gain and period (s), Ziegler and Nichols (1942).

    The filter of the derivative, which they do not speak of, has an eighth of its time constant.
    """
    if derivative:
        return Gains(kp=0.6 * ku, ti=pu / 2.0, td=pu / 8.0, filter=pu / 64.0)
    return Gains(kp=0.45 * ku, ti=pu / 1.2)


def _finished(gains: Gains, period: float) -> Gains:
    """Add what the rule does not speak of: protection against windup, and the setpoint weight."""
    return gains._replace(track=max(0.5 * gains.ti, period), setpoint_weight=WEIGHT)


def match(w: Vector, response: Complex) -> Integrating:
    """The integrator with delay that has the plant's size and phase where its delay turns by `TURN`.

    w : rad/s, rising.  response : of the sampled plant with its hold, whose reading rises with its input.
    The highest such frequency counts. Raises ValueError when there is none (the reading does not follow the
    input).
    """
    lag = -np.unwrap(np.angle(response)) - 0.5 * math.pi
    lag = lag - 2.0 * math.pi * np.round(lag[0] / (2.0 * math.pi))
    below = np.nonzero(lag[:-1] < TURN)[0]
    if not len(below) or lag.max() < TURN:
        raise ValueError("the reading does not follow the valve: no integrating model fits.")
    i = int(below[-1])
    share = (TURN - lag[i]) / (lag[i + 1] - lag[i])
    at = math.exp(math.log(w[i]) + share * math.log(w[i + 1] / w[i]))
    size = math.exp(np.interp(math.log(at), np.log(w), np.log(np.abs(response))))
    return Integrating(slope=size * at, delay=TURN / at)


def _where(w: Vector, size: Vector, level: float) -> float | None:
    """The highest frequency (rad/s) at which `size` falls through `level`, None when it never does."""
    above = np.nonzero(size[:-1] >= level)[0]
    if not len(above) or above[-1] == len(size) - 2:
        return None
    i = int(above[-1])
    share = math.log(size[i] / level) / math.log(size[i] / size[i + 1])
    return float(w[i] * (w[i + 1] / w[i]) ** share)


def _integral_time(w: Vector, response: Complex, kp: float) -> float:
    """SIMC's Ti = 4/(kp slope) (s), with the slope that the plant shows at 2/Ti, where the integral part acts.

    There kp times the plant is 2. Not above the plant's own time constant, the rule's other branch.
    """
    size = np.abs(response)
    corner = _where(w, size, size[0] / math.sqrt(2.0))
    at = _where(w, kp * size, 2.0)
    return min(math.inf if corner is None else 1.0 / corner, math.inf if at is None else 2.0 / at)


class _Response(NamedTuple):
    """One valve at one state of the plant, and its response at the frequencies."""

    plant: int
    e_x: Vector
    column: Vector
    response: Complex


class _Path(NamedTuple):
    """A response and the integrator matched to it."""

    plant: int
    e_x: Vector
    column: Vector
    response: Complex
    model: Integrating


def _one(w: Vector, strong: _Path, share: float, tc: float, period: float) -> Gains:
    """SIMC gains at the closed-loop time constant tc (s) for the strongest valve, Ti minding that share of it."""
    kp = simc(strong.model.slope, strong.model.delay, tc).kp
    return _finished(Gains(kp=kp, ti=_integral_time(w, share * strong.response, kp)), period)


def _heard(w: Vector, plants: Sequence[Plant], c: Vector, period: float, delay: int) -> list[_Response]:
    """Every valve that moves the reading, at every state; ValueError where none does."""
    wait = np.exp(-1j * w * period * delay)
    found = []
    for k, (e_x, e_u) in enumerate(plants):
        columns = np.asarray(e_u, dtype=np.float64).reshape(len(e_x), -1)
        rows = plant_response(e_x, columns, c, period, w) * wait
        found += [_Response(k, e_x, column, row) for column, row in zip(columns.T, rows, strict=True)]
    most = max(float(np.abs(one.response).max()) for one in found)
    heard = [one for one in found if np.abs(one.response).max() > FAINT * most]
    if not heard:
        raise ValueError("the reading does not follow the valve: no model fits.")
    return heard


def _paths(w: Vector, plants: Sequence[Plant], c: Vector, period: float, delay: int) -> list[_Path]:
    """Every valve that moves the reading, at every state, with its model; ValueError as `match`, or where none does."""
    return [_Path(*one, match(w, one.response)) for one in _heard(w, plants, c, period, delay)]


def _slow_enough(plants: Sequence[Plant], c: Vector, period: float, delay: int) -> tuple[Vector, list[_Path]]:
    """Frequencies (rad/s) that reach down to where the integrating models fit, and the paths there."""
    for decades in range(DECADES, MOST_DECADES, 2):
        w = frequencies(period, decades)
        try:
            return w, _paths(w, plants, c, period, delay)
        except ValueError:
            continue
    w = frequencies(period, MOST_DECADES)
    return w, _paths(w, plants, c, period, delay)


def tune_ultimate(plants: Sequence[Plant], c: Vector, period: float, delay: int = 0, derivative: bool = False) -> Gains:
    """Ziegler and Nichols for the valve and state that swing at the smallest gain; arguments as in `tune_everywhere`.

    A quick loop that overshoots and rings: what the rule wants is that a swing dies to a quarter in one period.
    Raises ValueError where no gain makes the loop swing, or where the rule's gains are unstable with one of the valves.
    """
    w = frequencies(period)
    heard = _heard(w, plants, c, period, delay)
    ku, pu = min(ultimate(w, one.response) for one in heard)
    if not math.isfinite(ku):
        raise ValueError("no gain makes this loop swing.")
    gains = _finished(ziegler_nichols(ku, pu, derivative), period)
    if not all(is_stable(one.e_x, one.column, c, gains, period, delay) for one in heard):
        raise ValueError("its gains make this loop swing with ever larger amplitude.")
    return gains


def tune_everywhere(plants: Sequence[Plant], c: Vector, period: float, delay: int = 0) -> Gains:
    """PI gains by SIMC with tc = theta that serve one loop at several states, each a plant (e_x, e_u).

    A plant is the sampled linear model x[k+1] = e_x x[k] + e_u u[k], y = c x: e_x (n, n); e_u (n,) or (n, m), one
    column a valve, each with the sign that makes a larger drive raise the reading; c (n,), reading as a fraction of
    full scale.  period : s.  delay : samples between reading and drive.

    Every plant is reduced to an integrator with delay by `match`; a valve that moves nothing is left out. The gains
    are those of the valve and state that ask for the smallest gain, the integral time minds the weakest valve there.
    Where the peak sensitivity of a true sampled loop passes that of the rule on its own model (1.7), with any valve
    that has a twentieth of the strongest one or more, they yield: where a weaker valve swings, the integral time minds
    it; else tc grows. Raises ValueError when no model or no gain fits.
    """
    w, paths = _slow_enough(plants, c, period, delay)
    strong = max(paths, key=lambda path: path.model.slope * path.model.delay)
    least = min(path.model.slope for path in paths if path.plant == strong.plant)
    share, tc = max(WEAKEST, least / strong.model.slope), strong.model.delay
    todo = [path for path in paths if path.model.slope >= HEARD * strong.model.slope]
    for _ in range(120):
        gains = _one(w, strong, share, tc, period)
        swings = _first_that_swings(todo, w, gains, period)
        if swings is None and is_stable(strong.e_x, strong.column, c, gains, period, delay):
            return gains
        if swings is not None:
            todo = [swings, *(path for path in todo if path is not swings)]
        if swings is not None and share > WEAKEST and swings.model.slope < share * strong.model.slope:
            share = max(WEAKEST, 0.9 * share)
        else:
            tc *= 1.1
    raise ValueError("no gain keeps this loop well away from instability.")


def _first_that_swings(paths: list[_Path], w: Vector, gains: Gains, period: float) -> _Path | None:
    """The first path whose loop passes the peak sensitivity, or is unstable; None when all stay below."""
    controller = pid_response(gains, period, w)
    for path in paths:
        margin = margins(w, path.response * controller)
        if not (margin.stable and margin.sensitivity <= SENSITIVITY):
            return path
    return None
