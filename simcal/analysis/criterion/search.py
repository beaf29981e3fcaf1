"""The shortest times and the limits: from what drawn benches do, by the normal distribution; checked afresh afterwards.

Changes are counted in the sense of the leak here: positive when the reading goes where the leak takes it, so the limit
on that side is the one that finds the leak, and the other one finds what is no leak (a passing inlet, a warm body).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from simcal.analysis.criterion.question import SHARE
from simcal.analysis.criterion.setup import CYCLE, DIRECTION, Setup
from simcal.bench.values import Spread
from simcal.run.ensemble import Rows
from simcal.stats.band import empirical_quantile

Array = NDArray[np.float64]

OTHER_SHARE = 0.2
"""of the false alarms that the limit on the other side may take"""
NOISES = 3.0
"""standard deviations of what is compared, that the limit on the other side is never below"""
TIGHTENING = ((0.8, 0.97), (0.5, 0.99), (0.3, 1.0))
"""share of a risk that the search aims at and share of the benches that have to keep to it, when the search itself has
to leave room for what fresh benches do otherwise; one pair after the other where the check fails"""
LEAST_SPREAD = 1e-6
"""Pa; of a bench on which nothing differs from run to run"""
POINTS = 400
"""of a spread, at which its mean and standard deviation are found"""


@dataclass(frozen=True)
class View:
    """Changes over the watch in the sense of the leak, Pa, of drawn benches [b, s, w, h].

    tight, leak: without and with the permitted leak, all random parts at their mean; parts: name -> standard deviation
    over the runs of one bench, always positive; noise: of the difference of two means, Pa; total [s, w, h] s.
    """

    tight: Array
    leak: Array
    parts: dict[str, Array]
    drift: Array
    noise: float
    total: Array
    healthy: float
    false_alarm: float
    miss: float

    def spread(self) -> Array:
        """Standard deviation over the runs of a bench, Pa."""
        least = max(self.noise, LEAST_SPREAD) ** 2
        return np.asarray(np.sqrt(sum((part**2 for part in self.parts.values()), least + 0.0 * self.tight)))

    def healthy_mean(self) -> Array:
        """Mean change with the healthy leak, Pa."""
        return self.tight + self.drift + self.healthy * (self.leak - self.tight)

    def leaking_mean(self) -> Array:
        """Mean change with the permitted leak, Pa."""
        return self.leak + self.drift


@dataclass(frozen=True)
class Candidate:
    """Times by their index and limits in the sense of the leak, Pa; lowest, highest: between which limit may lie."""

    soak: int
    wait: int
    watch: int
    limit: float
    other: float
    lowest: float
    highest: float
    total_s: float


def sign(setup: Setup) -> float:
    """The sense in which the leak takes the reading."""
    return -1.0 if setup.outward else 1.0


def noise_of(setup: Setup) -> float:
    """Standard deviation of the difference of two means of readings, Pa, rounding counted."""
    sensor, n = setup.bench.sensors[setup.plans[0].sensor], setup.asked.readings
    rounding = sensor.resolution**2 / 12.0
    averaged = n if sensor.noise > 0.5 * sensor.resolution else 1  # else the readings of a window are rounded alike
    return float(np.sqrt(2.0 * (sensor.noise**2 / n + rounding / averaged) / setup.holds))


def moments(spread: Spread, nominal: float) -> tuple[float, float]:
    """Mean and standard deviation of what a spread adds to its nominal value."""
    off = np.array([spread.at(nominal, (k + 0.5) / POINTS) - nominal for k in range(POINTS)])
    return float(off.mean()), float(off.std())


def view(setup: Setup, rows: Rows) -> View:
    """What the drawn benches do at all times of the grid."""
    times, way = setup.grid, sign(setup)
    places = np.maximum(times.at, 0)

    def change(case: str) -> Array:
        k = setup.cases.index(case)
        return np.asarray(way * (rows["end"][:, k][:, :, places] - rows["start"][:, k][:, :, :, None]))

    tight, leak = change("tight"), change("leak")
    parts: dict[str, Array] = {}
    for key, spread in setup.per_run.items():
        mean, sd = moments(spread, float(setup.bench.value(key)))
        one = change(key)
        tight, leak = tight + mean * one, leak + mean * one
        parts[key] = sd * np.abs(one)
    if CYCLE[0] in setup.cases:
        parts["room.cycle"] = np.sqrt(0.5 * (change(CYCLE[0]) ** 2 + change(CYCLE[1]) ** 2))
    if DIRECTION in setup.cases:
        parts[DIRECTION] = np.abs(change(DIRECTION))
    drift = 0.0 * tight
    if setup.drift_key in setup.cases:
        drift = rows["drift"][:, None, None, None] * change(setup.drift_key)
    return View(
        tight=tight,
        leak=leak,
        parts=parts,
        drift=drift,
        noise=noise_of(setup),
        total=times.total(setup.holds),
        healthy=setup.asked.healthy_share(),
        false_alarm=setup.asked.false_alarm,
        miss=setup.asked.miss,
    )


def best(seen: View, tightening: tuple[float, float] = TIGHTENING[0]) -> Candidate | None:
    """The shortest times with limits that keep both risks; None when there are none."""
    needs = limits(seen, tightening)
    fits = (needs.lowest <= needs.highest) & np.isfinite(seen.total)
    if not fits.any():
        return None
    order = np.lexsort((np.where(fits, needs.lowest - needs.highest, np.inf).ravel(),
                        np.where(fits, seen.total, np.inf).ravel()))  # fmt: skip
    for place in order[: int(fits.sum())]:
        s, w, h = (int(i) for i in np.unravel_index(place, fits.shape))
        found = _candidate(seen, needs, s, w, h)
        if _on_average(seen, found):
            return found
    return None


@dataclass(frozen=True)
class Limits:
    """What the benches ask of the limits [s, w, h], Pa: at least lowest, at most highest, other at least."""

    lowest: Array
    highest: Array
    other: Array


def limits(seen: View, tightening: tuple[float, float]) -> Limits:
    """Between which values the limits have to lie for most of the benches."""
    aim, share = tightening
    spread, healthy, leaking = seen.spread(), seen.healthy_mean(), seen.leaking_mean()
    alarm = aim * seen.false_alarm
    lowest = healthy - ndtri((1.0 - OTHER_SHARE) * alarm) * spread
    highest = leaking + ndtri(aim * seen.miss) * spread
    other = -healthy - ndtri(OTHER_SHARE * alarm) * spread
    low, high, off = (_quantile(one, share) for one in (lowest, -highest, other))
    return Limits(np.maximum(low, 0.0), -high, np.maximum(off, NOISES * seen.noise))


def _quantile(values: Array, share: float) -> Array:
    """The quantile over the benches, as `stats.band` counts it; with few benches the largest."""
    ranked = np.sort(values, axis=0)
    n = len(ranked)
    at = min(max(share * (n + 1) - 1.0, 0.0), n - 1.0)
    low = int(at)
    high = min(low + 1, n - 1)
    return np.asarray(ranked[low] + (at - low) * (ranked[high] - ranked[low]))


def _candidate(seen: View, needs: Limits, s: int, w: int, h: int) -> Candidate:
    low, high = float(needs.lowest[s, w, h]), float(needs.highest[s, w, h])
    limit = round_between(low, high)
    other = float(needs.other[s, w, h])
    other = round_between(other, 1.4 * other)
    return Candidate(s, w, h, limit, other, low, high, float(seen.total[s, w, h]))


def _on_average(seen: View, one: Candidate) -> bool:
    """Whether both risks hold on average over the benches, too."""
    place = (slice(None), one.soak, one.wait, one.watch)
    spread, healthy, leaking = seen.spread()[place], seen.healthy_mean()[place], seen.leaking_mean()[place]
    alarm = ndtr((healthy - one.limit) / spread) + ndtr((-one.other - healthy) / spread)
    miss = ndtr((one.limit - leaking) / spread) - ndtr((-one.other - leaking) / spread)
    return bool(alarm.mean() <= seen.false_alarm and miss.mean() <= seen.miss)


def round_between(low: float, high: float) -> float:
    """A number with few figures from the middle half of low..high, both at least 0; the middle where there is none."""
    middle, quarter = 0.5 * (low + high), 0.25 * (high - low)
    if not quarter > 0.0:
        return middle
    power = 10.0 ** np.floor(np.log10(max(high, 1e-12)))
    for step in (power * unit for unit in (1.0, 0.5, 0.1, 0.05, 0.01, 0.005, 0.001)):
        near = float(np.round(middle / step) * step)
        if abs(near - middle) <= quarter:
            return float(f"{near:.6g}")
    return middle


def bench_quantile(risks: Array) -> float:
    """The risk that 95 % of the benches stay within."""
    return empirical_quantile(np.sort(risks), SHARE)
