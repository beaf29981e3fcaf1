"""What a thermometer adds: readings that see wall, room or gas through a lag, never better than its sitting allows.

A thermometer on a wall is not settled when the valves shut: without terms for its own start it would drive the wall's
capacity down and invent leaks.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge.bins import Binned, compress
from simcal.analysis.judge.case import Thermometer
from simcal.analysis.judge.fit import LEAK, Fit
from simcal.analysis.judge.scene import KNOTS
from simcal.engine import vessel

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

BLOCKS = 24
ROOM_SHARE, ROOM_SHARE_SD = 0.1, 0.08
"""of the room that a thermometer on a wall feels"""
STARTS = (5.0, 12.0, 25.0, 60.0)
"""s, time constants of its own settling"""
START_SHARE = 0.6
"""of the body's rise (or the gas's excess) that each of them may have"""
COLOURED, COLOURED_TIME = 0.01, 40.0
"""K, s"""
ROUNDED = 0.35
"""of the resolution: standard deviation of a rounding error, of one row and again of all that follow"""
OFFSET = 10.0
"""K, a constant error counts for nothing"""


class Seen(NamedTuple):
    """Rows of the temperature [n]: residual, and derivatives by parameters, laws, room's and hand's knots; noise."""

    residual: Vector
    jacobian: Matrix
    laws: Matrix
    room: Matrix
    hand: Matrix
    covariance: Matrix


def seen(fit: Fit, thermometer: Thermometer) -> Seen | None:
    """What the thermometer's blocks say about the fit; None where it says nothing of the vessel or the room."""
    inside = (thermometer.time > 0.0) & (thermometer.time <= fit.scene.time[-1])
    if thermometer.of == "sensor" or inside.sum() < 4:
        return None
    binned = compress(thermometer.time[inside], thermometer.reading[inside], None, thermometer.resolution, bins=BLOCKS)
    nominal, columns = _course(fit, thermometer.of)
    both = _lagged(fit.scene.time, np.column_stack([nominal, columns]), thermometer.lag)
    at = np.stack([np.interp(binned.time, fit.scene.time, column) for column in both.T], axis=1)
    first, scene = LEAK - 1, fit.scene
    laws = slice(vessel.FIRST_KNOT + KNOTS, vessel.FIRST_KNOT + KNOTS + len(scene.laws))
    room = slice(laws.stop, laws.stop + scene.drives.room.shape[1])
    derivative = at[:, 1:]
    jacobian = np.column_stack([np.zeros(len(at)), derivative[:, :first]])
    plain = at[:, 0] - fit.theta[LEAK] * derivative[:, laws.start]
    residual = binned.value - binned.value.mean() - plain + jacobian @ (fit.theta - fit.prior.mean)[:LEAK]
    return Seen(
        residual,
        jacobian,
        derivative[:, laws],
        derivative[:, room],
        derivative[:, room.stop :],
        _noise(fit, thermometer, binned),
    )


def _course(fit: Fit, of: str) -> tuple[Vector, Matrix]:
    """What it touches, K over the room at the start, on the grid, and its derivatives by all columns."""
    scene, run = fit.scene, fit.run
    air = np.zeros_like(run.d_outer)
    first = vessel.FIRST_KNOT + KNOTS + len(scene.laws)
    hats = np.stack([np.interp(scene.time, scene.room_time, unit) for unit in np.eye(len(scene.room_time))], axis=1)
    air[:, first : first + hats.shape[1]] = hats
    if of == "room":
        return np.zeros(len(scene.time)), air
    if of == "gas":
        return run.temperature[:, 0], run.d_gas
    share = 1.0 - ROOM_SHARE
    return share * run.temperature[:, 2], share * run.d_outer + ROOM_SHARE * air


def _lagged(time: Vector, columns: Matrix, lag: float) -> Matrix:
    """Every column through a first-order lag, settled at the first time."""
    if lag <= 0.0:
        return columns
    out = columns.copy()
    keep = np.exp(-np.diff(time) / lag)
    for i, k in enumerate(keep):
        out[i + 1] = k * out[i] + (1.0 - k) * 0.5 * (columns[i] + columns[i + 1])
    return out


def _noise(fit: Fit, thermometer: Thermometer, binned: Binned) -> Matrix:
    """Covariance of the blocks: noise, rounding, its own settling, how it sits, and any constant."""
    t, scene = binned.time, fit.scene
    apart = np.abs(t[:, None] - t[None, :])
    cov = np.diag(binned.sd**2 + (ROUNDED * thermometer.resolution) ** 2 / binned.rows) + OFFSET**2
    cov += COLOURED**2 * np.exp(-apart / COLOURED_TIME)
    cov += (ROUNDED * thermometer.resolution) ** 2 * np.exp(-apart / (3.0 * COLOURED_TIME))
    rise = scene.case.volume * abs(scene.history.step) / float(scene.body.shells.sum())
    if thermometer.of == "room":
        return np.asarray(cov)
    if thermometer.of == "gas":
        rise += float(np.abs(fit.run.temperature[scene.time >= 0.0, 0]).max())
    starts = np.exp(-t[:, None] / np.array(STARTS))
    cov += (START_SHARE * rise) ** 2 * starts @ starts.T
    body = fit.run.temperature[:, 2]
    quick, slow = (
        _lagged(scene.time, body[:, None], lag)[:, 0] for lag in (0.25 * thermometer.lag, 2.0 * thermometer.lag)
    )
    for error in (0.5 * (quick - slow), ROOM_SHARE_SD * body):
        column = np.interp(t, scene.time, error)
        cov += np.outer(column, column)
    return np.asarray(cov)
