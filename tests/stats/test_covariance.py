"""Factors of covariances."""

import numpy as np
import pytest

from simcal.stats.covariance import factor


def test_a_good_covariance_is_factored_as_it_is():
    a = np.random.default_rng(3).normal(size=(5, 8))
    cov = a @ a.T
    assert factor(cov) @ factor(cov).T == pytest.approx(cov, rel=1e-12)


def test_one_that_rounding_made_indefinite_is_raised_a_little():
    ones = np.outer([1.0, 1e4, 1e-3], [1.0, 1e4, 1e-3])
    with pytest.raises(np.linalg.LinAlgError):
        np.linalg.cholesky(ones - 1e-14 * np.diag(np.diag(ones)))
    lower = factor(ones - 1e-14 * np.diag(np.diag(ones)))
    assert lower @ lower.T == pytest.approx(ones, rel=1e-6)


def test_what_is_no_covariance_is_refused():
    with pytest.raises(np.linalg.LinAlgError):
        factor(np.array([[1.0, 2.0], [2.0, 1.0]]))
