"""The error at the reading and its signed parts, and which of them governs. Device minus reference, Pa.

Over the window, means of the true pressures and of the readings give

    error = mean(device reading) - mean(reference reading)
          = [port - node] + [what the two lags and the skew make of it] + shifts.

The first bracket is `line`, less the share that a standing leak's flow makes, which is `leak`; the second is `rate`,
which for a steady rate r is r (skew + reference lag - device lag); the shifts are `sensor` and, if it is waited for,
the after-effect `device`.
`control` is reference reading minus setpoint and counts only where the setpoint is taken as the reference value.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.settle.readings import window_mean

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Course:
    """One device against the reference over the samples of a point, Pa; every array has the same length."""

    difference: Vector  # as compared: device reading minus reference value, shifts and skew included
    port: Vector  # true pressure at the device's port
    node: Vector  # true pressure at the reference's node
    sensor: Vector  # what shifts of the two sensors add to the difference
    device: Vector  # what the device's after-effect adds, zeros unless it is waited for
    control: Vector  # reference reading minus setpoint, zeros unless the setpoint is the reference value


def courses(course: Course, leak: float) -> dict[str, Vector]:
    """The signed parts at every sample; `leak` [Pa] is the standing share of the true difference."""
    true = course.port - course.node
    rate = course.difference - true - course.sensor - course.device - course.control
    return {
        "line": true - leak,
        "rate": rate,
        "sensor": course.sensor,
        "leak": np.full_like(true, leak),
        "control": course.control,
        "device": course.device,
    }


def at_window(course: Course, leak: float, start: int, length: int) -> tuple[float, dict[str, float]]:
    """Error and signed parts [Pa], means over the window of `length` periods from sample `start`.

    The parts sum to the error to rounding.
    """
    parts = {name: window_mean(values, start, length) + 0.0 for name, values in courses(course, leak).items()}
    return window_mean(course.difference, start, length), parts


def ripple_of_mean(amplitude: float, period: float | None, window: float) -> float:
    """Standard deviation [Pa] of the mean over `window` s of a sine (amplitude [Pa], period [s]) of unknown phase."""
    if not period or amplitude <= 0.0 or window <= 0.0:
        return 0.0
    return amplitude / np.sqrt(2.0) * abs(float(np.sinc(window / period)))


def governing(parts: Mapping[str, float], error: float) -> str:
    """The part that keeps the error where it is: the largest one on the error's own side."""
    side = 1.0 if error >= 0.0 else -1.0
    return max(parts, key=lambda name: side * parts[name])


WORDS = {
    "arrival": "nothing: the reading is good as soon as the pressure has arrived",
    "soak": "the soak before the valves shut",
    "line": "the flow through the line between reference and device, which makes up for gas that still cools or warms",
    "rate": "the pressure still changes, and the two instruments lag differently or are read at different times",
    "ripple": "the pressure cycles, and the two instruments see the cycle differently",
    "sensor": "the shift of a sensor after the step, or its noise and resolution",
    "leak": "the flow of a standing leak through the line between reference and device",
    "control": "the reference's reading is still off the setpoint, which is taken as the reference value",
    "device": "the after-effect of the device itself",
    "dwell": "the dwell was given",
}
