"""The interval of a mean: Student's t for symmetric values, and what it promises for skewed ones."""

import numpy as np
import pytest
from scipy import stats

from simcal.stats.mean import mean_interval
from tests.counting import broken


def test_symmetric_values_have_students_interval():
    values = [-3.0, -1.0, 0.0, 1.0, 3.0, -2.0, 2.0]
    mean, low, high = mean_interval(values)
    half = stats.t.ppf(0.975, 6) * np.std(values, ddof=1) / np.sqrt(7)
    assert (mean, low, high) == (0.0, pytest.approx(-half), pytest.approx(half))
    assert mean_interval([2.0, 2.0, 2.0]) == (2.0, 2.0, 2.0)
    assert mean_interval([1.0, 2.0])[0] == 1.5


def test_the_ends_solve_the_transformation():
    values = np.random.default_rng(3).exponential(size=25)
    mean, low, high = mean_interval(values)
    n, sd = 25, values.std(ddof=1)
    g = np.mean(((values - mean) / sd) ** 3)
    for mu, t in ((low, stats.t.ppf(0.975, 24)), (high, -stats.t.ppf(0.975, 24))):
        big = np.sqrt(n) * (mean - mu) / sd
        bent = big + g * big**2 / (3 * np.sqrt(n)) + g**2 * big**3 / (27 * n) + g / (6 * np.sqrt(n))
        assert bent == pytest.approx(t)


def test_skewed_values_are_covered_better_than_by_students_interval():
    """Means of 40 values of a gamma distribution as skewed as uptimes are (-1.15), 6,000 times; seed fixed beforehand.

    The promise is kept; values far more skewed are still missed too often, a log-normal of sigma 0.8 in 7 % of cases.
    """
    draws = 3.0 - np.random.default_rng(20265).gamma(3.0, size=(6000, 40))
    half = stats.t.ppf(0.975, 39) * draws.std(axis=1, ddof=1) / np.sqrt(40)
    students = int((abs(draws.mean(axis=1)) > half).sum())
    missed = sum(not low <= 0.0 <= high for _, low, high in map(mean_interval, draws))
    assert missed < students
    assert not broken(missed, 6000, 0.05), (missed, students)
