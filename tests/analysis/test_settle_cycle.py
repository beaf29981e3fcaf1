"""Cycles on synthetic signals, thinning, and the words of causes."""

import numpy as np
import pytest

from simcal.analysis.settle import cycle
from simcal.analysis.settle.parts import ripple_of_mean
from simcal.analysis.settle.readings import window_mean
from simcal.analysis.settle.stability import CURES
from simcal.analysis.settle.trace import thinned

TIME = 0.01 * np.arange(1000)


def test_a_sine_on_a_drift_has_its_amplitude_and_period():
    signal = 4.0 * np.sin(2.0 * np.pi * TIME / 0.8) + 30.0 * TIME - 2.0 * TIME**2
    found = cycle.find(signal, 0.01, 0.1)
    assert found is not None
    assert found.amplitude == pytest.approx(4.0, rel=0.02)
    assert found.period == pytest.approx(0.8, rel=0.01)
    assert cycle.amplitude_at(0.5 * signal, found.period, 0.01) == pytest.approx(2.0, rel=0.05)


def test_a_saw_tooth_is_a_cycle_too():
    found = cycle.find(6.0 * (TIME / 1.7 % 1.0), 0.01, 0.1)
    assert found is not None
    assert found.amplitude == pytest.approx(3.0, rel=0.05)
    assert found.period == pytest.approx(1.7, rel=0.02)


@pytest.mark.parametrize(
    "signal",
    [
        5.0 * np.exp(-TIME / 2.0) * np.sin(2.0 * np.pi * TIME / 0.8),  # ringing that dies
        100.0 * np.exp(-TIME / 3.0),  # an approach
        np.zeros_like(TIME),
        0.05 * np.sin(2.0 * np.pi * TIME / 0.8),  # below what counts
        np.random.default_rng(5).standard_normal(1000).cumsum(),  # wandering
        np.sin(2.0 * np.pi * TIME / 8.0),  # less than three cycles seen
    ],
)
def test_what_is_no_cycle(signal):
    assert cycle.find(signal, 0.01, 0.1) is None


def test_means_over_a_window_are_those_of_the_reading():
    values = 3.0 * np.sin(2.0 * np.pi * TIME / 0.8)
    means = cycle.moving_means(values, 100)
    assert means.shape == (900,)
    assert means[37] == pytest.approx(window_mean(values, 37, 100), abs=1e-12)
    assert means.std() == pytest.approx(ripple_of_mean(3.0, 0.8, 1.0), rel=0.02)


def test_every_cause_has_a_cure():
    assert set(CURES) == {"dead band", "quantised drive", "pulsed drive", "resolution", "linear margin", "unknown"}
    assert all(CURES.values())


def test_thinning_keeps_both_ends_and_is_dense_early():
    kept = thinned(30000)
    assert kept[0] == 0 and kept[-1] == 29999 and len(kept) <= 400
    assert (np.diff(kept) > 0).all() and (kept < 1000).sum() > 100
    assert list(thinned(5)) == [0, 1, 2, 3, 4]
