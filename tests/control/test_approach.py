"""The way to a target of a controller known from outside."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simcal.control.approach import approach, ripple

CASES = [
    (1e5, 0.0, 30.0, 10.0, 0.1),
    (1e5, 2e3, 30.0, 10.0, 0.1),
    (1e6, 0.0, 30.0, 10.0, 0.1),
    (1e6, 500.0, 12.0, 50.0, 0.5),
    (1e5, 5.0, 30.0, 10.0, 0.1),
]


def curve(b, start=1e5, target=1.1e6, end=60.0, n=6001):
    """Times and pressures of the approach."""
    t = np.linspace(0.0, end, n)
    array = np.array(b, dtype=float)
    return t, np.array([approach(start, target, float(s), array) for s in t])


@pytest.mark.parametrize("b", CASES)
@pytest.mark.parametrize("target", [1.1e6, 4.1e6, 2e4])
def test_approach_is_within_its_ripple_settled_in_after_the_end_of_the_way(b, target):
    t, p = curve(b, target=target, end=90.0, n=9001)
    end = abs(target - 1e5) / b[0] + b[2]
    assert np.abs(p[t >= end] - target).max() <= b[3] * (1.0 + 1e-6)
    assert np.abs(p[t < 0.8 * end] - target).max() > b[3], "and not long before"


def test_a_step_of_160_bar_settles_as_long_after_its_way_as_one_of_40_bar():
    b = (4e5, 2e3, 10.0, 400.0, 0.5)
    inside = []
    for step in (40e5, 160e5):
        t, p = curve(b, target=1e5 + step, end=80.0, n=8001)
        outside = np.flatnonzero(np.abs(p - 1e5 - step) > b[3])
        inside.append(t[outside[-1]] - step / b[0])
    assert inside == pytest.approx([10.0, 10.0], abs=0.1)


@pytest.mark.parametrize("b", CASES)
def test_rate_is_reached_but_not_passed_and_never_jumps(b):
    t, p = curve(b, n=60001)
    rate = np.diff(p) / np.diff(t)
    assert rate.max() <= b[0] * (1.0 + 1e-6)
    assert np.abs(np.diff(rate)).max() <= 1.1 * b[0] * (t[1] - t[0]) / b[4] + 1e-3


@pytest.mark.parametrize("b", CASES)
def test_monotone_to_the_peak_then_monotone_back(b):
    _, p = curve(b)
    top = int(np.argmax(p))
    assert p.max() - 1.1e6 == pytest.approx(b[1], abs=max(0.01 * b[1], 0.1))
    assert (np.diff(p[: top + 1]) >= -1e-6).all()
    assert (np.diff(p[top:]) <= 1e-6).all()


def test_falling_mirrors_rising():
    b = np.array(CASES[1])
    for t in (0.1, 3.0, 11.0, 40.0):
        assert approach(1e5, 9e5, t, b) - 1e5 == pytest.approx(9e5 - approach(9e5, 1e5, t, b))


def test_where_settled_in_is_too_short_the_loop_time_rules():
    t, p = curve((1e5, 0.0, 0.0, 10.0, 0.5), end=20.0, n=2001)
    assert abs(p[t < 10.0] - 1.1e6).min() > 1e3
    assert abs(p[-1] - 1.1e6) <= 10.0


def test_nothing_moves_before_the_command_and_without_a_step():
    b = np.array(CASES[1])
    assert approach(1e5, 2e5, 0.0, b) == 1e5
    assert approach(1e5, 1e5, 5.0, b) == 1e5


@given(
    st.floats(1e2, 1e7),
    st.floats(0.0, 1e5),
    st.floats(0.0, 100.0),
    st.floats(0.0, 1e4),
    st.floats(0.0, 5.0),
    st.floats(1e3, 1e7),
    st.floats(0.0, 1e3),
)
def test_any_behaviour_gives_a_curve_between_start_and_overshoot(rate, over, settled, rest, loop, target, t):
    p = approach(1e5, target, t, np.array([rate, over, settled, rest, loop]))
    low, high = min(1e5, target), max(1e5, target)
    beyond = min(over, high - low) + 1e-6 * high
    assert low - beyond <= p <= high + beyond


def test_ripple_swings_at_the_loop_time():
    b = np.array([1e5, 0.0, 10.0, 20.0, 0.5])
    values = [ripple(float(t), b) for t in np.arange(0.0, np.pi, 1e-3)]
    assert max(values) == pytest.approx(20.0, rel=1e-5)
    assert ripple(np.pi, b) == pytest.approx(0.0, abs=1e-9)
    assert ripple(1.0, np.zeros(5)) == 0.0
