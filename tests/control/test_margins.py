"""Margins, and loops that are not stable."""

import math

import numpy as np
import pytest

from simcal.control.margins import closed_loop, frequencies, loop_margins, margins, pid_response
from simcal.control.pid import Gains, pid_step

W = np.logspace(-3, 3, 6001)


def test_an_unstable_loop_is_recognised_with_and_without_eigenvalues(network):
    e_x, e_u, c = network()
    found = loop_margins(e_x, e_u[:, 1], c, Gains(5000.0, 0.1), 0.01)
    assert not found.stable
    assert found.phase_deg < 0.0
    assert found.gain < 1.0
    assert found.delay_s == 0.0
    assert not margins(W, 10.0 * np.exp(-1j * W) / (1j * W)).stable


def test_too_short_an_integral_time_is_recognised(network):
    # a pure double integrator swings for ever; with any lag it grows
    e_x, e_u, c = network()
    assert not loop_margins(e_x, e_u[:, 1], c, Gains(20.0, 0.005), 0.01).stable


def test_one_lag_under_proportional_control_has_no_gain_limit():
    found = margins(W, 2.0 / (1.0 + 1j * W))
    assert found.stable
    assert found.gain == math.inf
    assert found.phase_deg == pytest.approx(180.0 - math.degrees(math.atan(math.sqrt(3.0))), rel=1e-5)


def test_a_loop_that_never_reaches_one_bears_any_delay():
    found = margins(W, 0.5 / (1.0 + 1j * W))
    assert (found.phase_deg, found.delay_s, found.stable) == (math.inf, math.inf, True)


def test_a_valve_without_effect_has_margins_without_limit(network):
    e_x, e_u, c = network(flow=(26.0, 0.0))
    found = loop_margins(e_x, e_u[:, 1], c, Gains(50.0), 0.01)
    assert (found.gain, found.phase_deg, found.delay_s) == (math.inf, math.inf, math.inf)
    assert found.sensitivity == pytest.approx(1.0)


def test_a_proportional_sampled_volume_is_unstable_from_two_samples_worth_of_gain():
    # y[k+1] = y[k] - kp slope period y[k]: stable below kp slope period = 2, swinging at Nyquist's frequency
    one = np.ones((1, 1))
    found = loop_margins(one, np.array([0.01]), np.ones(1), Gains(50.0), 0.01)
    assert found.gain == pytest.approx(4.0, rel=1e-6)


@pytest.mark.parametrize("delay", [0, 1, 3])
def test_closed_loop_matrix_is_what_the_controller_does(network, delay):
    e_x, e_u, c = network()
    gains, period = Gains(30.0, 0.4, 0.01, 0.02), 0.01
    matrix = closed_loop(e_x, e_u[:, 0], c, gains, period, delay)
    x = 1e-3 * np.random.default_rng(1).normal(size=7) * np.array([2e6, 2e6, 2e6, 2e6, 2e6, 1.0, 1.0])
    state = np.concatenate([x, np.zeros(3 + delay)])
    memory, waiting, g = np.zeros(4), [0.0] * delay, gains.array(period)
    for _ in range(50):
        waiting.append(pid_step(memory, float(c @ x), 0.0, g))
        x = e_x @ x + e_u[:, 0] * waiting.pop(0)
        state = matrix @ state
        assert abs(waiting[-1] if waiting else 0.0) < 1.0
        assert state[:7] == pytest.approx(x, rel=1e-9, abs=1e-9)


def test_response_of_the_controller_is_what_its_steps_give():
    gains, period, w = Gains(3.0, 0.5, 0.05, 0.03), 0.01, 2.0 * math.pi * 4.0
    memory, g = np.zeros(4), gains.array(period)
    n = 25 * 40
    y = 1e-3 * np.sin(w * period * np.arange(n))
    u = np.array([pid_step(memory, float(value), 0.0, g) for value in y])
    turn = np.exp(-1j * w * period * np.arange(n))[-500:]
    ratio = -(u[-500:] - u[-500:].mean()) @ turn / (y[-500:] @ turn)
    assert ratio == pytest.approx(pid_response(gains, period, np.array([w]))[0], rel=1e-6)


def test_frequencies_end_at_nyquist():
    assert frequencies(0.01)[-1] == pytest.approx(math.pi / 0.01)
