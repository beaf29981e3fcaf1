"""The risks of one criterion on fresh draws: real readings with noise and rounding, run by run, at several leaks."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from simcal.analysis.criterion.question import SHARE
from simcal.analysis.criterion.search import LEAST_SPREAD, Candidate, bench_quantile, noise_of, sign
from simcal.analysis.criterion.setup import CYCLE, DIRECTION, Setup
from simcal.bench.values import Spread
from simcal.run.ensemble import Rows
from simcal.stats.band import quantile_between
from simcal.stats.binomial import clustered
from simcal.stats.streams import generator

Array = NDArray[np.float64]

LEVELS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.25, 1.5, 2.0)
"""leaks of the operating curve, as shares of the permitted one"""


@dataclass(frozen=True)
class Risk:
    """Of one kind. mean: counted, with its 95 % interval (benches counted as clusters); most: what 95 % of the benches
    keep to, with the interval of that quantile.
    """

    mean: float
    between: tuple[float, float]
    most: float
    most_between: tuple[float, float]


@dataclass(frozen=True)
class Checked:
    """Fails counted [b, q] of the runs of a bench at a leak (share of the permitted one); other: on the other side;
    expected [b, q]: the chance of a fail, noise by its distribution instead of drawn, so that a bench's own chance is
    not widened by counting; change [b, q]: mean change in the sense of the leak, Pa.
    """

    levels: Array
    failed: Array
    other: Array
    expected: Array
    change: Array
    runs: int
    shares: Array
    values: Array

    def failing(self, level: float) -> Array:
        """The chance of a fail, by bench."""
        return np.asarray(self.expected[:, self._place(level)])

    def fails(self, level: float) -> Risk:
        """The chance of a fail at a leak."""
        return _risk(self.failed[:, self._place(level)], self.runs, self.failing(level))

    def passes(self, level: float) -> Risk:
        """The chance of a pass at a leak."""
        return _risk(self.runs - self.failed[:, self._place(level)], self.runs, 1.0 - self.failing(level))

    def _place(self, level: float) -> int:
        return int(np.argmin(np.abs(self.levels - level)))


def _risk(counts: Array, runs: int, benches: Array) -> Risk:
    low, high = quantile_between(np.sort(benches), SHARE)
    mean, between = clustered(counts, runs)
    return Risk(mean, between, bench_quantile(benches), (max(low, 0.0), min(high, 1.0)))


def check(setup: Setup, one: Candidate, parts: Iterator[Rows], first: int, levels: tuple[float, ...]) -> Checked:
    """Count fails of fresh benches, chunk by chunk; first: the number of the first bench."""
    quantities = np.unique(np.array([*levels, setup.asked.healthy_share(), 1.0]))
    found: list[tuple[Array, Array, Array, Array]] = []
    shares, values = [], []
    number = first
    for rows in parts:
        e = int(setup.grid.at[one.wait, one.watch])
        start, end = rows["start"][:, :, one.soak, one.wait], rows["end"][:, :, one.soak, e]
        for k in range(len(start)):
            found.append(_bench(setup, one, start[k], end[k], float(rows["drift"][k]), number + k, quantities))
        shares.append(rows["share"])
        values.append(rows["value"])
        number += len(start)
    failed, other, expected, change = (np.array(one) for one in zip(*found, strict=True))
    return Checked(
        quantities, failed, other, expected, change, setup.asked.runs, np.concatenate(shares), np.concatenate(values)
    )


def coefficients(setup: Setup, number: int, drift: float) -> dict[str, Array]:
    """Case -> how much of it each run of a bench has [r]; run j of 10 is run j of 100."""
    runs, seed = setup.asked.runs, setup.asked.seed
    found: dict[str, Array] = {}
    for key, spread in setup.per_run.items():
        nominal = float(setup.bench.value(key))
        even = even_draws(seed, number, f"runs {key}", runs)
        found[key] = deviations(spread, nominal, even)
    if CYCLE[0] in setup.cases:
        phase = 2.0 * np.pi * even_draws(seed, number, "runs room.cycle", runs)
        found[CYCLE[0]], found[CYCLE[1]] = np.cos(phase), np.sin(phase)
    if DIRECTION in setup.cases:
        found[DIRECTION] = np.where(even_draws(seed, number, "runs direction", runs) < 0.5, -1.0, 1.0)
    if setup.drift_key in setup.cases:
        found[setup.drift_key] = np.full(runs, drift)
    return found


def deviations(spread: Spread, nominal: float, shares: Array) -> Array:
    """What a spread adds to its nominal value at shares of it."""
    if spread.shape == "normal" and spread.low == -np.inf and spread.high == np.inf:
        return np.asarray(spread.sd * ndtri(shares))
    return np.array([spread.at(nominal, share) - nominal for share in shares])


def even_draws(seed: int, number: int, name: str, count: int) -> Array:
    """Even draws from (0, 1) that belong to a bench and a name."""
    return np.clip(generator(seed, number, name).random(count), 2.0**-54, 1.0 - 2.0**-53)


def _bench(
    setup: Setup, one: Candidate, start: Array, end: Array, drift: float, number: int, levels: Array
) -> tuple[Array, Array, Array, Array]:
    """Of one bench by leak [q]: fails, fails on the other side, chance of a fail, mean change; start, end: by case."""
    sensor, n = setup.bench.sensors[setup.plans[0].sensor], setup.asked.readings
    runs, way = setup.asked.runs, sign(setup)
    parts = coefficients(setup, number, drift)
    moved = [sum((c * float(side[setup.cases.index(case)]) for case, c in parts.items()), np.zeros(runs))
             for side in (start, end)]  # fmt: skip
    draws = ndtri(even_draws(setup.asked.seed, number, "runs reading noise", runs * 2 * n * setup.holds))
    noise = sensor.noise * draws.reshape(runs, setup.holds, 2, n)
    if sensor.resolution <= 0.0:  # nothing is rounded: the mean of the readings is all that counts
        noise = noise.mean(axis=(1, 3), keepdims=True)
    spread = max(noise_of(setup), LEAST_SPREAD)
    out = np.empty((4, len(levels)))
    for q, level in enumerate(levels):
        first, last = (float(side[0] + level * (side[1] - side[0])) for side in (start, end))
        smooth = [base + shift for base, shift in ((first, moved[0]), (last, moved[1]))]
        means = [
            np.mean(_rounded(smooth[k][:, None, None] + noise[:, :, k], sensor.resolution), axis=(1, 2)) for k in (0, 1)
        ]
        went, whole = way * (means[1] - means[0]), way * (smooth[1] - smooth[0])
        wrong = went < -one.other
        chance = ndtr((whole - one.limit) / spread) + ndtr((-one.other - whole) / spread)
        out[:, q] = ((went > one.limit) | wrong).sum(), wrong.sum(), chance.mean(), went.mean()
    return out[0], out[1], out[2], out[3]


def _rounded(values: Array, resolution: float) -> Array:
    return np.asarray(np.round(values / resolution) * resolution if resolution > 0.0 else values)
