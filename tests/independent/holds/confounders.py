"""Independent re-implementation, shares nothing with simcal/: the room's course and what imitates a leak.

The forms are others than those a judge would try first: no single exponential, no logarithm, no straight drift.
"""

import math
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d


@dataclass(frozen=True)
class Course:
    """Room temperature less its mean at the start, K, on an even grid from `t0` by `dt` s."""

    t0: float
    dt: float
    K: np.ndarray

    def at(self, t: np.ndarray) -> np.ndarray:
        """K at the times t, straight between the grid's points."""
        return np.interp(t, self.t0 + self.dt * np.arange(self.K.size), self.K)


def wander(rng: np.random.Generator, n: int, dt: float, sd: float, tau: float) -> np.ndarray:
    """Ornstein-Uhlenbeck course from its own stationary start."""
    keep = math.exp(-dt / tau)
    kick = rng.standard_normal(n) * sd * math.sqrt(1.0 - keep * keep)
    out = np.empty(n)
    value = rng.standard_normal() * sd
    for i in range(n):
        value = keep * value + kick[i]
        out[i] = value
    return out


def sawtooth(t: np.ndarray, amplitude: float, period: float, phase: float, rise: float) -> np.ndarray:
    """A thermostat's course between -amplitude and +amplitude, rising for the share `rise` of its period."""
    x = (t / period + phase) % 1.0
    return amplitude * np.where(x < rise, 2.0 * x / rise - 1.0, 1.0 - 2.0 * (x - rise) / (1.0 - rise))


def room_course(
    rng: np.random.Generator, begins: float, ends: float, drift: float, cycle: float, unsteady: bool, door: float = 0.0
) -> Course:
    """Drift (K/s, half the stated size is its standard deviation), thermostat and wander; `door` K is a cold breath."""
    dt = 12.0
    t = np.arange(begins - 120.0, ends + 60.0, dt)
    slope = np.clip(rng.normal(0.0, 0.5 * drift), -drift, drift)
    share = rng.uniform(0.4, 1.0)
    saw = sawtooth(t, share * cycle, rng.uniform(240.0, 1500.0), rng.uniform(), rng.uniform(0.2, 0.5))
    tau, sd = (rng.uniform(60.0, 600.0), 0.6 * cycle) if unsteady else (rng.uniform(30.0, 300.0), 0.15 * cycle)
    course = slope * t + saw + wander(rng, t.size, dt, sd, tau)
    if door:
        opened = rng.uniform(-60.0, 0.8 * ends)
        late = np.maximum(t - opened, 0.0)
        course -= door * (late / 30.0) * np.exp(1.0 - late / 30.0) * (t > opened)
    course = gaussian_filter1d(course, 1.0)
    return Course(float(t[0]), dt, course - np.interp(begins, t, course))


def lagged(t: np.ndarray, x: np.ndarray, tau: float) -> np.ndarray:
    """First-order lag of x(t), exact for straight pieces, settled at the first point."""
    out = np.empty(x.size)
    out[0] = value = x[0]
    for i in range(1, x.size):
        h = t[i] - t[i - 1]
        if h <= 0.0:
            out[i] = value
            continue
        slope = (x[i] - x[i - 1]) / h
        fade = math.exp(-h / tau)
        value = x[i] - slope * tau + (value - x[i - 1] + slope * tau) * fade
        out[i] = value
    return out


def sensor_drift(t: np.ndarray, whole: float, total: float) -> np.ndarray:
    """A drift that has made `total` Pa by `whole` s, with t^0.7."""
    return total * (np.maximum(t, 0.0) / whole) ** 0.7


def step_shift(since_step: np.ndarray, size: float, tau: float, power: float) -> np.ndarray:
    """What a sensor still shows of a step, Pa, recovering as a stretched exponential."""
    return size * np.exp(-((np.maximum(since_step, 0.0) / tau) ** power))


def barometer_walk(rng: np.random.Generator, t: np.ndarray, drift: float) -> np.ndarray:
    """Pa since t[0]: a trend of standard deviation drift/2 (Pa/s) and a random walk of 0.15 drift per root hour."""
    trend = np.clip(rng.normal(0.0, 0.5 * drift), -drift, drift)
    grid = np.arange(t[0], t[-1] + 20.0, 10.0)
    walk = np.cumsum(rng.standard_normal(grid.size)) * 0.15 * drift * 3600.0 * math.sqrt(10.0 / 3600.0)
    smooth = gaussian_filter1d(walk, 2.0)
    return trend * (t - t[0]) + np.interp(t, grid, smooth - smooth[0])
