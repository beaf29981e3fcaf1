"""Everything in the reading that is neither leak nor a known curve, as covariance of the blocks [n, n], Pa^2.

Each source is one function, so that what it took of a change can be told afterwards.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge.case import Case
from simcal.analysis.judge.scene import Run, Scene
from simcal.engine import vessel

Vector = NDArray[np.float64]
Matrix = NDArray[np.float64]

CYCLES = (150.0, 300.0, 600.0, 1200.0, 2400.0)
"""s, periods over which the room's cycle may go"""
KNOWN_PERIOD = (0.85, 1.0, 1.15)
"""over a stated period"""
FASTER = (30.0, 60.0)
FASTER_SHARE = 0.3
"""of the cycle's amplitude, at faster periods"""
WALK = 0.10
"""K after an hour, wandering of any room"""
FLICKER = ((5.0, 0.5), (50.0, 0.5), (350.0, 0.5))
"""correlation time s and size over the noise of one reading"""
FLICKER_SHARE = 0.25
FLOOR = 1e-7
"""of the pressure: no gauge is quieter"""
MISFIT = 0.05
MISFIT_LENGTH = 0.7
"""of the gas's excess over the wall, and its correlation in ln t: what one gas temperature cannot say"""
LEAK_WANDER, LEAK_LENGTH = 0.05, 0.3
"""of a leak's flow, and over the length of the watch: no path follows one law to the last per cent"""
HAND = 1.5
"""W, a hand or a lamp on the wall"""
HAND_TIME = 60.0


def sensor(scene: Scene, course: Vector) -> Matrix:
    """White noise of the means, coloured noise, rounding, and the floor.

    course [n]: about how the true pressure went, Pa. A rounding error changes as the pressure moves, also where the
    reading stays: a plateau is not a proof that nothing moved.
    """
    binned, case = scene.binned, scene.case
    t, single = binned.time, max(binned.noise, FLOOR * scene.state.p)
    apart = np.abs(t[:, None] - t[None, :])
    rounding, correlated = _rounding(single, case.sheet.resolution)
    cov = np.diag(binned.sd**2 + rounding / binned.rows + (FLOOR * scene.state.p) ** 2)
    for tau, share in FLICKER:
        cov += (FLICKER_SHARE * share * single) ** 2 * np.exp(-apart / tau)
    if correlated > 0.0:
        q, length = case.sheet.resolution, max(float(t[-1] - t[0]), 1e-9)
        moved = np.maximum(*(np.abs(way[:, None] - way[None, :]) for way in (course, binned.value))) / q
        cov += correlated * np.exp(-3.0 * np.maximum(moved, 0.5 * apart / length))
    return cov


def _rounding(noise: float, resolution: float) -> tuple[float, float]:
    """Variance of rounding that averages out over rows, and what does not (Widrow and Kollar 2008), Pa^2."""
    if resolution <= 0.0:
        return 0.0, 0.0
    k = np.arange(1, 9)
    wave = np.exp(-4.0 * math.pi**2 * k**2 * (noise / resolution) ** 2) / (2.0 * math.pi**2 * k**2)
    stays = resolution**2 * float(wave.sum())
    return max(resolution**2 / 12.0 - stays, 0.0), stays


def steady(scene: Scene) -> Matrix:
    """What one sensor does alike in every hold [n, 2], Pa: its drift, its zero's shift with a room that warms steadily.

    One standard deviation each. They do not average out over holds, since it is the same sensor in all of them.
    """
    t, case = scene.binned.time, scene.case
    warmed = math.hypot(case.room_ramp, case.room_trend) * np.maximum(t - 60.0 - scene.room_time[0], 0.0)
    return np.column_stack([case.sheet.drift * t, case.sheet.zero_shift * warmed])


def drift(scene: Scene) -> Matrix:
    """Steady drift of the sensor."""
    t = scene.binned.time
    return scene.case.sheet.drift**2 * np.outer(t, t)


def barometer(scene: Scene) -> Matrix:
    """The barometer behind a gauge reading: a steady drift and a walk of the same size over half an hour."""
    if not scene.case.gauge:
        return np.zeros((len(scene.binned.time),) * 2)
    t = scene.binned.time
    size = scene.case.barometer_drift
    return size**2 * (np.outer(t, t) + 1800.0 * np.minimum(t[:, None], t[None, :]))


def room_process(case: Case, time: Vector) -> Matrix:
    """Covariance [K^2] of the room's temperature, less that at the first time."""
    t = time - time[0]
    cov = case.room_ramp**2 * np.outer(t, t) + WALK**2 / 3600.0 * np.minimum(t[:, None], t[None, :])
    apart = t[:, None] - t[None, :]
    own = CYCLES if case.room_period is None else tuple(case.room_period * f for f in KNOWN_PERIOD)
    for periods, amplitude in ((own, case.room_cycle), (FASTER, FASTER_SHARE * case.room_cycle)):
        for period in periods:
            cov += 0.5 * amplitude**2 / len(periods) * np.cos(2.0 * math.pi / period * apart)
    return cov


def room_columns(scene: Scene, run: Run) -> Matrix:
    """What one kelvin at each knot of the room's course does to the reading [n, knots], Pa/K."""
    first = vessel.FIRST_KNOT + scene.drives.knots.shape[1] + scene.drives.on_gas.shape[1]
    columns = run.d_gas[scene.at, first : first + scene.drives.room.shape[1]]
    return scene.dp_dT[scene.at, None] * columns


def hand_columns(scene: Scene, run: Run) -> Matrix:
    """What one watt on the wall at each knot does to the reading [n, knots], Pa/W."""
    columns = run.d_gas[scene.at, scene.columns - scene.drives.on_wall.shape[1] :]
    return scene.dp_dT[scene.at, None] * columns


def room(scene: Scene, run: Run) -> Matrix:
    """The wandering room behind the wall, as the pressure sees it."""
    through = room_columns(scene, run)
    return through @ room_process(scene.case, scene.room_time) @ through.T


def zero_shift(scene: Scene) -> Matrix:
    """The sensor's zero that follows the room a minute later."""
    t, knots = scene.binned.time, scene.room_time
    direct = np.stack([np.interp(t - 60.0, knots, unit) for unit in np.eye(len(knots))], axis=1)
    trend = scene.case.room_trend * (knots - knots[0])
    return (
        scene.case.sheet.zero_shift**2 * direct @ (room_process(scene.case, knots) + np.outer(trend, trend)) @ direct.T
    )


def hand_process(scene: Scene) -> Matrix:
    """Covariance [W^2] of what somebody's hand or a lamp gives the wall now and then."""
    t = scene.hand_time
    return HAND**2 * np.exp(-np.abs(t[:, None] - t[None, :]) / HAND_TIME)


def misfit(scene: Scene, run: Run) -> Matrix:
    """What one gas temperature and one film cannot follow; it dies with the transient, so it cannot eat a leak."""
    size = MISFIT * scene.dp_dT[scene.at] * (run.temperature[scene.at, 0] - run.temperature[scene.at, 1])
    late = np.log(scene.binned.time + 0.3)
    return np.outer(size, size) * np.exp(-np.abs(late[:, None] - late[None, :]) / MISFIT_LENGTH)


def usual_change(scene: Scene, run: Run) -> float:
    """Root sum of squares of what is no leak over the watch, Pa: room, sensor, barometer, noise, and cooling."""
    case, (start, end) = scene.case, scene.case.watch
    watch, slope = end - start, float(scene.dp_dT[-1])
    ends = np.interp([start, end], scene.time, scene.dp_dT * run.temperature[:, 0])
    sizes = (
        slope * case.room_ramp * watch,
        slope * case.room_cycle,
        case.sheet.drift * watch,
        case.sheet.zero_shift * math.hypot(case.room_ramp * watch, case.room_cycle),
        case.barometer_drift * watch if case.gauge else 0.0,
        case.sheet.resolution / math.sqrt(6.0),
        scene.binned.noise / math.sqrt(5.0),
        float(ends[1] - ends[0]),
    )
    return math.hypot(*sizes)


def leak_wander(scene: Scene, fall: float) -> Matrix:
    """What a leak of that fall [Pa] may depart from its law, its mean over the watch kept."""
    t, (start, end) = scene.binned.time, scene.case.watch
    knots = np.linspace(0.0, float(scene.time[-1]), 25)
    apart = np.abs(knots[:, None] - knots[None, :]) / (LEAK_LENGTH * (end - start))
    ramps = np.stack([_ramp(t, a, b, start, end) for a, b in itertools.pairwise(knots)], axis=1)
    cells = np.exp(-apart)[:-1, :-1]
    return (LEAK_WANDER * fall) ** 2 * ramps @ cells @ ramps.T


def _ramp(t: Vector, a: float, b: float, start: float, end: float) -> Vector:
    """Integral to t of a flow of one unit within a..b, less its mean over the watch, over the watch's length."""
    within = max(min(b, end) - max(a, start), 0.0)
    return np.asarray((np.clip(t, a, b) - a - within * t / (end - start)) / (end - start))
