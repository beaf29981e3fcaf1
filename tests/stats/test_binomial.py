"""The exact interval of a counted share, alone and in clusters."""

import numpy as np
import pytest
from scipy.stats import betabinom, binomtest

from simcal.stats.binomial import clustered, exact


@pytest.mark.parametrize(("count", "trials"), [(0, 10), (1, 20), (5, 10), (19, 20), (30, 30), (123, 10_000)])
def test_the_interval_is_that_of_clopper_and_pearson(count, trials):
    """Biometrika 26 (1934) 404, as scipy.stats.binomtest works it out."""
    interval = binomtest(count, trials).proportion_ci(0.95, method="exact")
    assert exact(count, trials) == pytest.approx((interval.low, interval.high), abs=1e-12)


def test_none_of_fifty_nine_shows_95_percent():
    """S. S. Wilks, Ann. Math. Stat. 12 (1941) 91: with 59 values the largest bounds 95 % of what they come from with
    95 % confidence, 1 - 0.95^59 = 0.9515; so none that fails in 59 shows at least 95 %, one-sided."""
    assert exact(0, 59, confidence=0.90)[1] == pytest.approx(0.0495, abs=1e-4)


def test_clusters_that_do_not_differ_count_as_trials():
    counts = np.full(40, 3)
    assert clustered(counts, 50) == (0.06, exact(120, 2000))


def test_a_cluster_that_always_fails_widens_the_interval_to_that_of_one_in_all_clusters():
    """Trials that all fail or none in a cluster say as much as one trial a cluster."""
    counts = np.zeros(50)
    counts[7] = 100
    share, (low, high) = clustered(counts, 100)
    assert share == 0.02
    plain = exact(1, 50)
    assert low == pytest.approx(plain[0], rel=0.3) and high == pytest.approx(plain[1], rel=0.1)


def test_the_interval_in_clusters_keeps_what_it_promises():
    """500 sets of 60 clusters of 40 trials, shares between clusters after a beta distribution with mean 5 %: the
    interval misses the 5 % in 5 % of the sets or less; an exact binomial test at 1 % lets at most 37 pass (E. L. Korn
    and B. I. Graubard found it to be on the cautious side for small shares)."""
    counts = betabinom.rvs(40, 1.0, 19.0, size=(500, 60), random_state=3)
    missed = sum(not low <= 0.05 <= high for _, (low, high) in (clustered(one, 40) for one in counts))
    naive = sum(not low <= 0.05 <= high for low, high in (exact(one.sum(), 2400) for one in counts))
    assert missed <= 37 < naive


@pytest.mark.parametrize(("count", "trials"), [(-1, 10), (11, 10), (0, 0)])
def test_impossible_counts_are_named(count, trials):
    with pytest.raises(ValueError, match="count"):
        exact(count, trials)
