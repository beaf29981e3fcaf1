"""Independent re-implementation, shares nothing with simcal/: scipy's LSODA, restarted at each sample of a PID."""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import odeint

from tests.independent.plant import Plant, pressures, rates

RTOL = 1e-11
ATOL = 1e-13  # of the size of each state


@dataclass
class Run:
    """Rows at the start of every sample: time s, pressures Pa, gauges Pa, drive; state and openings at the end."""

    time: np.ndarray
    pressure: np.ndarray
    gauge: np.ndarray
    drive: np.ndarray
    y: np.ndarray
    opening: np.ndarray


class Loop:
    """The bench with its controller running: `to` holds a target for a number of samples, `hold` shuts the valves."""

    def __init__(self, plant: Plant, parts: int = 1) -> None:
        """Start at rest, valves shut; every sample is written out in so many `parts`, the last one kept in `path`."""
        self.plant, self.packed = plant, plant.packed()
        self.y, self.opening = plant.at_rest(), np.zeros(len(plant.valve_lags))
        self.lags, self.clock = np.array(plant.valve_lags), 0.0
        self.size = np.abs(self.y)
        self.seen, self.parts = None, parts

    def sample(self, command: np.ndarray) -> None:
        """Go on by one period with these openings commanded."""
        self.times = self.clock + self.plant.period * np.linspace(0.0, 1.0, self.parts + 1)
        self.begun = self.opening, command, self.lags, self.clock, self.plant.room, self.plant.ramp
        self.path = self._advance(command, self.times)

    def inside(self) -> tuple[np.ndarray, np.ndarray]:
        """Pressures (Pa) at the ends of the parts of the last sample and their rates (Pa/s) there."""
        n, gas, found = len(self.plant.vessels), self.plant.gas, []
        for t, y in zip(self.times, self.path, strict=True):
            way = 1e-5 * rates(t, y, *self.begun, *self.packed)
            found.append((pressures(gas, y, n), (pressures(gas, y + way, n) - pressures(gas, y - way, n)) / 2e-5))
        return np.array([p for p, _ in found]), np.array([rate for _, rate in found])

    def _advance(self, command: np.ndarray, times: np.ndarray) -> np.ndarray:
        """States at times (the first is now)."""
        arguments = (self.opening, command, self.lags, times[0], self.plant.room, self.plant.ramp, *self.packed)
        path = odeint(
            rates, self.y, times, args=arguments, tfirst=True, rtol=RTOL, atol=ATOL * self.size, mxstep=100_000
        )
        self.opening = command + (self.opening - command) * np.exp(-(times[-1] - times[0]) / self.lags)
        self.y, self.clock = path[-1].copy(), float(times[-1])
        return path

    def _drive(self, target: float) -> float:
        """One sample of the PID on gauge 0: filtered derivative of the measurement, back-calculation against windup."""
        pid, period = self.plant.pid, self.plant.period
        y = (self.y[3 * len(self.plant.vessels)] - pid.zero) / pid.span
        if self.seen is None:
            self.integral, self.slope, self.seen = pid.kp * (1.0 - pid.weight) * y, 0.0, y
        r = (target - pid.zero) / pid.span
        self.slope += period / (pid.filter + period) * ((self.seen - y) / period - self.slope)
        self.seen = y
        v = pid.kp * (pid.weight * r - y + pid.td * self.slope) + self.integral
        u = float(np.clip(v, -1.0, 1.0))
        self.integral += period * (pid.kp / pid.ti * (r - y) + (u - v) / pid.track)
        return u

    def to(self, target: float, samples: int) -> Run:
        """Hold `target` (Pa abs) for a number of samples; valve 0 is the inlet, valve 1 the outlet."""
        n = len(self.plant.vessels)
        p, g = np.empty((samples, n)), np.empty((samples, len(self.plant.gauges)))
        drive, time = np.empty(samples), np.empty(samples)
        for k in range(samples):
            time[k], p[k], g[k] = self.clock, pressures(self.plant.gas, self.y, n), self.y[3 * n :]
            u = drive[k] = self._drive(target)
            command = np.zeros(len(self.opening))
            command[:2] = max(u, 0.0), max(-u, 0.0)
            self.sample(command)
        return Run(time, p, g, drive, self.y, self.opening)

    def hold(self, times: np.ndarray) -> Run:
        """Valves shut from now on; rows at the rising times (run's clock)."""
        n = len(self.plant.vessels)
        path = self._advance(np.zeros(len(self.opening)), np.concatenate([[self.clock], times]))[1:]
        p = np.array([pressures(self.plant.gas, y, n) for y in path])
        return Run(np.asarray(times), p, path[:, 3 * n :], np.zeros(len(times)), self.y, self.opening)
