"""Readiness on synthetic arrays with closed-form answers."""

import math

import numpy as np
import pytest

from simcal.analysis.settle import ready

PERIOD = 0.01


def exponential(start: float, target: float, tau: float, end: float) -> np.ndarray:
    """A first-order approach sampled every PERIOD s."""
    t = np.arange(int(end / PERIOD) + 1) * PERIOD
    return target + (start - target) * np.exp(-t / tau)


@pytest.mark.parametrize("share", [0.05, 0.02, 0.01, 1e-3, 1e-4])
def test_arrival_of_a_first_order_approach_is_tau_ln(share: float) -> None:
    """First-order settling t/tau = ln(1/share): 2.9957, 3.9120, 4.6052, 6.9078, 9.2103 (any text on control)."""
    tau = 2.0
    reading = exponential(0.0, 1e6, tau, 40.0)
    inside = ready.near(reading, 1e6, share * 1e6)
    found = ready.earliest(inside, np.ones_like(inside), 100)
    assert found.arrival is not None
    assert found.arrival * PERIOD == pytest.approx(tau * math.log(1.0 / share), abs=PERIOD)
    assert found.window == found.arrival


def test_dwell_is_the_time_until_the_difference_has_died_away() -> None:
    """Nearness at tau ln(1/0.01), the difference D exp(-t/T) inside A at T ln(D/A): dwell is what lies between."""
    reading = exponential(0.0, 1e6, 1.0, 60.0)
    t = np.arange(reading.shape[0]) * PERIOD
    difference, allowance, random = -500.0 * np.exp(-t / 8.0), 20.0, 5.0
    inside = ready.near(reading, 1e6, 1e4)
    good = ready.within(difference, random, allowance)
    found = ready.earliest(inside, good, 100)
    assert found.arrival is not None and found.window is not None
    expected = 8.0 * math.log(500.0 / 15.0) - math.log(100.0)
    assert (found.window - found.arrival) * PERIOD == pytest.approx(expected, abs=2 * PERIOD)
    assert ready.last_failure(good, found.window, found.arrival) == found.window - 1


def test_arrival_is_the_last_entry_before_the_window_that_is_used() -> None:
    """A reading that leaves nearness once more has not arrived before it came back."""
    inside = np.array([0, 1, 1, 0, 1, 1, 1, 1, 1, 1], dtype=bool)
    good = np.array([1, 1, 1, 1, 0, 0, 1, 1, 1, 1], dtype=bool)
    assert ready.earliest(inside, good, 2) == ready.Ready(4, 6)


def test_a_window_needs_every_sample_both_ends_included() -> None:
    """One bad sample at the end of the window moves it."""
    good = np.array([1, 1, 1, 0, 1, 1, 1], dtype=bool)
    assert ready.first_window(good, 2) == 0
    assert ready.first_window(good, 3) is None
    assert ready.first_window(good, 2, not_before=1) == 4
    assert ready.windows(good, 9).size == 0


def test_a_missing_value_is_never_inside() -> None:
    """Readings from before the command do not exist."""
    assert not ready.near(np.array([np.nan]), 0.0, 1e9).any()
    assert not ready.within(np.array([np.nan]), 0.0, 1e9).any()


def test_the_valves_shut_when_the_reading_has_been_inside_for_the_soak() -> None:
    """The soak starts anew when the reading leaves nearness."""
    inside = np.array([0, 1, 1, 0, 1, 1, 1, 1], dtype=bool)
    assert ready.first_rest(inside, 3) == 7
    assert ready.first_rest(inside, 4) is None


def test_a_given_dwell_counts_from_an_entry_that_lasts() -> None:
    """The reading leaves once: the count starts again."""
    inside = np.array([0, 1, 1, 0, 1, 1, 1, 1, 1, 1], dtype=bool)
    assert ready.after_dwell(inside, length=2, dwell=3) == ready.Ready(4, 7)
    assert ready.after_dwell(inside, length=3, dwell=3) == ready.Ready(4, None)
    assert ready.after_dwell(inside, length=1, dwell=2, not_before=8) == ready.Ready(4, 8)


def test_latest_start_on_an_uneven_clock() -> None:
    """A margin that falls in a straight line crosses nought at 8 s: the latest start of 1 s is at 7 s."""
    time = np.array([0.0, 1.0, 3.0, 6.0, 10.0, 10.5])
    margin = np.array([1.0, 1.0, 1.0, 1.0, -1.0, -1.0])
    assert ready.latest_start(time, margin, 1.0) == (pytest.approx(7.0), 1)
    assert ready.latest_start(time, margin + 2.0, 1.0) == (pytest.approx(9.5), 1)
    assert ready.latest_start(time, margin, 9.0) == (None, 0)
    # two limits: the nearest one at the row before is not the one that is passed; 0.5 s into the gap of 4 s
    two = np.array([[1.0, 1.0, 1.0, 1.0, 1.0, 1.0], [9.0, 9.0, 9.0, 10.0, -70.0, -70.0]])
    assert ready.latest_start(time, two, 1.0) == (pytest.approx(5.5), 1)
    back = np.array([1.0, -1.0, -1.0, 1.0, 1.0, np.nan])
    assert ready.latest_start(time, back, 0.5) == (pytest.approx(9.5), 2)
