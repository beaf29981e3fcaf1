"""Pairing of readings, means, and the random part against closed forms and a plain simulation."""

import math

import numpy as np
import pytest

from simcal.analysis.settle import readings


def test_rounding_without_noise_keeps_all_of_its_spread() -> None:
    """A uniform error has the standard deviation q/sqrt(12) (GUM F.2.2.1), however many readings are averaged."""
    assert readings.mean_deviation(0.0, 6.0, 100) == pytest.approx(6.0 / math.sqrt(12.0), rel=1e-12)


def test_white_noise_falls_with_the_square_root_of_the_count() -> None:
    """Standard deviation of a mean, GUM 4.2.3."""
    assert readings.mean_deviation(5.0, 0.0, 100) == pytest.approx(0.5, rel=1e-12)
    assert readings.random_part([(3.0, 0.0, 25), (4.0, 0.0, 25)]) == pytest.approx(2.0 * 5.0 / 5.0, rel=1e-12)


def test_a_lag_makes_neighbouring_readings_one() -> None:
    """Readings nearer to one another than the lag say the same: asking faster does not help a slow gauge."""
    assert readings.independent(window=1.0, period=0.01, lag=0.0) == pytest.approx(100.0)
    assert readings.independent(1.0, 0.01, 0.2) == readings.independent(1.0, 0.001, 0.2) == pytest.approx(5.0)
    assert readings.independent(1.0, 0.01, 3.0) == 1.0


def test_much_noise_makes_rounding_average_out() -> None:
    """Noise of one step dithers the rounding completely: (s^2 + q^2/12)/n."""
    assert readings.mean_deviation(2.0, 2.0, 400) == pytest.approx(math.sqrt((4.0 + 4.0 / 12.0) / 400.0), rel=1e-6)


@pytest.mark.parametrize("noise", [0.1, 0.25, 0.4])
def test_rounding_with_little_noise_against_drawn_readings(noise: float) -> None:
    """Means of 50 rounded readings over 4,000 drawn levels; their deviation is good to 1/sqrt(2 x 4000) = 1.1 %."""
    rng = np.random.default_rng(20240601)
    level = rng.uniform(-0.5, 0.5, 4000)
    drawn = np.round(level[:, None] + noise * rng.standard_normal((4000, 50))).mean(axis=1) - level
    assert readings.mean_deviation(noise, 1.0, 50) == pytest.approx(float(drawn.std()), rel=0.04)


def test_window_mean_of_a_ramp_and_of_a_whole_cycle() -> None:
    """The mean of a ramp is its middle; a sine over whole cycles leaves nothing."""
    k = np.arange(300, dtype=float)
    assert readings.window_mean(k, 10, 100) == pytest.approx(60.0, rel=1e-12)
    assert readings.window_mean(np.sin(2.0 * np.pi * k / 20.0), 7, 100) == pytest.approx(0.0, abs=1e-12)


def test_an_earlier_reading_is_the_one_of_that_time() -> None:
    """On a ramp r a delay s shows as r s; before the command there is no reading; no delay is no change."""
    time = 0.01 * np.arange(200)
    ramp = 100.0 * time
    earlier = readings.delayed(ramp, 0.25, time)
    assert ramp[150] - earlier[150] == pytest.approx(25.0, rel=1e-12)
    assert np.isnan(earlier[:25]).all() and np.isfinite(earlier[25:]).all()
    assert readings.delayed(ramp, -0.25, time) is ramp


def test_a_shift_recovers_to_a_share_of_e() -> None:
    """After one time constant 1/e is left."""
    time = np.array([0.0, 30.0])
    assert readings.recovering(-12.0, 30.0, time) == pytest.approx([-12.0, -12.0 / math.e], rel=1e-12)
