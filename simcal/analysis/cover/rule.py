"""Which comparisons keep the user's rule, and the risks of deciding by them."""

import functools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simcal.bench.lab import BANDS, OBSERVED, Lab
from simcal.stats.conformity import (
    acceptance_limit,
    global_risks,
    guard_band_for,
    least_ratio,
    prior_sd,
    probability_inside,
    worst_risks,
)
from simcal.stats.uncertainty import COVERAGE

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

LEAST_RATIO = 1.0
"""Ratio below which a rule of risk is not kept: a consumer's risk falls again where hardly anything is accepted."""
ROUNDING = 1e-9
STEP = 0.02
"""of ln(u/T), in which acceptance limits for the worst prior are told"""


@dataclass(frozen=True)
class Judged:
    """Risks of comparisons, and the reading up to which is accepted, Pa."""

    consumer: Array
    producer: Array
    specific: Array  # consumer's, of one reading at the acceptance limit
    acceptance: Array


def ratios(tolerance: Array, u: Array) -> Array:
    """Tolerance over expanded uncertainty (k=2); inf where nothing is uncertain."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(u > 0.0, tolerance / (COVERAGE * u), np.where(tolerance > 0.0, np.inf, 0.0)))


def kept(lab: Lab, tolerance: Array, u: Array) -> Mask:
    """Where a comparison with standard uncertainty u keeps the rule; tolerance and u of one shape or broadcast."""
    rule, ratio = lab.rule, ratios(tolerance, u)
    if rule.ratio is not None:
        return np.asarray(ratio >= rule.ratio * (1.0 - ROUNDING))
    if rule.kind in BANDS:
        return np.asarray(tolerance - band(lab, u) >= (rule.zone - ROUNDING) * tolerance)
    assert rule.consumer_risk is not None
    if lab.prior is None:
        return np.asarray(ratio >= least_ratio(rule.consumer_risk) * (1.0 - ROUNDING))
    whole = np.broadcast_to(tolerance, u.shape)
    sure = (u > 0.0) & (whole > 0.0)
    risk = np.full(u.shape, np.nan)
    risk[sure] = global_risks(_prior(lab, whole[sure], u[sure]), u[sure], whole[sure], whole[sure])[0]
    low = np.where(u > 0.0, risk <= rule.consumer_risk * (1.0 + ROUNDING), whole > 0.0)
    return np.asarray(low & (ratio >= LEAST_RATIO * (1.0 - ROUNDING)))


def judged(lab: Lab, tolerance: Array, u: Array) -> Judged:
    """Risks of comparisons [n]: with the stated prior, else the worst that any prior gives; NaN where not defined.

    A prior of observed errors is not defined where the measurement alone scatters more than what was observed.
    """
    accept = np.maximum(tolerance - band(lab, u), 0.0)
    consumer, producer, specific = np.zeros_like(u), np.zeros_like(u), np.zeros_like(u)
    shut = (accept <= 0.0) | (tolerance <= 0.0)
    consumer[shut], producer[shut], specific[shut] = np.nan, np.nan, np.nan
    some = ~shut & (u > 0.0)
    t, sd, a = tolerance[some], u[some], accept[some]
    found = worst_risks(sd, t, a) if lab.prior is None else global_risks(_prior(lab, t, sd), sd, t, a)
    consumer[some], producer[some] = found
    specific[some] = 1.0 - probability_inside(-t, t, a, sd)
    return Judged(consumer, producer, specific, accept)


def band(lab: Lab, u: Array) -> Array:
    """Guard band of the rule, Pa, like u: what the acceptance limits lie inside the tolerance; 0 where it has none."""
    if lab.rule.specific_risk is not None:
        return guard_band_for(lab.rule.specific_risk, u)
    return np.asarray((lab.rule.guard_band or 0.0) * COVERAGE * u)


def limit_for_risk(lab: Lab, tolerance: float, u: float) -> float | None:
    """The reading up to which may be accepted to hold the rule's consumer's risk, Pa; None without such a rule."""
    if lab.rule.consumer_risk is None or u <= 0.0 or tolerance < COVERAGE * u * LEAST_RATIO:
        return None
    if lab.prior is None:
        steps = math.ceil(math.log(u / tolerance) / STEP)  # rounded up, which leaves the limit on the narrow side
        return tolerance * _limit_of_worst(lab.rule.consumer_risk, steps)
    s = float(_prior(lab, np.asarray(tolerance), np.asarray(u)))
    return acceptance_limit(lab.rule.consumer_risk, u, tolerance, s) if math.isfinite(s) else None


@functools.lru_cache(maxsize=4096)
def _limit_of_worst(risk: float, steps: int) -> float:
    """Acceptance limit over tolerance for the worst prior, at u/T = exp(steps x STEP)."""
    return acceptance_limit(risk, math.exp(steps * STEP), 1.0)


def _prior(lab: Lab, tolerance: Array, u: Array) -> Array:
    """Standard deviation of the true errors, Pa."""
    assert lab.prior is not None
    return prior_sd(lab.prior.in_tolerance, tolerance, u, lab.prior.of == OBSERVED)
