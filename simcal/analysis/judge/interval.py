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
WIDER, WIDER_CAPACITY = 1.8, 1.2
"""half-widths, and the capacity's stated spread, are multiplied by this. Chosen on 400 records of a finer model, with
things that imitate a leak in forms of their own: 1.4 left 9 % of them outside, 1.8 leaves 6 %"""
DOUBT = 4.0
"""how much likelier, as odds, those who doubt hold a yielding that could be taken for a leak; the interval holds for
them too"""
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

    def about(self, middle: float, factor: float) -> Interval:
        """Both ends farther from the middle by a factor."""
        return Interval(middle - factor * (middle - self.low), middle, middle + factor * (self.high - middle))

    def scaled(self, factor: float) -> Interval:
        """All three times a positive factor."""
        return Interval(self.low * factor, self.middle * factor, self.high * factor)


def fall_interval(inference: Inference, widen: bool = True) -> Interval:
    """Fall over the watch that the leak makes, Pa; without `widen` the plain posterior's."""
    views = weights(inference) if widen else (inference.weight,)
    found = [_quantiles(weight, inference.mean, inference.sd) for weight in views]
    middle, factor = found[0].middle, WIDER if widen else 1.0
    low, high = min(one.low for one in found), max(one.high for one in found)
    return Interval(middle - factor * (middle - low), middle, middle + factor * (high - middle))


def weights(inference: Inference) -> tuple[Vector, Vector]:
    """Weights of the components: as believed, and to those who doubt.

    What imitates a leak to the last cannot be told from one by any record: the answer then rests on how likely it was
    beforehand. One mixture is right on average over vessels with and without it, and too sure of those with it. So
    the interval is the hull over both beliefs; where the record speaks against such a yielding they agree.
    """
    return inference.weight, doubted(inference.weight, inference.imitates)


def doubted(weight: Vector, imitates: NDArray[np.bool_]) -> Vector:
    """Weights with the odds of what imitates a leak raised."""
    raised = weight * np.where(imitates, DOUBT, 1.0)
    return np.asarray(raised / raised.sum())


def _quantiles(weight: Vector, mean: Vector, sd: Vector) -> Interval:
    low, middle, high = (quantile(share, weight, mean, sd) for share in (OUTSIDE, 0.5, 1.0 - OUTSIDE))
    return Interval(low, middle, high)


def rate_interval(case: Case, inference: Inference, p_mean: float, widen: bool = True) -> Interval:
    """Net flow out at the mean pressure of the watch, mol/s, with the capacity's spread in it."""
    per_pascal = mol_per_pascal(case, p_mean)
    middle = quantile(0.5, inference.weight, inference.mean, inference.sd)
    views = weights(inference) if widen else (inference.weight,)
    factor = WIDER if widen else 1.0
    mixtures = [_rates(case, inference, weight, middle, per_pascal, factor) for weight in views]
    low = min(quantile(OUTSIDE, *mixture) for mixture in mixtures)
    high = max(quantile(1.0 - OUTSIDE, *mixture) for mixture in mixtures)
    return Interval(low, middle * per_pascal, high)


def rate_mixture(case: Case, inference: Inference, per_pascal: float) -> tuple[Vector, Vector, Vector]:
    """Weights, means and sd of the rate, mol/s, as believed, not widened: for looks that bring their own reserve."""
    middle = quantile(0.5, inference.weight, inference.mean, inference.sd)
    return _rates(case, inference, inference.weight, middle, per_pascal, 1.0)


def _rates(
    case: Case, inference: Inference, weight: Vector, middle: float, per_pascal: float, factor: float
) -> tuple[Vector, Vector, Vector]:
    """Widened falls times a capacity that is log-normal about the stated one.

    A capacity is positive: however vague, it does not change the sign of a rate.
    """
    mean = (middle + (inference.mean - middle) * factor) * per_pascal
    volume_sd = case.volume_sd * (WIDER_CAPACITY if factor > 1.0 else 1.0)
    return times_lognormal(weight, mean, inference.sd * factor * per_pascal, volume_sd)
