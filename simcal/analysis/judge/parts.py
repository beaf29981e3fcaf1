"""What took which part of the change: every source's most probable share, given the leak that is answered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag, cho_solve

from simcal.analysis.judge.fit import LEAK
from simcal.analysis.judge.infer import Explanation, Inference, between
from simcal.stats.covariance import factor
from simcal.stats.mixture import normed

Vector = NDArray[np.float64]

ENDS = 5
"""blocks at each end of the watch whose mean residual is what nothing explains"""
SMALL = 1e-4
"""weight of a yielding below which it is left out of the mean"""


@dataclass(frozen=True, eq=False)
class Courses:
    """Courses [block] of what makes the reading of the first hold, Pa; a constant of each is of no account."""

    time: Vector
    reading: Vector
    sources: Mapping[str, Vector]  # leak, gas, body, room, slow, drift, barometer
    noise: Vector
    fall: float  # by the leak over the watch

    def change(self, course: Vector, watch: tuple[float, float]) -> float:
        """From start to end of the watch, Pa."""
        return _at(watch[1], self.time, course) - _at(watch[0], self.time, course)

    def unexplained(self, watch: tuple[float, float]) -> float:
        """Mean residual at the end of the watch less that at its start, Pa."""
        inside = np.flatnonzero((self.time >= watch[0]) & (self.time <= watch[1]))
        few = max(1, min(ENDS, len(inside) // 2))
        return float(self.noise[inside[-few:]].mean() - self.noise[inside[:few]].mean())


def _at(time: float, times: Vector, course: Vector) -> float:
    """The course at a time, straight on beyond its first and last block."""
    i = int(np.clip(np.searchsorted(times, time), 1, len(times) - 1))
    share = (time - times[i - 1]) / (times[i] - times[i - 1])
    return float(course[i - 1] + share * (course[i] - course[i - 1]))


def courses(inference: Inference, fall: float) -> Courses:
    """The courses of the best explanation with a leak that takes `fall` Pa over the watch."""
    best = inference.best
    law, amount = _straight(inference, best, fall)
    rest = best.columns.residual - best.columns.laws[:, law] * fall - best.columns.slow @ amount
    pull = cho_solve((factor(best.covariance), True), rest)
    first = best.rows[0]
    fit, scene, own = first.fit, first.fit.scene, slice(0, len(first.residual))
    n = first.pressures
    scale, touched = best.room
    shift = best.prior_cov[:LEAK] @ _through(best).T @ pull
    room = (scale**2 * first.room_covariance() + touched * first.hand_covariance()) @ pull[own]
    named = {name: (cov @ pull[own])[:n] for name, cov in first.rest.items()}
    named["drift"] = named["drift"] + (between(best.rows)[own] @ pull)[:n]
    slope = scene.dp_dT[scene.at]
    plain = (
        fit.model
        - fit.theta[LEAK] * fit.jacobian[:, LEAK]
        - fit.jacobian[:, :LEAK] @ ((fit.theta - fit.prior.mean)[:LEAK])
    )
    cooled = (first.laws[:n, law] + scene.fallen[scene.at, law]) * fall
    thermal = plain + first.jacobian[:n] @ shift + named["misfit"] + cooled
    gas = slope * (fit.run.temperature[scene.at, 0] - fit.run.temperature[scene.at, 1])
    sources = {
        "leak": -scene.fallen[scene.at, law] * fall,
        "gas": gas,
        "body": thermal - gas,
        "room": room[:n],
        "slow": first.slow[:n] @ amount[: first.slow.shape[1]],
        "drift": named["drift"],
        "barometer": named["barometer"],
    }
    return Courses(scene.binned.time, scene.binned.value, sources, scene.binned.value - sum(sources.values()), fall)


def _straight(inference: Inference, best: Explanation, fall: float) -> tuple[int, Vector]:
    """The law that is most probable with a leak of that `fall`, and the mean of the slow amounts over all yieldings."""
    off = (fall - best.mixture.mean) / best.mixture.sd
    likely = normed(best.mixture.log_weight - 0.5 * off**2 - np.log(best.mixture.sd))
    law = int(best.mixture.law[int(np.argmax(likely))])
    share = np.bincount(best.mixture.slow, likely, len(inference.slow.mean))
    kept = share > SMALL
    share, mean, size = (
        share[kept] / share[kept].sum(),
        inference.slow.mean[kept],
        np.sqrt(inference.slow.variance[kept]),
    )
    columns = best.columns
    weighted = cho_solve((factor(best.covariance), True), columns.slow)
    gram = columns.slow.T @ weighted
    pull = weighted.T @ (columns.residual - columns.laws[:, law] * fall) - mean @ gram
    precision = gram * size[:, :, None] * size[:, None, :] + np.eye(size.shape[1])
    amounts = mean + size * np.linalg.solve(precision, (size * pull)[:, :, None])[:, :, 0]
    return law, np.asarray(share @ amounts)


def _through(best: Explanation) -> NDArray[np.float64]:
    """Jacobian of all rows by all holds' parameters."""
    return np.asarray(block_diag(*(one.jacobian for one in best.rows)))


def widened_by(inference: Inference) -> dict[str, float]:
    """Share of each source in the variance of the leak, by the weights of the best explanation's estimate."""
    best = inference.best
    top = int(np.argmax(best.mixture.log_weight))
    law, slow = int(best.mixture.law[top]), int(best.mixture.slow[top])
    variance = inference.slow.variance[slow]
    yielding = (best.columns.slow * variance) @ best.columns.slow.T
    column = best.columns.laws[:, law]
    pull = cho_solve((factor(best.covariance + yielding), True), column)
    pull /= column @ pull
    through = _through(best)
    found = {"heat": float(pull @ through @ best.prior_cov @ through.T @ pull), "slow": float(pull @ yielding @ pull)}
    start = 0
    for rows in best.rows:
        own = slice(start, start + len(rows.residual))
        start = own.stop
        here = pull[own]
        room = best.room[0] ** 2 * rows.room_covariance() + best.room[1] * rows.hand_covariance()
        found["room"] = found.get("room", 0.0) + float(here @ room @ here)
        for name, cov in rows.rest.items():
            key = "heat" if name == "misfit" else name
            found[key] = found.get(key, 0.0) + float(here @ cov @ here)
    found["drift"] += float(pull @ between(best.rows) @ pull)
    total = sum(found.values())
    return {name: value / total for name, value in found.items()}
