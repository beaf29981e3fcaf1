"""Exact counting."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from simcal.stats.binomial import broken, chance_of_more, clopper_pearson, coverage_broken, most_allowed


@given(st.integers(1, 300), st.data(), st.floats(0.001, 0.999))
def test_tail_agrees_with_the_sum_of_its_terms(n, data, rate):
    count = data.draw(st.integers(0, n))
    terms = [math.comb(n, k) * rate**k * (1.0 - rate) ** (n - k) for k in range(count, n + 1)]
    assert chance_of_more(count, n, rate) == pytest.approx(math.fsum(terms), rel=1e-9, abs=1e-300)


@pytest.mark.parametrize(("count", "n"), [(0, 10), (3, 10), (10, 10), (50, 1000), (1, 5)])
def test_interval_agrees_with_scipy(count, n):
    # scipy.stats.binomtest, method "exact" (Clopper and Pearson 1934)
    theirs = stats.binomtest(count, n).proportion_ci(0.95, "exact")
    assert clopper_pearson(count, n) == pytest.approx((theirs.low, theirs.high), rel=1e-9)


def test_rule_of_three():
    # none in n: the upper end of a one-sided 95 % interval is close to 3/n
    assert clopper_pearson(0, 1000, 0.90)[1] == pytest.approx(1.0 - 0.05 ** (1.0 / 1000.0), rel=1e-9)


def test_a_promise_is_broken_when_one_percent_remains():
    # 5 % promised, 1,000 trials: P(X >= 67) = 1.06 %, P(X >= 68) = 0.74 % (scipy.stats.binom.sf)
    edge = most_allowed(1000, 0.05)
    assert edge == 67
    assert stats.binom.sf(edge - 1, 1000, 0.05) >= 0.01
    assert stats.binom.sf(edge, 1000, 0.05) < 0.01
    assert not broken(edge, 1000, 0.05)
    assert broken(edge + 1, 1000, 0.05)


def test_coverage_counts_the_misses():
    assert not coverage_broken(95, 100, 0.95)
    assert not coverage_broken(90, 100, 0.95)
    assert coverage_broken(88, 100, 0.95)


def test_a_kept_promise_is_rejected_no_more_often_than_stated():
    counts = np.random.default_rng(5).binomial(200, 0.05, 20000)
    rejected = np.mean(counts > most_allowed(200, 0.05))
    assert rejected <= 0.01


@given(st.integers(1, 500), st.floats(0.001, 0.5))
def test_most_allowed_is_the_last_count_not_broken(n, promised):
    edge = most_allowed(n, promised)
    assert not broken(edge, n, promised)
    assert edge == n or broken(edge + 1, n, promised)


def test_impossible_counts_are_refused():
    with pytest.raises(ValueError, match=r"count\(=5\) must be 0 to n\(=4\)"):
        clopper_pearson(5, 4)
