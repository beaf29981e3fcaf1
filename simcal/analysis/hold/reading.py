"""What the sensor and the thermometer read of a hold, sample by sample."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from simcal.analysis.hold.plan import Plan
from simcal.bench.around import Thermometer
from simcal.bench.bench import Bench
from simcal.engine.simulate import System
from simcal.stats.streams import generator

Vector = NDArray[np.float64]


def normal(seed: int, name: str, count: int) -> Vector:
    """`count` standard normal numbers that belong to (seed, name), through the inverse of the distribution."""
    even = generator(seed, 0, name).random(count)
    return np.asarray(ndtri(np.clip(even, 2.0**-54, 1.0 - 2.0**-53)))


def offset(bench: Bench, system: System, plan: Plan, t: Vector, moved_s: float) -> Vector:
    """What the sensor adds to the pressure it sees, Pa, at times t [s]: drift, zero shift, shift after the step that
    began at moved_s, barometer.

    A gauge reading less the barometer; all of it on the run's clock, on which the zero was set at 0.
    """
    sensor, room = bench.sensors[plan.sensor], system.net.room
    warmer = room[1] * t + room[2] * (np.sin(2.0 * np.pi * t / room[3] + room[4]) - np.sin(room[4]))
    out = sensor.drift * t + sensor.zero_shift * warmer
    out = out + sensor.step_shift * (plan.pressure_Pa - plan.start_Pa) * np.exp(-(t - moved_s) / sensor.step_recovery)
    if sensor.range.gauge:
        out = out - bench.room.barometer - bench.room.barometer_drift * t
    return np.asarray(out)


def reading(smooth: Vector, noise: float, resolution: float, draws: Vector) -> Vector:
    """A logger's values of a smooth course: white noise of standard deviation `noise`, rounded to `resolution`."""
    noisy = smooth + noise * draws
    return np.round(noisy / resolution) * resolution if resolution > 0.0 else noisy


def thermometer(one: Thermometer, wall: Vector, time: Vector, seed: int) -> Vector:
    """The thermometer's values [k], K, settled on the wall [k] at the first row."""
    error = 0.5 * one.accuracy * float(normal(seed, "thermometer", 1)[0])
    return reading(
        lagged(wall, time, one.lag) + error, one.noise, one.resolution, normal(seed, "thermometer noise", len(wall))
    )


def lagged(values: Vector, time: Vector, lag: float) -> Vector:
    """The values behind a first-order lag [s], settled at the first; exact for a course that is straight between."""
    if lag <= 0.0:
        return values
    out = np.empty_like(values)
    out[0] = values[0]
    for k in range(1, len(values)):
        h = time[k] - time[k - 1]
        decay = np.exp(-h / lag)
        slope = (values[k] - values[k - 1]) / h
        out[k] = values[k] - slope * lag + (out[k - 1] - values[k - 1] + slope * lag) * decay
    return out
