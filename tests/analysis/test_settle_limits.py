"""Exposure of a device on a step, and void points."""

import numpy as np
import pytest

from simcal.analysis.settle import limits


def course() -> np.ndarray:
    """0 to 1000 Pa in ten samples, a peak of 1040 Pa, then 1000 Pa."""
    return np.concatenate([np.linspace(0.0, 1000.0, 11), [1040.0, 1020.0, 1000.0, 1000.0]])


def test_overshoot_peak_and_rate() -> None:
    """Overshoot counts in the direction of the step only and is never negative."""
    up = limits.exposure(course(), 1000.0, "up", 0.1)
    assert (up.overshoot_Pa, up.peak_Pa) == (40.0, 1040.0)
    assert up.peak_rate_Pa_per_s == pytest.approx(1000.0)
    down = limits.exposure(2000.0 - course(), 1000.0, "down", 0.1)
    assert down.overshoot_Pa == 40.0
    short = limits.exposure(course()[:5], 1000.0, "up", 0.1)
    assert short.overshoot_Pa == 0.0


def test_what_happens_between_two_samples_counts() -> None:
    """Extremes and rates between samples, where there are any."""
    between = (np.array([1055.0]), np.array([-3.0]), np.array([4000.0]))
    up = limits.exposure(course(), 1000.0, "up", 0.1, between)
    assert (up.overshoot_Pa, up.peak_Pa, up.peak_rate_Pa_per_s) == (55.0, 1055.0, 4000.0)
    assert limits.exposure(course(), 0.0, "down", 0.1, between).overshoot_Pa == 3.0


def test_every_broken_limit_is_said_with_both_numbers() -> None:
    """One sentence a limit."""
    seen = limits.Exposure(50.0, 2.1e6, 3e5)
    said = limits.violations("one", seen, limits.DeviceLimits(2.0e6, 1e5, 20.0))
    assert said == (
        "one: the pressure at its port reaches 21 bar abs, its highest pressure is 20 bar abs",
        "one: the pressure changes by up to 3 bar/s, its highest rate is 1 bar/s; a ramp below that keeps it",
        "one: the pressure overshoots by 50 Pa, its limit is 20 Pa",
    )
    assert limits.violations("one", seen, limits.DeviceLimits()) == ()


def test_a_gauge_device_is_told_in_gauge_and_a_vent_has_its_own_cure() -> None:
    """A vent cannot be ramped; the room's pressure is the zero of a gauge device."""
    seen = limits.Exposure(0.0, 2.1e6, 3e5)
    said = limits.violations("one", seen, limits.DeviceLimits(2.0e6, 1e5, zero_Pa=1e5), vent=True)
    assert said == (
        "one: the pressure at its port reaches 20 bar gauge, its highest pressure is 19 bar gauge",
        "one: the pressure changes by up to 3 bar/s, its highest rate is 1 bar/s; a smaller vent valve keeps it, or "
        "come down under control first",
    )


def test_a_point_overshot_beyond_the_limit_is_void_with_the_cure() -> None:
    """The cure goes back to the side the point is approached from."""
    seen = limits.Exposure(50.0, 0.0, 0.0)
    assert limits.void("one", seen, limits.DeviceLimits(overshoot_Pa=60.0), "up") is None
    assert limits.void("one", seen, limits.DeviceLimits(), "up") is None
    up = limits.void("one", seen, limits.DeviceLimits(overshoot_Pa=20.0), "up")
    down = limits.void("one", seen, limits.DeviceLimits(overshoot_Pa=20.0), "down")
    assert up is not None and "go back below the point" in up and "way up" in up
    assert down is not None and "go back above the point" in down
