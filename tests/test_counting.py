"""The rule for promises that other tests lean on."""

import math

import pytest

from tests.counting import broken, most_allowed


def test_a_promise_is_broken_when_one_percent_remains():
    """5 % promised, 1,000 trials: P(X >= 67) = 1.06 %, P(X >= 68) = 0.74 %, summed term by term."""
    tails = [math.fsum(math.comb(1000, k) * 0.05**k * 0.95 ** (1000 - k) for k in range(c, 1001)) for c in (67, 68)]
    assert tails == pytest.approx([0.0106, 0.0074], abs=5e-5)
    assert most_allowed(1000, 0.05) == 67
    assert not broken(67, 1000, 0.05) and broken(68, 1000, 0.05)


@pytest.mark.parametrize(("n", "promised"), [(1, 0.001), (20, 0.5), (200, 0.05), (400, 0.01)])
def test_the_last_count_allowed_is_not_broken_and_the_next_is(n, promised):
    edge = most_allowed(n, promised)
    assert not broken(edge, n, promised)
    assert edge == n or broken(edge + 1, n, promised)
