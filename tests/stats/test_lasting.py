"""Times by their quantiles: each distribution has the median, mean and share it is stated by."""

import numpy as np
import pytest

from simcal.stats.lasting import EVEN, EXPONENTIAL, Lasting, fixed, skewed
from simcal.stats.streams import generator, probabilities, probability

EVENLY = (np.arange(200_000) + 0.5) / 200_000


@pytest.mark.parametrize("one", [fixed(3.0), Lasting(EXPONENTIAL, 3.0), skewed(21.0, 35.0), Lasting(EVEN, 0.1, 1.9)])
def test_the_mean_is_that_of_its_quantiles(one):
    assert np.mean([one.at(p) for p in EVENLY[::20]]) == pytest.approx(one.mean(), rel=2e-3)


def test_a_skewed_time_is_stated_by_its_median_and_its_late_one():
    away = skewed(21.0, 35.0)
    assert away.at(0.5) == pytest.approx(21.0)
    assert away.at(0.9) == pytest.approx(35.0)
    assert away.at(1e-6) > 0.0
    assert skewed(21.0, 21.0) == fixed(21.0)


def test_draws_at_once_are_those_one_by_one():
    one, many = generator(3, 1, "a"), generator(3, 1, "a")
    assert probabilities(many, 70).tolist() == [probability(one) for _ in range(70)]
