"""Bands of trials and what counting can say of their ends."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from simcal.stats.band import band, empirical_quantile, quantile_between


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60), st.floats(0.0, 1.0))
def test_quantile_agrees_with_numpy(values, q):
    assert empirical_quantile(np.sort(values), q) == pytest.approx(
        float(np.quantile(values, q, method="weibull")), rel=1e-9, abs=1e-6
    )


def test_results_that_never_came_stand_at_infinity():
    found = band([1.0, 2.0, 3.0, math.inf])
    assert found.low == 1.0
    assert found.high == math.inf
    assert found.n == 4


@pytest.mark.parametrize("n", [19, 20, 39, 100])
def test_a_further_trial_lies_in_the_band_nine_times_of_ten(n):
    # exact for ranks q (n + 1) (David and Nagaraja 2003, section 7.3); 20,000 draws, tolerance four standard deviations
    values = np.random.default_rng(9).random((20_000, n + 1))
    made = [band(row[:n]) for row in values]
    inside = np.mean([b.low <= row[n] <= b.high for b, row in zip(made, values, strict=True)])
    assert inside == pytest.approx(0.9, abs=4.0 * math.sqrt(0.09 / 20_000))


def test_all_never_came():
    assert band([math.inf] * 5)[:2] == (math.inf, math.inf)


def test_one_trial_is_its_own_band_without_bounds():
    found = band([7.0])
    assert found[:2] == (7.0, 7.0)
    assert found.low_between == (-math.inf, math.inf)


def test_few_trials_leave_the_outer_side_open():
    # 20 trials: 0.95^20 = 36 % that none lies below the 5th percentile
    found = band(np.arange(20.0))
    assert found.low_between[0] == -math.inf
    assert found.high_between[1] == math.inf
    assert math.isfinite(found.low_between[1])


@pytest.mark.parametrize("n", [50, 100, 1000])
@pytest.mark.parametrize("q", [0.05, 0.5, 0.95])
def test_ranks_leave_no_more_outside_than_stated(n, q):
    # binomial count below the quantile, David and Nagaraja (2003) section 7.1
    low, high = quantile_between(np.arange(1.0, n + 1.0), q)
    if math.isfinite(low):
        assert stats.binom.cdf(low - 1, n, q) <= 0.025 < stats.binom.cdf(low, n, q)
    if math.isfinite(high):
        assert stats.binom.sf(high - 1, n, q) <= 0.025 < stats.binom.sf(high - 2, n, q)


def test_interval_covers_the_true_quantile_of_a_skewed_law():
    # 2,000 draws of 200 trials; the promise is 95 %
    rng = np.random.default_rng(8)
    true = math.log(1.0 / 0.05)
    inside = 0
    for _ in range(2000):
        low, high = quantile_between(np.sort(rng.exponential(size=200)), 0.95)
        inside += low <= true <= high
    assert inside / 2000 >= 0.95


def test_not_a_number_is_refused():
    with pytest.raises(ValueError, match="without NaN"):
        band([1.0, math.nan])
    with pytest.raises(ValueError, match="at least one"):
        band([])
