"""Independent re-implementation, shares nothing with simcal/: how a sensor and a logger see a hold."""

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from tests.independent.holds.confounders import lagged


@dataclass(frozen=True)
class Logger:
    """True habits of the instrument, SI; `spikes` and `gaps` are shares of the record."""

    period: float
    lag: float
    noise: float
    coloured: float
    resolution: float
    jitter: float
    spikes: float
    spike_size: float
    gaps: int


@dataclass(frozen=True)
class Thermometer:
    """What sits on the wall: share of the room it sees, lag s, offset K, noise K, step K."""

    room_share: float
    lag: float
    offset: float
    noise: float
    resolution: float


def stamps(rng: np.random.Generator, begins: float, ends: float, log: Logger) -> np.ndarray:
    """Times of the samples: even but for jitter, with gaps."""
    n = int((ends - begins) / log.period) + 1
    t = begins + log.period * np.arange(n)
    t = t + np.clip(rng.standard_normal(n) * log.jitter, -0.4, 0.4) * log.period
    keep = np.ones(n, bool)
    for _ in range(log.gaps):
        long = rng.uniform(0.01, 0.08) * (ends - begins)
        start = rng.uniform(begins, ends - long)
        keep &= (t < start) | (t > start + long)
    keep[[0, -1]] = True
    return np.clip(t[keep], begins, ends)


def coloured(rng: np.random.Generator, n: int, period: float) -> np.ndarray:
    """Noise of unit standard deviation whose power falls with frequency: four first-order courses."""
    total = np.zeros(n)
    for tau in (1.0, 8.0, 60.0, 400.0):
        keep = np.exp(-period / max(tau, 2.0 * period))
        kick = rng.standard_normal(n) * np.sqrt(1.0 - keep * keep)
        kick[0] = rng.standard_normal()
        total += 0.5 * lfilter([1.0], [1.0, -keep], kick)
    return total


def quantise(x: np.ndarray, step: float) -> np.ndarray:
    """The nearest whole multiple of the step."""
    return np.round(x / step) * step if step > 0.0 else x


def read_pressure(rng: np.random.Generator, t: np.ndarray, p: np.ndarray, log: Logger) -> np.ndarray:
    """What the logger wrote for the pressure p at its stamps t: lag, noise, spikes, steps."""
    seen = lagged(t, p, log.lag)
    seen = seen + log.noise * rng.standard_normal(t.size) + log.coloured * coloured(rng, t.size, log.period)
    hit = rng.uniform(size=t.size) < log.spikes
    seen = seen + hit * log.spike_size * rng.standard_exponential(t.size) * rng.choice([-1.0, 1.0], t.size)
    return quantise(seen, log.resolution)


def read_temperature(
    rng: np.random.Generator, t: np.ndarray, wall: np.ndarray, room: np.ndarray, it: Thermometer
) -> np.ndarray:
    """What a thermometer on the wall shows at t (from the start of the move on, where it is settled)."""
    seen = lagged(t, (1.0 - it.room_share) * wall + it.room_share * room, it.lag)
    return quantise(seen + it.offset + it.noise * rng.standard_normal(t.size), it.resolution)
