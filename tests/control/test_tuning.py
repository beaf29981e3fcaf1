"""Gains from the network's own linear model."""

import math

import numpy as np
import pytest

from simcal.control.margins import frequencies, is_stable, loop_margins, plant_response
from simcal.control.pid import Gains, bumpless, pid_step
from simcal.control.tuning import match, tune_everywhere, tune_ultimate, ultimate

NETWORKS = [
    {},
    {"at": 1},
    {"line": 1e-3},
    {"line": 1e-3, "at": 1},
    {"line": 1e-4},
    {"line": 1e-4, "at": 1},
    {"line": 1e-5},
    {"v": (1e-5, 1e-5)},
    {"v": (20e-6, 1e-3)},
    {"flow": (26.0, 2.6)},
    {"flow": (26.0, 260.0)},
    {"leak": 1e-6},
    {"relax": 0.5},
    {"relax": 50.0},
    {"valve": 0.1},
    {"sensor": 0.2},
    {"period": 0.1},
    {"period": 0.002},
]


def tune(e_x, e_u, c, period, delay=0):
    """Gains for one state."""
    return tune_everywhere([(e_x, e_u)], c, period, delay)


def trace(model, gains, target, period, seconds, load=0.0):
    """Reading and drive of the linear network under the controller from rest, with a steady load."""
    e_x, e_u, c = model
    memory, g, x = np.zeros(4), gains.array(period), np.zeros(len(e_x))
    bumpless(memory, 0.0, 0.0, g)
    y, u = np.empty(round(seconds / period)), np.empty(round(seconds / period))
    for k in range(len(y)):
        y[k] = c @ x
        u[k] = pid_step(memory, y[k], target, g)
        x = e_x @ x + e_u @ np.array([max(u[k], 0.0) + load, min(u[k], 0.0)])
    return y, u


@pytest.mark.parametrize("options", NETWORKS, ids=str)
def test_tuned_loops_are_robust_with_either_valve(network, options):
    # 1.7: peak sensitivity of the rule on its own model, Skogestad, J. Process Control 13 (2003) 291, table 1
    period = options.get("period", 0.01)
    e_x, e_u, c = network(**options)
    gains = tune(e_x, e_u, c, period)
    for column in e_u.T:
        found = loop_margins(e_x, column, c, gains, period)
        assert found.stable
        assert found.sensitivity < 1.8
        assert found.gain > 2.0
        assert found.phase_deg > 40.0
        assert found.delay_s > 0.5 * period


@pytest.mark.parametrize("options", NETWORKS[:9], ids=str)
@pytest.mark.parametrize("target", [0.3, 0.003])
def test_tuned_loops_reach_the_target_without_windup(network, options, target):
    model = network(**options)
    y, _ = trace(model, tune(*model, 0.01), target, 0.01, 40.0)
    assert y.max() < 1.05 * target
    assert abs(y[-1] - target) < 0.01 * target


def test_tuned_loop_makes_up_for_a_leak_by_itself(network):
    model = network()
    y, u = trace(model, tune(*model, 0.01), 0.1, 0.01, 20.0, load=-0.02)
    assert y[-1] == pytest.approx(0.1, abs=1e-6)
    assert u[-1] == pytest.approx(0.02, rel=1e-3)


def test_the_stronger_valve_sets_the_gain(network):
    e_x, e_u, c = network(flow=(26.0, 104.0))
    both, outlet, inlet = (tune(e_x, column, c, 0.01) for column in (e_u, e_u[:, 1], e_u[:, 0]))
    assert both.kp == pytest.approx(outlet.kp)
    assert inlet.kp == pytest.approx(4.0 * outlet.kp, rel=1e-6)
    assert both.ti > outlet.ti


def test_a_sample_of_delay_makes_the_gain_smaller(network):
    e_x, e_u, c = network()
    direct, late = tune(e_x, e_u, c, 0.01), tune(e_x, e_u, c, 0.01, delay=1)
    assert late.kp < direct.kp
    assert loop_margins(e_x, e_u[:, 1], c, late, 0.01, delay=1).sensitivity < 1.8


def test_delay_margin_counts_whole_samples(network):
    e_x, e_u, c = network()
    gains = tune(e_x, e_u, c, 0.01)
    samples = int(loop_margins(e_x, e_u[:, 1], c, gains, 0.01).delay_s / 0.01)
    assert is_stable(e_x, e_u[:, 1], c, gains, 0.01, delay=samples)
    assert not is_stable(e_x, e_u[:, 1], c, gains, 0.01, delay=samples + 1)


@pytest.mark.parametrize(("slope", "delay"), [(0.2, 0.05), (3.0, 1.0)])
def test_match_finds_an_integrator_with_delay(slope, delay):
    w = frequencies(0.01)[:-1]
    found = match(w, slope * np.exp(-1j * w * delay) / (1j * w))
    assert found == pytest.approx((slope, delay), rel=1e-3)


def test_match_refuses_a_plant_whose_reading_does_not_move():
    w = frequencies(0.01)[:-1]
    with pytest.raises(ValueError, match="does not follow the valve"):
        match(w, np.zeros_like(w) + 0j)


def test_a_valve_without_effect_is_left_out(network):
    e_x, e_u, c = network(flow=(26.0, 0.0))
    assert tune(e_x, e_u, c, 0.01) == pytest.approx(tune(e_x, e_u[:, 0], c, 0.01))


def test_tune_refuses_valves_without_effect(network):
    e_x, e_u, c = network(flow=(0.0, 0.0))
    with pytest.raises(ValueError, match="does not follow the valve"):
        tune(e_x, e_u, c, 0.01)


@pytest.mark.parametrize("lag", [0.5, 60.0])
def test_a_sensor_far_slower_than_the_sampling_is_tuned(network, lag):
    e_x, e_u, c = network(sensor=lag, period=1e-4)
    gains = tune(e_x, e_u, c, 1e-4)
    for column in e_u.T:
        found = loop_margins(e_x, column, c, gains, 1e-4)
        assert found.stable
        assert found.sensitivity < 1.8


def test_gains_serve_every_state_they_are_tuned_for(network):
    # the strongest valve is the inlet at one state and the outlet at the other, whose line passes less
    models = [network(flow=(90.0, 5.0), line=1e-3), network(flow=(9.0, 60.0))]
    c = models[0][2]
    gains = tune_everywhere([model[:2] for model in models], c, 0.01)
    assert gains.kp <= min(tune(*model, 0.01).kp for model in models) * (1.0 + 1e-12)
    for e_x, e_u, _ in models:
        for column in e_u.T:
            found = loop_margins(e_x, column, c, gains, 0.01)
            assert found.stable
            assert found.sensitivity < 1.75


def test_the_response_of_a_plant_is_that_of_its_equations(network):
    """Against numpy's solution frequency by frequency, both valves at once."""
    e_x, e_u, c = network(line=1e-4, relax=0.05)
    w = frequencies(0.01)[::40]
    found = plant_response(e_x, e_u, c, 0.01, w)
    right = [np.linalg.solve(np.exp(0.01j * one) * np.eye(len(e_x)) - e_x, e_u).T @ c for one in w]
    assert np.abs(found / np.array(right).T - 1.0).max() < 1e-8


def test_a_quick_mode_under_a_slow_controller_is_answered_without_a_warning():
    """A mode that dies within a sample leaves next to nothing behind, and the balance scales it by more than 2^63.

    By hand from (z - E) x = g: x1 = (b g0 + (z - a) g1)/((z - a) z - b d), x0 = (g0 + d x1)/(z - a).
    """
    a, b, d = 0.9, 1.0, 1e-60
    e_x, e_u, c = np.array([[a, d], [b, 0.0]]), np.array([0.3, 0.2]), np.array([1.0, 2.0])
    w = frequencies(0.5)[::40]
    z = np.exp(0.5j * w)
    quick = (b * e_u[0] + (z - a) * e_u[1]) / ((z - a) * z - b * d)
    slow = (e_u[0] + d * quick) / (z - a)
    assert np.abs(plant_response(e_x, e_u, c, 0.5, w) / (slow + 2.0 * quick) - 1.0).max() < 1e-12


def test_ultimate_gain_is_where_the_sampled_loop_starts_to_swing(network):
    e_x, e_u, c = network()
    w = frequencies(0.01)
    ku, pu = ultimate(w, plant_response(e_x, e_u[:, 0], c, 0.01, w))
    assert is_stable(e_x, e_u[:, 0], c, Gains(0.99 * ku), 0.01)
    assert not is_stable(e_x, e_u[:, 0], c, Gains(1.01 * ku), 0.01)
    assert 0.02 < pu < 1.0


def test_no_gain_makes_one_lag_swing():
    w = np.logspace(-3, 3, 1000)
    assert ultimate(w, 1.0 / (1.0 + 1j * w)) == (math.inf, 0.0)


@pytest.mark.parametrize("derivative", [False, True])
def test_ziegler_nichols_serves_the_state_that_swings_first(network, derivative):
    # 0.45 Ku and Pu/1.2, or 0.6 Ku, Pu/2 and Pu/8: Ziegler and Nichols, Trans. ASME 64 (1942) 759
    models = [network(v=v) for v in ((1e-5, 1e-5), (20e-6, 1e-3))]
    c, w, found = models[0][2], frequencies(0.01), []
    for e_x, e_u, _ in models:
        found += [ultimate(w, plant_response(e_x, column, c, 0.01, w)) for column in e_u.T]
    ku, pu = min(found)
    gains = tune_ultimate([model[:2] for model in models], c, 0.01, derivative=derivative)
    right = (0.6 * ku, pu / 2.0, pu / 8.0) if derivative else (0.45 * ku, pu / 1.2, 0.0)
    assert gains[:3] == pytest.approx(right)
    for e_x, e_u, _ in models:
        assert all(loop_margins(e_x, column, c, gains, 0.01).stable for column in e_u.T)
    calm = tune_everywhere([model[:2] for model in models], c, 0.01)
    e_x, e_u, _ = models[0]
    rings, rests = (max(loop_margins(e_x, u, c, g, 0.01).sensitivity for u in e_u.T) for g in (gains, calm))
    assert rings > 1.2 * rests


def test_ziegler_nichols_says_when_it_has_no_gains():
    one_lag = (np.array([[0.9]]), np.array([0.1]))
    with pytest.raises(ValueError, match="does not follow the valve"):
        tune_ultimate([(one_lag[0], np.zeros(1))], np.ones(1), 0.01)
    assert tune_ultimate([one_lag], np.ones(1), 0.01).kp == pytest.approx(0.45 * 19.0)  # 0.9 - 0.1 kp = -1
