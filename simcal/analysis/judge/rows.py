"""All that one hold's data say, as rows: pressure blocks, then temperature blocks, about the fitted curve.

row = laws * fall + slow * amount + jacobian * (parameter - its mean) + room * K + hand * W + the rest
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag

from simcal.analysis.judge import noise
from simcal.analysis.judge.fit import LEAK, Fit, law_columns
from simcal.analysis.judge.shapes import slow_courses
from simcal.analysis.judge.thermometer import Seen, seen

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class Rows:
    """Rows of one hold; `rest` holds named covariances of everything else that enters the pressure."""

    fit: Fit
    residual: Vector
    laws: Matrix
    slow: Matrix
    jacobian: Matrix
    room: Matrix
    hand: Matrix
    rest: dict[str, Matrix]
    steady: Matrix  # of `rest`, what the sensor does alike in other holds: columns of one standard deviation

    @property
    def pressures(self) -> int:
        """How many of the rows are pressures; they come first."""
        return len(self.fit.scene.binned.time)

    def room_covariance(self) -> Matrix:
        """Of the rows through the wandering room [n, n]."""
        scene = self.fit.scene
        return self.room @ noise.room_process(scene.case, scene.room_time) @ self.room.T

    def hand_covariance(self) -> Matrix:
        """Of the rows through heat on the wall [n, n]."""
        return self.hand @ noise.hand_process(self.fit.scene) @ self.hand.T


def rows(fit: Fit) -> Rows:
    """The rows of one fitted hold."""
    scene, theta = fit.scene, fit.theta
    plain = fit.model - theta[LEAK] * fit.jacobian[:, LEAK]
    offset = fit.jacobian[:, :LEAK] @ (theta - fit.prior.mean)[:LEAK]
    courses = slow_courses(scene.binned.time, scene.history.rested, scene.case.length)
    pressure = Seen(
        scene.binned.value - plain + offset,
        fit.jacobian[:, :LEAK],
        law_columns(scene, fit.run),
        noise.room_columns(scene, fit.run),
        noise.hand_columns(scene, fit.run),
        noise.sensor(scene, fit.model),
    )
    slow = np.stack([one.course for one in courses], axis=1)
    rest = {
        "noise": pressure.covariance,
        "drift": noise.drift(scene) + noise.zero_shift(scene),
        "barometer": noise.barometer(scene),
        "misfit": noise.misfit(scene, fit.run) + noise.leak_wander(scene, theta[LEAK]),
    }
    steady = noise.steady(scene)
    thermometer = scene.case.thermometer
    warm = seen(fit, thermometer) if thermometer is not None else None
    if warm is None:
        return _without_trend(
            Rows(
                fit,
                pressure.residual,
                pressure.laws,
                slow,
                pressure.jacobian,
                pressure.room,
                pressure.hand,
                rest,
                steady,
            )
        )
    n, more = len(slow), len(warm.residual)
    rest = {name: _grown(cov, n + more) for name, cov in rest.items()}
    rest["thermometer"] = block_diag(np.zeros((n, n)), warm.covariance)
    both = Rows(
        fit,
        np.concatenate([pressure.residual, warm.residual]),
        np.vstack([pressure.laws, warm.laws]),
        np.vstack([slow, np.zeros((more, slow.shape[1]))]),
        np.vstack([pressure.jacobian, warm.jacobian]),
        np.vstack([pressure.room, warm.room]),
        np.vstack([pressure.hand, warm.hand]),
        rest,
        np.vstack([steady, np.zeros((more, steady.shape[1]))]),
    )
    return _without_trend(both)


def _without_trend(found: Rows) -> Rows:
    """The rows less what a known trend of the room does to them."""
    scene = found.fit.scene
    if scene.case.room_trend == 0.0:
        return found
    known = found.room @ (scene.case.room_trend * (scene.room_time - scene.room_time[0]))
    return replace(found, residual=found.residual - known)


def _grown(cov: Matrix, size: int) -> Matrix:
    out = np.zeros((size, size))
    out[: len(cov), : len(cov)] = cov
    return out
