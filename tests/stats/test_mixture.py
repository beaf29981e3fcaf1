"""Quantiles of a mixture of normal distributions."""

import numpy as np
import pytest
from scipy.stats import norm

from simcal.stats import mixture


def test_one_component_has_the_quantiles_of_the_normal_distribution():
    for share in (0.025, 0.5, 0.975):
        found = mixture.quantile(share, np.ones(1), np.array([3.0]), np.array([2.0]))
        assert found == pytest.approx(norm.ppf(share, 3.0, 2.0), abs=1e-7)


def test_a_quantile_is_where_that_share_lies_below():
    weight, mean, sd = np.array([0.2, 0.5, 0.3]), np.array([-4.0, 0.0, 9.0]), np.array([0.1, 1.0, 3.0])
    for share in (0.025, 0.19, 0.5, 0.975):
        x = mixture.quantile(share, weight, mean, sd)
        assert float(weight @ norm.cdf(x, mean, sd)) == pytest.approx(share, abs=1e-6)


def test_weights_are_normed_however_small_their_evidence_is():
    weight = mixture.normed(np.array([-5000.0, -5000.0 + np.log(3.0)]))
    assert weight == pytest.approx([0.25, 0.75])
