"""Signed parts of the error on synthetic courses."""

import math

import numpy as np
import pytest

from simcal.analysis.settle import parts


def course(rate: float, skew: float, lag_r: float, lag_d: float, line: float) -> parts.Course:
    """A steady ramp seen by two lagging instruments a line apart."""
    t = 0.01 * np.arange(400)
    node, port = 1e6 + rate * t, 1e6 + rate * t + line
    difference = (port + rate * (skew - lag_d)) - (node - rate * lag_r)
    nought = np.zeros_like(t)
    return parts.Course(difference + 3.0, port, node, nought + 3.0, nought, nought)


def test_rate_is_rate_times_skew_plus_lag_difference() -> None:
    """Closed form of two first-order lags on a ramp: r (skew + lag reference - lag device)."""
    error, found = parts.at_window(course(-50.0, 0.2, 0.01, 0.04, -8.0), -2.0, 100, 100)
    assert found["rate"] == pytest.approx(-50.0 * (0.2 + 0.01 - 0.04), rel=1e-9)
    assert found["line"] == pytest.approx(-6.0, abs=1e-7)
    assert found["leak"] == -2.0
    assert found["sensor"] == 3.0
    assert sum(found.values()) == pytest.approx(error, abs=1e-9)


def test_the_governing_part_is_on_the_side_of_the_error() -> None:
    """A large part that works against the error does not govern."""
    assert parts.governing({"line": -30.0, "rate": 10.0, "leak": -5.0}, -25.0) == "line"
    assert parts.governing({"line": -30.0, "rate": 50.0, "leak": -5.0}, 15.0) == "rate"


def test_ripple_of_a_mean() -> None:
    """A sine over W s leaves A/sqrt(2) |sin(pi W/P)/(pi W/P)|; nothing over whole cycles."""
    assert parts.ripple_of_mean(10.0, 0.5, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert parts.ripple_of_mean(10.0, 2.0, 1.0) == pytest.approx(10.0 / math.sqrt(2.0) * 2.0 / math.pi, rel=1e-12)
    assert parts.ripple_of_mean(10.0, None, 1.0) == 0.0


def test_every_part_has_its_words() -> None:
    """What can govern can be said."""
    signed = parts.courses(course(1.0, 0.0, 0.0, 0.0, 0.0), 0.0)
    assert set(signed) | {"ripple", "arrival", "soak", "dwell"} == set(parts.WORDS)
