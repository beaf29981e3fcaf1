"""What moves the answer."""

import math

import numpy as np
import pytest
from scipy import stats

from simcal.stats.shares import leading, ranks, shares
from tests.counting import most_allowed


def inputs(n, k=4, seed=0):
    rng = np.random.default_rng(seed)
    return {f"x{i}": rng.normal(size=n) for i in range(k)}, rng


def test_ranks_agree_with_scipy_and_take_infinity():
    values = [3.0, 1.0, math.inf, 3.0, -2.0, math.inf]
    assert ranks(values) == pytest.approx(stats.rankdata(values))


def test_shares_of_a_sum_are_the_shares_of_its_variance():
    # normal sum: Spearman's correlation 6/pi asin(r/2) hardly differs from r; 16 : 9 : 0 : 0 of 25
    x, _ = inputs(4000)
    found = shares(x, 4.0 * x["x0"] - 3.0 * x["x1"])
    assert [one.name for one in found[:2]] == ["x0", "x1"]
    assert found[0].share == pytest.approx(0.64, abs=0.03)
    assert found[1].share == pytest.approx(0.36, abs=0.03)
    assert (found[0].rises, found[1].rises) == (True, False)
    assert found[2].share < 0.01
    assert leading(found) is found[0]


def test_a_monotone_bend_does_not_matter():
    x, _ = inputs(1000)
    found = shares(x, np.exp(5.0 * x["x2"]))
    assert found[0].name == "x2"
    assert found[0].share > 0.99


def test_none_stands_out_in_noise_more_often_than_stated():
    named = 0
    for seed in range(400):
        x, rng = inputs(60, 8, seed)
        named += leading(shares(x, rng.normal(size=60))) is not None
    assert named <= most_allowed(400, 0.01)


@pytest.mark.parametrize("n", [12, 30, 300])
def test_interval_holds_the_share(n):
    # Spearman's correlation of a sum of two equal normal parts: 6/pi asin(sqrt(1/2)/2) = 0.6902
    true, inside = (6.0 / math.pi * math.asin(math.sqrt(0.5) / 2.0)) ** 2, 0
    for seed in range(200):
        x, rng = inputs(n, 3, seed)
        found = {one.name: one for one in shares(x, x["x0"] + rng.normal(size=n))}
        inside += found["x0"].low <= true <= found["x0"].high
    assert 200 - inside <= most_allowed(200, 0.05)


def test_results_that_never_came_count_as_largest():
    x, _ = inputs(200)
    y = np.where(x["x1"] > 1.0, math.inf, x["x1"])
    assert leading(shares(x, y)).name == "x1"


def test_more_inputs_than_trials():
    x, _ = inputs(20, 40)
    assert leading(shares(x, x["x7"])).name == "x7"


def test_nothing_is_said_without_variation_or_with_few_trials():
    x, _ = inputs(50)
    assert shares(x, np.ones(50)) == ()
    assert shares({"fixed": np.ones(50)}, x["x0"]) == ()
    assert shares({"x0": x["x0"][:11]}, x["x1"][:11]) == ()
    assert leading(()) is None


def test_order_of_the_inputs_does_not_matter():
    x, _ = inputs(100)
    y = x["x0"] + 0.5 * x["x3"]
    there, back = shares(x, y), shares(dict(reversed(x.items())), y)
    assert [one.name for one in there] == [one.name for one in back]
    assert [one.share for one in there] == pytest.approx([one.share for one in back])
