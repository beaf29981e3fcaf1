"""The answer's three numbers: most probable middle and 95 % interval of the rate, widened by what calibration asks."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from simcal.analysis.judge.case import Case
from simcal.analysis.judge.infer import Inference, mol_per_pascal
from simcal.stats.mixture import quantile, times_lognormal

Vector = NDArray[np.float64]

OUTSIDE = 0.025
NORMAL = 1.959963984540054
WIDER = 1.2
"""half-widths are multiplied by this: what records of finer models asked for on average"""
WIDER_YIELDING = 2.0
"""the same where a slow yielding is the likelier explanation"""
YIELDING = 0.6
"""weight of slow yielding above which that counts"""
HOPELESS_FIT = 3.0
"""chi-squared over rows above which no explanation fits"""


class Interval(NamedTuple):
    """Middle and ends; in Pa of fall over the watch, or mol/s."""

    low: float
    middle: float
    high: float

    @property
    def half(self) -> float:
        """Half of its width."""
        return 0.5 * (self.high - self.low)

    def scaled(self, factor: float) -> Interval:
        """All three times a positive factor."""
        return Interval(self.low * factor, self.middle * factor, self.high * factor)


def fall_interval(inference: Inference, widen: bool = True) -> Interval:
    """Fall over the watch that the leak makes, Pa."""
    mixture = inference.weight, inference.mean, inference.sd
    low, middle, high = (quantile(share, *mixture) for share in (OUTSIDE, 0.5, 1.0 - OUTSIDE))
    factor = widening(inference) if widen else 1.0
    return Interval(middle - factor * (middle - low), middle, middle + factor * (high - middle))


def widening(inference: Inference) -> float:
    """The factor on half-widths: smooth between the two, so that no verdict hangs on a hair."""
    slow = float(inference.weight[inference.slow_kind >= 0].sum())
    share = min(max((slow - YIELDING + 0.1) / 0.2, 0.0), 1.0)
    return WIDER + (WIDER_YIELDING - WIDER) * share


def rate_interval(case: Case, inference: Inference, p_mean: float) -> Interval:
    """Net flow out at the mean pressure of the watch, mol/s, with the capacity's spread in it."""
    per_pascal = mol_per_pascal(case, p_mean)
    mixture = rate_mixture(case, inference, per_pascal)
    low, high = (quantile(share, *mixture) for share in (OUTSIDE, 1.0 - OUTSIDE))
    return Interval(low, fall_interval(inference).middle * per_pascal, high)


def rate_mixture(case: Case, inference: Inference, per_pascal: float) -> tuple[Vector, Vector, Vector]:
    """Weights, means and sd of the rate, mol/s: widened falls times a capacity that is log-normal about the stated one.

    A capacity is positive: however vague, it does not change the sign of a rate.
    """
    middle, factor = fall_interval(inference).middle, widening(inference)
    mean = (middle + (inference.mean - middle) * factor) * per_pascal
    return times_lognormal(inference.weight, mean, inference.sd * factor * per_pascal, WIDER * case.volume_sd)
