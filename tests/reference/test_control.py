"""The control room against closed forms, the published rules, and the python-control library (0.10.2)."""

import math

import control
import numpy as np
import pytest
from scipy.linalg import expm

from simcal.control.approach import approach
from simcal.control.margins import frequencies, is_stable, loop_margins, margins, plant_response
from simcal.control.pid import Gains, pid_step
from simcal.control.tuning import simc, ultimate, ziegler_nichols

SMALL = 1e-3  # steps so small that the drive never reaches its limits
DELAY = np.logspace(-3, 1.2, 40001)  # rad/s, for closed forms with a delay of 1 s


def volume_trace(gains, slope, period, end, target=SMALL, load=0.0):
    """Reading of an integrating volume under the sampled PID, exactly integrated between the samples, over
    the target."""
    memory, g, y, out = np.zeros(4), gains.array(period), 0.0, []
    for _ in range(round(end / period) + 1):
        out.append(y)
        y += period * (slope * pid_step(memory, y, target, g) + load)
    return np.array(out)


def top(y):
    """The peak of a sampled curve and its place (samples), by a parabola."""
    i = int(np.argmax(y))
    a, b, c = y[i - 1 : i + 2]
    return b - (c - a) ** 2 / (8.0 * (a - 2.0 * b + c)), i - (c - a) / (2.0 * (a - 2.0 * b + c))


def settled(y, period, final=1.0, within=0.02):
    """Time after which y stays within a share of its final value, linear between samples."""
    off = np.abs(y / final - 1.0) - within
    i = int(np.nonzero(off > 0.0)[0][-1])
    return period * (i + off[i] / (off[i] - off[i + 1]))


def fast_limit(f, period):
    """The limit of f(period) for endless sampling, by Richardson's rule on halved periods (errors of first
    and second order)."""
    a, b, c = (np.array(f(period / k)) for k in (1, 2, 4))
    return (8.0 * c - 6.0 * b + a) / 3.0


def critical_gains(z, weight=1.0):
    """PI on a volume of slope 1/s with natural frequency 1 rad/s and damping z."""
    return Gains(kp=2.0 * z, ti=2.0 * z, setpoint_weight=weight)


@pytest.mark.parametrize(
    ("within", "constants"),
    [(0.05, 2.995732), (0.02, 3.912023), (0.01, 4.605170), (0.001, 6.907755), (0.0001, 9.210340)],
)
def test_exponential_approach_settles_as_a_first_order_lag(within, constants):
    # check F1; first-order step response, closed form ln(1/p); 5e-6: the approach rounds its start over a microsecond
    b = np.array([1e13, 0.0, constants, within * 1e6, 0.0])
    for t in (0.5, 1.0, 2.0):
        assert approach(0.0, 1e6, t, b) == pytest.approx(1e6 * (1.0 - math.exp(-t)), rel=5e-6)


@pytest.mark.parametrize(
    ("z", "overshoot", "peak_at", "settling", "rise"),
    [
        (0.4, 25.38267, 3.42776, 8.4094, 1.4635),
        (0.5, 16.30335, 3.62760, 8.0764, 1.6376),
        (0.6, 9.47802, 3.92699, 5.9430, 1.8540),
        (0.7, 4.59879, 4.39911, 5.9788, 2.1262),
        (0.8, 1.51646, 5.23599, 3.7559, 2.4675),
    ],
)
def test_weight_nought_gives_the_plain_second_order_response(z, overshoot, peak_at, settling, rise):
    # checks F2 and F4; second-order response, closed form; Astrom and Hagglund (setpoint weight 0)
    def shape(period):
        y = volume_trace(critical_gains(z, 0.0), 1.0, period, 14.0) / SMALL
        peak, at = top(y)
        low, high = (np.interp(level, y[: int(at)], np.arange(int(at))) for level in (0.1, 0.9))
        return 100.0 * (peak - 1.0), at * period, settled(y, period), (high - low) * period

    found = fast_limit(shape, 4e-3)
    assert found[0] == pytest.approx(overshoot, rel=1e-5)
    assert found[0] == pytest.approx(100.0 * math.exp(-math.pi * z / math.sqrt(1.0 - z * z)), rel=1e-5)
    assert found[1] == pytest.approx(peak_at, rel=1e-5)
    assert found[2:] == pytest.approx([settling, rise], rel=1e-3)


def test_weight_nought_does_not_overshoot_at_critical_damping():
    # check F4
    y = volume_trace(critical_gains(1.0, 0.0), 1.0, 1e-3, 14.0) / SMALL
    assert y.max() <= 1.0
    assert settled(y, 1e-3) == pytest.approx(5.8340, rel=1e-3)


@pytest.mark.parametrize(
    ("z", "overshoot", "peak_at", "settling"),
    [
        (0.3, 45.0975, 2.65447, 13.1026),
        (0.5, 29.8436, 2.41840, 7.5052),
        (0.7071067811865476, 20.7880, 2.22144, 4.8935),
        (1.0, 13.53353, 2.0, 5.3918),
        (1.5, 7.55883, 1.72164, 5.6154),
        (2.0, 4.77687, 1.52069, 5.0481),
        (3.0, 2.37695, 1.24645, 2.4268),
    ],
)
def test_pi_on_a_volume_overshoots_as_the_closed_form_says(z, overshoot, peak_at, settling):
    # check F3; closed form, and python-control on the continuous loop
    def shape(period):
        y = volume_trace(critical_gains(z), 1.0, period, 16.0) / SMALL
        peak, at = top(y)
        return 100.0 * (peak - 1.0), at * period, settled(y, period)

    found = fast_limit(shape, 4e-3)
    assert found[:2] == pytest.approx([overshoot, peak_at], rel=1e-5)
    assert found[2] == pytest.approx(settling, rel=1e-3)
    loop = control.tf([2.0 * z, 1.0], [1.0, 2.0 * z, 1.0])
    _, y = control.step_response(loop, np.linspace(0.0, 16.0, 16001))
    assert found[0] == pytest.approx(100.0 * (y.max() - 1.0), rel=1e-4)


def test_leak_moves_the_held_volume_as_the_closed_form_says():
    # check F5; y = d k t exp(-wn t), derived
    load = -1e-4

    def shape(period):
        y = -volume_trace(critical_gains(1.0), 1.0, period, 40.0, 0.0, load)
        peak, at = top(y)
        return peak, at * period, y.sum() * period

    peak, at, area = fast_limit(shape, 4e-3)
    assert peak == pytest.approx(-load / math.e, rel=1e-6)
    assert at == pytest.approx(1.0, rel=1e-5)
    assert area == pytest.approx(-load * 2.0 / 2.0, rel=1e-6)


def test_simc_on_a_first_order_plant_with_delay():
    # check F7; Skogestad, J. Process Control 13 (2003) 291, table 1
    gains = simc(1.0 / 5.0, 1.0, tau=5.0)
    assert (gains.kp, gains.ti) == pytest.approx((2.5, 5.0))
    loop = gains.kp * (1.0 + 1.0 / (gains.ti * 1j * DELAY)) * np.exp(-1j * DELAY) / (5.0 * 1j * DELAY + 1.0)
    found = margins(DELAY, loop)
    assert found.stable
    assert found[:4] == pytest.approx((math.pi, 61.352, 2.1416, 1.590), rel=1e-3)


def test_simc_on_an_integrating_plant_with_delay():
    # check F7; Skogestad (2003), table 1
    gains = simc(1.0, 1.0)
    assert (gains.kp, gains.ti) == pytest.approx((0.5, 8.0))
    loop = gains.kp * (1.0 + 1.0 / (gains.ti * 1j * DELAY)) * np.exp(-1j * DELAY) / (1j * DELAY)
    found = margins(DELAY, loop)
    assert found[:4] == pytest.approx((2.963, 46.86, 1.590, 1.704), rel=1e-3)
    assert np.abs(loop / (1.0 + loop)).max() == pytest.approx(1.299, rel=1e-3)


def test_simc_on_two_lags_reduced_by_the_half_rule():
    # check F8; Skogestad (2003), example E1: lags of 1 and 0.2 s count as one of 1.1 s with a delay of 0.1 s
    gains = simc(1.0 / 1.1, 0.1, tau=1.1)
    assert (gains.kp, gains.ti) == pytest.approx((5.5, 0.8))
    w = np.logspace(-2, 2, 8001)
    s = 1j * w
    found = margins(w, gains.kp * (1.0 + 1.0 / (gains.ti * s)) / ((s + 1.0) * (0.2 * s + 1.0)))
    assert found.sensitivity == pytest.approx(1.560, rel=1e-3)
    loop = control.tf([gains.kp * gains.ti, gains.kp], [gains.ti, 0.0]) * control.tf([1.0], [0.2, 1.2, 1.0])
    info = control.step_info(control.feedback(loop), T=np.linspace(0.0, 6.0, 60001))
    assert info["Overshoot"] == pytest.approx(22.997, rel=1e-3)
    assert info["SettlingTime"] == pytest.approx(1.572, rel=1e-3)


@pytest.mark.parametrize(("slope", "tc"), [(1.0, 1.0), (3.0, 0.2)])
def test_simc_on_a_volume_without_delay_always_overshoots_by_13_percent(slope, tc):
    # check F9; exp(-2), derived from F3
    gains = simc(slope, 0.0, tc)

    def shape(period):
        return 100.0 * (top(volume_trace(gains, slope, period, 12.0 * tc))[0] / SMALL - 1.0)

    assert fast_limit(shape, 4e-3 * tc) == pytest.approx(100.0 * math.exp(-2.0), rel=1e-5)


def test_ziegler_nichols_on_three_lags():
    # check F10; Ziegler and Nichols, Trans. ASME 64 (1942) 759; python-control
    w = np.logspace(-1, 1, 20001)
    ku, pu = ultimate(w, 1.0 / (1j * w + 1.0) ** 3)
    assert (ku, pu) == pytest.approx((8.0, 2.0 * math.pi / math.sqrt(3.0)), rel=1e-6)
    pi, pid = ziegler_nichols(ku, pu), ziegler_nichols(ku, pu, derivative=True)
    assert (pi.kp, pi.ti) == pytest.approx((3.6, 3.02300), rel=1e-5)
    assert (pid.kp, pid.ti, pid.td) == pytest.approx((4.8, 1.81380, 0.453450), rel=1e-5)
    plant = control.tf([1.0], [1.0, 3.0, 3.0, 1.0])
    times = np.linspace(0.0, 80.0, 80001)
    info = control.step_info(control.feedback(0.5 * ku * plant), T=times)
    assert info["Peak"] == pytest.approx(1.23414, rel=1e-3)
    for gains, overshoot, settling in ((pi, 56.092, 30.77), (pid, 40.573, 9.374)):
        form = control.tf([gains.kp * gains.ti * gains.td, gains.kp * gains.ti, gains.kp], [gains.ti, 0.0])
        info = control.step_info(control.feedback(form * plant), T=times)
        assert info["Overshoot"] == pytest.approx(overshoot, rel=1e-3)
        assert info["SettlingTime"] == pytest.approx(settling, rel=1e-3)


def test_ultimate_gain_of_a_first_order_plant_with_delay():
    # check F11; w + atan(5 w) = pi, closed form
    w = np.logspace(0.0, 0.4, 20001)
    ku, pu = ultimate(w, np.exp(-1j * w) / (5.0 * 1j * w + 1.0))
    assert (2.0 * math.pi / pu, ku, pu) == pytest.approx((1.688683, 8.502425, 3.720761), rel=1e-6)
    pi = ziegler_nichols(ku, pu)
    assert (pi.kp, pi.ti) == pytest.approx((3.82609, 3.10063), rel=2e-6)


@pytest.mark.parametrize(("slope", "delay"), [(1.0, 1.0), (0.3, 0.02)])
def test_ultimate_gain_of_a_volume_with_delay(slope, delay):
    # check F12; exact
    w = np.logspace(-1, 1, 20001) / delay
    ku, pu = ultimate(w, slope * np.exp(-1j * w * delay) / (1j * w))
    assert (ku, pu) == pytest.approx((math.pi / (2.0 * slope * delay), 4.0 * delay), rel=1e-6)


@pytest.mark.parametrize(
    ("track", "overshoot", "settling"),
    [(math.inf, 66.13, 13.22), (0.0, 1.353, 5.126), (2.0, 6.748, 8.458), (1.0, 0.0, 6.094)],
    ids=["none", "frozen", "Tt = Ti", "Tt = 1 s"],
)
def test_windup(track, overshoot, settling):
    # check F13; plant 1/s, drive within +-0.2, Kp 2, Ti 2, Euler 1e-4 s; schemes of Astrom and Hagglund
    period, memory, y = 1e-4, np.zeros(4), 0.0
    g = Gains(kp=2.0 / 0.2, ti=2.0, track=track).array(period)
    out = np.empty(200001)
    for i in range(len(out)):
        out[i] = y
        y += period * 0.2 * pid_step(memory, y, 1.0, g)
    assert 100.0 * (out.max() - 1.0) == pytest.approx(overshoot, rel=2e-3, abs=1e-4)
    assert settled(out, period) == pytest.approx(settling, rel=2e-3)
    assert settled(out, period) > 4.9


def lags(period):
    """Sampled volume behind a valve lag and a sensor lag: E_x, E_u, c."""
    a = np.array([[-1.0 / 0.005, 0.0, 0.0], [0.3, 0.0, 0.0], [0.0, 100.0, -100.0]])
    whole = np.zeros((4, 4))
    whole[:3, :3], whole[0, 3] = a, 1.0 / 0.005
    e = expm(whole * period)
    return e[:3, :3], e[:3, 3], np.array([0.0, 0.0, 1.0])


@pytest.mark.parametrize("gains", [Gains(60.0, 0.4), Gains(60.0, 0.5, 0.01, 0.02), Gains(20.0), Gains(150.0, 0.1)])
def test_margins_of_the_sampled_loop_agree_with_python_control(gains):
    # python-control margin() and poles of the same sampled loop, built there from transfer functions
    period = 0.01
    e_x, e_u, c = lags(period)
    plant = control.ss(e_x, e_u[:, None], c[None], 0.0, period)
    z = control.tf([1.0, 0.0], [1.0], period)
    share = period / (gains.filter + period)
    form = 1.0 + (gains.td * share / period) * (z - 1.0) / (z - (1.0 - share))
    if math.isfinite(gains.ti):
        form = form + (period / gains.ti) / (z - 1.0)
    loop = gains.kp * form * control.tf(plant)
    found = loop_margins(e_x, e_u, c, gains, period)
    stable = bool(np.abs(control.feedback(control.ss(loop)).poles()).max() < 1.0)
    assert found.stable is stable
    if stable:
        gain, phase, _, _, crossover, _ = control.stability_margins(loop)[:6]
        assert found.gain == pytest.approx(gain, rel=1e-4)
        assert found.phase_deg == pytest.approx(phase, rel=1e-4)
        at = np.logspace(-1, math.log10(math.pi / period), 20001)
        size = np.abs(1.0 / (1.0 + control.frequency_response(loop, at).complex))
        assert found.sensitivity == pytest.approx(size.max(), rel=1e-5)
        assert found.delay_s > 0.0 and crossover > 0.0


@pytest.mark.parametrize("factor", [0.98, 1.02])
def test_gain_margin_is_where_the_closed_loop_turns_unstable(factor):
    # closed-loop eigenvalues as the independent check
    e_x, e_u, c = lags(0.01)
    gains = Gains(60.0, 0.4)
    edge = loop_margins(e_x, e_u, c, gains, 0.01).gain
    assert is_stable(e_x, e_u, c, gains._replace(kp=gains.kp * edge * factor), 0.01) is (factor < 1.0)


def test_response_of_the_sampled_plant_agrees_with_python_control():
    e_x, e_u, c = lags(0.01)
    w = frequencies(0.01)[:-1:50]
    theirs = control.frequency_response(control.ss(e_x, e_u[:, None], c[None], 0.0, 0.01), w).complex
    assert np.abs(plant_response(e_x, e_u, c, 0.01, w) / theirs - 1.0).max() < 1e-8
