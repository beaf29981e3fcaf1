"""From one hold and one past to the explained curve: damped Gauss-Newton under the priors, then the linear picture.

Parameters of one hold: the pressure when all is cold and nothing has leaked, those of `engine.vessel.respond`, and the
fall by a leak; all with normal priors.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve

from simcal.analysis.judge import noise
from simcal.analysis.judge.scene import AFTER_KNOTS, KNOTS, STIRRED, Run, Scene, run
from simcal.engine import vessel
from simcal.stats.covariance import factor

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]
AnyVector = NDArray[np.floating]

COLD, BODY = 0, 1
"""places in the parameters: pressure at rest, first of the body's"""
COUNT = BODY + vessel.FIRST_KNOT + KNOTS + 1
LEAK = COUNT - 1
LOGS = slice(BODY + vessel.PACE, BODY + vessel.WALL + 1)
FILM = slice(BODY + vessel.FIRST_KNOT, BODY + vessel.FIRST_KNOT + KNOTS)

STEPS = 10
LAW_SHARE = 0.4
"""of the leak: how far its course may differ from a hole's while the rest is fitted"""
WANDER, WANDER_LENGTH = 0.35, 1.2
"""of the film's log multiplier over ln t"""
STIR_SD, SOAK_SD = 0.8, 0.35
REST = 0.1
"""K, the least that a body differs from its room before"""
WARMED = 0.1
"""of the rise that the heat of a move can give the body: what earlier moves left"""
JUMP_SHARE = 0.3
"""of the largest excess while soaking: gas not mixed, stirred or left by the valves when they shut"""


class Prior(NamedTuple):
    """Normal prior of the parameters [COUNT] and its covariance."""

    mean: Vector
    cov: Matrix


@dataclass(frozen=True)
class Fit:
    """Where Gauss-Newton ended: parameters, run, reading explained [n], its derivatives [n, COUNT]."""

    scene: Scene
    prior: Prior
    theta: Vector
    run: Run
    model: Vector
    jacobian: Matrix
    cost: float

    @property
    def strain(self) -> float:
        """How far the parameters went from what was believed, chi-squared over their number; below 1 is ordinary."""
        off = (self.theta - self.prior.mean)[:LEAK]
        return float(off @ np.linalg.solve(self.prior.cov[:LEAK, :LEAK], off)) / LEAK


def prior(scene: Scene) -> Prior:
    """What is believed of the parameters before the record is looked at."""
    case, history, st = scene.case, scene.history, scene.state
    value, wall = scene.binned.value, case.wall
    mean, sd = np.zeros(COUNT), np.zeros(COUNT)
    span = float(value.max() - value.min())
    late = np.polyfit(*_later_half(scene.binned.time, value), 1)
    length = float(scene.binned.time[-1])
    mean[COLD], sd[COLD] = late[1], 3.0 * span + 0.02 * st.p
    at = BODY
    mean[at + vessel.HEAT], sd[at + vessel.HEAT] = history.heat
    sd[at + vessel.PACE] = history.pace_sd
    sd[at + vessel.OUTSIDE], sd[at + vessel.WALL] = wall.outside_sd, wall.capacity_sd
    heat = case.volume * abs(history.step)
    body = float(scene.body.shells.sum())
    slow = body / scene.body.outside
    sd[at + vessel.START] = np.hypot(
        np.hypot(REST, 0.5 * case.room_cycle), np.hypot(case.room_ramp * slow, WARMED * heat / body)
    )
    mean[FILM.start], sd[FILM.start] = STIRRED, STIR_SD
    sd[FILM.start + 1] = SOAK_SD
    fall = -0.5 * late[0] * length
    mean[LEAK], sd[LEAK] = fall, 3.0 * span + 10.0 * float(np.median(scene.binned.sd)) + 1e-6 * st.p
    cov = np.diag(sd**2)
    cov[FILM, FILM] += wall.film_sd**2
    knots = np.arange(AFTER_KNOTS)
    late_t = scene.after_knots
    after = slice(FILM.stop - AFTER_KNOTS, FILM.stop)
    cov[after, after] += WANDER**2 * np.exp(-np.abs(late_t[knots][:, None] - late_t[knots][None, :]) / WANDER_LENGTH)
    return Prior(mean, _with_jump(scene, mean, cov))


def _with_jump(scene: Scene, mean: Vector, cov: Matrix) -> Matrix:
    """The spread of the gas's jump at isolation follows the excess that the past left."""
    first = run(scene, mean[BODY : BODY + vessel.FIRST_KNOT + KNOTS])
    before = scene.time <= 0.0
    excess = np.abs(first.temperature[before, 0] - first.temperature[before, 1])
    size = 0.01 + JUMP_SHARE * float(excess[-1]) if scene.history.told else max(float(excess.max()), 10.0)
    cov[BODY + vessel.JUMP, BODY + vessel.JUMP] = size**2
    return cov


def _later_half(t: Vector, y: Vector) -> tuple[Vector, Vector]:
    half = t >= 0.5 * (t[0] + t[-1])
    return (t[half], y[half]) if half.sum() >= 2 else (t, y)


def explained(scene: Scene, theta: Vector) -> tuple[Run, Vector, Matrix]:
    """The reading [n] that parameters explain, and its derivatives [n, COUNT]."""
    found = run(scene, theta[BODY : BODY + vessel.FIRST_KNOT + KNOTS], theta[LEAK])
    at, slope = scene.at, scene.dp_dT[scene.at]
    hole = law_columns(scene, found)[:, 0]
    jacobian = np.empty((len(at), COUNT))
    jacobian[:, COLD] = 1.0
    jacobian[:, BODY:LEAK] = slope[:, None] * found.d_gas[at, : LEAK - BODY]
    jacobian[:, LEAK] = hole
    model = theta[COLD] + slope * found.temperature[at, 0] - theta[LEAK] * scene.fallen[at, 0]
    return found, model, jacobian


def law_columns(scene: Scene, found: Run) -> Matrix:
    """What a fall of 1 Pa over the watch by each law does to the reading [n, law]; the gas left cools a little."""
    first = vessel.FIRST_KNOT + KNOTS
    cooled = found.d_gas[scene.at, first : first + len(scene.laws)]
    return scene.dp_dT[scene.at, None] * cooled - scene.fallen[scene.at]


def nuisance(scene: Scene, found: Run, course: Vector) -> Matrix:
    """Covariance of everything that is neither leak, nor slow yielding, nor a parameter; `course` as `noise.sensor`."""
    fixed = noise.sensor(scene, course) + noise.drift(scene) + noise.barometer(scene) + noise.zero_shift(scene)
    return fixed + noise.room(scene, found) + noise.misfit(scene, found)


def gauss_newton(scene: Scene, start: Vector | None = None) -> Fit:
    """The most probable parameters, from the prior's mean or `start`."""
    belief = prior(scene)
    theta = belief.mean.copy() if start is None else start.copy()
    y = scene.binned.value
    found, model, jacobian = explained(scene, theta)
    line = np.polynomial.Polynomial.fit(scene.binned.time, y, 1)(scene.binned.time)
    whitener, cost = _whitener(scene, found, theta, line), np.inf
    inverse = np.linalg.inv(belief.cov)
    for step in range(STEPS):
        if step in (1, 2, 4):
            whitener = _whitener(scene, found, theta, model)
        cost = _cost(whitener, inverse, y - model, theta - belief.mean)
        weighted = cho_solve(whitener, jacobian)
        hessian = jacobian.T @ weighted + inverse
        move = np.linalg.solve(hessian, weighted.T @ (y - model) - inverse @ (theta - belief.mean))
        largest = float(np.max(np.abs(np.concatenate([move[LOGS], move[FILM]]))))
        move *= min(1.0, 1.0 / max(largest, 1e-12))
        gain = 0.0
        for _ in range(5):
            trial = theta + move
            tried = explained(scene, trial)
            new = _cost(whitener, inverse, y - tried[1], trial - belief.mean)
            if new < cost:
                gain = cost - new
                theta, (found, model, jacobian) = trial, tried
                break
            move *= 0.3
        if gain < 0.02 and step > 2:
            break
    return Fit(scene, belief, theta, found, model, jacobian, cost)


def _whitener(scene: Scene, found: Run, theta: Vector, course: Vector) -> tuple[Matrix, bool]:
    laws = law_columns(scene, found)
    other = LAW_SHARE * abs(theta[LEAK]) * (laws[:, 1:] - laws[:, :1])
    weight = np.array([course.weight for course in scene.laws[1:]])
    return factor(nuisance(scene, found, course) + (other * weight) @ other.T), True


def _cost(whitener: tuple[Matrix, bool], inverse: AnyVector, r: AnyVector, d: AnyVector) -> float:
    return float(r @ cho_solve(whitener, r) + d @ inverse @ d)
