"""The sampled PID step by step."""

import math

import numpy as np
import pytest

from simcal.control.pid import Gains, bumpless, pid_step

PERIOD = 0.01
FULL = Gains(kp=50.0, ti=1.0, td=0.01, filter=0.02, track=0.5)


def plain(memory, y, target, gains, period):
    """The controller written out once more, as the text books do, without ramp."""
    integral, slope, last = memory
    error = target - y
    slope += period / (gains.filter + period) * (-(y - last) / period - slope)
    v = gains.kp * (gains.setpoint_weight * target - y + gains.td * slope) + integral
    u = float(np.clip(v, -1.0, 1.0))
    integral += period * (gains.kp / gains.ti * error + (u - v) / gains.track)
    return u, (integral, slope, y)


@pytest.mark.parametrize("weight", [1.0, 0.5, 0.0])
def test_step_follows_the_text_book(weight):
    gains = FULL._replace(setpoint_weight=weight)
    rng = np.random.default_rng(4)
    memory, other, g = np.zeros(4), (0.0, 0.0, 0.0), gains.array(PERIOD)
    for _ in range(300):
        y, target = rng.normal(0.5, 0.02), 0.5
        u, other = plain(other, y, target, gains, PERIOD)
        assert pid_step(memory, y, target, g) == pytest.approx(u, abs=1e-12)
        assert memory[:3] == pytest.approx(other, abs=1e-9)


def test_output_stays_within_its_limits_and_the_integral_bounded():
    memory, g = np.zeros(4), FULL.array(PERIOD)
    drives = [pid_step(memory, 0.0, 1.0, g) for _ in range(10000)]
    assert max(drives) <= 1.0
    assert abs(memory[0]) < 60.0
    assert pid_step(memory, 2.0, 1.0, g) == -1.0


def test_without_integral_the_integral_part_never_moves():
    memory, g = np.zeros(4), Gains(kp=2.0).array(PERIOD)
    for y in (0.3, -2.0, 5.0):
        pid_step(memory, y, 1.0, g)
    assert memory[0] == 0.0


@pytest.mark.parametrize("weight", [1.0, 0.4])
@pytest.mark.parametrize("u", [0.0, 0.3])
def test_bumpless_start_gives_the_wanted_drive_and_no_derivative_kick(weight, u):
    memory, g = np.full(4, 9.0), FULL._replace(setpoint_weight=weight).array(PERIOD)
    bumpless(memory, 0.7, u, g)
    assert pid_step(memory, 0.7, 0.7, g) == pytest.approx(u, abs=1e-12)
    assert memory[1] == 0.0


def test_setpoint_steps_without_a_ramp():
    memory, g = np.zeros(4), FULL.array(PERIOD)
    pid_step(memory, 0.0, 0.8, g)
    assert memory[3] == 0.8


def test_setpoint_climbs_at_the_ramp_and_stops_at_the_target():
    memory, g = np.zeros(4), FULL.array(PERIOD, ramp=0.1)
    bumpless(memory, 0.2, 0.0, g)
    used = []
    for _ in range(60):
        pid_step(memory, 0.2, 0.25, g)
        used.append(memory[3])
    assert np.diff(used[:49]) == pytest.approx(0.001)
    assert used[-1] == 0.25
    pid_step(memory, 0.2, 0.0, g)
    assert memory[3] == pytest.approx(0.249)


def test_derivative_of_a_steady_slope_settles_at_that_slope():
    memory, g = np.zeros(4), FULL.array(PERIOD)
    for k in range(200):
        pid_step(memory, 0.03 * k * PERIOD, 0.0, g)
    assert memory[1] == pytest.approx(-0.03)


def test_frozen_integral_still_unwinds():
    memory, g = np.zeros(4), Gains(kp=2.0, ti=1.0, track=0.0).array(PERIOD)
    pid_step(memory, 0.0, 1.0, g)
    assert memory[0] == 0.0
    memory[0] = 5.0
    pid_step(memory, 1.2, 1.0, g)
    assert memory[0] < 5.0


def test_default_gains_stand_for_a_plain_proportional_controller():
    assert Gains(3.0) == (3.0, math.inf, 0.0, 0.0, math.inf, 1.0)
