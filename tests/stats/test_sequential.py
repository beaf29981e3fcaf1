"""Intervals that hold at all looks together."""

import math

import numpy as np
import pytest

from simcal.stats.sequential import held, lasting_interval
from tests import counting

PRIOR = np.ones(1), np.zeros(1), np.full(1, 2.0)


def posterior(total, n):
    """Of a mean with prior N(0, 2^2) after n readings of noise 1."""
    precision = n + 1.0 / 4.0
    return np.ones(1), np.array([total / precision]), np.array([1.0 / math.sqrt(precision)])


def test_a_normal_mean_has_the_closed_form_of_the_mixture_interval():
    # Robbins 1970: |x - m| <= s sqrt(ln(t^2/s^2) + m^2/t^2 ... ) solved here by hand for prior mean 0:
    # posterior/prior = alpha  <=>  (x-m)^2/s^2 - x^2/t^2 = 2 ln(t/(alpha s))
    total, n, t = 30.0, 40, 2.0
    low, high = lasting_interval(posterior(total, n), PRIOR, 0.05)
    _, mean, sd = posterior(total, n)
    a = 1.0 / sd[0] ** 2 - 1.0 / t**2
    b = -2.0 * mean[0] / sd[0] ** 2
    c = mean[0] ** 2 / sd[0] ** 2 - 2.0 * math.log(t / (0.05 * sd[0]))
    root = math.sqrt(b * b - 4.0 * a * c)
    assert (low, high) == pytest.approx(((-b - root) / (2.0 * a), (-b + root) / (2.0 * a)), rel=1e-6)


def test_looking_at_every_reading_leaves_the_truth_out_no_more_often_than_promised():
    # 400 runs of 200 looks, seed 11; a fixed 95 % interval would be left by more than a third of them
    rng = np.random.default_rng(11)
    lost = fixed = 0
    for _ in range(400):
        truth = rng.normal(0.0, 0.5)
        totals = np.cumsum(rng.normal(truth, 1.0, 200))
        out = out_fixed = False
        for n in range(1, 201, 4):
            _, mean, sd = posterior(totals[n - 1], n)
            out |= not held(np.array([truth]), posterior(totals[n - 1], n), PRIOR, 0.05)[0]
            out_fixed |= abs(mean[0] - truth) > 1.96 * sd[0]
        lost, fixed = lost + out, fixed + out_fixed
    assert not counting.broken(lost, 400, 0.05)
    assert counting.broken(fixed, 400, 0.05)
